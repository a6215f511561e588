"""The cooling-curve test of temper by the program's laws (checks 23, 24 of the crystal sheet): order, sign, plateau.

A small sample in a cold bath, ``dT/dt = −(T − T_bath)/τ + (w_f ΔH/c)·dX/dt``. Few crystals grow late and in a burst, so
the temperature rises at the bend; many give their heat early and evenly, so it only falls more slowly.
"""

import numpy as np
import pytest

from bloomless.numerics.exponential import two_thirds_power
from bloomless.physics.laws import form_v_growth, solid_share
from bloomless.physics.mould_cooling import CoolingSpace, Layer, Stack, cool
from bloomless.physics.mould_films import Film
from bloomless.physics.mould_melt import Melt, Rates
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


@pytest.mark.parametrize(("growth_1_sK", "form_v"), [(5e-3, 0.01), (2e-3, 0.01), (1e-3, 0.02), (5e-4, 0.003)])
def test_24_on_a_plateau_crystals_give_what_the_bath_takes(growth_1_sK, form_v):
    # A thin film in a bath of 0 °C, as a march of heat and crystals: where its temperature stands still,
    # dX/dt = c·T/(τ·w_f·ΔH), 2.69e-3 1/s at 25 °C.
    melt = Melt("dark", 0.33, 1.0, 0.0, 32.0, form_v=form_v)
    assert melt.kelvin == pytest.approx(LATENT_K, abs=0.01)
    bath = Film(0.0, 0.0, 0.0, 0.3e-3 * melt.volumetric_J_m3K / TAU_s)
    run = cool(
        Stack((Layer(melt, 0.3, 32.0, 6),)), CoolingSpace(0.0), minutes=12.0, rates=Rates(growth_1_sK, 1e3, 0.0),
        films=(Film(0.0, 0.0, 0.0, 0.0), bath), snapshots=1441, tolerance_K=1e-3,
    )  # fmt: skip
    slope, grown = np.gradient(run.mean_C, run.time_s), np.gradient(run.solid @ run.weight, run.time_s)
    still = np.flatnonzero(slope[:-1] * slope[1:] <= 0.0)
    assert still.size >= 2  # where it begins to warm, and where it ends
    np.testing.assert_allclose(grown[still] * 25.0 / run.mean_C[still], 2.69e-3, rtol=0.01)
