"""What the room, a bath or a burst do to every member just now, and the bowl as a member shows it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from bloomless.estimation.belief import Belief, Running, Snapshot
from bloomless.estimation.events import Bath, HotAir, Microwave
from bloomless.physics import rows
from bloomless.physics.actions import put_together
from bloomless.physics.advance import advance
from bloomless.physics.ensemble import VIGOUR, Ensemble, Surroundings
from bloomless.physics.readings import Readings, readings

__all__ = ["METALS", "HandSurroundings", "advanced", "over", "shown", "snapshot_of", "stirred", "whole"]

Array = npt.NDArray[np.float64]

METALS: Final = frozenset({"steel", "copper", "aluminium"})
"""Never in a microwave oven."""


@dataclass(frozen=True)
class HandSurroundings(Surroundings):
    """Surroundings in which each member feels a bath by its own strength: hands differ, some acts did not happen."""

    bath_on: float | Array = 1.0

    def controls(self, members: int) -> Array:
        """The control rows, the bath weighed by its strength."""
        c = super().controls(members)
        c[rows.BATH_ON] *= self.bath_on
        return c


def stirred(belief: Belief) -> float:
    """Stirring now: 0 none, 1 steady."""
    return VIGOUR[belief.vigour].value


def _now(belief: Belief, attended: Array | float) -> HandSurroundings:
    around = HandSurroundings(room_C=belief.start.room_C, stir=stirred(belief) * attended)
    for run in belief.running:
        event = run.event
        if isinstance(event, Bath):
            around = replace(around, bath_C=event.bath_C + run.water_K, bath_on=run.strength)
        elif isinstance(event, Microwave):
            around = replace(around, microwave_W=event.watts * run.strength)
        elif isinstance(event, HotAir):
            around = replace(around, hot_air_W=event.watts * run.strength)
    return around


def advanced(belief: Belief, seconds: float, *, attended: Array | float = 1.0) -> Belief:
    """The belief's bowls some seconds later, what lies on a table included; nothing else changes.

    ``attended`` is the part of what was last said of stirring that really went on, one a member or for all.
    """
    around = _now(belief, attended)
    running = tuple(
        run
        if run.part is None
        else replace(run, part=advance(run.part, Surroundings(room_C=belief.start.room_C, stir=1.5), seconds))
        for run in belief.running
    )
    return replace(belief, ensemble=advance(belief.ensemble, around, seconds, parallel=True), running=running)


def over(belief: Belief, run: Running) -> Belief:
    """A lasting act is over: what was on the table goes back."""
    ensemble = belief.ensemble if run.part is None else put_together(belief.ensemble, run.part)
    return replace(belief, ensemble=ensemble, running=tuple(other for other in belief.running if other is not run))


def snapshot_of(at_s: float, seen: Readings) -> Snapshot:
    """Readings of an ensemble as a snapshot."""
    return Snapshot(
        at_s=at_s,
        form_v_pct=100.0 * seen.form_v_of_fat,
        unstable_pct=100.0 * seen.unstable_of_fat,
        mixed_C=np.asarray(seen.mixed_C),
        pieces_pct=100.0 * seen.pieces_kg / seen.batch_kg,
    )


def whole(belief: Belief) -> Ensemble:
    """The bowl with whatever lies on a table returned to it: what is in temper or not is all of it."""
    ensemble = belief.ensemble
    for run in belief.running:
        if run.part is not None:
            ensemble = put_together(ensemble, run.part)
    return ensemble


def shown(belief: Belief) -> Snapshot:
    """The whole bowl now, member by member."""
    return snapshot_of(belief.at_s, readings(whole(belief)))
