"""Which marks of a long history are worth keeping: many of the last minutes, few of the hours before."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

__all__ = ["worth_keeping"]

RATIO: Final = 1.5


def worth_keeping(places: Sequence[float], *, step: float) -> list[int]:
    """Indices of the marks to keep, so that going back to any age costs little more than that age.

    Parameters
    ----------
    places
        Where the marks stand, ascending, the newest last: seconds or counts. Made no further apart than ``step``.
    step
        See ``places``.

    Returns
    -------
    list of int
        Ascending. Oldest and newest always stay. Before every age ``x`` a mark of an age of at most
        ``1.5 x + step`` stays, also when more marks are made and thinned later.
    """
    now = places[-1]
    kept = [len(places) - 1]
    for index in range(len(places) - 2, 0, -1):
        if now - places[index - 1] > RATIO * (now - places[kept[-1]]) + step:
            kept.append(index)
    return sorted({0, *kept})
