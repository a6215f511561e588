"""An ensemble of bowls: one column a member, one row a quantity; frozen, so that a belief can be kept and replayed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput
from bloomless.physics import rows
from bloomless.physics.bowl import Bowl
from bloomless.sources.sourced import Grade, Sourced

__all__ = ["VIGOUR", "Array", "Ensemble", "Surroundings", "gather"]

Array: TypeAlias = NDArray[np.float64]

VIGOUR: Final[dict[str, Sourced]] = {
    "none": Sourced(0.0, "1", 0.0, "derived", Grade.DERIVED, note="steady is one by definition"),
    "gentle": Sourced(0.4, "1", 0.15, "assumed", Grade.ASSUMED, note="some 10 1/s of shear"),
    "steady": Sourced(1.0, "1", 0.0, "derived", Grade.DERIVED, note="the reference: some 30 1/s of shear"),
    "brisk": Sourced(1.7, "1", 0.3, "assumed", Grade.ASSUMED, note="some 60 1/s of shear"),
}
"""Stirring relative to steady; hand stirring shears at 5–100 1/s [crystal sheet 2.3, derived]."""


@dataclass(frozen=True)
class Ensemble:
    """Bowls that could be the one in front of the cook.

    Parameters
    ----------
    state
        Shape (``rows.STATES``, members), float64, C-contiguous: what moves. Row numbers in ``rows``.
    parameters
        Shape (``rows.PARAMETERS``, members): what this kitchen is like.
    bowl
        What all members share.
    """

    state: Array
    parameters: Array
    bowl: Bowl

    def __post_init__(self) -> None:
        members = self.state.shape[-1]
        if self.state.shape != (rows.STATES, members) or members == 0:
            raise ImpossibleInput("state", self.state.shape, f"shape ({rows.STATES}, members)")
        if self.parameters.shape != (rows.PARAMETERS, members):
            raise ImpossibleInput("parameters", self.parameters.shape, f"shape ({rows.PARAMETERS}, {members})")

    @property
    def members(self) -> int:
        """Number of columns."""
        return int(self.state.shape[1])

    def with_state(self, state: Array) -> Ensemble:
        """Same kitchen, other state."""
        return replace(self, state=state)

    def with_parameters(self, parameters: Array) -> Ensemble:
        """Same state, other kitchens; the melting shift moves nothing that already is."""
        return replace(self, parameters=parameters)


@dataclass(frozen=True)
class Surroundings:
    """What the room and the cook do to the bowl just now; each a number, or an array with one a member.

    Parameters
    ----------
    room_C
        Air [°C].
    bath_C
        Water under or around the bowl [°C]; ``None``: no bath.
    microwave_W, hot_air_W
        Power as the appliance says [W]; the absorbed share is a parameter of the member.
    stir
        0 none, 1 steady; words in ``VIGOUR``.
    """

    room_C: float | Array = 21.0
    bath_C: float | Array | None = None
    microwave_W: float | Array = 0.0
    hot_air_W: float | Array = 0.0
    stir: float | Array = 1.0

    def controls(self, members: int) -> Array:
        """The control rows, shape (``rows.CONTROLS``, members)."""
        c = np.empty((rows.CONTROLS, members))
        c[rows.ROOM_C] = self.room_C
        c[rows.BATH_C] = self.room_C if self.bath_C is None else self.bath_C
        c[rows.BATH_ON] = 0.0 if self.bath_C is None else 1.0
        c[rows.MICROWAVE_W] = self.microwave_W
        c[rows.HOT_AIR_W] = self.hot_air_W
        c[rows.STIR] = self.stir
        return c


def gather(ensemble: Ensemble, members: NDArray[np.intp]) -> Ensemble:
    """The ensemble of the chosen members, in that order: the move after resampling."""
    return replace(
        ensemble,
        state=np.ascontiguousarray(ensemble.state[:, members]),
        parameters=np.ascontiguousarray(ensemble.parameters[:, members]),
    )
