"""A thermometer whose error grows with the temperature: its slope is taken off at the border, its doubt is kept."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.estimation.begin import begin
from bloomless.estimation.events import Composition, ProbeCheck, ProbeSpec, Reading, Start
from bloomless.estimation.read import take_reading
from bloomless.estimation.take import take
from bloomless.estimation.thermometer import as_at_working
from bloomless.physics import rows
from bloomless.physics.calibration import Check, CheckMethod, calibrate

TRUE_C = 46.0
SKEWED = ProbeSpec(offset_C=0.3, offset_sd_C=0.05, slope=0.03)


def shows(true_C, probe):
    return true_C + probe.offset_C + probe.slope * (true_C - 31.0)


def start(shown_C, probe):
    return Start(0.0, Composition("dark"), 800.0, temperature_C=shown_C, probe=probe)


def bowl_C(belief):
    return float(np.average(belief.ensemble.state[rows.BULK_C], weights=belief.weight))


@given(
    true_C=st.floats(-20, 110),
    offset_C=st.floats(-3, 3),
    slope=st.floats(-0.1, 0.1),
    slope_sd=st.floats(0, 0.02),
)
def test_what_is_left_of_the_error_is_the_offset(true_C, offset_C, slope, slope_sd):
    probe = ProbeSpec(offset_C=offset_C, slope=slope, slope_sd=slope_sd)
    shown_C, doubt_K = as_at_working(shows(true_C, probe), probe)
    assert shown_C - offset_C == pytest.approx(true_C, abs=1e-9)
    assert doubt_K == pytest.approx(slope_sd * abs(true_C - 31.0), abs=1e-9)


def test_the_same_as_the_calibration_says():
    known = calibrate([Check(CheckMethod.ICE, 0.4, 0.0, 0.1), Check(CheckMethod.BOILING, 102.0, 99.5, 0.3)])
    probe = ProbeSpec(offset_C=known.offset_C, slope=known.slope)
    assert as_at_working(46.0, probe)[0] - known.offset_C == pytest.approx(known.true_C(46.0)[0], abs=1e-9)


def test_a_bowl_is_as_warm_as_the_slope_says():
    believed = begin(start(shows(TRUE_C, SKEWED), SKEWED), seed=1, members=400)
    assert bowl_C(believed) == pytest.approx(TRUE_C, abs=0.06)
    for second in range(1, 20):
        believed = take(believed, Reading(float(second), shows(TRUE_C, SKEWED)))
    assert bowl_C(believed) == pytest.approx(TRUE_C, abs=0.25)
    careless = begin(start(shows(TRUE_C, SKEWED), replace(SKEWED, slope=0.0)), seed=1, members=400)
    assert bowl_C(careless) > TRUE_C + 0.35, "without its slope the same reading would mislead"


def test_a_doubtful_slope_makes_a_hot_reading_say_less():
    sure = begin(start(TRUE_C, ProbeSpec(offset_sd_C=0.1)), seed=1, members=400)
    unsure = replace(sure, start=replace(sure.start, probe=replace(sure.start.probe, slope_sd=0.05)))
    far = Reading(0.0, TRUE_C + 0.6)
    moved = [bowl_C(take_reading(belief, far)) - bowl_C(sure) for belief in (sure, unsure)]
    assert 0.0 < moved[1] < moved[0]


def test_an_ice_check_of_a_skewed_thermometer_tells_its_offset_near_31():
    probe = replace(SKEWED, offset_sd_C=0.7)
    believed = begin(start(shows(TRUE_C, probe), probe), seed=1, members=400)
    checked = take(believed, ProbeCheck(5.0, "ice", shows(0.0, SKEWED), 0.0, doubt_K=0.1))
    assert checked.start.probe.offset_C == pytest.approx(SKEWED.offset_C, abs=0.02)
    assert checked.start.probe.offset_sd_C == pytest.approx(0.1, abs=0.01)
    usual = take(believed, ProbeCheck(5.0, "ice", shows(0.0, SKEWED), 0.0))
    assert usual.start.probe.offset_sd_C > checked.start.probe.offset_sd_C


def test_an_ice_check_of_an_infrared_thermometer_tells_little_of_31_in_a_warm_room():
    def offset_sd_C(kind, room_C, reference_C=0.0):
        spec = replace(start(TRUE_C, ProbeSpec(kind=kind)), room_C=room_C)
        checked = take(begin(spec, seed=1, members=200), ProbeCheck(5.0, "ice", reference_C + 0.8, reference_C))
        return checked.start.probe.offset_sd_C

    assert offset_sd_C("needle", 28.0) < 0.2
    # Emissivity 0.95 ± 0.03: of the 28 K to the ice 0.88 K may be the room's that it mirrors.
    assert offset_sd_C("infrared", 28.0) == pytest.approx(
        1.0 / math.hypot(1 / 0.7, 1 / math.hypot(0.15, 0.88)), abs=0.03
    )
    assert offset_sd_C("infrared", 0.0) == pytest.approx(offset_sd_C("needle", 0.0), abs=0.01)
