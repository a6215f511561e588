"""Every screen at every size: no serious finding of axe, big enough targets and letters, nothing cut off, a picture."""

import pytest

from services.looks import drawn, look_over, opened, tour
from services.web import OUT, post_json

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

PAGES = {
    "home": "/",
    "welcome": "/welcome",
    "bench": "/bench/{open}",
    "bowls": "/bench",
    "start": "/start",
    "today": "/today?room=22&humidity=55",
    "past": "/past",
    "story": "/past/{done}",
    "compare": "/compare?a={done}&b={open}",
    "practice": "/practice",
    "settings": "/settings",
    "thermometers": "/thermometers",
    "thermometer_new": "/thermometer-new",
    "thermometer_mqtt": "/thermometer-new?kind=mqtt",
    "problem": "/nowhere",
}
SMALL_ACTIONS = """() => [...document.querySelectorAll('.deeds .deed, #done, #change, .undo button')]
  .filter(e => e.checkVisibility()).map(e => e.getBoundingClientRect().height).filter(h => h < 76)"""
LETTERS = """(id) => {
  const e = document.getElementById(id), s = getComputedStyle(e);
  const c = document.createElement('canvas').getContext('2d');
  c.font = `${s.fontWeight} ${s.fontSize} ${s.fontFamily}`;
  return c.measureText(id === 'degrees' ? '8' : 'H').actualBoundingBoxAscent;
}"""


@pytest.fixture(scope="module")
def bowls(address):
    """One bowl under way, one that is done."""
    start = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0}
    start["means"] = ["seed", "melt", "warm_bath", "cool_bath", "microwave"]
    names = {}
    for which in ("done", "open"):
        name = post_json(f"{address}/api/v1/benches", start | {"id": f"screens-{which}"})["bench"]
        events = f"{address}/api/v1/benches/{name}/events"
        for i in range(30):
            post_json(events, {"what": "reading", "temperature_C": round(45 - i * 0.28, 1), "at": 10.0 * i})
        post_json(events, {"what": "seed", "mass_g": 130, "at": 300})
        post_json(events, {"what": "look", "lumps": "few", "thickness": "flowing", "at": 330})
        for i in range(12):
            post_json(events, {"what": "reading", "temperature_C": round(34 - i * 0.2, 1), "at": 310.0 + 10 * i})
        names[which] = name
    post_json(f"{address}/api/v1/benches/{names['done']}/events", {"what": "finish", "used": True, "at": 500})
    return names


def test_every_screen(browser, address, bowls):
    tour(browser, address, {name: path.format(**bowls) for name, path in PAGES.items()})


@pytest.mark.parametrize("size", ["tablet", "laptop"])
def test_the_bench_reads_from_afar(browser, address, bowls, size):
    context = opened(browser, address, size)
    page = context.new_page()
    page.goto(f"{address}/bench/{bowls['open']}")
    drawn(page)
    assert page.evaluate(SMALL_ACTIONS) == []
    for letters in ("degrees", "verb"):
        assert page.evaluate(LETTERS, letters) >= 95
    context.close()


@pytest.mark.parametrize("contrast", ["night", "bright"])
def test_other_light(browser, address, bowls, contrast):
    names = ("bench", "start", "settings", "practice", "story", "bowls")
    pages = {name: PAGES[name].format(**bowls) for name in names}
    tour(browser, address, pages, sizes=["tablet"], contrast=contrast)


def test_longer_words(browser, address, bowls):
    pages = {name: path.format(**bowls) for name, path in PAGES.items()}
    tour(browser, address, pages, sizes=["phone", "laptop"], language="de")


@pytest.mark.parametrize("size", ["phone", "tablet"])
def test_every_sheet(browser, address, bowls, size):
    context = opened(browser, address, size)
    page = context.new_page()
    page.goto(f"{address}/bench/{bowls['open']}")
    more = page.get_by_role("button", name="More …")
    more.click()
    page.screenshot(path=OUT / f"sheet-more-{size}.png")
    look_over(page, f"more, {size}")
    page.get_by_role("button", name="Close").click()
    for deed in ("seed", "warm_bath", "microwave", "look", "smear", "probe_check", "finish", "add", "pour"):
        if not page.locator(f'.deed[data-deed="{deed}"]').first.is_visible():
            more.click()
        page.locator(f'.deed[data-deed="{deed}"]:visible').last.click()
        drawn(page)
        page.screenshot(path=OUT / f"sheet-{deed}-{size}.png")
        look_over(page, f"{deed}, {size}")
        page.get_by_role("button", name="Close").click()
    context.close()
