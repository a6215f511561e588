"""Whole journeys at the bench, in a real browser."""

import json
import re
import signal
import subprocess
import sys
import urllib.request
from datetime import UTC, datetime, timedelta

import pytest
from playwright.sync_api import expect
from sqlalchemy.event import listen, remove

from bloomless.assembly import open_house, places
from bloomless.assembly.working import BenchMaker
from bloomless.web import Door
from services.plain_craft import PlainCraft, PlainMaker
from services.web import SIZES, post_json, serving

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
FOCUSED = "(e => e.id || e.dataset.deed || e.textContent.trim())(document.activeElement)"
START = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0}


@pytest.fixture
def device(browser, address):
    """Opens devices and closes them."""
    contexts = []

    def opened(size="tablet", view=None):
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, locale="en-GB")
        if view:
            context.add_cookies([{"name": "view", "value": view, "url": address}])
        contexts.append(context)
        return context.new_page()

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def bench(shop, address, request):
    """A fresh bowl."""
    return post_json(f"{address}/api/v1/benches", START | {"id": request.node.name})["bench"]


def stored(shop, bench, what):
    return [e.event for e in shop.log.events(bench) if e.event["what"] == what]


def enter(page, digits):
    for digit in digits:
        page.get_by_role("group", name="Keypad").get_by_role("button", name=digit, exact=True).click()
    page.get_by_role("button", name="Enter").click()


def test_first_bowl_with_typed_readings(device, shop, address):
    page = device()
    page.goto(address)
    page.locator(".tile.first").click()
    page.get_by_role("button", name="Begin").click()  # the second tap: the bowl is started
    page.wait_for_url(re.compile("/bench/b"))
    name = page.url.rsplit("/", 1)[1]
    expect(page.locator("#before-text")).to_contain_text("Chop")
    for digits in ("37.0", "36.5"):
        page.locator("#type").click()
        enter(page, [digits[0], digits[1], "decimal sign", digits[-1]])
        expect(page.locator("#degrees")).to_have_text(digits)
    expect(page.locator("#verb")).to_have_text("Seed")
    expect(page.locator("#amount")).to_have_text("130 g")
    page.get_by_role("button", name="Done ✓").click()
    expect(page.locator("#told")).to_contain_text("Seed: 130 g")
    page.locator("#undo-button").click()  # one tap undoes it; it stays to be seen
    expect(page.locator("#told .undone")).to_contain_text("Seed: 130 g")
    expect(page.locator("#told")).not_to_contain_text("not saved yet")
    expect(page.locator("#verb")).to_have_text("Seed")  # and its order is to be done again
    expect(page.locator("#done")).to_be_enabled()
    page.locator('[data-deed="seed"]').first.click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#told li").first).to_contain_text("Seed")
    assert [event["event"] for event in stored(shop, name, "correct")] == [None]
    page.get_by_role("button", name="More …").click()
    page.locator('[data-deed="finish"]').click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#verb")).to_have_text("Finished")
    page.goto(f"{address}/past")
    page.get_by_role("link", name="How did it come out?").first.click()
    page.get_by_label("glossy, good snap").check()
    page.locator("#outcome").get_by_role("button", name="Keep").click()
    assert shop.book.get("bench_outcome", name).document["seen"] == "glossy"
    page.get_by_role("button", name="With hindsight").click()
    expect(page.locator("#again-text")).to_contain_text("With what")


def test_what_lasts_is_told_as_it_begins_or_when_it_is_over(device, shop, address, bench):
    page = device("phone")
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#verb")).not_to_have_text("One moment")
    expect(page.locator("#clock")).to_have_text(re.compile(r"0:(0[7-9]|[1-5]\d)|[1-9]:"))
    page.locator('[data-deed="cool_bath"]').first.click()
    page.get_by_label("is just over").check(force=True)
    page.get_by_role("group", name="Keypad").get_by_role("button", name="5", exact=True).click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#told")).to_contain_text("Cool bath: 5 s")
    page.locator('[data-deed="stir"]').first.click()
    page.get_by_label("briskly").check(force=True)
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#told")).to_contain_text("briskly")
    expect(page.locator("#told")).not_to_contain_text("not saved yet")
    (bath,), (stir,) = stored(shop, bench, "cool_bath"), stored(shop, bench, "stir")
    assert (bath["seconds"], bath["bath_C"]) == (5.0, 18.0)
    assert 0.0 < bath["at"] <= stir["at"] - 5.0


