"""Growth of the bowl's crystals at one temperature against the closed form it comes near (checks 1, 2 of the sheet)."""

import math
from dataclasses import replace

import numpy as np
import pytest
from held_melt import hold

from bloomless.physics.constants import BOWL
from bloomless.physics.laws import form_v_growth, solid_share
from bloomless.physics.priors import USUAL

NOTHING_NEW = replace(
    USUAL,
    unstable_factor=replace(USUAL.unstable_factor, value=1e-12),
    nucleation_factor=replace(USUAL.nucleation_factor, value=1e-12),
)
"""Only the crystals of the start grow."""


def avrami(t, k, n):
    """Share set at time ``t``, ``1 − exp(−k·tⁿ)``; k in 1/timeⁿ."""
    return -np.expm1(-k * t**n)


def avrami_half_time(k, n):
    return (math.log(2.0) / k) ** (1.0 / n)


@pytest.mark.parametrize("temperature_C", [24.0, 27.0, 29.0, 31.0])
def test_1_given_crystals_grow_as_spheres_until_half_has_set(temperature_C):
    # x^(2/3) of the fat is the surface of given crystals: Avrami's exponent 3, k = (K/3)³ with K = g·x_eq^(2/3).
    assert avrami_half_time(1e-6, 3.0) == pytest.approx(88.5, abs=0.1)
    most = solid_share(temperature_C)
    grows = form_v_growth(temperature_C, USUAL.growth_hold.value, USUAL.growth_cold.value) * most ** (2.0 / 3.0)
    k = (grows / 3.0) ** 3
    held = hold(temperature_C, 5.0 / grows / 60.0, shear_1_s=30.0, form_v=0.01 * most, priors=NOTHING_NEW, points=2000)
    set_share = held.form_v / most
    time_s = held.time_s + (-math.log1p(-0.01) / k) ** (1.0 / 3.0)  # since there was none
    assert time_s[np.argmax(set_share >= 0.5)] == pytest.approx(avrami_half_time(k, 3.0), rel=0.08)
    half = set_share < 0.5
    np.testing.assert_allclose(set_share[half], avrami(time_s[half], k, 3.0), atol=0.07)
    power = np.polyfit(np.log(time_s[half]), np.log(-np.log1p(-set_share[half])), 1)[0]
    assert 2.75 <= power <= 3.0


def test_2_the_rate_of_the_first_crop_integrates_to_its_closed_form():
    # It settles in proportion to what is still dissolved: Avrami's exponent 1.
    held = hold(30.0, 10.0, shear_1_s=30.0, points=600)
    share = held.first_crop / BOWL["first_crop_share"].value
    np.testing.assert_allclose(share, avrami(held.time_s, BOWL["first_crop_grow_1_s"].value, 1.0), atol=1e-3)
    assert share[-1] > 0.99
