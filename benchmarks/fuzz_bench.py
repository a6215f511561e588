"""Ten thousand random bowls, told in order and out of it: no crash, no NaN, no chance outside 0…1.

python benchmarks/fuzz_bench.py --count 10000 --members 64
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import warnings
from collections.abc import Callable

from bloomless.bench.session import Bench
from bloomless.errors import BloomlessError
from bloomless.estimation import events as ev

VIGOURS = ("none", "gentle", "steady", "brisk")


def event_makers(r: random.Random) -> list[Callable[[float], ev.BowlEvent]]:
    """One maker a kind of event, within the ranges the contract accepts."""
    u = r.uniform
    return [
        lambda at: ev.Reading(at, u(-30, 130), r.choice("12")),
        lambda at: ev.Seed(at, u(0.1, 2000), r.choice([None, u(-20, 40)]), u(0.1, 40)),
        lambda at: ev.Seed(at, u(0.1, 200), form=r.choice(["bloomed", "unknown", "cocoa_butter_crystals"])),
        lambda at: ev.Add(at, u(1, 2000), u(15, 80)),
        lambda at: ev.Bath(at, r.choice(["warm_bath", "cool_bath"]), u(-5, 100), u(0, 600)),
        lambda at: ev.Microwave(at, u(0, 120), u(1, 2000)),
        lambda at: ev.HotAir(at, u(0, 120), u(1, 2000)),
        lambda at: ev.Table(at, u(0.01, 1), u(0, 600)),
        lambda at: ev.Pour(at),
        lambda at: ev.Stir(at, r.choice(VIGOURS)),
        lambda at: ev.Look(at, r.choice([None, "none", "some", "few", "many"]), r.choice([None, "thin", "paste"])),
        lambda at: ev.Smear(at, max(0.0, at - u(0, 900)), set_after_s=r.choice([None, u(0, 900)])),
        lambda at: ev.Sieve(at, u(0.1, 500)),
        lambda at: ev.Remove(at, u(0.1, 3000)),
        lambda at: ev.Water(at, u(0.1, 200)),
        lambda at: ev.ProbeCheck(at, "ice", u(-3, 3), 0.0),
    ]


def play(number: int, members: int) -> None:
    """One random bowl; raises AssertionError or whatever broke."""
    r = random.Random(number)
    kind = r.choice(["dark", "milk", "white", "cocoa_butter"])
    state = r.choice(["melted", "pieces", "part_melted"])
    vessel = ev.VesselSpec(r.choice(["steel", "glass", "plastic", "ceramic", "copper", "aluminium"]))
    warm_C = r.choice([None, r.uniform(-30, 130)])
    start = ev.Start(0.0, ev.Composition(kind), 10 ** r.uniform(1, 4.3), state, warm_C, vessel=vessel)
    bench, makers = Bench(start, seed=number, members=members), event_makers(r)
    for _ in range(r.randint(1, 14)):
        event = r.choice(makers)(r.uniform(0, 4000) if r.random() < 0.2 else bench.now_s + r.uniform(0, 300))
        try:
            estimate = bench.take(event)
        except BloomlessError as error:
            if error.code not in ("goes_back", "too_late"):
                raise
            continue
        chance = estimate.chance_in_temper
        assert chance is None or 0.0 <= chance <= 1.0, f"chance {chance}"
        for band in (estimate.temperature_C, estimate.form_v_pct_of_fat, estimate.seed_left_g, estimate.batch_g):
            assert band is None or all(map(math.isfinite, (band.p05, band.p50, band.p95))), f"{band}"
    assert bench.advise().next.do


def main() -> int:
    """Play them; exit 1 if one broke."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--members", type=int, default=64)
    arguments = parser.parse_args()
    warnings.simplefilter("error")
    broken = 0
    for number in range(arguments.first, arguments.first + arguments.count):
        try:
            play(number, arguments.members)
        except Exception as error:
            broken += 1
            print(f"bowl {number}: {type(error).__name__}: {error}")
        if number % 500 == 499:
            print(f"… {number + 1 - arguments.first} bowls, {broken} broken", file=sys.stderr)
    print(f"{arguments.count} bowls, {broken} broken")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
