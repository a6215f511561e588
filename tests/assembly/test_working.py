"""The bench behind plain JSON: a real bowl over REST, kept and taken up again."""

import json
import pickle
import pickletools

import pytest
from starlette.testclient import TestClient

from bloomless.assembly.working import STATE_ROOMS, BenchMaker
from bloomless.bench.contract import event_from
from bloomless.web import create_app

API = "/api/v1/benches"
START = {"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45.0, "id": "s1"}


def test_a_real_bowl_and_its_second_life(house, clock):
    states = []
    for _ in range(2):
        with TestClient(create_app(house), base_url="http://localhost") as client:
            begun = client.post(API, json=START).json()
            bench = begun["bench"]
            if begun["new"]:
                for i in range(1, 9):
                    client.post(
                        f"{API}/{bench}/events", json={"what": "reading", "temperature_C": 45 - i, "at": 20 * i}
                    )
                client.post(f"{API}/{bench}/events", json={"what": "seed", "mass_g": 130, "at": 165})
                advice = client.get(f"{API}/{bench}/advice").json()
                assert advice["next"]["do"]
            shown = client.get(f"{API}/{bench}").json()
            states.append({key: shown[key] for key in ("number", "told", "state", "history", "window_C", "start")})
            ahead = client.post(f"{API}/{bench}/forecast", json={"minutes": 3}).json()
            assert len(ahead["at_s"]) == len(ahead["temperature_C"]) == 7
    assert states[0] == states[1]
    assert states[0]["window_C"] == [29.3, 33.0]
    assert 0 <= states[0]["state"]["estimate"]["chance_in_temper"] <= 1


def test_the_curve_ahead_and_what_the_next_step_would_make_of_it(house):
    craft = BenchMaker().begin(event_from({"at": 0, **START}).event, "s")
    checked = {"what": "probe_check", "method": "ice", "shown_C": 0.0, "reference_C": 0.0, "at": 30}
    craft.take(event_from(checked).event, "c")
    for i in range(1, 5):
        craft.take(event_from({"what": "reading", "temperature_C": 44 - i, "at": 60 * i}).event, f"r{i}")
    step = craft.advised()["next"]["do"]
    ahead = craft.ahead(8.0, from_s=240.0)
    assert len(ahead["at_s"]) == 17
    assert step in {"cool_bath", "pour_over", "add_seed"}
    assert ahead["obeyed"]["temperature_C"][-1]["p50"] < ahead["temperature_C"][-1]["p50"] - 1
    silent = craft.ahead(8.0, from_s=400.0)
    assert (silent["at_s"][0], silent["at_s"][-1]) == (390.0, 870.0)
    assert BenchMaker().begin(event_from({"at": 0, **START}).event, "s").ahead(1.0, from_s=0.0)["obeyed"] is None


def test_what_to_melt_and_chop(house):
    with TestClient(create_app(house), base_url="http://localhost") as client:
        worked = client.app.state.bowls.before(START)
    assert worked["before"]["seed_now_g"] > 0
    assert house.log.sessions() == ()
    json.dumps(worked)


def test_a_state_of_something_else_is_not_taken_up():
    with pytest.raises(TypeError):
        BenchMaker().resume({"no": "bench"})


def test_a_snapshot_is_only_read_by_the_code_that_its_state_was_made_of(house):
    craft = BenchMaker().begin(event_from({"at": 0, **START}).event, "s")
    craft.take(event_from({"what": "reading", "temperature_C": 44.0, "at": 20}).event, "r")
    craft.advised()
    words = [
        word for _, word, _ in pickletools.genops(pickle.dumps(craft.state(), protocol=5)) if isinstance(word, str)
    ]
    rooms = {word.split(".")[1] for word in words if word.startswith("bloomless.")}
    assert {"bench", "estimation", "advice", "physics"} <= rooms <= set(STATE_ROOMS)
    assert len(BenchMaker.form.split()[-1]) == 32  # a digest of them all
