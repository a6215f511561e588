"""What can be known at all: the belief in bowls of its own physics, where nothing but evidence limits it.

A member drawn from the prior is the truth; it is seeded, read and looked at, its film is smeared, each with the error
rates the filter itself assumes. Where the believed spread is wide here too, no truer model would narrow it: more would
have to be told. Whether the band holds the truth nine times in ten shows what the filter loses on the way.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from bloomless.bench.contract import event_from, no_chocolates
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import EYE_LUMPS, EYE_THICK, SMEAR_PACE, Belief
from bloomless.estimation.events import Look, Seed, Smear, Start
from bloomless.estimation.eye import lump_chances, thickness_chances, viscosity_ln
from bloomless.estimation.film import film_set_ln_s, finish_chances
from bloomless.estimation.priors import prior
from bloomless.estimation.summary import band, mean_and_sd
from bloomless.estimation.surroundings import shown
from bloomless.estimation.take import take
from bloomless.kitchens import draw_kitchen
from report import Figure, main

sys.path.append(str(Path(__file__).parents[1] / "tests" / "bowls"))
from own_world import World

SEED = 970
KINDS = ("dark", "milk", "white")
MELTED_C = {"dark": 34.5, "milk": 32.5, "white": 31.5}
READ_EVERY_S, LOOK_EVERY_S = 12.0, 72.0
SEEDED_S, ENDS_S = 60.0, 600.0
FILMS_AT_S = (240.0, 420.0)
COMES_TO_LOOK_S = (60.0, 420.0)
LEAST_PCT = 1e-3


@dataclass(frozen=True)
class Known:
    """One bowl after ten minutes."""

    within: bool
    covered: bool
    spread_ln: float
    chances: tuple[tuple[float, bool], ...]
    """Chance that pieces are few enough, and whether they were, at every reading since the seed."""


def _start(chance: np.random.Generator) -> Start | None:
    """A kitchen of the study, its chocolate melted and near where seed lives."""
    kitchen = draw_kitchen(chance)
    if kitchen.kind not in KINDS:
        return None
    warm_C = MELTED_C[kitchen.kind] + chance.uniform(-1.0, 1.0)
    line = {**kitchen.said, "at": 0.0, "temperature_C": round(float(warm_C), 1)}
    event = event_from(line, session_start=None, chocolates=no_chocolates).event
    assert isinstance(event, Start)
    return event


def _drawn(chance: np.random.Generator, chances: np.ndarray, answers: Sequence[str]) -> str:
    return answers[int(chance.choice(len(answers), p=chances[:, 0] / chances[:, 0].sum()))]


def _look(world: World, at_s: float, chance: np.random.Generator) -> Look:
    true, cook = world.truth, world.belief.cook
    cooler_K = world.belief.temper.middle_C - true.mixed_C
    viscous = viscosity_ln(true.form_v_pct, true.unstable_pct, true.pieces_pct, cooler_K)
    return Look(
        at_s,
        lumps=_drawn(chance, lump_chances(true.pieces_pct, cook[EYE_LUMPS]), ("none", "few", "many")),
        thickness=_drawn(chance, thickness_chances(viscous, cook[EYE_THICK]), ("thin", "flowing", "thick", "paste")),
    )


def _film(world: World, start: Start, at_s: float, chance: np.random.Generator) -> tuple[float, str]:
    """Seconds after which a film dipped now is told to have set, and how it looks then.

    As the filter takes the words: half the time that is when it set, half the time when somebody came to look.
    """
    true = world.truth
    ln_s = film_set_ln_s(
        true.form_v_pct, true.unstable_pct, kind=start.chocolate.kind, surface="steel", room_C=start.room_C
    )
    ln_s = ln_s + world.belief.cook[SMEAR_PACE] + prior("smear_width") * chance.standard_normal()
    finish = _drawn(chance, finish_chances(true.form_v_pct, true.unstable_pct), ("glossy", "streaked", "dull"))
    comes_s = chance.uniform(*COMES_TO_LOOK_S) if chance.random() < 0.5 else 0.0
    return max(math.exp(float(ln_s[0])), comes_s), finish


def _known(belief: Belief, world: World, chances: list[tuple[float, bool]]) -> Known:
    seen, weight, truth = shown(belief), belief.weight, float(world.truth.form_v_pct[0])
    believed = band(seen.form_v_pct, weight)
    _, spread = mean_and_sd(np.log(np.maximum(seen.form_v_pct, LEAST_PCT)), weight)
    within = abs(math.log(max(believed.p50, LEAST_PCT) / max(truth, LEAST_PCT))) < math.log(1.5)
    return Known(within, believed.p05 <= truth <= believed.p95, spread, tuple(chances))


def bowl_known(number: int, members: int) -> Known | None:
    """One bowl of the filter's own world, seeded with 6 to 14 %; ``None`` where it was no chocolate."""
    chance = np.random.default_rng([SEED, number])
    start = _start(chance)
    if start is None:
        return None
    world, belief = World(start, SEED * 1000 + number), begin(start, seed=number, members=members)
    grams = 5.0 * round(chance.uniform(0.06, 0.14) * start.mass_g / 5.0)
    seed = Seed(SEEDED_S, grams, size_mm=float(chance.choice([3.0, 5.0, 8.0])))
    world.act(seed)
    belief = take(belief, seed)
    films: list[tuple[float, float, str]] = []
    chances: list[tuple[float, bool]] = []
    for at_s in np.arange(SEEDED_S + READ_EVERY_S, ENDS_S + 1.0, READ_EVERY_S).tolist():
        belief = take(belief, world.reading(at_s))
        if round(at_s) % round(LOOK_EVERY_S) == 0:
            belief = take(belief, _look(world, at_s, chance))
        if at_s in FILMS_AT_S:
            belief = take(belief, Smear(at_s, at_s, "steel"))
            films.append((at_s, *_film(world, start, at_s, chance)))
        for film in [film for film in films if film[0] + film[1] <= at_s]:
            films.remove(film)
            belief = take(belief, Smear(at_s, film[0], "steel", set_after_s=film[1], finish=film[2]))  # type: ignore[arg-type]
        most_pct = 100.0 * belief.temper.pieces_most
        few = float(belief.weight @ (shown(belief).pieces_pct < most_pct))
        chances.append((few, bool(world.truth.pieces_pct[0] < most_pct)))
    return _known(belief, world, chances)


