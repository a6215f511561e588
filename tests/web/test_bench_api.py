"""REST of the bench: commits before answers, ids once, errors that name the field, restart, other servers."""

import json
import threading
from concurrent.futures import ThreadPoolExecutor

import jsonschema
import pytest
from starlette.testclient import TestClient

from bloomless.assembly import open_house, places
from bloomless.assembly.working import BenchMaker
from bloomless.errors import StorageFailure
from bloomless.web import create_app
from services.plain_craft import PlainMaker
from services.postgres import new_database

START = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0, "id": "s1"}
API = "/api/v1/benches"


@pytest.fixture
def bench(client):
    return client.post(API, json=START).json()["bench"]


def tell(client, bench, **event):
    return client.post(f"{API}/{bench}/events", json=event)


def test_a_bowl_from_start_to_finish(client, bench, clock):
    clock.pass_(seconds=60)
    answer = tell(client, bench, what="reading", temperature_C=37.5, id="r1")
    assert answer.status_code == 201
    assert answer.json()["event"] == {"what": "reading", "temperature_C": 37.5, "id": "r1", "at": 60.0}
    assert client.get(f"{API}/{bench}/advice").json()["next"]["do"] in {"add_seed", "cool_bath"}
    tell(client, bench, what="seed", mass_g=130, at=70)
    clock.pass_(minutes=6)
    tell(client, bench, what="reading", temperature_F=88.0)
    shown = client.get(f"{API}/{bench}").json()
    assert shown["state"]["reading"]["temperature_C"] == pytest.approx(31.11)
    assert [one["event"]["what"] for one in shown["told"]] == ["start", "seed"]
    assert shown["history"]["columns"][0] == "at"
    assert len(shown["history"]["rows"]) == 4
    assert client.get(f"{API}/{bench}/estimate").json()["number"] == 4
    assert tell(client, bench, what="finish", used=True).status_code == 201
    late = tell(client, bench, what="look", lumps="few")
    assert (late.status_code, late.json()["code"]) == (409, "finished")
    listed = client.get(API).json()
    assert [(one["id"], one["events"], one["finished"]) for one in listed] == [(bench, 5, True)]


def test_an_id_is_taken_once(client, bench):
    first = tell(client, bench, what="seed", mass_g=100, id="x")
    again = tell(client, bench, what="seed", mass_g=999, id="x")
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json()["event"]["mass_g"] == 100
    assert again.json()["number"] == first.json()["number"] == 2
    repeated = client.post(API, json=START)
    assert (repeated.status_code, repeated.json()["bench"]) == (200, bench)


def test_the_same_tap_from_many_places_at_once(client, bench):
    with ThreadPoolExecutor(8) as pool:
        codes = list(pool.map(lambda _: tell(client, bench, what="seed", mass_g=50, id="tap").status_code, range(16)))
    assert sorted(codes) == [200] * 15 + [201]
    assert len(client.get(f"{API}/{bench}/events").json()) == 2


@pytest.mark.parametrize(
    ("event", "field", "code"),
    [
        ({"what": "reading", "temperature_C": "hot"}, "temperature_C", "wrong_type"),
        ({"what": "reading", "temperature_C": 900}, "temperature_C", "out_of_range"),
        ({"what": "reading"}, "temperature_C", "missing_field"),
        ({"what": "dance"}, "what", "unknown_name"),
        ({}, "what", "missing_field"),
        ({"what": "seed", "mass_g": 10, "colour": "blue"}, "colour", "unknown_field"),
        ({"what": "look", "id": ""}, "id", "wrong_type"),
        ({"what": "look", "id": "\u0000"}, "id", "wrong_type"),
        ({"what": "correct", "of": "nobody", "event": None}, "of", None),
    ],
)
def test_what_cannot_be_names_its_field_and_stores_nothing(client, bench, event, field, code):
    answer = tell(client, bench, **event)
    assert answer.status_code == 422
    problem = answer.json()
    assert problem["field"] == field
    assert code in {problem["code"], None}
    assert len(client.get(f"{API}/{bench}/events").json()) == 1


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b'{"what": NaN}', b"\xff", b"[" * 100_000])
def test_bodies_that_are_no_json(client, bench, body):
    answer = client.post(f"{API}/{bench}/events", content=body)
    assert (answer.status_code, answer.json()["code"]) == (422, "broken_json")


def test_unknown_benches(client):
    for path in ("", "/events", "/estimate", "/advice", "/history", "/log", "/live"):
        assert client.get(f"{API}/nobody{path}").status_code == 404
    assert tell(client, "nobody", what="ask").status_code == 422


