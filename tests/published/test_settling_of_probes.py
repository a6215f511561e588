"""Settling of digital food thermometers: 16–40 s, Zemmer-Nalivka et al. 2014, abstract (seen)."""

import math

import numpy as np
import pytest

from bloomless.materials.chocolates import chocolate
from bloomless.materials.vessels import vessel
from bloomless.physics import rows
from bloomless.physics.advance import advance
from bloomless.physics.begin import begin
from bloomless.physics.bowl import Bowl
from bloomless.physics.ensemble import Surroundings
from bloomless.physics.priors import USUAL, draw_parameters


def test_a_lag_of_five_seconds_settles_as_seen():
    bowl = Bowl(chocolate("dark"), vessel("steel", holds_kg=1.0), 1.0, room_C=45.0, insulated=True)
    parameters = draw_parameters(USUAL, 1, seed=1)
    parameters[rows.PROBE_LAG_s], parameters[rows.PROBE_PLACE], parameters[rows.ROOM_SHIFT_K] = 5.0, 0.0, 0.0
    now = begin(bowl, parameters, temperature_C=45.0)
    now.state[rows.PROBE_C] = 20.0
    shown = []
    for _ in range(40):
        now = advance(now, Surroundings(room_C=45.0), 1.0, dt_s=0.25)
        shown.append(float(now.state[rows.PROBE_C][0]))
    assert (shown[14] - 20.0) / 25.0 == pytest.approx(0.95, abs=0.003)
    within = 1 + int(np.flatnonzero(np.abs(np.array(shown) - 45.0) <= 0.1)[0])
    assert within == pytest.approx(5.0 * math.log(250.0), abs=1.0)  # 27.6 s
    assert 16.0 <= within <= 40.0
