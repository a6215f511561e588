"""Looking back: what a bowl most likely was at each moment, in the light of what was told later; for reports.

A member of now descends from members of before. Weighing the ancestors of a moment by the weights some minutes later
is the fixed-lag smoother of a particle filter: the lag is short enough that many ancestors are left.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bloomless.estimation.answers import Band
from bloomless.estimation.belief import Belief, Snapshot
from bloomless.estimation.events import BowlEvent
from bloomless.estimation.summary import band
from bloomless.estimation.take import take

__all__ = ["Past", "smooth"]

LAG_S = 480.0


@dataclass(frozen=True, slots=True)
class Past:
    """A moment seen from later."""

    at_s: float
    temperature_C: Band
    form_v_pct_of_fat: Band
    unstable_pct_of_fat: Band
    pieces_pct_of_bowl: Band


def _past(belief: Belief, shot: Snapshot) -> Past:
    weight = belief.weight
    return Past(
        shot.at_s,
        band(shot.mixed_C, weight),
        band(shot.form_v_pct, weight),
        band(shot.unstable_pct, weight),
        band(shot.pieces_pct, weight),
    )


def smooth(belief: Belief, events: Iterable[BowlEvent], *, lag_s: float = LAG_S) -> tuple[Past, ...]:
    """The story of a bowl, each moment weighed by what was told up to ``lag_s`` after it.

    Parameters
    ----------
    belief
        Right after the start.
    events
        What was told, in the order of time.
    lag_s
        At most the time snapshots are remembered, 1500 s.
    """
    found: dict[float, Past] = {}
    for event in events:
        belief = take(belief, event)
        for shot in belief.snapshots:
            if shot.at_s not in found and belief.at_s - shot.at_s >= lag_s:
                found[shot.at_s] = _past(belief, shot)
    for shot in belief.snapshots:
        found.setdefault(shot.at_s, _past(belief, shot))
    return tuple(found[at_s] for at_s in sorted(found))
