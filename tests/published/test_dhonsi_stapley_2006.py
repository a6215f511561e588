"""Induction by shear and sugar: Dhonsi & Stapley 2006, abstract (seen): directions, not sizes."""

import pytest
from held_melt import induction_s


def test_near_23_C_shear_shortens_it():
    times = [induction_s(23.0, shear_1_s=s) for s in (1.0, 10.0, 50.0)]
    assert times[0] > times[1] > times[2]


def test_at_13_C_it_is_short_and_free_of_shear():
    slow, fast = induction_s(13.0, shear_1_s=1.0), induction_s(13.0, shear_1_s=50.0)
    assert fast == pytest.approx(slow, rel=0.2)
    assert slow < induction_s(23.0, shear_1_s=50.0)
