"""Sums of a study against numbers worked by hand."""

import math

import pytest

from bloomless.studies.intervals import wilson
from bloomless.studies.sums import calibration, summarise


def record(number, chances, *, kind="dark", fault=None, success=True, form_v=(0.9, 1.0, 1.2, 1.1)):
    cook = {
        "success": success,
        "used": True,
        "wrong": [] if success else ["lumps"],
        "minutes": 10.0 + number,
        "seed_share": 0.25,
        "actions": 5,
        "cpu_s": 1.0,
        "chances": chances,
        "alerts": [],
        "fault": None,
        "watched_s": 900.0,
        "estimates": {"temperature_C": {"mse": 0.04, "cover": 0.9, "replies": 10}, "batch_g": None},
        "ahead": [[31.5, 31.0, 31.2, 30.6]],
        "before": {"minutes": {"p05": 5.0, "p50": 9.0, "p95": 10.5}},
        "to_temper": [[1.0, 2.0, 3.0, 2.5]],
        "variety": [0.8, 0.02 / (1 + number)],
        "at_the_end": {"chance": 0.9, "form_v": list(form_v), "working_minutes": [10.0, 20.0, 30.0, 35.0]},
    }
    return {
        "number": number,
        "kind": kind,
        "fault": fault,
        "probe_offset_K": 0.3,
        "room_error_K": 0.5,
        "cooks": {"advised": cook},
    }


def test_wilson_by_hand():
    # 8 of 10: centre (0.8 + 1.9207/10)/(1 + 3.8415/10), worked on paper: 0.4902 … 0.9433.
    found = wilson(8, 10)
    assert (found["low"], found["high"]) == pytest.approx((0.4902, 0.9433), abs=1e-4)
    assert wilson(10, 10)["high"] == pytest.approx(1.0)
    assert wilson(0, 10)["low"] == 0.0
    assert math.isnan(wilson(0, 0)["share"])


def test_calibration_weighs_each_kitchen_once():
    # One kitchen with a single reply, one with many: each counts one half.
    found = calibration([record(0, [[0.95, 1]]), record(1, [[0.15, 0]] * 50)])
    assert [round(b["weight"], 6) for b in found["bins"]] == [0.5, 0.5]
    assert found["error"] == pytest.approx(0.5 * 0.05 + 0.5 * 0.15)
    assert found["brier"] == pytest.approx(0.5 * 0.05**2 + 0.5 * 0.15**2)
    assert found["base_rate"] == pytest.approx(0.5)
    assert found["skill"] == pytest.approx(1 - found["brier"] / 0.25)


def test_over_sure_chances_are_found_out():
    honest = [record(i, [[0.8, int(i % 5 != 0)]]) for i in range(50)]
    boaster = [record(i, [[0.99, int(i % 5 != 0)]]) for i in range(50)]
    assert calibration(honest)["error"] == pytest.approx(0.0, abs=1e-9)
    assert calibration(boaster)["error"] == pytest.approx(0.19)


def test_cooks_without_an_ensemble_have_no_variety():
    plain = record(0, [])
    del plain["cooks"]["advised"]["variety"]
    assert summarise([plain])["all"]["variety"] is None


def test_no_replies_make_no_calibration():
    assert calibration([record(0, [])])["error"] is None


def test_summary_by_kind_and_fault():
    records = [
        record(0, [[0.9, 1]]),
        record(1, [[0.9, 1]], kind="milk", fault="probe_off", success=False, form_v=(0.9, 1.0, 1.2, 2.0)),
    ]
    found = summarise(list(reversed(records)))
    everything = found["all"]
    assert everything["cooks"]["advised"]["success"]["share"] == 0.5
    assert everything["cooks"]["advised"]["minutes_mean"] == 10.5
    assert everything["cooks"]["advised"]["failures"] == {"lumps": 1}
    assert everything["form_v_at_use"]["within_factor_1_5"]["share"] == 0.5
    assert everything["form_v_at_use"]["cover_of_90_pct"] == 0.5
    assert everything["estimates"]["temperature_C"]["rms_error"] == pytest.approx(0.2)
    assert everything["estimates"]["temperature_ten_minutes_ahead_C"]["rms_error"] == pytest.approx(0.4)
    assert everything["estimates"]["thermometer_ten_minutes_ahead_C"]["mean_error"] == pytest.approx(0.1)
    assert everything["estimates"]["working_minutes_left"]["cover_of_90_pct"] == 0.0
    assert everything["estimates"]["minutes_before_the_start"] == {
        "median_error": 1.5,
        "cover_of_90_pct": 0.5,
        "bands": 2,
    }
    assert everything["variety"] == {
        "effective_share": {"median": 0.8, "least": 0.8, "kitchens": 2},
        "ancestor_share": {"median": pytest.approx(0.015), "least": 0.01, "kitchens": 2},
    }
    assert "batch_g" not in everything["estimates"]
    assert set(found["by_kind"]) == {"dark", "milk"}
    assert found["by_fault"]["probe_off"]["kitchens"] == 1
