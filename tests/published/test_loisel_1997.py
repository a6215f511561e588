"""Unseeded dark chocolate, stirred, held at one temperature: Loisel, Lecq, Keller & Ollivon 1997, abstract (seen).

Above 26.2 °C in two steps: some 1 % of solid fat (trisaturated), then after a latent time the main crystallisation;
below in one.
"""

import numpy as np
import pytest
from held_melt import hold


def first_reached(held, row, level):
    at = np.flatnonzero(row >= level)
    return held.time_s[at[0]] if at.size else np.inf


@pytest.mark.parametrize("temperature_C", [27.0, 28.0, 29.0, 30.0, 31.0])
def test_two_steps_above_26_C(temperature_C):
    held = hold(temperature_C, 300.0, shear_1_s=30.0, points=3000)
    step = first_reached(held, held.first_crop, 0.005)
    main = first_reached(held, held.form_v + held.unstable, 0.02)
    assert main > 2.0 * step
    quiet = (held.time_s > 2.0 * step) & (held.time_s < 0.7 * main)
    assert quiet.any()
    assert np.all(np.abs(held.solid[quiet] - 0.01) <= 0.005), "a step of 1 ± 0.5 % that stays"
    assert np.all(held.form_v[quiet] < 2e-3), "and is not form V"


def test_main_step_comes_later_the_warmer():
    main = [
        first_reached(h, h.form_v, 0.02)
        for h in (hold(t, 600.0, shear_1_s=30.0, points=3000) for t in (27.0, 28.0, 29.0, 30.0))
    ]
    assert main == sorted(main)


def test_one_step_at_25_C():
    held = hold(25.0, 60.0, shear_1_s=30.0, points=3000)
    plateau = (held.first_crop > 0.9 * held.first_crop.max()) & (held.form_v + held.unstable < 2e-3)
    assert not plateau.any()
