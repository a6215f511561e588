"""What an ensemble has lost comes back when evidence contradicts all of it, and only then."""

from dataclasses import replace

import numpy as np
import pytest

from bloomless.estimation import revival
from bloomless.estimation.begin import begin
from bloomless.estimation.estimate import estimate
from bloomless.estimation.events import Composition, Look, Smear, Start, Table
from bloomless.estimation.passing import passed
from bloomless.estimation.priors import prior
from bloomless.estimation.revival import with_unforeseen
from bloomless.estimation.surroundings import shown
from bloomless.estimation.take import take
from bloomless.physics import rows
from bloomless.physics.actions import batch_kg

DARK = Start(0.0, Composition("dark"), 800.0, temperature_C=31.5, room_C=20.5)


@pytest.fixture(scope="module")
def dead():
    """A bowl in which every member holds the crystals dead."""
    belief = begin(DARK, seed=3, members=600)
    state = belief.ensemble.state.copy()
    state[rows.FORM_V_kg] = 1e-5 * state[rows.BULK_FAT_kg]
    belief = replace(belief, ensemble=belief.ensemble.with_state(state), seeded_at_s=0.0)
    return passed(belief, 300.0)


def codes(belief):
    return {said.code for said in estimate(belief).alerts}


def test_a_glossy_film_wakes_crystals_that_were_given_up(dead):
    assert estimate(dead).form_v_pct_of_fat.p95 < 0.1
    belief = take(dead, Smear(300.0, 60.0, "steel", set_after_s=200.0, finish="glossy"))
    seen = estimate(belief)
    assert seen.form_v_pct_of_fat.p50 > 0.4
    assert seen.chance_in_temper > 0.5
    assert "belief_rebuilt" in codes(belief)
    assert shown(belief).form_v_pct.size == 600


def test_a_thick_bowl_wakes_them_as_well(dead):
    belief = take(dead, Look(300.0, thickness="paste", drain="slow"))
    assert estimate(belief).form_v_pct_of_fat.p95 > 3.0


@pytest.mark.parametrize(("seeded_at_s", "least_m"), [(0.0, 6e-3), (100.0, 2e-3)])
def test_pieces_drawn_anew_are_as_large_as_what_they_are_left_of(seeded_at_s, least_m):
    belief = begin(replace(DARK, state="part_melted"), seed=3, members=600)
    clear = take(replace(belief, seeded_at_s=seeded_at_s), Look(300.0, lumps="none"))
    anew = clear.ensemble.state[rows.PIECE_COUNT + 1] > 0.0
    assert 0.0 < anew.mean() < 0.2
    size_m = clear.ensemble.state[rows.PIECE_m + 1, anew]
    assert least_m < np.median(size_m) < 2.0 * least_m


def test_what_was_foreseen_rebuilds_nothing(dead):
    belief = take(dead, Smear(300.0, 60.0, "steel", not_set_after_s=230.0))
    assert "belief_rebuilt" not in codes(belief)
    assert estimate(belief).form_v_pct_of_fat.p95 < 0.2
    assert "belief_rebuilt" not in codes(take(dead, Look(300.0, thickness="thin", drain="quick")))


def test_a_part_on_the_table_counts_as_returned():
    belief = take(begin(DARK, seed=1, members=100), Table(10.0, 0.4, 60.0, surface_C=18.0))
    belief = passed(belief, 40.0)
    away = belief.running[0].part
    assert away is not None
    both = shown(belief).mixed_C
    assert np.all(both < belief.ensemble.state[rows.BULK_C])
    assert np.all(both > away.state[rows.BULK_C])
    grams = 1000.0 * (batch_kg(belief.ensemble) + batch_kg(away))
    assert estimate(belief).batch_g.p50 == pytest.approx(float(np.median(grams)), rel=0.01)


def test_many_lumps_where_every_piece_was_taken_to_be_melted(dead):
    assert estimate(dead).seed_left_g.p95 < 5.0
    belief = take(dead, Look(300.0, lumps="many"))
    belief = take(belief, Look(320.0, lumps="many"))
    assert estimate(belief).seed_left_g.p50 > 15.0
    assert float(np.median(batch_kg(belief.ensemble))) == pytest.approx(0.8, rel=0.05)


@pytest.fixture(scope="module")
def few():
    """A bowl that every member holds to be in temper, with 1 % of form V or little more, which hardly grows."""
    belief = begin(replace(DARK, temperature_C=31.0, room_C=30.0), seed=5, members=2000)
    state = belief.ensemble.state.copy()
    state[rows.FORM_V_kg] = np.random.default_rng(1).uniform(0.008, 0.016, 2000) * state[rows.BULK_FAT_kg]
    parameters = belief.ensemble.parameters.copy()
    parameters[[rows.GROWTH_HOLD, rows.GROWTH_COLD]] *= 0.02
    ensemble = belief.ensemble.with_state(state).with_parameters(parameters)
    return replace(belief, ensemble=ensemble, seeded_at_s=0.0)


def pasty(belief):
    """The bowl after a cook has called it thick three times, and then a paste five times, a minute apart."""
    for minute, thickness in enumerate(3 * ["thick"] + 5 * ["paste"], start=1):
        belief = take(belief, Look(60.0 * minute, lumps="none", thickness=thickness, drain="slow"))
    return estimate(belief)


def test_a_paste_seen_again_and_again_is_not_put_down_to_the_eye(few, monkeypatch):
    assert estimate(few).chance_in_temper > 0.9
    seen = pasty(few)
    assert seen.form_v_pct_of_fat.p95 > 8.0
    real = revival.prior
    monkeypatch.setattr(revival, "prior", lambda name: 1e-9 if name == "unforeseen_share" else real(name))
    blind = pasty(few)  # without them the cook's eye takes all the blame
    assert blind.form_v_pct_of_fat.p95 < 3.0
    assert blind.chance_in_temper > seen.chance_in_temper + 0.2


def test_who_says_flowing_sees_as_much_in_temper_as_before(few):
    belief = few
    for at_s in range(60, 361, 60):
        belief = take(belief, Look(float(at_s), lumps="none", thickness="flowing", drain="good"))
    assert estimate(belief).chance_in_temper > 0.97


def test_bowls_that_nobody_foresaw_weigh_what_they_should(few):
    belief, shot = with_unforeseen(few, shown(few), of_pieces=True)
    new = ~np.isclose(shot.form_v_pct, shown(few).form_v_pct)
    assert 0.03 < new.mean() < 0.07
    assert belief.weight[new].sum() == pytest.approx(prior("unforeseen_share"))
    assert np.ptp(belief.weight[new]) == 0.0
    np.testing.assert_allclose(batch_kg(belief.ensemble), batch_kg(few.ensemble))
    np.testing.assert_array_equal(belief.cook[:, ~new], few.cook[:, ~new])
    assert belief.cook[0, new].std() == pytest.approx(np.log(prior("eye_lasting")), rel=0.3)


def test_of_a_handful_of_members_often_none_is_drawn_anew():
    handful = begin(DARK, seed=2, members=8)
    drawn = [with_unforeseen(replace(handful, draws=draw), shown(handful), of_pieces=False)[0] for draw in range(20)]
    untouched = [belief.ensemble is handful.ensemble for belief in drawn]
    assert 0 < sum(untouched) < 20
    assert all(np.isfinite(belief.log_weight).all() for belief in drawn)
