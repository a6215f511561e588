"""The filter against exact answers: a Kalman filter of a library, and the theory of systematic resampling."""

from dataclasses import replace

import numpy as np
import pytest
from filterpy.kalman import KalmanFilter
from hypothesis import given
from hypothesis import strategies as st

from bloomless.estimation import thermometer
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import Settings
from bloomless.estimation.events import Composition, ProbeSpec, Reading, Start
from bloomless.estimation.moves import flattened, variety
from bloomless.estimation.priors import prior
from bloomless.estimation.summary import mean_and_sd, quantiles
from bloomless.estimation.take import take
from bloomless.estimation.weights import effective_size, systematic
from bloomless.physics import rows

LAG_S, STEP_S, FIRST_SD = 5.0, 10.0, 1.0


@pytest.fixture
def linear(monkeypatch):
    """A bowl that neither loses heat nor crystallises, with a known probe: linear and Gaussian."""
    real = thermometer.prior
    monkeypatch.setattr(thermometer, "prior", lambda name: 0.0 if name == "transient_min" else real(name))
    start = Start(0.0, Composition("dark"), 1000.0, temperature_C=40.0, probe=ProbeSpec(lag_s=LAG_S))
    settings = Settings(heavy_tails=False, believe_all=True, bias=False, drift=False)
    belief = begin(start, seed=3, members=6000, settings=settings)
    ensemble = belief.ensemble
    parameters, state = ensemble.parameters.copy(), ensemble.state.copy()
    parameters[rows.PROBE_LAG_s], parameters[rows.PROBE_PLACE] = LAG_S, 0.0
    parameters[rows.INNER_FACTOR] = 1e-9
    start_C = 40.0 + FIRST_SD * np.random.default_rng(1).standard_normal(6000)
    state[rows.BULK_C] = state[rows.PROBE_C] = state[rows.VESSEL_C] = start_C
    bowl = replace(ensemble.bowl, insulated=True)
    ensemble = replace(ensemble, bowl=bowl, state=state, parameters=parameters)
    table = replace(belief.table, sd=np.zeros_like(belief.table.sd))
    return replace(belief, ensemble=ensemble, table=table)


def _kalman():
    """Bulk, probe and placement as three states; the probe follows the bulk as it stands at the step's start."""
    kf = KalmanFilter(dim_x=3, dim_z=1)
    keep, hold = np.exp(-STEP_S / LAG_S), np.exp(-STEP_S / prior("placement_s"))
    place = prior("placement_stirred_C") ** 2
    kf.x = np.array([[40.0], [40.0], [0.0]])
    kf.P = np.array([[FIRST_SD**2, FIRST_SD**2, 0.0], [FIRST_SD**2, FIRST_SD**2, 0.0], [0.0, 0.0, place]])
    kf.F = np.array([[1.0, 0.0, 0.0], [1.0 - keep, keep, 0.0], [0.0, 0.0, hold]])
    kf.Q = np.diag([prior("model_error_K") ** 2 * STEP_S / 60.0, 0.0, place * (1.0 - hold * hold)])
    kf.H = np.array([[0.0, 1.0, 1.0]])
    kf.R = np.array([[prior("probe_noise_C") ** 2]])
    return kf


def test_agrees_with_a_kalman_filter(linear):
    chance, kf, belief = np.random.default_rng(7), _kalman(), linear
    for k in range(1, 25):
        shown = float(39.4 + 0.15 * chance.standard_normal())
        belief = take(belief, Reading(k * STEP_S, shown))
        kf.predict()
        kf.update(shown)
        mean, sd = mean_and_sd(belief.ensemble.state[rows.BULK_C], belief.weight)
        assert mean == pytest.approx(kf.x[0, 0], abs=0.05)
        assert sd == pytest.approx(np.sqrt(kf.P[0, 0]), rel=0.15)
    place = belief.placement
    assert place.variance_K2 < prior("placement_stirred_C") ** 2
    effective, ancestors = variety(belief)
    assert effective == pytest.approx(effective_size(belief.weight) / belief.members)
    assert 20 / belief.members < ancestors < 1.0
    assert variety(linear) == pytest.approx((1.0, 1.0))


@given(st.lists(st.floats(0.01, 10.0), min_size=2, max_size=40), st.floats(0.0, 0.999))
def test_systematic_resampling_keeps_to_the_weights(raw, u):
    weight = np.array(raw) / np.sum(raw)
    count = np.bincount(systematic(weight, u), minlength=weight.size)
    assert count.sum() == weight.size
    assert np.all(np.abs(count - weight.size * weight) < 1.0 + 1e-9)


def test_systematic_resampling_has_no_bias():
    weight = np.array([0.05, 0.15, 0.3, 0.5])
    draws = np.linspace(0.0, 1.0, 4001)[:-1]
    mean = np.mean([np.bincount(systematic(weight, u), minlength=4) for u in draws], axis=0)
    assert mean == pytest.approx(4.0 * weight, abs=2e-3)


def test_effective_size_and_flattening():
    assert effective_size(np.full(8, 0.125)) == pytest.approx(8.0)
    sharp = np.zeros(200)
    sharp[0] = 50.0
    flat = flattened(sharp)
    weight = np.exp(flat - flat.max())
    assert effective_size(weight / weight.sum()) >= 0.1 * 200
    mild = np.linspace(-0.1, 0.0, 200)
    assert flattened(mild) == pytest.approx(mild)


def test_weighted_quantiles():
    values, weight = np.array([3.0, 1.0, 2.0]), np.array([0.2, 0.5, 0.3])
    assert quantiles(values, weight, (0.0, 1.0)) == (1.0, 3.0)
    assert quantiles(values, weight, (0.5,))[0] == pytest.approx(1.0 + 0.25 / 0.4)
