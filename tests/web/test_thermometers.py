"""Thermometers over REST and on the pages: live or lost, tried, saved, given to a bowl, checked, posted to."""

import asyncio
import json
import math
import re

import pytest

from bloomless.bench.probe_register import Registration, checks_of, probe_of, save_probe

START = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0, "id": "s1"}


@pytest.fixture
def bench(client):
    return client.post("/api/v1/benches", json=START).json()["bench"]


def save(client, label="tablet", kind="http", **fields):
    data = {"label": label, "sort": "needle", "place": "bowl", **fields}
    answer = client.post(f"/thermometer-new?kind={kind}", data=data)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def row(client, name="tablet"):
    return next(one for one in client.get("/api/v1/probes").json() if one["name"] == name)


def post(client, name="tablet", **body):
    return client.post(f"/api/v1/probes/{name}/readings", json=body)


def test_a_posted_reading_is_shown_and_a_lost_probe_shows_nothing(client):
    assert save(client) == "/thermometers/tablet"
    assert row(client)["condition"] == "waiting"
    assert post(client, temperature_C=31.25, id="a").json() == {"taken": 1}
    assert post(client, temperature_C=31.25, id="a").json() == {"taken": 0}
    live = row(client)
    assert (live["condition"], live["temperature_C"], live["accepted"]) == ("live", 31.25, 1)
    assert live["doubt_K"] == 0.7
    assert "31.2" in client.get("/thermometers").text
    assert client.post("/api/v1/probes/tablet/gone").status_code == 200
    lost = row(client)
    assert (lost["condition"], lost["temperature_C"], lost["true_C"], lost["sent"]) == ("lost", None, None, None)
    page = client.get("/thermometers").text
    assert "31.2" not in page
    assert "lost" in page


@pytest.mark.parametrize(
    ("body", "status"),
    [(b"hot", 422), (b"{}", 422), (b'{"temperature_C": 400}', 422), (b'{"temperature_C": 31, "x": 1}', 422)],
)
def test_nonsense_is_answered_and_counted(client, body, status):
    save(client)
    answer = client.post("/api/v1/probes/tablet/readings", content=body)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert row(client)["refused"] == 1
    assert "Refused last:" in client.get("/thermometers/tablet").text


def test_unknown_and_unpostable(client):
    assert post(client, "nobody", temperature_C=31).status_code == 404
    save(client, "sim", "simulated", interval_s="0.05")
    assert post(client, "sim", temperature_C=31).status_code == 409
    assert client.post("/api/v1/probes/sim/gone").status_code == 404
    assert client.get("/thermometers/nobody").status_code == 404


def wait_for(client, happened, seconds=8.0):
    for _ in range(int(seconds / 0.05)):
        if happened():
            return True
        client.portal.call(asyncio.sleep, 0.05)
    return False


def test_readings_reach_the_bowl_it_belongs_to(client, bench, clock):
    save(client)
    clock.pass_(seconds=60)
    assert client.post("/thermometers/tablet/bowl", data={"bowl": bench}).status_code == 303
    assert row(client)["bowl"] == bench
    post(client, temperature_C=37.5)

    def readings():
        events = [one["event"] for one in client.get(f"/api/v1/benches/{bench}/events").json()]
        return [e["temperature_C"] for e in events if e["what"] == "reading"]

    assert wait_for(client, lambda: readings() == [37.5])
    # the page shows every reading; the bench log takes one a second
    post(client, temperature_C=37.4)
    assert row(client)["temperature_C"] == 37.4
    assert readings() == [37.5]
    client.post(f"/api/v1/benches/{bench}/events", json={"what": "finish", "used": True})
    client.portal.call(asyncio.sleep, 1.05)
    clock.pass_(seconds=2)
    post(client, temperature_C=37.0)
    assert wait_for(client, lambda: row(client)["bowl"] == ""), "a finished bowl lets its thermometer go"


def test_a_checked_thermometer_brings_its_error_to_the_bowl(client, bench, house):
    save(client)
    client.post("/thermometers/tablet/check", data={"method": "ice", "shown": "-0.8"})
    client.post("/thermometers/tablet/bowl", data={"bowl": bench})
    told = [one["event"] for one in client.get(f"/api/v1/benches/{bench}/events").json()]
    check = next(e for e in told if e["what"] == "probe_check")
    assert check["shown_C"] - check["reference_C"] == pytest.approx(-0.77, abs=0.05)
    assert client.post("/thermometers/tablet/bowl", data={"bowl": "b-none"}).status_code == 422


