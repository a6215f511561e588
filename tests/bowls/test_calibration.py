"""Simulation-based calibration in the filter's own world: the truth is a draw like any other; a broken filter shows."""

from functools import lru_cache

import numpy as np
import pytest
from own_world import World
from scipy.stats import chisquare

from bloomless.estimation.begin import begin
from bloomless.estimation.belief import Settings
from bloomless.estimation.estimate import estimate
from bloomless.estimation.events import Composition, Look, Seed, Start
from bloomless.estimation.read import offset_of
from bloomless.estimation.surroundings import shown
from bloomless.estimation.take import take
from bloomless.physics import rows

START = Start(0.0, Composition("dark"), 800.0, temperature_C=None, room_C=20.5)
RUNS, BINS = 40, 5
DEFAULT = Settings()


def _rank(values, weight, truth):
    return float(weight @ (values < truth) + 0.5 * (weight @ (values == truth)))


@lru_cache
def ranks(settings=DEFAULT, spoil=0.0):
    """Ranks of true temperature and true form V among the members, one a run."""
    found = []
    for run in range(RUNS):
        start = Start(0.0, Composition("dark"), 800.0, temperature_C=38.0, room_C=20.5)
        world = World(start, 5000 + run)
        belief = begin(start, seed=run, members=400, settings=settings)
        chance = np.random.default_rng(run)
        for at_s in np.arange(15.0, 360.0, 15.0):
            if at_s == 45.0:
                event = Seed(45.0, 110.0, size_mm=3.0)
                world.act(event)
                belief = take(belief, event)
            wild = 6.0 if spoil and chance.random() < spoil else 0.0
            belief = take(belief, world.reading(float(at_s), fault=wild))
        seen, true, weight = shown(belief), world.truth, belief.weight
        found.append((_rank(seen.mixed_C, weight, true.mixed_C[0]), _rank(seen.form_v_pct, weight, true.form_v_pct[0])))
    return np.array(found)


def p_value(column):
    counts, _ = np.histogram(np.clip(column, 0.0, 1.0 - 1e-9), bins=BINS, range=(0.0, 1.0))
    return float(chisquare(counts).pvalue)


@pytest.mark.slow
def test_ranks_of_temperature_and_form_v_are_even():
    found = ranks()
    assert p_value(found[:, 0]) > 1e-3
    assert p_value(found[:, 1]) > 1e-3


@pytest.mark.slow
def test_without_a_bias_the_ranks_are_not_even():
    assert p_value(ranks(Settings(bias=False))[:, 0]) < 1e-4


@pytest.mark.slow
def test_believing_every_reading_is_found_out():
    kind = ranks(spoil=0.15)[:, 0]
    naive = ranks(Settings(believe_all=True, heavy_tails=False), 0.15)[:, 0]
    outside = [float(np.mean((column < 0.02) | (column > 0.98))) for column in (kind, naive)]
    assert outside[0] < 0.25
    assert outside[1] > outside[0] + 0.15


def _lumpy(settings):
    belief = begin(START, seed=1, members=600, settings=settings)
    world = World(Start(0.0, Composition("dark"), 800.0, temperature_C=34.5, room_C=20.5), 3)
    belief = begin(world.belief.start, seed=1, members=600, settings=settings)
    belief = take(belief, Seed(5.0, 160.0, size_mm=4.0))
    for at_s in (60.0, 120.0, 180.0, 240.0):
        belief = take(belief, Look(at_s, lumps="many"))
    return estimate(belief).chance_in_temper


def test_ignoring_lumps_is_found_out():
    assert _lumpy(Settings()) < 0.1
    assert _lumpy(Settings(lumps=False)) > 0.4


def test_without_latent_heat_the_plateau_is_missed(monkeypatch):
    from bloomless.physics.bowl import Bowl

    def fall(belief):
        belief = take(belief, Seed(5.0, 160.0, size_mm=3.0))
        belief = take(belief, Look(240.0))
        return float(belief.weight @ shown(belief).mixed_C)

    start = Start(0.0, Composition("dark"), 800.0, temperature_C=40.0, room_C=20.5)
    with_heat = fall(begin(start, seed=2, members=200))
    full = Bowl.constants.func

    def cold(self):
        k = full(self).copy()
        k[2:5] = 0.0
        return k

    monkeypatch.setattr(Bowl, "constants", property(cold))
    without = fall(begin(start, seed=2, members=200))
    # Crystal sheet 5.6: latent heat is worth several kelvin of the fall; leaving it out is the largest error.
    assert without - with_heat > 2.0


def test_the_offset_does_not_collapse():
    # Readings alone cannot tell offset from melting shift: after 20 minutes the doubt must still be there.
    start = Start(0.0, Composition("dark"), 800.0, temperature_C=32.0, room_C=20.5)
    world = World(start, 11)
    held = {}
    for drift in (True, False):
        belief = begin(start, seed=5, members=400, settings=Settings(drift=drift))
        for reading in [world.reading(float(t)) for t in range(15, 1200, 15)] if drift else list(held["heard"]):
            belief = take(belief, reading)
        held.setdefault("heard", belief.heard)
        offset = offset_of(belief, "1")
        held[drift] = float(np.sqrt(belief.weight @ (offset - belief.weight @ offset) ** 2))
    assert held[True] > 0.35
    assert belief.ensemble.parameters.shape[0] == rows.PARAMETERS
