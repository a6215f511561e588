"""Induction by shear and sugar: Dhonsi & Stapley 2006, abstract (seen): directions, not sizes."""

from dataclasses import replace

import numpy as np
import pytest
from held_melt import induction_s

from bloomless.materials.chocolates import chocolate
from bloomless.materials.vessels import vessel
from bloomless.physics import rows
from bloomless.physics.advance import advance
from bloomless.physics.begin import begin
from bloomless.physics.bowl import Bowl
from bloomless.physics.ensemble import Surroundings
from bloomless.physics.priors import USUAL, draw_parameters
from bloomless.physics.readings import readings

SWEET = chocolate("dark")
PLAIN = replace(SWEET, sugar_share=0.0, fibre_share=SWEET.fibre_share + SWEET.sugar_share)


def test_near_23_C_shear_shortens_it():
    times = [induction_s(23.0, shear_1_s=s) for s in (1.0, 10.0, 50.0)]
    assert times[0] > times[1] > times[2]


def test_at_13_C_it_is_short_and_free_of_shear():
    slow, fast = induction_s(13.0, shear_1_s=1.0), induction_s(13.0, shear_1_s=50.0)
    assert fast == pytest.approx(slow, rel=0.2)
    assert slow < induction_s(23.0, shear_1_s=50.0)


def bowl_induction_s(of, temperature_C, stir):
    """Time until a bowl of clean melt, held at a temperature, has 1 % of its fat in crystals that live on."""
    parameters = draw_parameters(USUAL, 1, seed=1)
    for row, name in enumerate(rows.PARAMETER_ROWS):
        parameters[row] = getattr(USUAL, name).value
    bowl = Bowl(of, vessel("steel", holds_kg=1.0), 1.0, insulated=True)
    now = begin(bowl, parameters, temperature_C=temperature_C)
    for second in range(1200):
        seen = readings(now)
        if seen.form_v_of_fat[0] + seen.unstable_of_fat[0] >= 0.01:
            return second
        now = advance(now, Surroundings(room_C=temperature_C, stir=stir), 1.0)
        now.state[rows.BULK_C] = now.state[rows.VESSEL_C] = temperature_C
    return np.inf


@pytest.mark.parametrize("stir", [0.4, 1.0])
def test_sugar_shortens_it_where_the_melt_is_stirred(stir):
    assert bowl_induction_s(SWEET, 23.0, stir) < bowl_induction_s(PLAIN, 23.0, stir) < np.inf
    assert bowl_induction_s(SWEET, 13.0, stir) <= bowl_induction_s(PLAIN, 13.0, stir) < np.inf


def test_at_rest_sugar_alone_does_nothing():
    # Sugar without emulsifier does not shorten the induction at rest (chapter on non-cocoa ingredients, abstract seen).
    assert bowl_induction_s(SWEET, 23.0, 0.0) == pytest.approx(bowl_induction_s(PLAIN, 23.0, 0.0), rel=0.01)