def test_a_bowl_is_started_with_a_thermometer(client, house):
    save(client)
    client.post("/thermometers/tablet/check", data={"method": "ice", "shown": "0,4"})
    assert "tablet" in client.get("/start").text
    form = {"chocolate": "dark", "state": "melted", "mass": "800", "room": "21", "material": "steel", "seed": "on"}
    where = client.post("/start", data=form | {"thermometer": "tablet"}).headers["location"]
    bench = where.rsplit("/", 1)[1]
    start = client.get(f"/api/v1/benches/{bench}/events").json()[0]["event"]
    assert start["probe"]["offset_C"] == pytest.approx(0.38, abs=0.03)
    assert start["probe"]["offset_sd_C"] < 0.2
    assert row(client)["bowl"] == bench


def test_the_room_thermometer_fills_the_start_form(client):
    save(client, "wall", "http", place="room")
    post(client, "wall", temperature_C=19.0, humidity_pct=44)
    assert 'value="19"' in client.get("/start").text
    assert row(client, "wall")["humidity_pct"] == 44
    assert row(client, "wall")["check_due"] is False
    assert client.get("/thermometers").status_code == client.get("/thermometers/wall").status_code == 200


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"method": "ice", "shown": ""}, "number"),
        ({"method": "boiling", "shown": "99"}, "air pressure"),
        ({"method": "second_probe", "shown": "31"}, "number"),
        ({"shown": "31"}, "choose"),
    ],
)
def test_checks_that_cannot_be(client, house, data, words):
    save(client)
    answer = client.post("/thermometers/tablet/check", data=data)
    assert answer.status_code == 422
    assert words in answer.text.lower()
    assert checks_of(house.book, "tablet") == []


def test_checks_their_findings_and_record(client, house, clock):
    save(client)
    save(client, "other")
    client.post("/thermometers/other/check", data={"method": "ice", "shown": "0.5"})
    far = client.post("/thermometers/tablet/check", data={"method": "ice", "shown": "1.6", "who": "M."})
    assert far.status_code == 200
    assert "more than 1" in far.text
    boiled = {"method": "boiling", "shown": "99.2", "altitude": "250"}
    assert client.post("/thermometers/tablet/check", data=boiled).status_code == 303
    compared = {"method": "second_probe", "shown": "31.9", "reference": "31.5", "other": "other"}
    assert client.post("/thermometers/tablet/check", data=compared).status_code == 303
    record = checks_of(house.book, "tablet")
    assert record[2].check.reference_C == pytest.approx(31.0, abs=0.1)
    page = client.get("/thermometers/tablet").text
    assert page.count('name="number"') == 3
    before = row(client)["doubt_K"]
    client.post("/thermometers/tablet/void", data={"number": "1"})
    assert 0.1 < before < row(client)["doubt_K"] < 0.7, "what a check says is shown at once"
    assert "does not count" in client.get("/thermometers/tablet").text
    clock.pass_(hours=1)
    client.post("/thermometers/tablet/fell")
    assert "A check is due now" in client.get("/thermometers/tablet").text
    assert probe_of(house.book, "tablet").fell_at


def settling_said(client):
    """Seconds it takes to show the bowl, as its page says."""
    return int(re.search(r'<strong id="settles">(\d+)</strong> s', client.get("/thermometers/tablet").text)[1])


def test_the_lag_from_its_last_readings(client, house):
    save(client)
    assert client.post("/thermometers/tablet/lag").status_code == 422
    keeper = client.app.state.probes.keeper("tablet")
    began = keeper._clock.monotonic_s()
    shown = [22.0] * 4 + [round(45 - 23 * math.exp(-t / 6), 1) for t in range(60)]
    for second, celsius in enumerate(shown):
        keeper._clock = type("Clock", (), {"now": house.clock, "monotonic_s": lambda _, s=second: began + s})()
        post(client, temperature_C=celsius)
    usual = settling_said(client)
    found = client.post("/thermometers/tablet/lag").json()
    assert found["lag_s"] == pytest.approx(6.0, rel=0.05)
    assert found["settles_s"] == pytest.approx(6.0 * math.log(100), rel=0.06)  # 10 K down to 0.1 K
    assert settling_said(client) == found["settles_s"] != usual
    client.post("/settings/device", data={"temperature": "F"})
    assert "18 °F cooler, it shows the bowl within 0.2 °F" in client.get("/thermometers/tablet").text
    assert "lag of" in client.get("/thermometers/tablet").text


def test_try_before_saving(client):
    fields = {"sort": "needle", "place": "bowl", "interval_s": "0.02", "noise_K": "0", "try": "1"}
    page = client.post("/thermometer-new?kind=simulated", data=fields).text
    assert "45.00" in page
    wrong = client.post(
        "/thermometer-new?kind=serial", data={"sort": "needle", "place": "bowl", "port": "/nope", "try": "1"}
    )
    assert "cannot be opened" in wrong.text
    missing = client.post("/thermometer-new?kind=mqtt", data={"label": "x", "sort": "needle", "place": "bowl"})
    assert missing.status_code == 422
    typed = client.post(
        "/thermometer-new?kind=serial",
        data={"label": "x", "sort": "needle", "place": "bowl", "port": "a", "baud": "fast"},
    )
    assert typed.status_code == 422
    assert "whole number" in typed.text


