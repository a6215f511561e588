"""Weights, resampling and noise do what their definitions say; a biased scheme would be noticed."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from bloomless.errors import ImpossibleInput, NumericalFailure
from bloomless.numerics import noise, weights
from bloomless.numerics.exponential import midpoint, phi, positive_midpoint, two_thirds_power

log_weights = st.lists(st.floats(-60.0, 5.0), min_size=1, max_size=60).map(np.array)


def test_student_t_is_that_of_scipy():
    z = np.linspace(-40.0, 40.0, 201)
    np.testing.assert_allclose(weights.log_student_t(z, scale=0.7), stats.t(4.0, scale=0.7).logpdf(z), rtol=1e-12)
    # Numerics sheet A5: 4 K off at a scale of 0.1 K is 3e-7 of the peak for four degrees of freedom.
    ratio = np.exp(np.diff(weights.log_student_t(np.array([0.0, 4.0]), scale=0.1)))
    assert ratio[0] == pytest.approx(3e-7, rel=0.2)


@pytest.mark.parametrize("wrong", [{"scale": 0.0}, {"scale": 1.0, "freedom": -1.0}])
def test_student_t_refuses(wrong):
    with pytest.raises(ImpossibleInput):
        weights.log_student_t(np.zeros(3), **wrong)


@given(log_weights)
def test_normalised(log_weight):
    weight, total = weights.normalised(log_weight)
    assert math.fsum(weight) == pytest.approx(1.0, abs=1e-12)
    assert total == pytest.approx(np.logaddexp.reduce(log_weight), rel=1e-12, abs=1e-12)
    assert 1.0 - 1e-9 <= weights.effective_size(weight) <= log_weight.size * (1 + 1e-9)


def test_no_member_left_is_said():
    with pytest.raises(NumericalFailure):
        weights.normalised(np.array([-math.inf, -math.inf]))


def expected_copies_hold(scheme, weight, count):
    """Whether every member is taken ⌊N w⌋ or ⌈N w⌉ times: what makes a scheme systematic."""
    copies = np.bincount(scheme(weight, 0.37, count), minlength=weight.size)
    return bool(np.all((copies >= np.floor(count * weight - 1e-9)) & (copies <= np.ceil(count * weight + 1e-9))))


@given(log_weights, st.floats(0.0, 1.0, exclude_max=True), st.integers(1, 80))
def test_systematic_takes_the_floor_or_the_ceiling(log_weight, u, count):
    weight, _ = weights.normalised(log_weight)
    chosen = weights.systematic(weight, u, count)
    assert chosen.size == count
    assert np.all(np.diff(chosen) >= 0)
    copies = np.bincount(chosen, minlength=weight.size)
    assert np.all(copies >= np.floor(count * weight - 1e-9))
    assert np.all(copies <= np.ceil(count * weight + 1e-9))


def test_a_scheme_that_ignores_weights_is_noticed():
    weight = np.array([0.7, 0.1, 0.1, 0.1])
    assert expected_copies_hold(weights.systematic, weight, 4)
    assert not expected_copies_hold(lambda w, u, n: np.arange(n), weight, 4)


def test_systematic_takes_as_many_as_there_are_and_is_unbiased():
    weight = np.array([0.05, 0.15, 0.3, 0.5])
    assert weights.systematic(weight, 0.0).size == 4
    places = (np.arange(2000) + 0.5) / 2000
    mean = np.mean([np.bincount(weights.systematic(weight, u, 7), minlength=4) for u in places], axis=0)
    np.testing.assert_allclose(mean, 7 * weight, rtol=2e-3)


@pytest.mark.parametrize(("u", "count"), [(1.0, None), (-0.1, None), (0.5, 0)])
def test_systematic_refuses(u, count):
    with pytest.raises(ImpossibleInput):
        weights.systematic(np.array([0.5, 0.5]), u, count)


def test_weighted_quantiles_of_equal_weights_are_those_of_numpy():
    values = np.random.default_rng(1).normal(size=400)
    mine = weights.weighted_quantiles(values, np.full(400, 1 / 400), (0.05, 0.5, 0.95))
    np.testing.assert_allclose(mine, np.quantile(values, (0.05, 0.5, 0.95), method="hazen"), rtol=1e-12)
    heavy = np.where(values > 1.0, 1.0, 1e-12)
    assert weights.weighted_quantiles(values, heavy / heavy.sum(), (0.05,))[0] >= 0.9


def test_noise_is_normal_uniform_and_keyed():
    z = noise.normals(7, 3, 400_000)
    assert abs(z.mean()) < 0.006
    assert abs(z.std() - 1.0) < 0.005
    assert abs((z**4).mean() - 3.0) < 0.06
    u = noise.uniforms(7, 3, 400_000)
    assert stats.kstest(u, "uniform").pvalue > 1e-3
    assert np.array_equal(z[:100], noise.normals(7, 3, 100)), "a member's noise does not depend on how many there are"
    assert abs(np.corrcoef(z, noise.normals(7, 4, 400_000))[0, 1]) < 0.006
    assert abs(np.corrcoef(z, noise.normals(8, 3, 400_000))[0, 1]) < 0.006
    assert abs(np.corrcoef(z[1:], z[:-1])[0, 1]) < 0.006
    assert np.array_equal(noise.normals(-1, 0, 5), noise.normals(2**64 - 1, 0, 5))


def test_splitmix_known_words():
    # Steele, Lea & Flood 2014, the public reference sequence of splitmix64 from state 0 [memory].
    golden = np.uint64(0x9E3779B97F4A7C15)
    with np.errstate(over="ignore"):
        words = [int(noise._mix(np.uint64(i) * golden)) for i in (1, 2, 3)]
    assert words == [0xE220A8397B1DCDAF, 0x6E789E6AA1B965F4, 0x06C45D188009454F]


def test_the_rational_exponential():
    z = np.linspace(-0.2, 0.2, 41)
    exact = np.where(z == 0.0, 1.0, np.expm1(z) / np.where(z == 0.0, 1.0, z))
    mine = np.array([phi(float(x)) for x in z])
    assert np.all(np.abs(mine - exact) <= 0.08 * np.abs(z) ** 3 + 1e-15), "right to second order in z"
    for x in (-1e-3, -1.0, -50.0, -1e4):
        assert 0.0 < 1.0 + x * phi(x) <= 1.0, "a decaying state keeps its sign, however stiff"
    assert midpoint(3.0, 2.0) == 3.5
    assert positive_midpoint(3.0, 2.0) == 3.5
    assert positive_midpoint(1.0, 9.0) == 0.5
    assert positive_midpoint(1.0, -9.0) == 2.0


def test_two_thirds_power():
    x = np.geomspace(1e-5, 1.0, 300)
    mine = np.array([two_thirds_power(float(v)) for v in x])
    np.testing.assert_allclose(mine, x ** (2 / 3), rtol=0.013)
    assert two_thirds_power(0.0) == 0.0
