"""Flow, films and shells: checks 1-10, 49, 50 of the moulding sheet (Wolf, Aeschlimann & Beckett, Wichchukit)."""

import pytest

from bloomless.errors import ImpossibleInput
from bloomless.physics.coating_flow import (
    USE_WORDS,
    CassonPair,
    casson_from_interpolation,
    drained_film_mm,
    held_bubble_mm,
    static_film_mm,
    tempered,
)


def test_casson_pairs_of_the_teaching_note():
    milk, dark = CassonPair(14.28, 1.863), CassonPair(29.02, 6.056)
    assert milk.stress_Pa(5) == pytest.approx(46.66, abs=0.01)
    assert milk.viscosity_at_Pas(40) == pytest.approx(3.851, abs=0.001)
    assert dark.stress_Pa(5) == pytest.approx(118.59, abs=0.01)
    assert dark.viscosity_at_Pas(40) == pytest.approx(10.974, abs=0.001)


def test_two_numbers_of_the_trade_and_back():
    pair = casson_from_interpolation(40.0, 146.569 / 40)
    assert (pair.yield_Pa, pair.viscosity_Pas) == (pytest.approx(10.0, abs=1e-3), pytest.approx(2.0, abs=1e-3))
    with pytest.raises(ImpossibleInput):
        casson_from_interpolation(200.0, 1.0)


@pytest.mark.parametrize(("tau", "mm"), [(2, 0.163), (5, 0.408), (8, 0.652), (10, 0.8155), (20, 1.631), (36.1, 2.9439)])
def test_static_film(tau, mm):
    assert static_film_mm(tau, 1250) == pytest.approx(mm, rel=1e-3)  # the sheet took g 9.81
    assert static_film_mm(tau, 1250, 30) == pytest.approx(2 * mm, rel=1e-3)


@pytest.mark.parametrize(
    ("tau", "eta", "seconds", "mm"),
    [
        (0, 2, 10, 0.5711),
        (10, 2, 10, 1.1095),
        (10, 2, 120, 0.8476),
        (15, 3, 30, 1.345),
        (20, 5, 1, 3.785),
        (0, 2, 1.4498, 1.5),
    ],
)
def test_drained_film(tau, eta, seconds, mm):
    assert drained_film_mm(tau, eta, 1250, 20, seconds) == pytest.approx(mm, abs=2e-3)
    assert drained_film_mm(tau, eta, 1250, 20, 1e9) == pytest.approx(static_film_mm(tau, 1250), abs=1e-3)


def test_coats_of_wichchukit():
    # Paper: 1.9-15 Pa, 6-14.6 Pa s gave coats of 1.1-2.7 mm; direction, loosely.
    for tau, eta in ((1.9, 6.0), (8, 10), (15.0, 14.6)):
        assert 0.5 <= drained_film_mm(tau, eta, 1250, 20, 20) <= 4


def test_bubbles_stay_without_tapping():
    assert held_bubble_mm(5.0, 1250) == pytest.approx(2.9, abs=0.1)


def test_temper_thickens():
    fresh = USE_WORDS["bars"]
    bowl = tempered(fresh, 31.5, 0.015)
    assert 12 <= bowl.yield_Pa <= 36
    assert 3 <= bowl.viscosity_Pas <= 9
    assert tempered(fresh, 31.5, 0.06).yield_Pa > 1.5 * bowl.yield_Pa
    assert tempered(fresh, 33.0, 0.015).viscosity_Pas < bowl.viscosity_Pas
    with pytest.raises(ImpossibleInput):
        tempered(fresh, 31.5, 0.9)


def test_nonsense():
    with pytest.raises(ImpossibleInput):
        CassonPair(-1, 2)
    with pytest.raises(ImpossibleInput):
        static_film_mm(5, 1250, 0)
    with pytest.raises(ImpossibleInput):
        drained_film_mm(5, 2, 1250, 20, 0)
