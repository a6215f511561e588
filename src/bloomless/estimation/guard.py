"""The guard over the thermometer: faults of the world are recognised by their shape and said, not believed.

Each reading is set against what the ensemble expects. A miss that neither doubt nor noise explains is odd; one odd
reading is not believed, several that agree with each other are a sign that something was done and not logged. A
reading that stands still while the bowl must move is stuck; one that makes sense only in °F is asked about.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeAlias

from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Alert
from bloomless.estimation.belief import Watch
from bloomless.estimation.thermometer import FINE_STEP_K
from bloomless.quantities import C_from_F

__all__ = ["PROBE_CODES", "Expectation", "Verdict", "cold_unsaid", "judge"]

ODD_SD = 4.0
ODD_K = 1.0
"""A reading is odd if it misses by more than both."""
STUCK_S = 75.0
STUCK_LEAST_S = 40.0
STUCK_K = 0.55
STUCK_SD = 1.5
"""Stuck: the same number so long while more change was expected than both, sooner the more it was, never before the
least: a few times the same number is chance, and in a coarse display no sign at all. Chosen in kitchens of tuning
seeds 102 and 307."""
HIDES = 1.5
"""Steps of a coarse display that may pass unseen: one between two equal numbers, half for where in it they lie."""
SETTLED_K_S = 0.025
"""Odd readings that move less than this per second stand at a new level."""
FAHRENHEIT_FIT_K = 3.5
DOUBTED_K = 0.5
"""Where more was in doubt, what a reading drew the belief by counts the less."""
SHOWN_S = 20.0
"""By then logged seed has cooled the bowl by most of what it will, and a wrong weight of it has shown."""
FALLS_S = 45.0
UNSAID_K = 0.7
WHOLE_K = 0.5
"""Unlogged cold: readings of so long drew the belief down by so much, and with what logged seed did before, by that.
Without the second, seed thrown in slowly would be taken for more seed. Chosen in kitchens of seeds 307 and 308."""
DRAWN_K = 1.5
"""Where the vessel is so much colder or warmer than what is in it, a tip that leans on its wall shows it."""
DRAWN_SD = 2.8
DRAWN_EACH_SD = 0.5
DRAWN_WITHIN_S = 60.0
"""On the wall: two readings in a row lie off towards the vessel, by so many sd together and so many each. Chosen in
kitchens of seeds 201 and 202: there one alone, and two where the vessel is hardly another's temperature, are chance."""
LEANING_SHARE = 0.5
"""Chance given beforehand that a reading which completes such a pair says nothing."""
PROBE_CODES = frozenset(
    {"reading_stuck", "reading_jumped", "probe_not_in_the_melt", "probe_on_the_wall", "hot_spot", "not_stirred_in"}
)
"""While one of these stands, a fall is the thermometer's."""

Odd: TypeAlias = tuple[tuple[float, float, float], ...]
"""Readings that were not believed, one after the other: time, reading, miss."""


@dataclass(frozen=True, slots=True)
class Expectation:
    """What the ensemble expects the thermometer to show, and what was done lately."""

    mean_C: float
    sd_K: float
    room_C: float
    cold_lately: bool
    """Seed, a cool bath, a pour or the table within two minutes."""
    warm_lately: bool
    """A bath, a burst, hot air or warm melt within two minutes."""
    unstirred_s: float
    """Seconds since the bowl was last known to be stirred."""
    just_stirred: bool = False
    """Stirred within a minute after a rest."""
    step_K: float = 0.1
    """Of the display."""
    wall_K: float = 0.0
    """Vessel less bowl."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What to do with one reading."""

    nothing_share: float
    """Chance given beforehand that the reading says nothing; 1 means: do not believe it."""
    alerts: tuple[Alert, ...]
    rebuild: bool
    """Several odd readings agree: let the belief consider that something was done and not logged."""
    watch: Watch


def _fahrenheit(reading_C: float, expected: Expectation) -> bool:
    fits_K = max(FAHRENHEIT_FIT_K, 2.5 * expected.sd_K)
    return abs(reading_C - expected.mean_C) > 12.0 and abs(C_from_F(reading_C) - expected.mean_C) < fits_K


