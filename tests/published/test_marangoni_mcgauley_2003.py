"""Lifetimes of unstable forms in cocoa butter at rest: Marangoni & McGauley 2003, abstract (seen)."""

import numpy as np
import pytest
from held_melt import hold

from bloomless.physics.mould_cooling import CoolingSpace, Layer, Stack, cool
from bloomless.physics.mould_films import Film
from bloomless.physics.mould_melt import Melt, Rates


def test_beta_prime_at_24_C_lives_some_ten_hours():
    # The bowl's unstable group at 24 °C at rest, started as form IV: factor 2 either way.
    held = hold(24.0, 30 * 60.0, unstable=0.3)
    gone = held.time_s[np.flatnonzero(held.unstable <= 0.3 / np.e)[0]] / 3600.0
    assert 5.0 <= gone <= 20.0


def test_no_form_v_below_20_C_at_rest_within_a_day():
    held = hold(18.0, 1440.0, unstable=0.01)
    assert held.form_v[-1] < 1e-6
    assert held.unstable[-1] > 0.3


def alpha_left(temperature_C, minutes):
    """What a mould's law leaves of form II after so long, of what was there."""
    melt = Melt("cocoa_butter", 1.0, 1.0, 0.0, 20.0, form_v=0.0, heat_of_melting_J_kg=1e-6)
    layer = Layer(melt, 1.0, temperature_C, 4, solid=(0.0, 0.0, 0.3))
    shut = (Film(0.0, 0.0, 0.0, 0.0), Film(0.0, 0.0, 0.0, 0.0))
    run = cool(
        Stack((layer,)), CoolingSpace(temperature_C), minutes=minutes, rates=Rates(unstable=0.0), films=shut,
        snapshots=3, longest_s=60.0,
    )  # fmt: skip
    return float(run.form_ii[-1].mean() / 0.3)


@pytest.mark.parametrize("temperature_C", [15.0, 20.0])
def test_alpha_lives_half_an_hour_at_15_and_20_C(temperature_C):
    # Factor 2 either way.
    assert alpha_left(temperature_C, 15.0) > 1 / np.e > alpha_left(temperature_C, 60.0)


def test_alpha_lives_a_week_in_the_frost():
    assert alpha_left(-5.0, 1440.0) > np.exp(-1.0 / 7.0) - 0.01
