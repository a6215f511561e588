"""The screens of the moulds in a real browser: sizes, targets, axe, words, German, the keyboard, other light."""

import pytest

from services.looks import look_over, tour
from services.web import OUT, post_json

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

CAST = "mould=bar-60&form_v_pct_of_fat=1.5&temperature_C=31.2&mould_C=22&room_C=22&room_rh_pct=60"
PAGES = {
    "moulds": f"/moulds?{CAST}&cleanliness=dirty",
    "moulds-capped": "/moulds?mould=hemisphere-30&form=capped&filling=ganache&filling_C=30&form_v_pct_of_fat=1.5",
    "moulds-what-if": f"/moulds/what-if?{CAST}",
    "moulds-fill": "/moulds/fill?mould=hemisphere-30&form=capped&moulds=4&colour1=Ocker&way1=spray&inclusion=nut_pieces"
    "&inclusion_where=back&inclusion_share_pct=5",
    "moulds-room": "/moulds/room?room_C=28&room_rh_pct=65&mould_C=6&colour1=Ocker&colour1_C=27.5&colour2=Moos"
    "&colour2_C=35.2&brushed=1&moulds=16",
    "moulds-keep": "/moulds/keep?temper=slight&store_C=20&nut_shell_mm=1.5&store_rh_pct=62",
    "moulds-places": "/moulds/places",
    "moulds-own": "/moulds/own",
}


def test_looks(browser, address):
    few = {name: PAGES[name] for name in ("moulds", "moulds-room")}
    tour(browser, address, PAGES, sizes=["laptop"])
    tour(browser, address, PAGES, sizes=["phone"], language="de")
    tour(browser, address, few, sizes=["tablet"], temperature="F", mass="oz", contrast="night")


def test_a_casting_by_keyboard_alone(browser, address):
    page = browser.new_page()
    page.goto(f"{address}/moulds")
    page.focus("#mould")
    page.keyboard.type("Hemi")
    reached = []
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.id || document.activeElement.textContent.trim()"))
        if reached[-1] == "form_v_pct_of_fat":
            page.keyboard.type("1.5")
        if reached[-1] == "What will it do?":
            page.keyboard.press("Enter")
            break
    page.wait_for_selector("text=Turn out")
    assert {"chocolate", "temperature_C", "space", "room_rh_pct"} <= set(reached)
    assert "mould=hemisphere-30" in page.url
    page.close()


@pytest.mark.parametrize("size", [(390, 844), (820, 1180), (1280, 800)])
def test_from_a_bowl_in_use_to_its_moulds(browser, address, size):
    start = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 31.4, "id": f"cast {size}"}
    bench = post_json(f"{address}/api/v1/benches", start)["bench"]
    events = f"{address}/api/v1/benches/{bench}/events"
    context = browser.new_context(viewport=dict(zip(("width", "height"), size, strict=True)), has_touch=True)
    page = context.new_page()
    page.goto(f"{address}/bench/{bench}")
    page.wait_for_selector("#verb:has-text('Seed')")
    assert not page.is_visible("#cast")  # nothing to pour yet
    post_json(events, {"what": "seed", "mass_g": 100, "at": 1})
    post_json(events, {"what": "reading", "temperature_C": 31.2, "at": 301})
    post_json(events, {"what": "remove", "mass_g": 200, "at": 305})
    page.wait_for_selector("#cast a")
    look_over(page, "bench in use")
    page.screenshot(path=OUT / f"bench-cast-{size[0]}.png", full_page=True)
    page.tap("#cast a")
    assert page.input_value("#form_v_pct_of_fat") == "1.2"
    look_over(page, "moulds of a bowl")
    page.screenshot(path=OUT / f"moulds-of-a-bowl-{size[0]}.png", full_page=True)
    page.focus("#mould")
    page.keyboard.type("Hemi")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "space"
    page.tap("text=What will it do?")
    page.wait_for_selector("text=Turn out")
    assert "1.2 % of the fat in form V (1.0–1.4)" in page.inner_text("main")
    look_over(page, "moulds of a bowl, told")
    page.tap("main a[href^='/bench/']")
    page.wait_for_selector("#verb")
    context.close()