def _number(reading_C: float, expected: Expectation) -> str:
    return f"It showed {reading_C:.1f} °C where about {expected.mean_C:.1f} °C was expected."


def _name_of(miss_K: float, expected: Expectation, reading_C: float, odd: Odd) -> Alert:
    """What an odd reading most likely is, after the odd ones just before it."""
    number = _number(reading_C, expected)
    if miss_K < 0.0:
        if expected.unstirred_s > 240.0:
            return alert("not_stirred_in", number)
        if expected.cold_lately and not (odd and odd[-1][2] < 0.0):
            # One such reading after something cold may be a piece at the tip; a second one is not.
            return alert("reading_jumped", number)
        return alert("probe_not_in_the_melt", number)
    if expected.warm_lately:
        return alert("hot_spot" if miss_K > 8.0 else "probe_on_the_wall", number)
    if expected.unstirred_s > 240.0:
        return alert("not_stirred_in", number)
    return alert("reading_jumped", number)


def _stuck(reading_C: float, at_s: float, expected: Expectation, watch: Watch) -> tuple[bool, Watch]:
    """Whether the thermometer stands still while the bowl must move.

    A belief bends to what is shown, so the changes foreseen from one reading to the next are summed, and not what is
    expected now set against what was expected then. What speaks against the display is both how much it has missed and
    for how long: their product is asked for.
    """
    if watch.last_C is None or watch.same_since_s is None or abs(reading_C - watch.last_C) > 1e-9:
        return False, replace(watch, same_since_s=at_s, moved_K=0.0)
    moved_K = watch.moved_K + expected.mean_C - watch.foreseen_C
    missed_K = abs(moved_K) - HIDES * max(expected.step_K - FINE_STEP_K, 0.0)
    times = missed_K / max(STUCK_K, STUCK_SD * expected.sd_K)
    seconds = at_s - watch.same_since_s
    least_s = STUCK_S if expected.step_K > FINE_STEP_K else STUCK_LEAST_S
    stuck = seconds >= least_s and times > 1.0 and seconds * times >= STUCK_S
    return stuck, replace(watch, moved_K=moved_K)


def _drawn_sd(miss_K: float, expected: Expectation) -> float:
    """By how many sd a reading lies off towards the vessel, with its sign; 0 where it does not, or the vessel is near.

    What a coarse display may hide is taken off.
    """
    if abs(expected.wall_K) < DRAWN_K or miss_K * expected.wall_K <= 0.0:
        return 0.0
    beyond_K = max(abs(miss_K) - 0.5 * (expected.step_K - FINE_STEP_K), 0.0)
    return math.copysign(min(beyond_K / expected.sd_K, ODD_SD), miss_K)


def _leans(drawn_sd: float, at_s: float, before: Watch) -> bool:
    """Whether this reading and the one before it speak for a tip on the wall."""
    if before.odd or before.last_at_s is None or at_s - before.last_at_s > DRAWN_WITHIN_S:
        return False
    both = abs(drawn_sd), abs(before.drawn_sd)
    return drawn_sd * before.drawn_sd > 0.0 and min(both) >= DRAWN_EACH_SD and sum(both) >= DRAWN_SD


def _agree(odd: Odd) -> bool:
    """Whether the last odd readings stand at a level of their own: three over at least 20 s, all off to one side."""
    if len(odd) < 3:
        return False
    last = odd[-3:]
    span = last[-1][0] - last[0][0]
    same_side = all(miss > 0.0 for _, _, miss in last) or all(miss < 0.0 for _, _, miss in last)
    steps = [abs(b[1] - a[1]) <= max(SETTLED_K_S * (b[0] - a[0]), 0.15) for a, b in pairwise(last)]
    return span >= 20.0 and same_side and all(steps)


