"""Sensors, calibration and lag: laws, limits and refusals."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.physics import boiling, sensors
from bloomless.physics.calibration import Check, CheckMethod, Priors, calibrate, reference_doubt_K
from bloomless.physics.probe_lag import find_dip, lag_from_dip, settling_s
from bloomless.sources import Grade, Sourced

WIDE = Priors(
    offset_sd_K=Sourced(1e3, "K", 0.0, "assumed", Grade.ASSUMED),
    slope_sd=Sourced(1e3, "1", 0.0, "assumed", Grade.ASSUMED),
)


@given(st.floats(-199.9, 849.9), st.sampled_from([100.0, 1000.0]))
def test_platinum_there_and_back(celsius, nominal):
    assert sensors.platinum_C(sensors.platinum_ohm(celsius, nominal), nominal) == pytest.approx(celsius, abs=1e-7)


@pytest.mark.parametrize("ohm", [0.0, 1e6, 5.0])
def test_a_broken_wire_is_no_temperature(ohm):
    with pytest.raises(OutsideValidity, match="wire"):
        sensors.platinum_C(ohm)


def test_refusals_of_the_sensors():
    with pytest.raises(OutsideValidity):
        sensors.platinum_ohm(900.0)
    with pytest.raises(ImpossibleInput):
        sensors.thermistor_by_beta(0.0, 3950.0)
    law = sensors.thermistor_by_beta(10_000.0, 3950.0)
    for ohm in (0.0, math.inf, 1e-6):
        with pytest.raises(OutsideValidity):
            law.temperature_C(ohm)
    for points in ([(0, 30e3), (25, 10e3)], [(0, 30e3), (25, 10e3), (25, 9e3)], [(0, 30e3), (25, 10e3), (50, 1.0)]):
        with pytest.raises(ImpossibleInput):
            sensors.thermistor_from_points(points)


@given(st.floats(3000, 4500), st.floats(1e3, 1e5), st.floats(0, 60))
def test_three_points_of_a_b_law_give_the_b_law(beta, nominal, celsius):
    law = sensors.thermistor_by_beta(nominal, beta)

    def ohm(t):
        return nominal * math.exp(beta * (1 / (t + 273.15) - 1 / 298.15))

    fitted = sensors.thermistor_from_points([(t, ohm(t)) for t in (0.0, 30.0, 60.0)])
    assert fitted.temperature_C(ohm(celsius)) == pytest.approx(celsius, abs=1e-4)
    assert law.temperature_C(ohm(celsius)) == pytest.approx(celsius, abs=1e-8)


def test_infrared_as_the_sheet_derives_it():
    # bowl 31 °C, room 22 °C, set 0.95: a surface of 0.90 reads 0.45 K low, one of 0.97 reads 0.18 K high
    assert sensors.infrared_true_C(31.0 - 0.45, 22.0, true_emissivity=0.90) == pytest.approx(31.0, abs=0.03)
    assert sensors.infrared_true_C(31.0 + 0.18, 22.0, true_emissivity=0.97) == pytest.approx(31.0, abs=0.03)
    assert sensors.infrared_true_C(31.0, 22.0) == pytest.approx(31.0)
    with pytest.raises(ImpossibleInput, match="metal"):
        sensors.infrared_true_C(31.0, 22.0, true_emissivity=0.1)


@given(st.floats(-430, 7999))
def test_water_boils_lower_the_higher(metres):
    here, above = (boiling.boiling_point_C(boiling.pressure_hPa_from_altitude(h)) for h in (metres, metres + 1))
    assert above < here


def test_no_kitchen_there():
    with pytest.raises(OutsideValidity):
        boiling.boiling_point_C(29.0)
    with pytest.raises(OutsideValidity):
        boiling.pressure_hPa_from_altitude(9000.0)


# ---------------------------------------------------------------- calibration


def test_two_fixed_points_interpolate_as_the_sheet_says():
    ice = Check(CheckMethod.ICE, 0.4, 0.0, 0.1)
    boil = Check(CheckMethod.BOILING, 100.0, 99.974, 0.3)
    found = calibrate([ice, boil], WIDE)
    share = 31.0 / 99.974
    assert found.offset_C == pytest.approx((1 - share) * 0.4 + share * 0.026, abs=1e-6)
    assert found.offset_sd_C == pytest.approx(math.hypot((1 - share) * 0.1, share * 0.3), rel=1e-6)  # 0.12 K
    assert found.error_at(0.0)[0] == pytest.approx(0.4, abs=1e-6)


def test_no_check_is_the_prior_and_an_ice_check_narrows_it():
    nothing = calibrate([])
    assert (nothing.offset_C, nothing.slope, nothing.checks) == (0.0, 0.0, 0)
    assert nothing.offset_sd_C == pytest.approx(0.7)
    ice = calibrate([Check(CheckMethod.ICE, -1.4, 0.0, reference_doubt_K(CheckMethod.ICE))])
    assert ice.offset_C == pytest.approx(-1.32, abs=0.06)
    assert 0.1 < ice.offset_sd_C < 0.2


def test_a_check_near_31_is_worth_more_than_the_fixed_points():
    ice, boil = Check(CheckMethod.ICE, 0.0, 0.0, 0.1), Check(CheckMethod.BOILING, 99.9, 99.9, 0.3)
    skin = Check(CheckMethod.SKIN_WARM, 36.0, 36.0, reference_doubt_K(CheckMethod.SKIN_WARM))
    assert calibrate([skin]).offset_sd_C < calibrate([boil]).offset_sd_C
    assert calibrate([ice, skin]).offset_sd_C < calibrate([ice, boil]).offset_sd_C


def test_old_checks_and_falls_weaken():
    fresh = Check(CheckMethod.ICE, 0.5, 0.0, 0.1)
    old = Check(CheckMethod.ICE, 0.5, 0.0, 0.1, age_days=365)
    fallen = Check(CheckMethod.ICE, 0.5, 0.0, 0.1, before_fall=True)
    doubts = [calibrate([check]).offset_sd_C for check in (fresh, old, fallen)]
    assert doubts == sorted(doubts)
    assert doubts[0] < doubts[1]


@given(st.floats(-1.5, 1.5), st.floats(-0.01, 0.01), st.floats(20, 50))
def test_the_truth_is_found_back(offset, slope, true):
    def shown(at):
        return at + offset + slope * (at - 31.0)

    checks = [Check(CheckMethod.SECOND_PROBE, shown(at), at, 1e-3) for at in (0.0, 31.0, 45.0, 99.0)]
    found = calibrate(checks)
    back, doubt = found.true_C(shown(true))
    assert back == pytest.approx(true, abs=0.01)
    assert 0.0 < doubt < 0.01


@pytest.mark.parametrize("method", list(CheckMethod))
def test_doubt_grows_with_each_cause(method):
    least = reference_doubt_K(method, shown_resolution_K=0.0)
    assert reference_doubt_K(method, shown_resolution_K=1.0, other_sd_K=0.2) > least
    weather = reference_doubt_K(method, shown_resolution_K=0.0, pressure_known=False)
    assert (weather > least) == (method is CheckMethod.BOILING)


def test_calibration_is_honest_about_its_doubt():
    """Of many kitchens drawn from the prior, the truth lies within the stated doubt as often as it should."""
    chance = np.random.default_rng(5)
    inside = 0
    for _ in range(2000):
        offset, slope = chance.normal(0, 0.7), chance.normal(0, 0.004)
        checks = []
        for method, at in ((CheckMethod.ICE, 0.0), (CheckMethod.BOILING, 98.3)):
            doubt = reference_doubt_K(method)
            shown = at + offset + slope * (at - 31.0) + chance.normal(0, doubt)
            checks.append(Check(method, shown, at, doubt))
        found = calibrate(checks)
        inside += abs(found.offset_C - offset) < 1.96 * found.offset_sd_C
    assert 0.935 < inside / 2000 < 0.965


@pytest.mark.parametrize(
    ("field", "values"),
    [("shown_C", (200.0, 0.0, 0.1)), ("reference_C", (0.0, math.nan, 0.1)), ("doubt_K", (0.0, 0.0, 0.0))],
)
def test_impossible_checks(field, values):
    with pytest.raises(ImpossibleInput) as caught:
        Check(CheckMethod.ICE, *values)
    assert caught.value.field == field
    with pytest.raises(ImpossibleInput):
        Check(CheckMethod.ICE, 0.0, 0.0, 0.1, age_days=-1.0)


# ---------------------------------------------------------------- lag


def dip(lag, *, step=20.0, noise=0.03, drift=0.0, seconds=90, every=1.0, digits=1, seed=1):
    times = np.arange(0.0, seconds, every)
    bath = 45.0 + drift * times
    shown = bath - drift * lag - (step - drift * lag) * np.exp(-times / lag)
    shown = shown + np.random.default_rng(seed).normal(0, noise, times.size)
    return times, np.round(shown, digits)


@pytest.mark.parametrize("lag", [3.0, 5.0, 8.0, 15.0])
@pytest.mark.parametrize("drift", [0.0, -0.02])
def test_lag_is_found_from_a_dip(lag, drift):
    found = lag_from_dip(*dip(lag, drift=drift, seconds=8 * lag))
    assert found.lag_s == pytest.approx(lag, rel=0.08)
    assert abs(found.lag_s - lag) < 4 * found.sd_s
    assert found.residual_K < 0.1
    assert found.bath_C == pytest.approx(45.0, abs=0.4)


def test_a_short_dip_with_few_readings():
    times, shown = dip(4.0, seconds=24, every=2.0)
    assert lag_from_dip(times, shown).lag_s == pytest.approx(4.0, rel=0.1)


@pytest.mark.parametrize(
    ("times", "shown"),
    [
        (range(5), range(5)),
        ([0, 1, 1, 2, 3, 4, 5, 6], range(8)),
        (range(20), [31.0] * 20),
        (range(20), np.linspace(20, 45, 20)),  # a ramp, not a dip
        (range(9), dip(40.0, seconds=9)[1] * 3),  # broken off
    ],
)
def test_no_lag_from_no_dip(times, shown):
    with pytest.raises(ImpossibleInput):
        lag_from_dip(times, shown)


def test_the_dip_is_found_in_a_stream():
    _, shown = dip(5.0, seconds=60)
    stream = np.concatenate([np.full(30, 24.3), shown, np.full(10, shown[-1])])
    where = find_dip(np.arange(stream.size), stream)
    assert where is not None
    assert 28 <= where.start <= 31
    found = lag_from_dip(np.arange(stream.size)[where], stream[where])
    assert found.lag_s == pytest.approx(5.0, rel=0.1)


def test_lifting_the_probe_out_ends_the_dip():
    _, shown = dip(5.0, seconds=40)
    lifted = np.linspace(45.0, 41.0, 5)  # back, but too little a way to be a dip of its own
    stream = np.concatenate([np.full(10, 24.3), shown, lifted])
    where = find_dip(np.arange(stream.size), stream)
    assert where is not None
    assert where.stop <= 52


@pytest.mark.parametrize("stream", [[31.0] * 30, [31.0, 32.0], list(np.linspace(45, 31, 200))])
def test_no_dip_in_a_quiet_stream(stream):
    assert find_dip(range(len(stream)), stream) is None


def test_settling_as_the_sheet_says():
    assert settling_s(5.0, 15.0) == pytest.approx(25.0, abs=0.1)
    assert settling_s(5.0, 0.05) == 0.0
