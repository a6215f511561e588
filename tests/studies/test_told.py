"""Faults told: moments, first alerts and false alarms against records worked by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from bloomless.estimation.alerts import alert_table
from bloomless.kitchens import FAULTS, Hands, World, draw_kitchen
from bloomless.studies.told import curing, faults_told, first_told, naming, raised


def hands(fault, seed=2):
    chances = [np.random.Generator(np.random.Philox(np.random.SeedSequence([seed, i]))) for i in range(2)]
    return Hands(World.begin(draw_kitchen(chances[0], "dark", fault), chances[1]))


@pytest.mark.parametrize("fault", FAULTS)
def test_every_fault_has_an_alert_that_names_it_and_every_code_exists(fault):
    assert naming(fault)
    assert naming(fault) | curing(fault) <= set(alert_table())


@pytest.mark.parametrize("fault", FAULTS)
def test_every_fault_has_its_moment(fault):
    cook = hands(fault)
    drawn = cook.world.kitchen.fault
    cook.begin()
    assert (cook.fault_s() is not None) == (drawn.begins_s == 0.0 and fault != "seed_not_added")
    cook.wait(20.0)
    cook.seed(40.0)
    cook.wait(1500.0)
    begins_s, ends_s = cook.fault_s()
    if fault == "power_cut":
        assert begins_s == pytest.approx(drawn.begins_s + drawn.lasts_s)  # nobody can hear of it before
    elif fault == "seed_not_added":
        assert begins_s == 20.0
    elif fault in {"seed_not_logged", "water_in"}:
        assert begins_s >= drawn.begins_s
        assert ends_s == np.inf
    else:
        assert (begins_s, ends_s) == (drawn.begins_s, drawn.begins_s + drawn.lasts_s)


def test_no_fault_has_no_moment():
    cook = hands(None)
    cook.wait(30.0)
    assert cook.fault_s() is None
    assert first_told(cook, [(10.0, "gap")]) is None


def test_an_alert_is_raised_where_it_did_not_stand_before():
    said = [{"alerts": [{"code": c} for c in codes]} for codes in (["gap"], ["gap", "burns"], [], ["gap"])]
    assert raised([(10.0 * i, reply) for i, reply in enumerate(said)]) == [(0.0, "gap"), (10.0, "burns"), (30.0, "gap")]


def test_the_first_alert_counts_that_names_the_fault_while_it_acts():
    cook = SimpleNamespace(
        world=SimpleNamespace(kitchen=SimpleNamespace(fault=SimpleNamespace(kind="probe_stuck"))),
        fault_s=lambda: (100.0, 200.0),
        log=[{"what": "reading", "at": at} for at in (90.0, 105.0, 120.0, 135.0)],
    )
    alerts = [(95.0, "reading_stuck"), (110.0, "reading_jumped"), (130.0, "reading_stuck")]
    right = {"at_s": 100.0, "code": "reading_stuck", "after_s": 30.0, "readings": 2, "instead": None}
    assert first_told(cook, alerts) == right
    assert first_told(cook, [(90.0, "gap"), (110.0, "burns"), (120.0, "reading_jumped")])["instead"] == "reading_jumped"
    assert first_told(cook, [(255.0, "reading_stuck")])["after_s"] == 155.0
    assert first_told(cook, [(265.0, "reading_stuck")])["after_s"] is None


def record(fault, alerts, told=None, watched_s=1800.0, offset_K=0.4, room_K=1.0):
    cook = {"alerts": alerts, "fault": told, "watched_s": watched_s}
    return {"fault": fault, "probe_offset_K": offset_K, "room_error_K": room_K, "cooks": {"advised": cook}}


def test_shares_times_and_false_alarms_by_hand():
    told = {"at_s": 100.0, "code": "reading_stuck", "after_s": 60.0, "readings": 4, "instead": None}
    late = told | {"after_s": 180.0, "readings": 12}
    missed = {"at_s": 100.0, "code": None, "after_s": None, "readings": None, "instead": "gap"}
    table = faults_told(
        [
            record("probe_stuck", [[160.0, "reading_stuck"]], told),
            record("probe_stuck", [[280.0, "reading_stuck"]], late),
            record("probe_stuck", [], missed),
            record("probe_stuck", [], None),  # used before it happened
            record("probe_jumping", [[50.0, "reading_jumped"], [90.0, "reading_stuck"]], told | {"at_s": 40.0}),
            record(None, [[10.0, "reading_stuck"]]),
            record(None, [], watched_s=3600.0),
        ]
    )
    stuck, jumping = table["probe_stuck"], table["probe_jumping"]
    assert (stuck["happened"], stuck["told"]["of"]) == (3, 3)
    assert stuck["told"]["share"] == pytest.approx(2 / 3)
    assert stuck["told_as_another"] == 1
    assert (stuck["minutes_median"], stuck["minutes_p90"], stuck["readings_median"]) == (2.0, 2.8, 8.0)
    assert stuck["hours_without_it"] == 2.0
    assert stuck["false_alarms_an_hour"] == 1.0
    # Right about its own kitchen's fault, and none elsewhere.
    assert jumping["false_alarms"] == 0
    assert table["water_in"]["told"] is None
    assert table["water_in"]["minutes_median"] is None


def test_a_right_alert_is_no_false_alarm_of_a_fault_that_shares_it():
    told = {"at_s": 100.0, "code": "not_stirred_in", "after_s": 20.0, "readings": 1, "instead": None}
    kitchens = [record("not_stirred", [[40.0, "not_stirred_in"], [120.0, "not_stirred_in"]], told)]
    table = faults_told(kitchens)
    assert table["probe_lifted"]["false_alarms"] == 1  # the one before anything was wrong
    assert table["not_stirred"]["false_alarms_an_hour"] is None
    assert faults_told([{"fault": None, "cooks": {"taught_rule": {}}}]) == {}


def test_a_thermometer_that_is_off_and_a_room_that_is_warm_by_nature_may_be_told():
    said = [[80.0, "thermometer_off"], [90.0, "room_warmer"]]
    kitchens = [record(None, said), record(None, said, offset_K=-1.3), record(None, said, room_K=2.4)]
    table = faults_told(kitchens)
    assert table["probe_off"]["false_alarms"] == 2
    assert table["room_warmer"]["false_alarms"] == 2
