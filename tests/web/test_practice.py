"""Practice over HTTP: hidden until the end, scored then; and past benches."""

import pytest
from starlette.testclient import TestClient

from bloomless.web import create_app
from services.plain_craft import PlainMaker

PAGE = {"accept": "text/html"}


@pytest.fixture
def table(client):
    answer = client.post("/practice", data={"kind": "milk", "level": "usual", "hints": "yes"})
    assert answer.status_code == 303
    return answer.headers["location"]


def test_a_practice_bowl_from_start_to_score(client, table):
    room = client.app.state.practice
    bowl = room.get(table.rsplit("/", 1)[1])
    bowl.advance(60)
    shown = client.get(f"{table}/api").json()
    assert shown["verdict"] is None
    assert len(shown["history"]["rows"]) >= 4
    assert (
        client.post(
            f"{table}/api/events", json={"what": "seed", "mass_g": 60, "form": "tempered", "id": "a"}
        ).status_code
        == 201
    )
    assert client.post(f"{table}/api/events", json={"what": "seed", "mass_g": 60, "id": "a"}).status_code == 201
    seeds = [line for line in bowl.practice.log if line["what"] == "seed"]
    assert len(seeds) == 1
    wrong = client.post(f"{table}/api/events", json={"what": "seed", "mass_g": -5})
    assert (wrong.status_code, wrong.json()["field"]) == (422, "mass_g")
    assert client.post(f"{table}/api/events", json={"what": "dance"}).status_code == 422
    assert client.post(f"{table}/api/speed", json={"speed": 20}).json() == {"speed": 20}
    assert client.post(f"{table}/api/speed", json={"speed": 7}).status_code == 422
    client.post(f"{table}/api/events", json={"what": "finish", "used": True})
    verdict = client.get(f"{table}/api").json()["verdict"]
    assert 0 <= verdict["score"]["total"] <= 100
    assert verdict["truth"]
    assert client.post(f"{table}/api/events", json={"what": "look"}).status_code == 409
    assert "verdict" in client.get(table, headers=PAGE).text


def test_practice_leaves_nothing_in_the_book(client, table, house):
    assert house.log.sessions() == ()


def test_a_page_that_comes_later_gets_no_old_time(client, table):
    bowl = client.app.state.practice.get(table.rsplit("/", 1)[1])
    bowl.set_speed(10)
    bowl.advance(90)
    kept = []
    bowl.live.listen(lambda kind, _number, text: kept.append((kind, text)))
    assert ("speed", '{"speed":10}') in kept
    assert client.get(f"{table}/api").json()["now_s"] == 90


def test_time_stands_while_nobody_watches(client, table):
    bowl = client.app.state.practice.get(table.rsplit("/", 1)[1])
    assert bowl.live.now_s() == 0


def test_the_same_first_bowl_for_everybody(client):
    where = [client.post("/practice/first").headers["location"] for _ in range(2)]
    logs = [client.app.state.practice.get(w.split("/")[2].split("?")[0]).practice.log for w in where]
    assert logs[0][0] == logs[1][0]


def test_unknown_tables_and_choices(client):
    assert client.get("/practice/none", headers=PAGE).status_code == 404
    assert client.post("/practice", data={"kind": "ruby", "level": "calm"}).status_code == 422


def test_past_benches(client, house, clock):
    start = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0}
    names = [client.post("/api/v1/benches", json=start | {"id": str(i)}).json()["bench"] for i in range(2)]
    for name in names:
        client.post(f"/api/v1/benches/{name}/events", json={"what": "reading", "temperature_C": 40, "at": 60})
        client.post(f"/api/v1/benches/{name}/events", json={"what": "finish", "used": True, "at": 600})
    client.post("/welcome", data={"language": "en", "temperature": "C", "mass": "g", "country": "EU"})
    page = client.get("/past").text
    assert page.count("How did it come out?") == 2
    for hours, asked in ((1, 0), (20, 2), (24 * 8, 0)):  # the day after, and not for ever
        clock.pass_(hours=hours)
        assert client.get("/").text.count("How did it come out?") == asked
    clock.pass_(hours=-24 * 8)
    kept = client.post(f"/past/{names[0]}/outcome", data={"seen": "bloom", "note": "warm night"})
    assert kept.status_code == 303
    assert "grey bloom" in client.get("/past").text
    assert client.get("/").text.count("How did it come out?") == 1
    wrong = client.post(f"/past/{names[0]}/outcome", data={"seen": "blue", "note": "kept"})
    assert wrong.status_code == 422
    assert 'value="kept"' in wrong.text
    again = client.get(f"/past/{names[0]}/again").json()
    assert again["rows"][0][3] == 45
    assert client.get("/past/none/again").status_code == 404
    table = client.get(f"/past/{names[0]}/rows.csv").text.splitlines()
    assert table[0].startswith("at,shown_C")
    assert len(table) == 4
    assert client.get("/compare", params={"a": names[0], "b": names[1]}).status_code == 200
    assert client.get("/compare", params={"a": names[0], "b": "none"}, headers=PAGE).status_code == 404
    assert client.get("/bench").headers["location"] == "/start"