def test_new_pages(client):
    assert "Look around" in client.get("/thermometer-new").text
    for kind in ("typed", "bluetooth", "serial", "mqtt", "modbus", "board", "http", "file", "replay", "simulated"):
        assert client.get(f"/thermometer-new?kind={kind}").status_code == 200
    found = client.get("/thermometer-new?kind=serial&port=/dev/ttyUSB0").text
    assert 'value="/dev/ttyUSB0"' in found
    save(client)
    twice = client.post("/thermometer-new?kind=http", data={"label": "tablet", "sort": "needle", "place": "bowl"})
    assert twice.status_code == 422
    assert client.post("/thermometers/tablet/forget").status_code == 303
    assert client.get("/api/v1/probes").json() == []


def test_looking_around_answers_with_what_could_not_be_looked_at(client, monkeypatch):
    from bloomless.errors import DeviceFailure
    from bloomless.web import probes_api

    async def none(*_):
        raise DeviceFailure("Bluetooth of this machine does not work.")

    monkeypatch.setattr(probes_api.finding, "find_bluetooth", none)
    body = client.get("/api/v1/probes-found?seconds=0.1&broker=127.0.0.1:1").json()
    assert len(body["troubles"]) == 2
    assert all(one["kind"] in {"serial", "board"} for one in body["found"])


def test_a_saved_one_that_cannot_be_made_says_why(house, clock):
    from starlette.testclient import TestClient

    from bloomless.web.app import create_app
    from services.plain_craft import PlainMaker

    save_probe(house.book, Registration("old", "serial", {"port": "p", "colour": "red"}), at=clock())
    with TestClient(create_app(house, maker=PlainMaker()), base_url="http://localhost:8750") as client:
        shown = row(client, "old")
        assert shown["condition"] == "lost"
        assert "colour" in shown["why"]
        assert post(client, "old", temperature_C=31).status_code == 409


def test_listening_can_be_left_to_another_server(house, clock, monkeypatch):
    from starlette.testclient import TestClient

    from bloomless.web.app import create_app
    from services.plain_craft import PlainMaker

    monkeypatch.setenv("BLOOMLESS_PROBES", "off")
    save_probe(house.book, Registration("sim", "simulated"), at=clock())
    with TestClient(create_app(house, maker=PlainMaker()), base_url="http://localhost:8750") as client:
        shown = row(client, "sim")
        assert (shown["condition"], shown["temperature_C"]) == ("waiting", None)
        assert "Another server" in shown["why"]
        assert post(client, "sim", temperature_C=31).status_code == 409


def test_what_a_bowl_says_of_its_thermometer_stands_beside_it():
    from types import SimpleNamespace

    from bloomless.web.probes_api import _alerts

    alerts = [{"code": "probe_on_the_wall", "text": "On the wall."}, {"code": "small_bowl", "text": "Small."}]
    news = {"state": (3, json.dumps({"estimate": {"alerts": alerts}}))}
    bowls = SimpleNamespace(at_work=lambda: [SimpleNamespace(name="b1", last_news=news)])
    assert _alerts(bowls, "b1") == ["On the wall."]
    assert _alerts(bowls, "b2") == []


def test_a_key_for_a_program_on_the_kitchens_network(house):
    from starlette.testclient import TestClient

    from bloomless.web import Door
    from bloomless.web.app import create_app
    from bloomless.web.sign_in import set_secret
    from services.plain_craft import PlainMaker

    set_secret(house, "owner", "four words of our own")
    app = create_app(house, Door("0.0.0.0", 8750), PlainMaker())
    with TestClient(app, base_url="http://kitchen.local:8750", follow_redirects=False) as client:
        assert post(client, temperature_C=31).status_code == 401
        owner = client.post("/api/v1/sign-in", json={"role": "owner", "secret": "four words of our own"}).json()
        client.headers["authorization"] = f"Bearer {owner['token']}"
        save(client)
        assert "Make a key" in client.get("/thermometers/tablet").text
        page = client.post("/thermometers/tablet/key").text
        key = page.split("shown only now:</strong> <code>")[1].split("</code>")[0]
        client.headers["authorization"] = f"Bearer {key}"
        assert post(client, temperature_C=31).json() == {"taken": 1}
        assert client.get("/thermometer-new").status_code == 403
        assert client.get("/api/v1/probes-found").status_code == 403
        assert client.post("/thermometers/tablet/forget").status_code == 403


def test_rows_are_json_without_surprises(client):
    save(client)
    assert json.loads(client.get("/api/v1/probes").text)[0]["alerts"] == []
