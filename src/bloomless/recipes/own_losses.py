"""A person's own losses, learned from weighings of past batches, with their spread.

What a recipe says, or what is usual, counts like a few batches; the person's own weighings outvote it one by one. The
estimate is that of a normal law with unknown mean and spread (normal-inverse-gamma prior; Gelman et al., Bayesian Data
Analysis, section 3.3), so the range for the next batch is wide after one weighing and narrow after ten.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from scipy.special import stdtrit

from bloomless.errors import ImpossibleInput
from bloomless.sources import Grade, Sourced

__all__ = ["OwnShare", "learned", "left_behind_share"]

PRIOR_BATCHES: Final = Sourced(2.0, "1", 1.0, "assumed", Grade.ASSUMED, note="batches that what is written counts for")
PRIOR_SD: Final = Sourced(0.02, "1", 0.01, "common_practice", Grade.TRADE_PRACTICE, note="ganache 2-5 %, caramel 3-6 %")
COVER: Final = 0.9
MOST_SHARE: Final = 0.9


@dataclass(frozen=True, slots=True)
class OwnShare:
    """A share that a person's own batches have taught."""

    share: float
    """The best single number."""
    low: float
    high: float
    """Where the next batch lies nine times in ten."""
    batches: int
    """Weighings behind it."""
    written: float
    """What the recipe says."""


def left_behind_share(expected_g: float, weighed_g: float) -> float:
    """Share of the finished mass that stayed behind: ``1 − weighed/expected``.

    Negative if more came out than was expected, as when less was boiled off.

    Parameters
    ----------
    expected_g
        What is put in, less what boils off, nothing left behind.
    weighed_g
        What came out.

    Raises
    ------
    ImpossibleInput
        If the weighing cannot be of this batch: below a tenth of what was expected, or a third above it.
    """
    if not 0.1 * expected_g <= weighed_g <= 1.34 * expected_g:
        accepted = f"a mass from {0.1 * expected_g:.0f} to {1.34 * expected_g:.0f} g, as this batch could be"
        raise ImpossibleInput("weighed_g", weighed_g, accepted)
    return 1.0 - weighed_g / expected_g


def learned(
    written: float,
    observed: Sequence[float],
    *,
    spread: float = PRIOR_SD.value,
    within: tuple[float, float] = (0.0, MOST_SHARE),
) -> OwnShare:
    """The own share after so many batches.

    Parameters
    ----------
    written
        The share the recipe says, counted like ``PRIOR_BATCHES`` batches.
    observed
        One share a batch.
    spread
        Usual standard deviation from batch to batch.
    within
        What such a share can be.
    """
    n, k = len(observed), PRIOR_BATCHES.value
    if n == 0:
        return OwnShare(written, written, written, 0, written)
    mean = sum(observed) / n
    centre = (k * written + n * mean) / (k + n)
    squares = sum((x - mean) ** 2 for x in observed) + k * n / (k + n) * (mean - written) ** 2
    freedom = k + n
    variance = (k * spread**2 + squares) / freedom
    half = _quantile(freedom) * math.sqrt(variance * (1.0 + 1.0 / (k + n)))
    inside = [min(max(x, within[0]), within[1]) for x in (centre, centre - half, centre + half)]
    return OwnShare(inside[0], inside[1], inside[2], n, written)


@cache
def _quantile(freedom: float) -> float:
    return float(stdtrit(freedom, 0.5 + 0.5 * COVER))
