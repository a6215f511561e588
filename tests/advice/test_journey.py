"""One clean bowl from the start to an order to use it: the pieces work together."""

import pickle
from math import exp

import pytest

from bloomless.advice.advise import advise
from bloomless.estimation.begin import begin
from bloomless.estimation.estimate import estimate
from bloomless.estimation.events import Ask, Bath, Composition, Look, Reading, Seed, Start, VesselSpec
from bloomless.estimation.take import take


@pytest.fixture(scope="module")
def clean():
    belief = begin(Start(0.0, Composition("dark"), 800.0, temperature_C=46.2, room_C=20.5), seed=1, members=512)
    standing, answers = None, []
    events = [
        Ask(0.0),
        Reading(240.0, 43.4),
        Bath(240.0, "cool_bath", 18.0, 55.0),
        Reading(296.0, 37.6),
        Seed(296.0, 130.0, size_mm=3.0),
        Reading(354.0, 32.8),
        Look(354.0, lumps="many"),
        Reading(414.0, 32.5),
        Look(414.0, lumps="few"),
        Reading(474.0, 32.2),
        Look(474.0, lumps="few", thickness="flowing"),
        Ask(480.0),
    ]
    for event in events:
        belief = take(belief, event)
        if isinstance(event, Reading | Look | Ask):
            advice, standing = advise(belief, standing)
            answers.append((belief, advice))
    return answers


def test_before_the_start_says_how_much(clean):
    before = clean[0][1].before
    assert before is not None
    assert 80.0 <= before.seed_now_g <= 200.0
    assert before.seed_reserve_g % 5.0 == 0.0
    assert all(advice.before is None for _, advice in clean[1:])


def test_the_chance_rises_and_the_crystals_grow(clean):
    first, last = estimate(clean[1][0]), estimate(clean[-1][0])
    assert first.chance_in_temper < 0.05
    assert last.chance_in_temper > 0.3
    assert 0.4 < last.form_v_pct_of_fat.p50 < 4.0
    assert 31.0 < last.temperature_C.p50 < 33.0


def test_beliefs_pickle(clean):
    belief = clean[-1][0]
    again = pickle.loads(pickle.dumps(belief))
    assert estimate(again) == estimate(belief)


def test_a_cook_who_does_not_do_a_step_is_told_another_way():
    """No second bowl is at hand: pouring over is asked for, asked about, and then the bath takes its place."""
    start = Start(
        0.0,
        Composition("white"),
        1400.0,
        temperature_C=46.0,
        room_C=24.0,
        means=frozenset({"seed", "melt", "warm_bath", "cool_bath"}),
        vessel=VesselSpec(material="ceramic", mass_g=1200.0),
        seed_available_g=600.0,
    )
    belief, standing, asked = begin(start, seed=5, members=2000), None, {}
    for number in range(45):
        belief = take(belief, Reading(15.0 * number, round(24.0 + 22.0 * exp(-15.0 * number / 2700.0), 1)))
        advice, standing = advise(belief, standing)
        asked[advice.next.id] = advice.next.do
    done = list(asked.values())
    assert done.count("pour_over") <= 2, done
    assert set(done) & {"cool_bath", "add_seed"}, done