def test_a_look_is_told_by_pictures_and_a_splinter_too(device, shop, address, bench):
    page = device("phone")
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#verb")).not_to_have_text("One moment")
    page.locator('[data-deed="look"]').first.click()
    page.locator("#sheet input[value=few]").check(force=True)
    expect(page.locator("#sheet")).to_contain_text("A piece here and there.")
    page.locator("#sheet input[value=flowing]").check(force=True)
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#told")).to_contain_text("Look: few lumps, flowing")
    page.get_by_role("button", name="More …").click()
    page.locator('[data-deed="foreign"]').click()
    page.locator("#sheet input[value=glass]").check(force=True)
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#told")).to_contain_text("Look: glass")
    expect(page.locator("#told")).not_to_contain_text("not saved yet")
    assert [look.get("foreign") for look in stored(shop, bench, "look")] == [None, "glass"]


def test_everything_by_keyboard(device, shop, address, bench):
    page = device("laptop")
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#verb")).not_to_have_text("One moment")
    reached = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        reached.add(page.evaluate(FOCUSED))
        if page.evaluate("document.activeElement.id") == "type":
            page.keyboard.press("Enter")
            page.keyboard.type("37,5")
            page.keyboard.press("Enter")
            expect(page.locator("#degrees")).to_have_text("37.5")
            break
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.add(page.evaluate(FOCUSED))
    assert {
        "type",
        "same",
        "seed",
        "stir",
        "look",
        "smear",
        "remove",
        "done",
        "Menu",
        "more-deeds",
    } <= reached
    assert stored(shop, bench, "reading")[0]["temperature_C"] == 37.5


def test_a_lost_network_loses_nothing(device, shop, address, bench):
    page = device()
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#verb")).not_to_have_text("One moment")
    page.context.set_offline(True)
    page.evaluate("dispatchEvent(new Event('offline'))")
    page.locator('[data-deed="seed"]').first.click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#told")).to_contain_text("not saved yet")
    expect(page.locator("#connection")).to_be_visible()
    assert stored(shop, bench, "seed") == []
    page.context.set_offline(False)
    expect(page.locator("#told")).not_to_contain_text("not saved yet")
    expect(page.locator("#connection")).to_be_hidden()
    assert len(stored(shop, bench, "seed")) == 1


def test_what_was_tapped_survives_that_the_page_is_closed(device, shop, address, bench):
    """Kept in the browser's own store: it is sent from whatever page is opened next."""
    page = device()
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#verb")).not_to_have_text("One moment")
    page.context.set_offline(True)
    page.locator('[data-deed="seed"]').first.click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#told")).to_contain_text("not saved yet")
    context = page.context
    page.close()
    context.set_offline(False)
    page = context.new_page()
    page.goto(f"{address}/settings")
    for _ in range(300):
        page.wait_for_timeout(100)
        if stored(shop, bench, "seed"):
            break
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#told")).to_contain_text("Seed")
    assert len(stored(shop, bench, "seed")) == 1


def test_two_devices_on_one_bowl(device, address, bench):
    one, two = device("tablet"), device("phone")
    for page in (one, two):
        page.goto(f"{address}/bench/{bench}")
        expect(page.locator("#verb")).not_to_have_text("One moment")
    one.locator('[data-deed="seed"]').first.click()
    one.get_by_role("button", name="Done", exact=True).click()
    expect(two.locator("#told")).to_contain_text("Seed")
    two.get_by_role("button", name="Reading").click()
    enter(two, ["3", "3", "decimal sign", "3"])
    expect(one.locator("#degrees")).to_have_text("33.3")


def test_both_kinds_of_trouble_are_shown(device, shop, address, bench):
    page = device()
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#verb")).not_to_have_text("One moment")

    def small_disk(connection):
        if not connection.get_execution_options().get("reading"):
            connection.exec_driver_sql("PRAGMA max_page_count=1")  # SQLite lets no page be added
            connection.exec_driver_sql("CREATE TABLE filler AS SELECT zeroblob(20000)")  # "database or disk is full"

    def room_again(connection):
        connection.exec_driver_sql("PRAGMA max_page_count=1000000")

    listen(shop.engine, "begin", small_disk)
    page.locator('[data-deed="seed"]').first.click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#connection")).to_contain_text("The disk is full")
    assert stored(shop, bench, "seed") == []
    remove(shop.engine, "begin", small_disk)
    listen(shop.engine, "begin", room_again)
    expect(page.locator("#connection")).to_be_hidden()
    remove(shop.engine, "begin", room_again)
    assert len(stored(shop, bench, "seed")) == 1
    page.context.set_offline(True)
    page.locator('[data-deed="remove"]').first.click()  # told here, while another device finishes the bowl
    page.get_by_role("button", name="Done", exact=True).click()
    post_json(f"{address}/api/v1/benches/{bench}/events", {"what": "finish"})
    page.context.set_offline(False)
    expect(page.locator("#verb")).to_have_text("Finished")
    expect(page.locator("#refused")).to_contain_text("finished")
    page.get_by_role("button", name="Take off the list").click()
    expect(page.locator("#refused-box")).to_be_hidden()


