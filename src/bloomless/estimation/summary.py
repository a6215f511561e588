"""Weighted quantiles and means of an ensemble."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from bloomless.estimation.answers import Band

__all__ = ["band", "mean_and_sd", "quantiles"]

Array = npt.NDArray[np.float64]


def quantiles(values: Array, weight: Array, at: tuple[float, ...]) -> tuple[float, ...]:
    """Weighted quantiles: the middle of each member's weight is its place.

    Parameters
    ----------
    values, weight
        One a member; weights sum to one.
    at
        Probabilities.
    """
    order = np.argsort(values)
    ordered = weight[order]
    place = np.cumsum(ordered) - 0.5 * ordered
    return tuple(float(q) for q in np.interp(at, place, values[order]))


def band(values: Array, weight: Array) -> Band:
    """The 5 %, 50 % and 95 % points."""
    return Band(*quantiles(values, weight, (0.05, 0.5, 0.95)))


def mean_and_sd(values: Array, weight: Array) -> tuple[float, float]:
    """Weighted mean and standard deviation."""
    mean = float(weight @ values)
    return mean, math.sqrt(max(float(weight @ (values - mean) ** 2), 0.0))
