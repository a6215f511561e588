"""Corners of the estimation: evidence switched off, no model error, scorching, what an estimate rests on."""

from dataclasses import replace

import numpy as np
import pytest

from bloomless.errors import UnknownName
from bloomless.estimation import acts
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import HELD_UNDONE, NEVER_SEEN, Settings, last_look, looks
from bloomless.estimation.estimate import estimate
from bloomless.estimation.events import Add, Ask, Composition, Look, ProbeSpec, Reading, Seed, Smear, Start, Stir
from bloomless.estimation.evidence import rests_on
from bloomless.estimation.moves import shaken, thinned
from bloomless.estimation.passing import passed
from bloomless.estimation.surroundings import shown
from bloomless.estimation.take import take
from bloomless.estimation.thermometer import display_step_K, placement_of, reading_log_likelihood
from bloomless.physics import rows

DARK = Start(0.0, Composition("dark"), 800.0, temperature_C=32.0, room_C=20.5)


def codes(belief):
    return {said.code for said in estimate(belief).alerts}


@pytest.mark.parametrize("kind", ["dark", "milk", "white", "cocoa_butter"])
def test_an_estimate_says_every_number_it_rests_on(kind):
    numbers = rests_on(kind)
    assert numbers["bowl.form_v_end_C"].value == 33.8
    assert {name.split(".")[0] for name in numbers} >= {"chocolate", "fat", "bowl", "pieces", "kitchen", "cook"}
    assert all(value.source for value in numbers.values())


def test_an_unknown_chocolate_rests_on_nothing():
    with pytest.raises(UnknownName):
        rests_on("ruby")


def test_lumps_that_are_ignored_change_nothing():
    belief = take(begin(DARK, seed=1, members=200, settings=Settings(lumps=False)), Seed(5.0, 150.0, size_mm=4.0))
    before = passed(belief, 60.0)
    looked = take(belief, Look(60.0, lumps="none"))
    assert looked.log_weight == pytest.approx(before.log_weight)
    assert estimate(looked).chance_in_temper >= estimate(replace(looked, settings=Settings())).chance_in_temper


def test_looks_are_found_by_what_they_speak_of_and_by_time():
    belief = begin(DARK, seed=1, members=60)
    assert looks(belief) == []
    assert last_look(belief) is NEVER_SEEN
    told = [Look(10.0, lumps="few"), Look(20.0, thickness="thick"), Look(30.0, drain="good")]
    belief = replace(belief, acts=(told[0], Seed(15.0, 50.0), *told[1:]))
    assert looks(belief) == told
    assert looks(belief, after_s=10.0) == told[1:]
    assert last_look(belief, telling="thickness") is told[1]
    assert last_look(belief, telling="lumps", after_s=10.0) is NEVER_SEEN


def test_without_model_error_nothing_is_shaken():
    belief = begin(DARK, seed=1, members=50, settings=Settings(noise_scale=0.0, drift=False))
    assert shaken(belief, 30.0) is belief
    drifts = shaken(replace(belief, settings=Settings(noise_scale=0.0)), 30.0).ensemble
    moved = np.any(drifts.parameters != belief.ensemble.parameters, axis=1)
    assert np.flatnonzero(moved).tolist() == [rows.MELTING_SHIFT_K, rows.PROBE_OFFSET_K]
    shown = drifts.state[rows.PROBE_C] + drifts.parameters[rows.PROBE_OFFSET_K]
    before = belief.ensemble
    assert shown == pytest.approx(before.state[rows.PROBE_C] + before.parameters[rows.PROBE_OFFSET_K])
    loud = replace(belief, settings=Settings())
    assert np.any(shaken(loud, 30.0).ensemble.state[rows.BULK_C] != belief.ensemble.state[rows.BULK_C])


def test_minutes_too_hot_are_said_and_cooling_ends_the_watch():
    belief = begin(replace(DARK, temperature_C=62.0), seed=1, members=100)
    warned = passed(belief, 150.0)
    assert "scorched" in codes(warned)
    assert "scorched" not in codes(passed(belief, 40.0))
    brief = begin(replace(DARK, temperature_C=56.2), seed=1, members=100)
    heated = passed(brief, 10.0)
    assert heated.watch.hot_since_s is not None
    cooled = passed(take(heated, Add(11.0, 400.0, 20.0)), 60.0)
    assert cooled.watch.hot_since_s is None
    assert "scorched" not in codes(cooled)


