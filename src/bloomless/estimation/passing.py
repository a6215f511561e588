"""Time passes: every member is carried forward under what lasts, shaken by model error, and remembered now and then."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from statistics import median

import numpy as np
import numpy.typing as npt

from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Alert
from bloomless.estimation.belief import Belief, Flag, generator
from bloomless.estimation.events import Reading, Remove
from bloomless.estimation.moves import shaken
from bloomless.estimation.surroundings import advanced, over, shown, stirred
from bloomless.estimation.thermometer import placement_ahead
from bloomless.physics import rows
from bloomless.physics.block import K_SCORCH

__all__ = ["FOR_GOOD_S", "STANDS_S", "flagged", "passed"]

Array = npt.NDArray[np.float64]

STRETCH_S = 30.0
"""Model error comes in stretches no longer than this; a long silence takes longer ones."""
REMEMBER_S = 30.0
REMEMBER_FOR_S = 1500.0
GAP_S = 480.0
UNUSUAL_S = 180.0
UNUSUAL_TIMES = 3.0
HABIT_READINGS = 5
"""A silence is worth a word after so long where it is so many times the usual wait between the last of so many readings
or more, and after ``GAP_S`` in any case: who reads every two minutes is not away after three."""
LONG_GAP_S = 900.0
FILM_WATCHED_S = 600.0
"""Who dipped a film watches it so long and reads nothing meanwhile: a silence that begins by then is not unusual.

How long a film may still tell something of the bowl is another matter, and the advice's to judge.
"""
STANDS_S = 120.0
"""An alert stands so long after it was last raised."""
FOR_GOOD_S = 1e9
"""So long stands what does not come back."""
SCORCHED_AFTER_S = 90.0
"""A bowl is called scorched when it has been too hot for so long."""


def flagged(belief: Belief, alerts: tuple[Alert, ...], *, stands_s: float = STANDS_S) -> Belief:
    """Put alerts up; one that is up already keeps the time it was raised."""
    if not alerts:
        return belief
    flags = {flag.alert.code: flag for flag in belief.flags}
    for said in alerts:
        since = flags[said.code].since_s if said.code in flags else belief.at_s
        flags[said.code] = Flag(said, since, belief.at_s + stands_s)
    return replace(belief, flags=tuple(flags.values()))


def _stretch(belief: Belief, seconds: float, attended: Array | float) -> Belief:
    later = advanced(belief, seconds, attended=attended)
    moved_K = float((later.ensemble.state[rows.PROBE_C] - belief.ensemble.state[rows.PROBE_C]).mean())
    pace = abs(moved_K) * 60.0 / seconds
    belief = replace(
        later,
        placement=placement_ahead(belief.placement, seconds, stirred(belief), pace),
        at_s=belief.at_s + seconds,
    )
    return shaken(belief, seconds)


def _remembered(belief: Belief) -> Belief:
    if belief.snapshots and belief.at_s - belief.snapshots[-1].at_s < REMEMBER_S:
        return belief
    kept = tuple(shot for shot in belief.snapshots if belief.at_s - shot.at_s <= REMEMBER_FOR_S)
    return replace(belief, snapshots=(*kept, shown(belief)))


def _scorching(belief: Belief) -> Belief:
    """Minutes above what milk solids and sugar bear are said, and stay said."""
    limit = float(belief.ensemble.bowl.constants[K_SCORCH]) + 0.3
    hot = float(belief.weight @ (belief.ensemble.state[rows.BULK_C] > limit)) > 0.6
    since = belief.watch.hot_since_s
    if not hot:
        return belief if since is None else replace(belief, watch=replace(belief.watch, hot_since_s=None))
    if since is None:
        return replace(belief, watch=replace(belief.watch, hot_since_s=belief.at_s))
    if belief.at_s - since < SCORCHED_AFTER_S:
        return belief
    said = alert("scorched", f"It has been above {limit:.0f} °C for {(belief.at_s - since) / 60.0:.0f} minutes.")
    return flagged(belief, (said,), stands_s=FOR_GOOD_S)


def _unusual(belief: Belief, until_s: float) -> bool:
    """Whether whoever read so often must have been kept from it: by a power cut, a call, a guest.

    A bath or a burst is part of the work, and who fills moulds, lets the bowl rest or waits for a film has reason to
    say nothing.
    """
    busy_until_s = max((run.until_s for run in belief.running), default=belief.at_s)
    silence_s = until_s - max(belief.at_s, busy_until_s)
    if silence_s <= UNUSUAL_S or stirred(belief) == 0.0:
        return False
    if any(isinstance(event, Remove) for event in belief.acts):
        return False
    if any(belief.at_s - smear.taken_at_s < FILM_WATCHED_S for smear in belief.waiting_smears):
        return False
    read_s = [event.at_s for event in belief.heard if isinstance(event, Reading)]
    waits_s = [later - earlier for earlier, later in pairwise(read_s)]
    return len(read_s) >= HABIT_READINGS and silence_s > UNUSUAL_TIMES * median(waits_s)


def passed(belief: Belief, until_s: float) -> Belief:
    """The belief at ``until_s``; earlier times change nothing. A long silence is bridged and said."""
    silence = until_s - belief.at_s
    if silence <= 0.0:
        return belief
    unusual = _unusual(belief, until_s)
    stretch = STRETCH_S if silence <= GAP_S else max(STRETCH_S, silence / 60.0)
    attended: Array | float = 1.0
    if silence > GAP_S:
        # Whoever was away so long may have stirred all the while or not at all; crystals at rest grow a third as fast.
        attended = generator(belief.seed, belief.draws).random(belief.members)
        belief = replace(belief, draws=belief.draws + 1)
    while belief.at_s < until_s - 1e-9:
        ends = [run.until_s for run in belief.running if run.until_s > belief.at_s + 1e-9]
        until = min([until_s, belief.at_s + stretch, *ends])
        belief = _stretch(belief, until - belief.at_s, attended)
        for run in [run for run in belief.running if run.until_s <= belief.at_s + 1e-9]:
            belief = over(belief, run)
        belief = _scorching(_remembered(belief))
    belief = replace(belief, at_s=until_s, flags=tuple(flag for flag in belief.flags if flag.until_s >= until_s))
    if silence > GAP_S or unusual:
        code = "second_start_after_gap" if silence > LONG_GAP_S else "gap"
        belief = flagged(belief, (alert(code, f"{math.floor(silence / 60.0)} minutes."),), stands_s=300.0)
    return belief