def test_a_restart_in_the_middle_of_a_bowl(browser, tmp_path):
    house = open_house(places(tmp_path, {}))
    house.book.put("settings", "house", {"language": "en"}, at=datetime.now(UTC))
    page = browser.new_context().new_page()
    with serving(house) as url:
        bench = post_json(f"{url}/api/v1/benches", START | {"id": "restart"})["bench"]
        post_json(f"{url}/api/v1/benches/{bench}/events", {"what": "reading", "temperature_C": 36.5})
        page.goto(f"{url}/bench/{bench}")
        expect(page.locator("#degrees")).to_have_text("36.5")
    page.locator('[data-deed="seed"]').first.click()  # nobody is there
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#connection")).to_be_visible()
    with serving(house, Door("127.0.0.1", int(url.rsplit(":", 1)[1])), PlainMaker()):
        expect(page.locator("#connection")).to_be_hidden()
        expect(page.locator("#told")).to_contain_text("Seed")
        expect(page.locator("#told")).not_to_contain_text("not saved yet")
        expect(page.locator("#degrees")).to_have_text("36.5")
        assert len(stored(house, bench, "seed")) == 1
        page.close()
    house.close()


HEAR = """window.heard = [];
Object.defineProperty(globalThis, "speechSynthesis", { value: { speak: (w) => heard.push(w.text), cancel: () => {} } });
localStorage.setItem("sound:speech", "on");"""


def test_what_runs_is_counted_down_said_and_rung(device, shop, address, bench):
    page = device()
    page.add_init_script(HEAR)
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#verb")).to_have_text("Cool bath")
    page.get_by_role("button", name="Otherwise, or done already …").click()
    page.keyboard.type("2")  # seconds
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#running")).to_contain_text("Cool bath")
    expect(page.locator("#running .over")).to_have_text("Out of the water now; dry the foot.")
    page.get_by_role("button", name="Reading").click()
    enter(page, ["4", "2"])
    expect(page.locator("#degrees")).to_have_text("42.0")
    heard = page.evaluate("heard")
    assert heard[0].startswith("Cool bath")
    assert "Out of the water now; dry the foot." in heard
    assert "42.0\u00a0degrees" in heard  # the number typed is said back
    expect(page.locator("#chart")).to_contain_text("if you do this")
    expect(page.locator("#chart")).to_contain_text("if only stirred")
    page.locator('[data-deed="smear"]').first.click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#running")).to_contain_text("The smear is setting")


def test_hands_first_taps_later(device, shop, address):
    """What was done some minutes ago is told so, and stands there in the log."""
    began = (datetime.now(UTC) - timedelta(seconds=400)).isoformat()
    bench = post_json(f"{address}/api/v1/benches", START | {"id": "earlier", "when": began})["bench"]
    page = device()
    page.goto(f"{address}/bench/{bench}")
    page.locator('[data-deed="seed"]').first.click()
    page.get_by_label("5 min ago").check()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#told li").first).to_contain_text("Seed")
    expect(page.locator("#told")).not_to_contain_text("not saved yet")
    ago_s = (datetime.now(UTC) - datetime.fromisoformat(began)).total_seconds()
    assert 99 <= stored(shop, bench, "seed")[0]["at"] <= ago_s - 299


def test_news_that_overtakes_an_answer_stays(device, shop, address, bench):
    """The page asks for everything when it is looked at again; what is told meanwhile must not be forgotten by that."""
    page = device()
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#verb")).not_to_have_text("One moment")

    def late(route):
        answer = route.fetch()
        post_json(f"{address}/api/v1/benches/{bench}/events", {"what": "seed", "mass_g": 77})
        expect(page.locator("#told")).to_contain_text("77 g")
        route.fulfill(response=answer)

    page.route(f"**/api/v1/benches/{bench}", late)
    for seen in ("hidden", "visible"):
        page.evaluate(f"Object.defineProperty(document, 'visibilityState', {{ value: '{seen}', configurable: true }})")
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator("#told")).to_contain_text("77 g")
    page.wait_for_timeout(500)
    expect(page.locator("#told")).to_contain_text("77 g")


