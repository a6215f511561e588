"""Lifetimes of unstable forms in cocoa butter at rest: Marangoni & McGauley 2003, abstract (seen)."""

import numpy as np
from held_melt import hold


def test_beta_prime_at_24_C_lives_some_ten_hours():
    # The bowl's unstable group at 24 °C at rest, started as form IV: factor 2 either way.
    held = hold(24.0, 30 * 60.0, unstable=0.3)
    gone = held.time_s[np.flatnonzero(held.unstable <= 0.3 / np.e)[0]] / 3600.0
    assert 5.0 <= gone <= 20.0


def test_no_form_v_below_20_C_at_rest_within_a_day():
    held = hold(18.0, 1440.0, unstable=0.01)
    assert held.form_v[-1] < 1e-6
    assert held.unstable[-1] > 0.3