def _figures(members: int, bowls: int) -> Iterable[Figure]:
    known = [one for number in range(bowls) if (one := bowl_known(number, members)) is not None]
    chances = np.array([pair for one in known for pair in one.chances], dtype=np.float64)
    base = float(chances[:, 1].mean())
    skill = 1.0 - float(np.mean((chances[:, 0] - chances[:, 1]) ** 2)) / (base * (1.0 - base))
    label = f"{members:,} members, {len(known)} bowls of its own physics"
    covered = float(np.mean([one.covered for one in known]))
    yield Figure(f"{label}: form V in its 90 % band", covered, "1", "0.85 to 0.95", 0.85 <= covered <= 0.95)
    yield Figure(f"{label}: form V within 1.5", float(np.mean([one.within for one in known])), "1", "–", None)
    yield Figure(f"{label}: believed sd of ln form V", float(np.mean([o.spread_ln for o in known])), "1", "–", None)
    yield Figure(f"{label}: Brier skill of few pieces", skill, "1", "–", None)


def measure(quick: bool) -> Iterable[Figure]:
    """With the usual ensemble, and with one five times as large."""
    bowls = 12 if quick else 200
    for members in (3000,) if quick else (3000, 15000):
        yield from _figures(members, bowls)


if __name__ == "__main__":
    main(measure, __doc__)
