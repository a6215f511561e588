"""Noise and the exponential's stand-ins do what their definitions say."""

import numpy as np

from bloomless.numerics import noise
from bloomless.numerics.exponential import midpoint, phi, positive_midpoint, two_thirds_power


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
