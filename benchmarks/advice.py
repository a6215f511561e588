"""Estimation and advice against the targets of their issue: simulated kitchens, faults, wrong constants, milliseconds.

The full run works 1,000 plain kitchens, 360 with one fault each and 300 with wrong constants, twenty variations of
every scenario, every way of tempering, every rescue, and bowls held for four hours: about an hour on two idle cores.
Studies go on where they were stopped (records lie in build/benchmarks). ``SEED`` and the five after it are for reports
only: nobody looks at their kitchens before a report is made, and a later report takes seeds that are still fresh.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path
from time import perf_counter

import numpy as np

from bloomless.bench.contract import event_from
from bloomless.bench.session import Bench
from bloomless.kitchens import FAULTS, Hands, World, draw_kitchen
from bloomless.studies import Study, run_study, summarise
from bloomless.studies.benched import bench
from bloomless.studies.case import CaseSpec
from bloomless.studies.holding import held_share, hold_case
from bloomless.studies.rescues import rescue_rows
from bloomless.studies.targets import against_targets
from bloomless.studies.ways import way_rows
from bloomless.studies.work import each
from report import Figure, at_least, at_most, main

sys.path.append(str(Path(__file__).parents[1] / "tests" / "bowls"))
from musts import MUSTS, held

MEMBERS = 4000
SEED = 1009


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


def _told(studies: Sequence[tuple[Study, str]], folder: Path) -> Iterator[Figure]:
    """By fault: told by name, how soon, and false alarms an hour of bowl time in all kitchens without it."""
    jobs = os.cpu_count() or 1
    records = [
        r for study, name in studies for r in run_study(study, folder / f"{name}-{study.kitchens}.jsonl", jobs=jobs)
    ]
    for fault, row in summarise(records)["faults_told"].items():
        name = f"told: {FAULTS[fault]}"
        share = row["told"] and row["told"]["share"]
        yield Figure(f"{name}, share of {row['happened']}", share, "1", "–", None)
        yield Figure(f"{name}, minutes, median", row["minutes_median"], "min", "–", None)
        yield Figure(f"{name}, minutes, 90th percentile", row["minutes_p90"], "min", "–", None)
        yield Figure(f"{name}, readings, median", row["readings_median"], "1", "–", None)
        yield Figure(f"{name}, false alarms", row["false_alarms_an_hour"], "1/h", "–", None)


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


def _scenarios(variations: int) -> Iterator[Figure]:
    """In how many variations of each scenario every must held; 18 of 20 are asked for."""
    for name in MUSTS:
        holds = sum(held(name, variation) for variation in range(variations))
        yield at_least(f"scenario {name}, musts held of {variations}", float(holds), "1", 0.9 * variations)


def _ways(kitchens: int) -> Iterator[Figure]:
    """Every way of tempering by hand: success within two hours, minutes from the start of the session."""
    for name, share, minutes in way_rows(kitchens, SEED + 3, bench, jobs=os.cpu_count() or 1):
        yield Figure(f"way: {name}, in temper when used", share, "1", "–", None)
        yield Figure(f"way: {name}, minutes", round(minutes, 1), "min", "–", None)


def _rescues(kitchens: int) -> Iterator[Figure]:
    """Every trouble: share that ends as it must, and minutes and orders from the trouble on."""
    for row in rescue_rows(kitchens, SEED + 4, bench, jobs=os.cpu_count() or 1):
        ends = "in temper when used" if row["end"] == "use_it" else "told to stop"
        yield Figure(f"rescue: {row['name']}, {ends}, share of {row['kitchens']}", row["success"], "1", "–", None)
        yield Figure(f"rescue: {row['name']}, minutes", row["minutes"], "min", "–", None)
        yield Figure(f"rescue: {row['name']}, orders", row["orders"], "1", "–", None)


def _held(kitchens: int, hours: float) -> Iterator[Figure]:
    """Bowls held with chocolate being taken out: share of the time, and of the moulds, in temper."""
    todo = [CaseSpec(SEED + 5, number) for number in range(kitchens)]
    sums = held_share(list(each(partial(hold_case, bench=bench, hours=hours), todo, os.cpu_count() or 1)))
    yield Figure(f"held {hours:g} hours: share of the time in temper", sums["time_in_temper"], "1", "–", None)
    yield Figure("held: moulds filled in temper", sums["moulds_in_temper"], "1", "–", None)
    yield Figure("held: acts an hour", sums["acts_an_hour"], "1/h", "–", None)


def measure(quick: bool) -> Iterable[Figure]:
    """Yield every figure; quick: a few kitchens only, which proves the machinery and no target."""
    many, faulty, wrong = (6, 6, 4) if quick else (1000, 360, 300)
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) if quick else Path("build/benchmarks")
        plain = Study(many, seed=SEED)
        yield from _study(plain, "plain", folder, "")
        yield from _yardsticks(plain, folder)
        cooks = ("advised", "taught_rule")
        with_faults = Study(faulty, seed=SEED + 2, faults=tuple(FAULTS), cooks=cooks)
        yield from _study(with_faults, "faults", folder, "faults: ")
        yield from _told([(plain, "plain"), (with_faults, "faults")], folder)
        wrongly = Study(wrong, seed=SEED + 1, wrong_constants=True, cooks=("advised",))
        yield from _study(wrongly, "wrong", folder, "wrong constants: ")
    yield from _milliseconds(30 if quick else 80)
    yield from _scenarios(1 if quick else 20)
    if not quick:
        yield from _ways(8)
        yield from _rescues(20)
        yield from _held(8, 4.0)


if __name__ == "__main__":
    main(measure, __doc__)
