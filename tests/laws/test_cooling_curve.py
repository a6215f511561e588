"""The cooling-curve test of temper by the program's laws (check 23 of the crystal sheet): order and sign.

A small sample in a cold bath, ``dT/dt = −(T − T_bath)/τ + (w_f ΔH/c)·dX/dt``. Few crystals grow late and in a burst, so
the temperature rises at the bend; many give their heat early and evenly, so it only falls more slowly.
"""

import numpy as np

from bloomless.numerics.exponential import two_thirds_power
from bloomless.physics.laws import form_v_growth, solid_share
from bloomless.physics.priors import USUAL

TAU_s, LATENT_K = 300.0, 30.94
"""Of the tube without crystallisation; w_f ΔH/c = 0.33·150e3/1600."""


def bend(form_v, *, start_C=32.0, bath_C=0.0, minutes=12.0):
    """Temperature [°C] where the heat of crystallisation peaks, slope there [K/min], and that over free cooling."""
    h = 0.25
    steps = round(minutes * 60.0 / h)
    warm, rate = np.empty(steps + 1), np.empty(steps + 1)
    t, x = start_C, form_v

    def growth(at_C, share):
        k = form_v_growth(at_C, USUAL.growth_hold.value, USUAL.growth_cold.value)
        return k * two_thirds_power(share) * max(solid_share(at_C) - share, 0.0)

    for i in range(steps + 1):
        warm[i], rate[i] = t, growth(t, x)
        dt = (bath_C - t) / TAU_s + LATENT_K * rate[i]
        middle_C, middle = t + 0.5 * h * dt, x + 0.5 * h * rate[i]
        grown = growth(middle_C, middle)
        t += h * ((bath_C - middle_C) / TAU_s + LATENT_K * grown)
        x += h * grown
    peak = int(np.argmax(rate))
    free = (warm[peak] - bath_C) / TAU_s
    slope = LATENT_K * rate[peak] - free
    return float(warm[peak]), float(60.0 * slope), float(slope / free)


def test_23_more_crystals_bend_sooner_and_flatter():
    bends_C, slopes, ratios = zip(*map(bend, (0.001, 0.003, 0.01, 0.02, 0.04, 0.08)), strict=True)
    assert list(slopes) == sorted(slopes, reverse=True)
    assert slopes[1] > 0.0
    assert ratios[4] <= 0.10
    assert ratios[5] <= 0.02
    assert list(bends_C) == sorted(bends_C)


def test_23_under_well_and_over_tempered_samples_are_told_apart():
    # Above +0.15 under-tempered, within ±0.10 well, below −0.10 over-tempered.
    under, well, over = (bend(form_v)[2] for form_v in (0.001, 0.04, 0.3))
    assert under > 0.15
    assert abs(well) <= 0.10
    assert over < -0.10
