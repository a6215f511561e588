"""Form V nuclei do not grow below 5 °C and grow again when warmed: Baichoo 2007, thesis abstract (seen)."""

from held_melt import hold

from bloomless.physics.laws import form_v_growth
from bloomless.physics.priors import USUAL


def test_no_growth_below_5_C():
    assert form_v_growth(4.9, USUAL.growth_hold.value, USUAL.growth_cold.value) == 0.0
    assert hold(3.0, 60.0, shear_1_s=30.0, form_v=0.01).form_v[-1] <= 0.01 * (1 + 1e-9)


def test_it_resumes():
    assert form_v_growth(12.0, USUAL.growth_hold.value, USUAL.growth_cold.value) > 0.0
    assert hold(22.0, 10.0, shear_1_s=30.0, form_v=0.01).form_v[-1] > 0.1
