"""The size of the model error, fitted to benches whose world has none, some, and far more of it."""

import numpy as np
import pytest

from bloomless.errors import ImpossibleInput
from bloomless.estimation import fitting
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import Settings
from bloomless.estimation.events import Composition, Reading, Start
from bloomless.estimation.fitting import SOURCES, Recorded, fit, log_evidence
from bloomless.estimation.passing import passed
from bloomless.estimation.read import expected_reading

DARK = Start(0.0, Composition("dark"), 800.0, temperature_C=36.0, room_C=20.5)


def told(wander_K, seed):
    """A bench of one bowl of the filter's own physics, its temperature shaken besides."""
    chance, belief = np.random.default_rng(seed), begin(DARK, seed=90 + seed, members=20)
    drift, events = 0.0, []
    for at_s in range(15, 500, 15):
        belief = passed(belief, float(at_s))
        drift += wander_K * 0.5 * chance.standard_normal()
        shown = float(expected_reading(belief)[3]) + drift + 0.1 * chance.standard_normal()
        events.append(Reading(float(at_s), round(shown, 1)))
    return Recorded(DARK, tuple(events))


def test_a_calm_world_wants_no_more_model_error():
    found = {one.source: one for one in fit([told(0.0, n) for n in range(3)], members=300)}["noise_temperature"]
    assert found.best < 1.5
    assert found.log_evidence[2] < max(found.log_evidence) - 1.0


def test_every_kind_is_fitted_and_no_bench_is_no_fit():
    found = fit([told(0.05, 1)], members=100)
    assert tuple(one.source for one in found) == SOURCES
    assert all(1.0 / 3.0 <= one.best <= 3.0 for one in found)
    with pytest.raises(ImpossibleInput):
        fit([])


def test_evidence_falls_with_what_nobody_could_foresee():
    bench = told(0.0, 2)
    odd = Recorded(DARK, (*bench.events[:-1], Reading(bench.events[-1].at_s, 33.5)))
    usual, strange = (log_evidence(one, Settings(), members=200, seed=1) for one in (bench, odd))
    assert strange < usual


def test_a_valley_has_its_best_at_an_end():
    assert fitting._top([3.0, 1.0, 2.0]) == pytest.approx(1.0 / 3.0)
    assert fitting._top([1.0, 3.0, 1.0]) == pytest.approx(1.0)