def test_a_reading_that_goes_back_is_refused_and_a_tap_moves_up(client, bench):
    tell(client, bench, what="reading", temperature_C=40, at=100)
    back = tell(client, bench, what="reading", temperature_C=40, at=50)
    assert back.json()["code"] == "goes_back"
    assert tell(client, bench, what="look", lumps="few", at=98).json()["event"]["at"] == 100
    assert tell(client, bench, what="look", lumps="few", at=60).json()["event"]["at"] == 60


def test_the_log_is_the_contract(client, bench):
    tell(client, bench, what="seed", mass_g=100, at=5, id="x")
    lines = client.get(f"{API}/{bench}/log").text.splitlines()
    assert [json.loads(line)["what"] for line in lines] == ["start", "seed"]


def test_forecast(client, bench):
    seen = client.post(f"{API}/{bench}/forecast", json={"minutes": 5, "actions": [{"what": "seed", "mass_g": 50}]})
    assert len(seen.json()["at_s"]) == 11
    assert client.post(f"{API}/{bench}/forecast", json={"minutes": 500}).status_code == 422
    assert client.post(f"{API}/{bench}/forecast", json={"actions": [START]}).status_code == 422


def test_nothing_is_acknowledged_that_was_not_committed(client, bench, house, monkeypatch):
    def full(*_args, **_more):
        raise StorageFailure("The disk is full: nothing was saved.", code="disk_full")

    with monkeypatch.context() as patch:
        patch.setattr(type(house.log), "append", full)
        answer = tell(client, bench, what="seed", mass_g=100, id="x")
        assert (answer.status_code, answer.json()["code"]) == (503, "disk_full")
    assert [e.id for e in house.log.events(bench)] == ["s1"]
    assert client.get(f"{API}/{bench}").json()["number"] == 1
    assert tell(client, bench, what="seed", mass_g=100, id="x").status_code == 201


def test_a_restart_finds_the_same_state_from_its_snapshot(house, clock):
    makers = [PlainMaker(), PlainMaker(), PlainMaker(form="plain 2")]
    states = []
    for maker in makers:
        with TestClient(create_app(house, maker=maker), base_url="http://localhost") as client:
            bench = client.post(API, json=START).json()["bench"]
            for i in range(20):
                tell(client, bench, what="reading", temperature_C=40 - i * 0.2, at=10 + i, id=f"r{i}")
            states.append(client.get(f"{API}/{bench}").json())
            clock.pass_(seconds=1)
    for state in states:
        state.pop("now_s")
        state.pop("advice")
    assert states[0] == states[1] == states[2]
    assert [m.resumed for m in makers] == [0, 1, 0]
    assert [len(m.begun) - 1 for m in makers] == [1, 0, 1]  # one more was the warm-up


@pytest.mark.xdist_group("postgres")
@pytest.mark.postgres
def test_two_servers_on_one_database_show_the_same_bowl(tmp_path, postgres_folder):
    url = new_database(postgres_folder)
    houses = [open_house(places(None, {"BLOOMLESS_DATABASE_URL": url})) for _ in range(2)]
    clients = [TestClient(create_app(h, maker=PlainMaker()), base_url="http://localhost") for h in houses]
    with clients[0] as one, clients[1] as two:
        bench = one.post(API, json=START).json()["bench"]
        assert two.get(f"{API}/{bench}").json()["number"] == 1
        assert tell(two, bench, what="seed", mass_g=100, id="x", at=5).json()["number"] == 2
        assert tell(one, bench, what="reading", temperature_C=40, id="y", at=9).json()["number"] == 3
        deadline = threading.Event()
        for _ in range(100):
            # read what is in memory: the notice alone brings it up to date
            bowl = two.app.state.bowls._bowls[bench]
            if bowl.number == 3:
                break
            deadline.wait(0.05)
        assert bowl.number == 3
        assert bowl.trail.reading["temperature_C"] == 40
    for house in houses:
        house.close()


def test_a_question_about_an_order_names_it_as_the_schema_says(house, clock):
    with TestClient(create_app(house, maker=BenchMaker()), base_url="http://localhost") as client:
        bench = client.post(API, json=START).json()["bench"]
        order = client.get(f"{API}/{bench}/advice").json()["next"]
        clock.pass_(seconds=160)
        client.app.state.bowls.get(bench).look_again()
        advice = client.get(f"{API}/{bench}/advice").json()
        schemas = client.get("/api/v1/openapi.json").json()["components"]["schemas"]
    asked = [alert for alert in advice["alerts"] if alert["code"] == "was_it_done"]
    assert [alert["order"] for alert in asked] == [{"id": order["id"], "do": order["do"]}]
    advised = {"$ref": "#/components/schemas/Advice", "components": {"schemas": schemas}}
    jsonschema.Draft202012Validator(advised).validate(advice)