def test_a_smear_from_before_any_memory_tells_of_the_bowl_now():
    belief = passed(begin(DARK, seed=1, members=100), 400.0)
    state = belief.ensemble.state.copy()
    state[rows.FORM_V_kg] = np.linspace(1e-5, 0.03, 100) * state[rows.BULK_FAT_kg]
    belief = replace(belief, snapshots=(), ensemble=belief.ensemble.with_state(state))
    told = take(belief, Smear(400.0, 40.0, set_after_s=200.0, finish="glossy"))
    assert told.backed
    assert float(told.weight @ shown(told).form_v_pct) > float(belief.weight @ shown(belief).form_v_pct)


def test_an_act_of_long_ago_is_not_asked_about_again():
    belief = take(begin(DARK, seed=1, members=100), Seed(5.0, 100.0))
    cook = belief.cook.copy()
    cook[HELD_UNDONE] = 1.0
    doubted = replace(belief, cook=cook)
    assert [said.code for said in acts.undone_alerts(doubted, doubted.weight)] == ["seed_not_added"]
    assert acts.undone_alerts(replace(doubted, at_s=900.0), doubted.weight) == ()
    stirred = take(begin(DARK, seed=1, members=100), Stir(5.0, "brisk"))
    assert acts.undone_alerts(replace(stirred, cook=cook), stirred.weight) == ()


@pytest.mark.parametrize("questions", [0, 8])
def test_questions_do_not_hide_what_was_done_before_them(questions):
    belief = begin(DARK, seed=1, members=200)
    for at_s in range(5, 60, 5):
        belief = take(belief, Reading(float(at_s), 32.0))
    belief = take(belief, Seed(60.0, 100.0))
    for k in range(questions):
        belief = take(belief, Ask(61.0 + 0.5 * k))
    # A piece may lie at the tip: only soon after something cold went in.
    odd = take(belief, Reading(70.0, 20.0))
    assert codes(odd) - codes(belief) == {"reading_jumped"}


@pytest.mark.parametrize(
    ("shown", "step"),
    [
        ([31.0], 0.1),
        ([31.0, 31.0], 0.1),
        ([31.0, 30.0], 1.0),
        ([31.0, 30.5], 0.5),
        ([(88.0 - 32.0) / 1.8, (87.0 - 32.0) / 1.8], 5.0 / 9.0),
        ([31.0, 30.6], 0.1),
    ],
)
def test_a_display_shows_its_step(shown, step):
    assert display_step_K(shown) == pytest.approx(step)


def test_a_whole_degree_tells_no_more_than_its_degree():
    expected = np.array([30.6, 31.0, 31.4, 32.6])
    fine, coarse = (
        reading_log_likelihood(31.0, expected, placement_of(4, 1.0), noise_C=0.1, nothing_share=0.03, step_K=step)[0]
        for step in (0.1, 1.0)
    )
    assert coarse[0] == pytest.approx(coarse[1], abs=0.35)
    assert fine[0] < fine[1] - 0.8
    assert coarse[3] < coarse[1] - 2.0
    calm = passed(begin(DARK, seed=1, members=300), 5.0)
    for at_s in range(15, 400, 15):
        calm = take(calm, Reading(float(at_s), 32.0 if at_s < 60 else 31.0))
    assert "reading_stuck" not in codes(calm)


def test_readings_that_keep_missing_all_members_move_them():
    belief = passed(begin(replace(DARK, probe=ProbeSpec(offset_sd_C=0.1)), seed=1, members=400), 5.0)
    state = belief.ensemble.state.copy()
    state[rows.BULK_C] = state[rows.PROBE_C] = 31.5 + 0.05 * np.random.default_rng(1).standard_normal(400)
    belief = replace(belief, ensemble=belief.ensemble.with_state(state))
    before = estimate(belief).temperature_C.p50
    once = take(belief, Reading(15.0, round(before - 0.9, 1)))
    assert estimate(once).temperature_C.p50 > before - 0.7
    moved = once
    for at_s in (30.0, 45.0, 60.0, 75.0):
        moved = take(moved, Reading(at_s, round(before - 1.1, 1)))
    assert estimate(moved).temperature_C.p50 < before - 0.7


def test_fewer_members_tell_the_same_story():
    belief = begin(DARK, seed=1, members=400)
    few = thinned(belief, 100)
    assert few.members == 100
    assert estimate(few).temperature_C.p50 == pytest.approx(estimate(belief).temperature_C.p50, abs=0.2)