def test_the_server_is_killed_in_the_middle_of_a_bowl(browser, tmp_path):
    """kill -9 of the real program: the page says so, keeps the tap, and comes back by itself with all that was told."""

    def served(port):
        command = [sys.executable, "-m", "bloomless", "serve", "--port", str(port), "--data", str(tmp_path)]
        process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        return process, process.stdout.readline().split(" at ")[1].strip().replace("localhost", "127.0.0.1")

    process, url = served(0)
    bench = post_json(f"{url}api/v1/benches", START | {"id": "killed"})["bench"]
    events = f"{url}api/v1/benches/{bench}/events"
    for i in range(1, 40):
        post_json(events, {"what": "reading", "temperature_C": 45 - 0.2 * i, "at": 5.0 * i})
    page = browser.new_context(locale="en-GB").new_page()
    page.goto(f"{url}bench/{bench}")
    expect(page.locator("#degrees")).to_have_text("37.2")
    process.kill()
    process.wait()
    process.stdout.close()
    page.locator('[data-deed="seed"]').first.click()
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.locator("#connection")).to_contain_text("1 kept on this device")
    process, _ = served(int(url.rstrip("/").rsplit(":", 1)[1]))
    expect(page.locator("#connection")).to_be_hidden()
    expect(page.locator("#told")).to_contain_text("Seed")
    expect(page.locator("#told")).not_to_contain_text("not saved yet")
    with urllib.request.urlopen(events) as answer:
        kinds = [one["event"]["what"] for one in json.load(answer)]
    assert kinds == ["start"] + ["reading"] * 39 + ["seed"]
    page.context.close()
    process.send_signal(signal.SIGINT)
    process.wait(30)
    process.stdout.close()


class Asking(PlainCraft):
    """Asks about an order, another one after each event, in words that name none."""

    def advised(self):
        order = {"id": f"n{len(self.told)}", "do": ("look", "add_seed")[len(self.told) % 2]}
        alert = {"code": "was_it_done", "severity": "check", "text": "?", "do": "", "order": order}
        return super().advised() | {"alerts": [alert]}


class AskingMaker(PlainMaker):
    def begin(self, start, event_id):
        return Asking(**vars(super().begin(start, event_id)))


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_question_whether_a_step_was_done_opens_that_step(browser, house, language):
    page = browser.new_page(viewport={"width": 390, "height": 844}, locale="en-GB")
    with serving(house, maker=AskingMaker()) as url:
        page.context.add_cookies([{"name": "view", "value": f"language={language}", "url": url}])
        bench = post_json(f"{url}/api/v1/benches", START)["bench"]
        page.goto(f"{url}/bench/{bench}")
        expect(page.locator("html")).to_have_attribute("lang", language)
        tell, no = page.locator("#alerts button").first, page.locator("#alerts button").last
        no.click()
        expect(page.locator("#alerts")).to_be_empty()
        post_json(f"{url}/api/v1/benches/{bench}/events", {"what": "reading", "temperature_C": 44.0})
        tell.click()  # about another order: it is asked again
        expect(page.locator("dialog[open] legend").first).to_have_text({"en": "Lumps", "de": "Klumpen"}[language])
        page.locator("dialog[open] .confirm").click()
        tell.click()
        page.locator("dialog[open] .confirm").click()
        for _ in range(50):
            if len(house.log.events(bench)) == 4:
                break
            page.wait_for_timeout(100)
        assert [event.event["what"] for event in house.log.events(bench)] == ["start", "reading", "look", "seed"]
    page.close()


class Melting(PlainCraft):
    """Melts in the microwave oven, with the caution that goes with it."""

    def advised(self):
        order = {"id": "n1", "do": "heat_on", "to_C": 45.0, "by": "microwave", "why": "Not melted yet."}
        burns = {"code": "burns", "severity": "say", "text": "It burns.", "do": ""}
        return super().advised() | {"next": order, "alerts": [burns]}


class MeltingMaker(PlainMaker):
    def begin(self, start, event_id):
        return Melting(**vars(super().begin(start, event_id)))


def test_melting_is_told_as_what_it_is_done_by_and_cautioned_once(browser, house):
    page = browser.new_page(viewport={"width": 390, "height": 844}, locale="en-GB")
    with serving(house, maker=MeltingMaker()) as url:
        bench = post_json(f"{url}/api/v1/benches", START)["bench"]
        page.goto(f"{url}/bench/{bench}")
        expect(page.locator("#caution")).to_contain_text("sticks to skin and burns")
        expect(page.locator("#alerts")).to_be_empty()
        page.get_by_role("button", name="Tell how you heat …").click()
        expect(page.locator("dialog[open]")).to_contain_text("Power")
    page.close()


