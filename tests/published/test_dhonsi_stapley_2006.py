"""Induction by shear and sugar: Dhonsi & Stapley 2006, abstract (seen): directions, not sizes."""

import pytest

from bloomless.physics.isothermal import induction_s


def test_near_23_C_shear_shortens_it():
    times = [induction_s(23.0, shear_1_s=s) for s in (1.0, 10.0, 50.0)]
    assert times[0] > times[1] > times[2]


def test_at_13_C_it_is_short_and_free_of_shear():
    slow, fast = induction_s(13.0, shear_1_s=1.0), induction_s(13.0, shear_1_s=50.0)
    assert fast == pytest.approx(slow, rel=0.2)
    assert slow < induction_s(23.0, shear_1_s=50.0)


@pytest.mark.parametrize("temperature_C", [13.0, 23.0])
def test_sugar_does_not_lengthen_it_and_helps_where_shear_counts(temperature_C):
    plain = induction_s(temperature_C, shear_1_s=20.0)
    sweet = induction_s(temperature_C, shear_1_s=20.0, sugar_share=0.44)
    assert sweet < plain if temperature_C > 20.0 else sweet <= plain


def test_at_rest_sugar_alone_does_nothing():
    # Sugar without emulsifier does not shorten the induction at rest (chapter on non-cocoa ingredients, abstract seen).
    assert induction_s(23.0, shear_1_s=0.0, sugar_share=0.44) == induction_s(23.0, shear_1_s=0.0)
