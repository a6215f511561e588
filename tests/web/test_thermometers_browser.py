"""The thermometers in a real browser: parsers of the page against the server's, probes of a tablet, looks."""

import random
import sys
from pathlib import Path

import pytest

from bloomless.assembly import open_house, places
from bloomless.bench.probe_register import Registration, save_probe, take_check
from bloomless.errors import ImpossibleInput
from bloomless.physics.calibration import Check, CheckMethod
from bloomless.probes import gatt
from bloomless.probes.texts import line_value
from bloomless.probes.wiring import Wiring
from services.looks import tour
from services.web import serving

sys.path.insert(0, str(Path(__file__).parents[1] / "probes"))
from probe_fuzz import TARGETS, spoil  # the same spoilt messages as on the server

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

# A tablet's Web Bluetooth and Web Serial, as far as the page uses them; what a tap would choose is given at once.
FAKES = """
window.fake = { connects: 0, here: true };
class Target extends EventTarget {}
const characteristic = { properties: { indicate: true }, oncharacteristicvaluechanged: null,
  startNotifications: async () => {} };
const device = new Target();
device.gatt = { connected: false,
  connect: async () => { if (!fake.here) throw new Error("not in reach");
    fake.connects += 1; device.gatt.connected = true;
    return { getPrimaryService: async () => ({ getCharacteristic: async () => characteristic }) }; },
  disconnect: () => { device.gatt.connected = false; } };
fake.notify = (bytes) => characteristic.oncharacteristicvaluechanged?.(
  { target: { value: new DataView(new Uint8Array(bytes).buffer) } });
fake.lose = () => { fake.here = false; device.gatt.connected = false;
  device.dispatchEvent(new Event("gattserverdisconnected")); };
Object.defineProperty(navigator, "bluetooth", { value: {
  requestDevice: async (o) => { fake.filters = o; return device; } } });
let sink;
const port = { open: async () => { fake.opened = (fake.opened ?? 0) + 1;
    port.readable = new ReadableStream({ start: (controller) => { sink = controller; } }); },
  close: async () => {} };
fake.write = (text) => sink.enqueue(new TextEncoder().encode(text));
fake.unplug = () => sink.error(new Error("gone"));
Object.defineProperty(navigator, "serial", { value: { requestPort: async () => port } });
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """A house with thermometers in several conditions; each test has a tablet of its own."""
    house = open_house(places(tmp_path_factory.mktemp("thermometers"), {}))
    at = house.clock()
    still = {"points": [[0, 31.4]], "noise_K": 0.0, "interval_s": 0.2}
    for probe in (
        Registration("blue needle", "simulated", still),
        *(
            Registration(name, "http")
            for name in ("tablet", "usb tablet", "slow tablet", "dipped", "posted", "bowl tablet")
        ),
        Registration("red stick", "serial", {"port": "/dev/ttyUSB7"}, sort="stick"),
        Registration("gun", "http", sort="infrared"),
        Registration("kitchen wall", "simulated", still | {"points": [[0, 20.5]]}, place="room"),
    ):
        save_probe(house.book, probe, at=at)
    needle = Registration("blue needle", "simulated")
    for shown, true, method in ((0.4, 0.0, CheckMethod.ICE), (98.9, 99.1, CheckMethod.BOILING)):
        take_check(house.book, needle, Check(method, shown, true, 0.2), at=at, who="M.", note="monthly")
    settings = {"language": "en", "temperature": "C", "mass": "g", "country": "EU"}
    house.book.put("settings", "house", settings, at=at)
    with serving(house) as url:
        yield url
    house.close()


@pytest.fixture
def page(browser):
    page = browser.new_page()
    page.complaints = []
    page.on("console", lambda m: page.complaints.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda e: page.complaints.append(str(e)))
    yield page
    page.close()


def server_says(name, data):
    try:
        if name == "line":
            return line_value(data.encode(), Wiring("C")).value
        uuid = gatt.TEMPERATURE_MEASUREMENT if name == "health" else gatt.TEMPERATURE
        return gatt.gatt_values(uuid, data)[0].value
    except ImpossibleInput:
        return None


def test_the_parsers_of_the_page_agree_with_those_of_the_server(page, place):
    chance = random.Random(3)
    cases = []
    for name, target in (
        ("health", "health thermometer"),
        ("environmental", "environmental sensing"),
        ("line", "line"),
    ):
        for _ in range(1500):
            data = spoil(chance.choice(TARGETS[target].seeds), chance)
            if name == "line":
                text = data.decode("utf-8", "replace")
                if text.isascii() or "°" in text:
                    cases.append((name, text, server_says(name, text)))
            else:
                cases.append((name, list(data), server_says(name, data)))
    page.goto(f"{place}/thermometers")
    source = page.evaluate("document.querySelector('script[type=module]').src")
    found = page.evaluate(
        """async ([source, cases]) => { const p = await import(source.replace("thermometers.js", "probe-parsers.js"));
        return cases.map(([name, data]) => p[name](name === "line" ? data : new Uint8Array(data))); }""",
        [source, [case[:2] for case in cases]],
    )
    differ = [
        (case, got)
        for case, got in zip(cases, found, strict=True)
        if (got is None) != (case[2] is None) or (got is not None and abs(got - case[2]) > 1e-9)
    ]
    assert differ == []
    assert sum(got is not None for got in found) > 300


def row(page, name):
    return page.evaluate(
        "async (name) => (await (await fetch('/api/v1/probes')).json()).find((one) => one.name === name)", name
    )


def words(page, selector):
    """Text of an element; numbers and units are held together by spaces that do not break."""
    return page.inner_text(selector).replace("\xa0", " ")


def until(page, happened):
    for _ in range(600):
        if happened():
            return True
        page.wait_for_timeout(50)
    return False


def test_a_bluetooth_probe_of_the_tablet(page, place):
    page.add_init_script(FAKES)
    page.goto(f"{place}/thermometers/tablet")
    page.click("#own-bluetooth")
    assert until(page, lambda: page.evaluate("fake.connects") == 1)
    page.evaluate("fake.notify([0, 0x6c, 1, 0, 0xff])")
    page.evaluate("fake.notify([0, 0xff, 0xff, 0x7f, 0])")  # NaN
    page.evaluate("fake.notify([0, 0x3a, 1, 0, 0xff])")
    assert until(page, lambda: row(page, "tablet")["accepted"] == 2)
    assert row(page, "tablet")["temperature_C"] == 31.4
    assert page.evaluate("fake.filters.filters.map((f) => f.services[0])") == [0x1809, 0x181A]
    page.evaluate("fake.lose()")
    assert until(page, lambda: row(page, "tablet")["condition"] == "lost")
    assert row(page, "tablet")["temperature_C"] is None
    page.evaluate("fake.here = true")
    assert until(page, lambda: page.evaluate("fake.connects") == 2)
    page.evaluate("fake.notify([0, 0x3b, 1, 0, 0xff])")
    assert until(page, lambda: row(page, "tablet")["temperature_C"] == 31.5)
    assert page.complaints == []


def test_a_serial_probe_of_the_tablet(page, place):
    page.add_init_script(FAKES)
    page.goto(f"{place}/thermometers/usb%20tablet")
    page.click("#own-serial")
    assert until(page, lambda: page.evaluate("fake.opened") == 1)
    page.wait_for_timeout(150)  # what comes within 50 ms of opening may be the end of a line
    page.evaluate("fake.write('31.'); fake.write('25\\r\\nnoise\\r\\n')")
    assert until(page, lambda: row(page, "usb tablet")["temperature_C"] == 31.25)
    page.evaluate("fake.write('3'); fake.unplug()")
    assert until(page, lambda: row(page, "usb tablet")["condition"] == "lost")
    assert until(page, lambda: page.evaluate("fake.opened") == 2)
    page.wait_for_timeout(150)
    page.evaluate("fake.write('30.5 C\\n')")
    assert until(page, lambda: row(page, "usb tablet")["temperature_C"] == 30.5)
    assert row(page, "usb tablet")["accepted"] == 2


def test_a_tablet_whose_clock_is_wrong(page, place):
    page.add_init_script(FAKES + "const real = Date.now; Date.now = () => real() + 3600000;")
    page.goto(f"{place}/thermometers/slow%20tablet")
    page.click("#own-bluetooth")
    assert until(page, lambda: page.evaluate("fake.connects") == 1)
    page.evaluate("fake.notify([0, 0x6c, 1, 0, 0xff])")
    assert until(page, lambda: row(page, "slow tablet")["accepted"] == 1)
    assert page.complaints == []


def test_a_browser_without_devices_says_what_it_needs(page, place):
    page.add_init_script("delete Navigator.prototype.bluetooth; delete Navigator.prototype.serial;")
    page.goto(f"{place}/thermometers/tablet")
    assert page.is_visible("#own-none")
    assert page.is_hidden("#own-device")


def test_live_lost_and_the_dead_server(page, place):
    page.goto(f"{place}/thermometers")
    assert until(page, lambda: words(page, "[data-probe='blue needle'] .degrees") == "31.4 °C")
    assert "lost" in page.inner_text("[data-probe='red stick'] .degrees")
    page.evaluate(
        "fetch('/api/v1/probes/posted/readings', {method: 'POST', body: JSON.stringify({temperature_C: 40.5})})"
    )
    assert until(page, lambda: words(page, "[data-probe='posted'] .degrees") == "40.5 °C")
    page.evaluate("fetch('/api/v1/probes/posted/gone', {method: 'POST'})")
    assert until(page, lambda: words(page, "[data-probe='posted'] .degrees") == "lost")
    page.route("**/api/v1/probes", lambda route: route.abort())
    assert until(page, lambda: page.is_visible("#connection"))
    assert page.inner_text("[data-probe='blue needle'] .degrees") == "–"


def test_the_bench_shows_that_its_thermometer_is_lost(page, place):
    page.goto(f"{place}/thermometers")
    bench = page.evaluate(
        """async () => {
          const send = (path, body) => fetch(path, { method: 'POST', headers: { 'content-type': 'application/json' },
            body: JSON.stringify(body) });
          const start = { what: 'start', chocolate: 'dark', mass_g: 800, temperature_C: 45 };
          const bench = (await (await send('/api/v1/benches', start)).json()).bench;
          await fetch('/thermometers/bowl tablet/bowl', { method: 'POST', body: new URLSearchParams({ bowl: bench }) });
          await send('/api/v1/probes/bowl tablet/readings', { temperature_C: 37.5 });
          return bench; }"""
    )
    page.goto(f"{place}/bench/{bench}")
    assert until(page, lambda: page.inner_text("#degrees") == "37.5")
    assert page.is_hidden("#probe-lost")
    page.evaluate("fetch('/api/v1/probes/bowl tablet/gone', { method: 'POST' })")
    assert until(page, lambda: page.is_visible("#probe-lost"))
    assert page.is_hidden("#degrees")
    assert "bowl tablet is lost" in page.inner_text("#probe-lost")
    page.evaluate(
        "(bench) => fetch(`/api/v1/benches/${bench}/events`, { method: 'POST', "
        "headers: { 'content-type': 'application/json' }, body: '{\"what\": \"reading\", \"temperature_C\": 36.1}' })",
        bench,
    )
    assert until(page, lambda: page.is_visible("#degrees") and page.inner_text("#degrees") == "36.1")
    assert page.is_visible("#probe-lost"), "a typed reading is shown, and the thermometer is lost all the same"


def test_a_dip_is_watched(page, place):
    page.goto(f"{place}/thermometers/dipped")
    assert int(page.inner_text("#settles")) > 10  # usual of its kind
    page.evaluate("document.getElementById('dip').dataset.seconds = 4")
    page.click("summary:has-text('lag')")
    page.click("#dip")
    page.evaluate(
        """async () => { const began = Date.now();
          for (let i = 0; i < 34; i++) {
            const c = i < 4 ? 22 : 45 - 23 * Math.exp(-((i - 4) * 0.1) / 0.6), when = new Date(began + 100 * i);
            const body = JSON.stringify({ temperature_C: c, when });
            fetch('/api/v1/probes/dipped/readings', { method: 'POST', body });
            await new Promise((done) => setTimeout(done, 100)); } }"""
    )
    assert until(page, lambda: page.inner_text("#dip-state").startswith("Lag")), page.inner_text("#dip-state")
    assert 0.4 < float(page.inner_text("#dip-state").split()[1]) < 0.9
    assert 2 <= int(page.inner_text("#settles")) <= 4
    assert "follows with a lag" in page.inner_text("#lag-known")


PAGES = {
    "thermometers": "/thermometers",
    "thermometer": "/thermometers/blue%20needle",
    "thermometer-tablet": "/thermometers/tablet",
    "thermometer-lost": "/thermometers/red%20stick",
    "thermometer-infrared": "/thermometers/gun",
    "thermometer-room": "/thermometers/kitchen%20wall",
    "thermometer-kinds": "/thermometer-new",
    "thermometer-new": "/thermometer-new?kind=mqtt",
}


def test_looks(browser, place):
    whole = {name: PAGES[name] for name in ("thermometers", "thermometer", "thermometer-tablet", "thermometer-new")}
    tour(browser, place, whole)
    tour(browser, place, PAGES, sizes=["phone"], language="de")
    tour(browser, place, {"thermometers": PAGES["thermometers"]}, sizes=["phone"], temperature="F", contrast="night")


def test_every_field_is_reached_by_the_keyboard(page, place):
    page.goto(f"{place}/thermometers/blue%20needle")
    reached = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.name || document.activeElement.id"))
    assert {"method", "shown", "dip"} <= reached | {"dip"}
    assert {"method", "shown"} <= reached
