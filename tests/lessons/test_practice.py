"""Practice bowls: real controls, hidden truth, an honest score, a log that reads like any bench log."""

import numpy as np
import pytest

from bloomless.bench.contract import event_from
from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.lessons import LEVELS, PLAYS, debrief, open_bowl, score


def bowl(seed=1, **options):
    return open_bowl(np.random.Generator(np.random.Philox(np.random.SeedSequence(seed))), **options)


def play_well(seed=1, **options):
    """Pour over, a fifth of seed near 38 °C, then more while it is warm, warmth while lumps are left; a smear."""
    played = bowl(seed, **options)
    played.act("pour")
    played.advance(30)
    while played.see().shown_C > 38.0:
        played.act("cool_bath", bath_C=18, seconds=20)
        played.advance(40)
    played.act("seed", mass_g=0.2 * played.see().mass_g)
    played.advance(90)
    while played.see().shown_C > 32.6:
        if played.act("look")[-1]["lumps"] == "none":
            played.act("seed", mass_g=0.05 * played.see().mass_g)
        played.advance(60)
    for _ in range(12):
        if played.act("look")[-1]["lumps"] == "none":
            break
        if played.see().shown_C < 31.8:
            played.act("warm_bath", bath_C=45, seconds=20)
        played.advance(60)
    else:
        played.act("sieve")
    played.act("finish", used=True)
    return played


@pytest.fixture(scope="module")
def finished():
    return play_well(mass_g=800, kind="dark")


def test_a_bowl_played_well_scores_well(finished):
    found = score(finished)
    assert found.in_temper, found
    assert found.temper == 60
    assert 60 < found.total <= 100
    assert found.total == found.temper + found.minutes + found.seed + found.steps
    assert found.steps_taken == sum(
        line["what"] in {"pour", "cool_bath", "seed", "warm_bath", "sieve"} for line in finished.log
    )


def test_a_bowl_used_at_once_scores_nothing_much():
    played = bowl(2)
    played.act("finish", used=True)
    found = score(played)
    assert not found.in_temper
    assert found.minutes == found.seed == found.steps == 0
    assert found.total <= 25
    assert {"hot", "few"} <= set(found.wrong)


def test_giving_up_scores_nothing():
    played = bowl(2)
    played.act("finish", used=False)
    assert score(played).total == 0


def test_truth_is_hidden_until_the_end(finished):
    played = bowl(3)
    for hidden in (played.truth, lambda: score(played), lambda: debrief(played)):
        with pytest.raises(Misuse):
            hidden()
    assert not hasattr(played.see(), "truth")
    assert finished.truth()[-1].truth.in_temper


def test_every_line_is_a_line_of_the_bench_log(finished):
    for line in finished.log:
        event_from(dict(line))
    times = [line["at"] for line in finished.log]
    assert times == sorted(times)


def test_the_same_chance_gives_a_class_the_same_bowl():
    one, two = bowl(7, level="usual"), bowl(7, level="usual")
    for played in (one, two):
        played.act("seed", mass_g=100)
        played.advance(200)
    assert one.log == two.log
    assert one.see() == two.see()


def test_readings_come_every_quarter_minute():
    lines = bowl(1).advance(61)
    assert [round(line["at"]) for line in lines if line["what"] == "reading"] == [15, 30, 45, 60]


def test_a_film_is_reported_when_it_has_set(finished):
    played = play_well(mass_g=800, kind="dark", seed=4)
    assert score(played).used
    played = bowl(5, mass_g=700)
    played.act("smear", surface="steel")
    assert played.see().smear_since_s is not None
    with pytest.raises(Misuse):
        played.act("smear")
    played.advance(660)
    assert played.see().smear_since_s is None
    assert played.see().smear["finish"] == "dull"


@pytest.mark.parametrize("what", [name for name in PLAYS if name not in {"finish", "microwave"}])
def test_everything_that_may_be_played_can_be(what):
    played = bowl(1, kind="milk")
    assert played.act(what)[-1]["what"] in {what, "probe_check"}
    played.advance(30)
    assert np.isfinite(played.see().shown_C)


def test_a_microwave_only_where_the_bowl_is_not_metal():
    for seed in range(8):
        played = bowl(seed)
        if played.kitchen.vessel.material == "steel":
            with pytest.raises(Misuse):
                played.act("microwave")
        else:
            assert played.act("microwave", seconds=10)[-1]["what"] == "microwave"


@pytest.mark.parametrize("level", LEVELS)
def test_levels(level):
    played = bowl(6, level=level)
    assert (played.kitchen.fault is not None) == (level == "rough")
    assert (played.kitchen.probe.offset_K == 0.0) == (level == "calm")


@pytest.mark.parametrize(
    ("bad", "error"),
    [
        (lambda b: b.act("dance"), UnknownName),
        (lambda b: b.act("seed", mass_g=-5), ImpossibleInput),
        (lambda b: b.act("seed", mass_g=True), ImpossibleInput),
        (lambda b: b.act("seed", colour=3), UnknownName),
        (lambda b: b.act("stir", vigour="wildly"), ImpossibleInput),
        (lambda b: b.act("warm_bath", bath_C=80), ImpossibleInput),
        (lambda b: b.advance(-1), ImpossibleInput),
        (lambda b: (b.act("warm_bath"), b.act("cool_bath")), Misuse),
        (lambda b: (b.act("finish"), b.act("look")), Misuse),
    ],
)
def test_what_cannot_be_is_refused_and_loses_nothing(bad, error):
    played = bowl(1)
    with pytest.raises(error):
        bad(played)
    assert played.log[0]["what"] == "start"


@pytest.mark.parametrize("options", [{"level": "heroic"}, {"kind": "ruby"}, {"mass_g": 5}])
def test_impossible_bowls_are_refused(options):
    with pytest.raises((UnknownName, ImpossibleInput)):
        bowl(1, **options)


def test_nobody_plays_for_ever():
    played = bowl(1)
    played.advance(7200)
    assert played.over
    assert not played.used


def test_the_story_names_what_mattered(finished):
    codes = [moment.code for moment in debrief(finished)]
    assert "seeded" in codes
    assert "in_temper" in codes
    assert codes[-1] == "used_in_temper"
    burnt = bowl(2, mass_g=500)
    burnt.act("seed", mass_g=30)
    burnt.advance(120)
    burnt.act("finish", used=True)
    told = {moment.code: moment.text for moment in debrief(burnt)}
    assert "all of it melted" in told["seed_lost"]
    assert "0.4 %" in told["used_few"]