def cold_unsaid(
    at_s: float, expected: Expectation, seeded_at_s: float, watch: Watch, *, quiet: bool
) -> tuple[tuple[Alert, ...], Watch]:
    """Whether cold mass went in unlogged that no single reading was odd enough to show.

    A belief follows a fall of a kelvin over a minute, reading by reading. So what the readings drew it down by is
    summed: what a logged act explains has been foreseen and is not in the sum, and the error of that act shows at once.

    Parameters
    ----------
    at_s, expected
        A reading that has been taken, and what had been expected of it: so much did it draw the belief away.
    seeded_at_s
        When seed was last logged, -inf if never.
    watch
        What the guard remembers; the sum begins anew once it was said.
    quiet
        Nothing but logged seed and stirring for two minutes, and no doubt about the thermometer.
    """
    pull_K = (watch.foreseen_C - expected.mean_C) * min(1.0, DOUBTED_K / expected.sd_K)
    pulls = (*((t, k) for t, k in watch.pulls if t > at_s - FALLS_S - SHOWN_S), (at_s, pull_K))
    late_K = sum(k for t, k in pulls if t > max(at_s - FALLS_S, seeded_at_s + SHOWN_S))
    whole_K = sum(k for t, k in pulls if t > seeded_at_s)
    if not quiet or late_K > -UNSAID_K or whole_K > -WHOLE_K:
        return (), replace(watch, pulls=pulls)
    said = f"Within {FALLS_S:.0f} s it fell {-late_K:.1f} K more than was expected."
    return (alert("seed_not_logged", said),), replace(watch, pulls=())


def judge(reading_C: float, at_s: float, expected: Expectation, watch: Watch, *, usual_share: float) -> Verdict:
    """Verdict on one reading.

    Parameters
    ----------
    reading_C, at_s
        As shown, session time.
    expected
        What the ensemble expects.
    watch
        What the guard remembers of earlier readings.
    usual_share
        Share of readings that say nothing when none is suspect.
    """
    miss = reading_C - expected.mean_C
    drawn_sd = _drawn_sd(miss, expected)
    leans = _leans(drawn_sd, at_s, watch)
    stuck, watch = _stuck(reading_C, at_s, expected, watch)
    watch = replace(watch, last_at_s=at_s, last_C=reading_C, drawn_sd=drawn_sd)
    if _fahrenheit(reading_C, expected) and not expected.warm_lately:
        said = f"{reading_C:.0f} °F would be {C_from_F(reading_C):.1f} °C."
        return Verdict(1.0, (alert("fahrenheit_as_celsius", said),), False, watch)
    if stuck:
        since = watch.same_since_s if watch.same_since_s is not None else at_s
        said = f"{reading_C:.1f} °C for {at_s - since:.0f} s."
        return Verdict(0.9, (alert("reading_stuck", said),), False, replace(watch, stuck=True))
    freed = watch.stuck and watch.same_since_s == at_s
    watch = replace(watch, stuck=watch.stuck and not freed)
    if abs(miss) <= max(ODD_K, ODD_SD * expected.sd_K) + 0.5 * expected.step_K - 0.05:
        watch = replace(watch, odd=())
        if leans and not expected.just_stirred:
            return Verdict(LEANING_SHARE, (alert("probe_on_the_wall", _number(reading_C, expected)),), False, watch)
        return Verdict(usual_share, (), False, watch)
    if expected.just_stirred or freed:
        # Stirred after a rest, or a display that stood still goes on: now the bowl itself is read, and what was read
        # before is forgiven.
        return Verdict(usual_share, (), True, replace(watch, odd=()))
    before = watch.odd
    odd = (*before[-5:], (at_s, reading_C, miss))
    watch = replace(watch, odd=odd)
    if _agree(odd):
        name = "seed_not_logged" if miss < 0.0 else "heat_not_logged"
        said = f"Readings stand {abs(miss):.1f} K {'below' if miss < 0.0 else 'above'} what was expected."
        return Verdict(usual_share, (alert(name, said),), True, replace(watch, odd=()))
    return Verdict(1.0, (_name_of(miss, expected, reading_C, before),), False, watch)