def test_hindsight_takes_what_was_learned_of_the_thermometer(house):
    start = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0, "id": "s"}
    with TestClient(create_app(house), base_url="http://localhost") as client:
        name = client.post("/api/v1/benches", json=start).json()["bench"]
        for i in range(1, 30):
            event = {"what": "reading", "temperature_C": 45 - 0.15 * i, "at": 10 * i}
            client.post(f"/api/v1/benches/{name}/events", json=event)
        check = {"what": "probe_check", "method": "ice", "shown_C": 1.2, "reference_C": 0, "at": 300}
        client.post(f"/api/v1/benches/{name}/events", json=check)
        seen = client.get(f"/past/{name}/again").json()
        live = client.get(f"/api/v1/benches/{name}/history").json()["rows"]
    assert seen["offset_C"][0] == pytest.approx(1.2, abs=0.4)
    at_60, live_60 = (next(row for row in rows if row[0] >= 60) for rows in (seen["rows"], live))
    assert at_60[3] < live_60[3] - 0.4
    assert at_60[4] - at_60[2] < live_60[4] - live_60[2]


def test_starting_keeps_what_was_typed(client, house):
    good = {
        "chocolate": "milk",
        "mass": "600",
        "temperature": "42",
        "room": "20",
        "state": "melted",
        "material": "glass",
        "seed": "on",
    }
    wrong = client.post("/start", data=good | {"mass": "lots"})
    assert wrong.status_code == 422
    assert 'value="lots"' in wrong.text
    assert house.log.sessions() == ()
    worked = client.post("/start", data=good | {"work_out": "1", "humidity": "40", "probe_kind": "glass"})
    assert "Chop" in worked.text
    assert "The room is fit." in worked.text
    assert house.log.sessions() == ()
    begun = client.post("/start", data=good | {"humidity": "40", "probe_kind": "glass"})
    assert begun.status_code == 303
    assert "Glass thermometers break" in client.get(begun.headers["location"]).text
    event = house.log.events(house.log.sessions()[0])[0].event
    assert (event["chocolate"], event["mass_g"], event["means"]) == ("milk", 600.0, ["seed"])
    assert (event["room_rh_pct"], event["probe"]) == (40.0, {"kind": "glass"})
    assert 'value="600"' in client.get("/start").text


def test_coloured_cocoa_butter_is_started_with_its_crystals_and_its_bottle_is_warmed(client, house):
    typed = {"chocolate": "coloured_cocoa_butter", "mass": "60", "temperature": "45", "room": "20", "state": "melted"}
    typed |= {"material": "plastic", "cocoa_butter_crystals": "on", "cool_bath": "on"}
    worked = client.post("/start", data=typed | {"work_out": "1"})
    assert "Warm the bottle" in worked.text
    assert "cocoa butter crystals, as fine as dust; they go in at 33 to 34\u00a0°C" in worked.text
    assert "Chop" not in worked.text
    begun = client.post("/start", data=typed)
    event = house.log.events(house.log.sessions()[0])[0].event
    assert event["chocolate"] == {"kind": "cocoa_butter", "colour": 0.06}
    assert event["means"] == ["cocoa_butter_crystals", "cool_bath"]
    assert "Coloured cocoa butter 60" in client.get(begun.headers["location"]).text
    again = client.get("/start").text
    assert 'value="coloured_cocoa_butter" checked' in again


def test_a_start_in_ounces(house):
    with TestClient(
        create_app(house, maker=PlainMaker()), base_url="http://localhost", follow_redirects=False
    ) as client:
        client.cookies.set("view", "temperature=F&mass=oz")
        data = {
            "chocolate": "dark",
            "mass": "28.2",
            "temperature": "113",
            "room": "70",
            "state": "melted",
            "material": "steel",
        }
        assert client.post("/start", data=data).status_code == 303
    event = house.log.events(house.log.sessions()[0])[0].event
    assert event["mass_g"] == pytest.approx(799.5, abs=0.1)
    assert event["temperature_C"] == 45.0
