"""Weights of an ensemble: effective size and systematic resampling."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["effective_size", "log_mean", "systematic"]

Array = npt.NDArray[np.float64]


def effective_size(weight: Array) -> float:
    """``1/Σw²`` of weights that sum to one [members]."""
    return float(1.0 / np.square(weight).sum())


def log_mean(weight: Array, log_likelihood: Array) -> float:
    """``ln Σ w L`` of weights that sum to one: how well what was told had been foreseen."""
    top = float(log_likelihood.max())
    return top + float(np.log(weight @ np.exp(log_likelihood - top)))


def systematic(weight: Array, u: float) -> npt.NDArray[np.intp]:
    """Systematic resampling with one uniform deviate: member i is taken ``⌊N w_i⌋`` or ``⌈N w_i⌉`` times.

    Parameters
    ----------
    weight
        Sums to one.
    u
        In [0, 1).
    """
    members = weight.size
    places = (np.arange(members) + u) / members
    total = np.cumsum(weight)
    total[-1] = 1.0
    return np.minimum(np.searchsorted(total, places, side="right"), members - 1)
