"""Estimation and advice against the targets of their issue: simulated kitchens, faults, wrong constants, milliseconds.

The full run works 1,000 plain kitchens, 360 with one fault each and 300 with wrong constants: about an hour on two idle
cores. It goes on where it was stopped (records lie in build/benchmarks). Seeds 901 to 903 are for reports only: nothing
was tuned on them.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from time import perf_counter

import numpy as np

from bloomless.bench.contract import event_from
from bloomless.bench.session import Bench
from bloomless.kitchens import FAULTS, Hands, World, draw_kitchen
from bloomless.studies import Study, run_study, summarise
from bloomless.studies.targets import against_targets
from report import Figure, at_most, main

MEMBERS = 4000


def _unit(name: str) -> str:
    if name.startswith("minutes"):
        return "min"
    if name.endswith(", K"):
        return "K"
    return "1"


def _study(study: Study, name: str, folder: Path, prefix: str) -> Iterator[Figure]:
    """Targets of one study as figures."""
    records = run_study(study, folder / f"{name}-{study.kitchens}.jsonl", jobs=os.cpu_count() or 1)
    rows = against_targets(summarise(records), faults=bool(study.faults), wrong_constants=study.wrong_constants)
    for row in rows:
        yield Figure(f"{prefix}{row['name']}", row["value"], _unit(row["name"]), row["target"], row["met"])


def _yardsticks(study: Study, folder: Path) -> Iterator[Figure]:
    """The rule-based cooks in the same kitchens: no target, what the advised cook is compared with."""
    summary = summarise(run_study(study, folder / f"plain-{study.kitchens}.jsonl", jobs=os.cpu_count() or 1))
    for name, cook in summary["all"]["cooks"].items():
        if name != "advised":
            words = name.replace("_", " ")
            yield Figure(f"{words}: in temper when used", cook["success"]["share"], "1", "–", None)
            yield Figure(f"{words}: minutes, mean", cook["minutes_mean"], "min", "–", None)


def _milliseconds(readings: int) -> Iterator[Figure]:
    """Time of a reading and of a plan at full size, over one bowl that is seeded and stirred."""
    chances = [np.random.Generator(np.random.Philox(np.random.SeedSequence([904, i]))) for i in range(2)]
    hands = Hands(World.begin(draw_kitchen(chances[0], "dark"), chances[1]))
    bench = Bench(event_from(hands.begin()).event, seed=1, members=MEMBERS)
    bench.advise()
    hands.wait(20.0)
    taken, planned = [], []
    for number in range(readings):
        if number in (10, 14):
            line = hands.pour() if number == 10 else hands.seed(0.2 * 1000.0 * hands.world.kitchen.mass_kg)
            bench.take(event_from(line).event)
        hands.wait(15.0)
        event = event_from(hands.read()).event
        began = perf_counter()
        bench.take(event)
        between = perf_counter()
        bench.advise()
        planned.append(1000.0 * (perf_counter() - between))
        taken.append(1000.0 * (between - began))
    # The first calls compile or load what is compiled; a full plan is what takes longest of ten answers.
    warm, plans = taken[5:], sorted(planned[5:])
    yield at_most(f"a reading taken, {MEMBERS} members, median", float(np.median(warm)), "ms", 5.0)
    yield at_most("a full plan, nine in ten answers are quicker", float(np.percentile(plans, 90)), "ms", 250.0)
    yield at_most("the slowest answer", max(plans), "ms", 2000.0)


def measure(quick: bool) -> Iterable[Figure]:
    """Yield every figure; quick: a few kitchens only, which proves the machinery and no target."""
    many, faulty, wrong = (12, 12, 6) if quick else (1000, 360, 300)
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) if quick else Path("build/benchmarks")
        plain = Study(many, seed=901)
        yield from _study(plain, "plain", folder, "")
        yield from _yardsticks(plain, folder)
        cooks = ("advised", "taught_rule")
        yield from _study(Study(faulty, seed=902, faults=tuple(FAULTS), cooks=cooks), "faults", folder, "faults: ")
        wrongly = Study(wrong, seed=903, wrong_constants=True, cooks=("advised",))
        yield from _study(wrongly, "wrong", folder, "wrong constants: ")
    yield from _milliseconds(30 if quick else 80)


if __name__ == "__main__":
    main(measure, __doc__)