def test_degrees_fahrenheit_and_ounces(device, shop, address, bench):
    page = device(view="temperature=F&mass=oz")
    page.goto(f"{address}/bench/{bench}")
    expect(page.locator("#unit")).to_have_text("°F")
    page.get_by_role("button", name="Reading").click()
    enter(page, ["9", "9", "decimal sign", "5"])
    expect(page.locator("#degrees")).to_have_text("99.5")
    expect(page.locator("#why")).to_contain_text("99.5 °F")
    expect(page.locator("#amount")).to_have_text("4.6 oz")
    assert stored(shop, bench, "reading")[0]["temperature_C"] == pytest.approx(37.5, abs=0.01)


def test_a_number_that_looks_like_fahrenheit_is_asked_about(device, shop, address, bench):
    page = device()
    page.goto(f"{address}/bench/{bench}")
    page.get_by_role("button", name="Reading").click()
    enter(page, ["8", "8"])
    expect(page.get_by_role("alert").last).to_contain_text("31.1 °C")
    page.get_by_role("button", name="Enter").click()
    expect(page.locator("#told li").first).to_contain_text("88.0 °C")
    page.get_by_role("button", name="It was °F").click()  # in the alert
    expect(page.locator("#told li").first).to_contain_text("31.1 °C corrected")
    expect(page.locator("#degrees")).to_have_text("31.1")
    expect(page.locator("#alerts")).to_be_empty()
    assert stored(shop, bench, "reading")[0]["temperature_C"] == 88
    page.locator("#type").click()
    enter(page, ["8", "7"])
    page.get_by_role("button", name="It was °F: take 30.6 °C").click()  # in the sheet
    expect(page.locator("#degrees")).to_have_text("30.6")
    assert stored(shop, bench, "reading")[1]["temperature_C"] == pytest.approx(30.56, abs=0.01)


def test_a_check_is_preset_by_its_method_and_a_slip_is_asked_about(device, shop, address, bench):
    page = device("phone")
    page.goto(f"{address}/bench/{bench}")
    page.get_by_role("button", name="More …").click()
    page.locator('#more [data-deed="probe_check"]').click()
    expect(page.locator("[data-field=reference_C]")).to_have_text("0.0 °C")
    page.get_by_label("in boiling water").check()
    expect(page.locator("[data-field=reference_C]")).to_have_text("100.0 °C")
    keypad = page.get_by_role("group", name="Keypad")
    for digit in ("9", "8"):
        keypad.get_by_role("button", name=digit, exact=True).click()
    page.get_by_label("in crushed ice and water").check()  # what was typed was for the other water
    expect(page.locator("[data-field=shown_C]")).to_have_text("0.0 °C")
    page.get_by_label("in boiling water").check()
    for digit in ("8", "1"):
        keypad.get_by_role("button", name=digit, exact=True).click()
    done = page.get_by_role("button", name="Done", exact=True)
    done.click()
    expect(page.get_by_role("dialog").get_by_role("alert")).to_contain_text("off by 19.0 °C")
    done.click()
    expect(page.locator("#told li").first).to_contain_text("showed 81.0 °C, should show 100.0 °C")


def test_a_sheet_says_what_cannot_be_and_keeps_it(device, address, bench):
    page = device()
    page.goto(f"{address}/bench/{bench}")
    page.locator('[data-deed="cool_bath"], [data-deed="warm_bath"]').first.click()
    page.keyboard.type("9999")
    page.get_by_role("button", name="Done", exact=True).click()
    expect(page.get_by_role("dialog").get_by_role("alert")).to_contain_text("from 1 to 1,800 s")
    expect(page.locator(".amount.active")).to_contain_text("9999")


def test_a_guided_practice_bowl_on_the_real_bench(browser, tmp_path):
    """From the first page to a finished bowl, with the advice, on simulated chocolate."""
    house = open_house(places(tmp_path, {}))
    house.book.put("settings", "house", {"language": "en"}, at=datetime.now(UTC))
    page = browser.new_context(viewport={"width": 1366, "height": 768}).new_page()
    with serving(house, maker=BenchMaker()) as url:
        page.goto(url)
        page.get_by_role("button", name="guided bowl").click()
        expect(page.locator("#guide-text")).not_to_be_empty()
        page.get_by_role("button", name="20×").click()
        for _ in range(160):
            page.wait_for_timeout(350)
            if page.locator("#verdict").is_visible():
                break
            if page.locator("#done").is_visible() and page.locator("#done").is_enabled():
                page.locator("#done").click()
                dialog = page.locator("dialog[open] .confirm")
                if dialog.count():
                    dialog.click()
        expect(page.locator("#verdict-points")).to_contain_text("of 100 points")
        expect(page.locator("#story li").first).to_be_visible()
        page.close()
    house.close()
