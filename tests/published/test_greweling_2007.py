"""Where seed survives: Greweling 2007 (extract seen) and the European sheet on seeding 2011 (seen).

34 °C is the upper limit for form V; fine form VI seed is added at 34 °C and still seeds. Rates are assumed, behaviour
only is checked.
"""

import numpy as np
from held_melt import hold

from bloomless.materials.chocolates import chocolate
from bloomless.materials.vessels import vessel
from bloomless.physics import rows
from bloomless.physics.actions import add_pieces
from bloomless.physics.advance import advance
from bloomless.physics.begin import begin
from bloomless.physics.bowl import Bowl
from bloomless.physics.ensemble import Surroundings
from bloomless.physics.priors import USUAL, draw_parameters
from bloomless.physics.readings import readings


def test_seed_at_33_and_above_34_C():
    at_33 = hold(33.0, 10.0, shear_1_s=30.0, form_v=0.015).form_v[-1]
    at_345 = hold(34.5, 10.0, shear_1_s=30.0, form_v=0.015).form_v[-1]
    assert 0.1 * 0.015 < at_33 < 0.015
    assert at_345 < 0.1 * at_33


def test_fine_form_vi_seed_still_seeds_at_34_C():
    of = chocolate("dark")
    bowl = Bowl(of, vessel("steel", holds_kg=1.0), 1.0, room_C=20.0)
    parameters = draw_parameters(USUAL, 64, seed=2)
    parameters[rows.MELTING_SHIFT_K] = 0.0
    warm = begin(bowl, parameters, temperature_C=34.0)
    seeded = add_pieces(warm, 0.01, temperature_C=22.0, form="cocoa_butter_crystals")
    later = readings(advance(seeded, Surroundings(room_C=20.0), 180.0))
    assert np.median(later.form_v_of_fat) > 0.004
