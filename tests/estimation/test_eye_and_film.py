"""Evidence of the eye: chances sum to one, go the right way, and no look rules a bowl out."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.estimation.events import Look, Smear
from bloomless.estimation.eye import look_log_likelihood, lump_chances, thickness_chances, viscosity_ln
from bloomless.estimation.film import film_set_ln_s, finish_chances, smear_log_likelihood

shares = st.floats(0.0, 60.0)


@given(shares, st.floats(-1.0, 1.0))
def test_chances_of_a_look_sum_to_one(share, eye):
    for chances in (
        lump_chances(np.array([share]), np.array([eye])),
        thickness_chances(viscosity_ln(np.array([share])), np.array([eye])),
        finish_chances(np.array([share]), np.array([share / 2])),
    ):
        assert np.all(chances > 0.0)
        assert chances.sum() == pytest.approx(1.0)


def test_more_lumps_are_seen_as_more():
    pieces = np.array([0.01, 2.0, 20.0])
    none, few, many = lump_chances(pieces, np.zeros(3))
    assert none[0] > 0.9
    assert few[1] > 0.6
    assert many[2] > 0.9


def _look(look, v=1.5, u=0.0, p=0.5):
    one = np.array([v, v])
    return look_log_likelihood(look, one, np.full(2, u), np.array([p, 20.0]), np.zeros(2), np.zeros(2))


def test_some_is_few_or_many():
    few, many, some = (np.exp(_look(Look(0.0, lumps=word))) for word in ("few", "many", "some"))
    assert some == pytest.approx(few + many)


def test_a_look_never_rules_out():
    worst = _look(Look(0.0, lumps="none", thickness="paste", drain="slow", streaks=True))
    assert np.all(worst > -20.0)
    assert np.all(_look(Look(0.0)) == 0.0)


def test_drain_tells_half_as_much_beside_thickness():
    drain = _look(Look(0.0, drain="slow"))
    thick = _look(Look(0.0, thickness="thick"))
    both = _look(Look(0.0, thickness="thick", drain="slow"))
    assert both == pytest.approx(thick + 0.5 * drain)


def test_streaks_speak_for_unstable_forms():
    calm, unstable = _look(Look(0.0, streaks=True), u=0.0)[0], _look(Look(0.0, streaks=True), u=2.0)[0]
    assert unstable > calm
    assert _look(Look(0.0, streaks=False), u=0.0)[0] > _look(Look(0.0, streaks=False), u=2.0)[0]


def test_pieces_thicken_as_spheres_do():
    # Einstein's dilute limit, ln η ≈ 2.5 φ; Krieger and Dougherty at φ = 0.3, φₘ = 0.63: (1 − 0.476)^−1.575 = 2.77.
    assert viscosity_ln(0.0, 0.0, 1.0) == pytest.approx(0.025, rel=0.02)
    assert np.exp(viscosity_ln(0.0, 0.0, 30.0)) == pytest.approx(2.77, abs=0.01)
    assert np.isfinite(viscosity_ln(0.0, 0.0, 100.0))


def test_a_melt_without_crystals_may_be_called_flowing_and_hardly_thick():
    def said(v):
        return thickness_chances(viscosity_ln(np.full(4001, v)), 0.26 * np.linspace(-2, 2, 4001)).mean(axis=1)

    assert 0.1 < said(0.0)[1] < 0.35
    assert said(0.0)[2] < 0.02
    assert said(0.1)[1] == pytest.approx(said(0.0)[1], rel=0.3)  # a tenth of a per cent cannot be seen


def _minutes(v, **more):
    fields = {"kind": "dark", "surface": "paper", "room_C": 20.0} | more
    return float(np.exp(film_set_ln_s(np.array([v]), np.array([0.0]), **fields))[0]) / 60.0


def test_set_times_of_common_practice():
    # Sheet crystal-physics section 7: tempered sets within 5 minutes, untempered stays tacky beyond 10 to 15.
    assert 2.5 < _minutes(1.5) <= 5.0
    assert 5.0 < _minutes(0.4) < 8.0
    assert _minutes(0.0) > 12.0
    assert 1.0 <= _minutes(1.5, room_C=22.0) - _minutes(1.5) <= 2.0
    assert 1.0 <= _minutes(1.5, kind="milk") - _minutes(1.5) <= 2.0
    assert 2.0 <= _minutes(1.5, kind="white") - _minutes(1.5) <= 3.0
    assert _minutes(1.5, surface="steel") < _minutes(1.5)


@pytest.mark.parametrize(
    ("result", "good_wins"),
    [
        ({"set_after_s": 240.0}, True),
        ({"set_after_s": 240.0, "finish": "glossy"}, True),
        ({"not_set_after_s": 480.0}, False),
        ({"not_set_after_s": 480.0, "finish": "dull"}, False),
        ({"finish": "streaked"}, False),
    ],
)
@pytest.mark.parametrize("room", [None, 20.5])
def test_smear_speaks_for_and_against(result, good_wins, room):
    smear = Smear(600.0, 300.0, room_C=room, **result)
    good, bad = smear_log_likelihood(smear, np.array([1.5, 0.03]), np.zeros(2), np.zeros(2), kind="dark", room_C=20.0)
    assert (good > bad) == good_wins
    assert min(good, bad) > -15.0


def _of_smear(known=0.0, **result):
    v = np.array([0.03, 0.4, 1.5, 5.0])
    smear = Smear(600.0, 0.0, **result)
    return smear_log_likelihood(smear, v, np.zeros(4), np.zeros(4), kind="dark", room_C=20.0, known_not_set_s=known)


def test_a_film_told_tacky_and_then_set_weighs_the_same_in_one_line_or_two():
    one = _of_smear(not_set_after_s=300.0, set_after_s=420.0)
    two = _of_smear(not_set_after_s=300.0) + _of_smear(300.0, set_after_s=420.0)
    assert one == pytest.approx(two)
    # Set between five and seven minutes: some crystals, neither none nor many.
    assert one.argmax() == 1
    assert _of_smear(300.0, not_set_after_s=200.0) == pytest.approx(0.0)
