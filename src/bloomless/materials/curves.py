"""A smooth curve through a table that never swings: monotone where the table is."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput

__all__ = ["monotone_cubic"]

Array: TypeAlias = NDArray[np.float64]


def _end_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0.0:
        return 0.0
    if d0 * d1 <= 0.0 and abs(slope) > 3.0 * abs(d0):
        return 3.0 * d0
    return slope


def monotone_cubic(x: Array, y: Array, at: Array) -> Array:
    """Piecewise cubic Hermite interpolation with harmonic-mean slopes: C¹, monotone where the data are.

    Parameters
    ----------
    x, y
        At least three points, ``x`` rising.
    at
        Where; outside the table the end value holds.

    Raises
    ------
    ImpossibleInput
        If ``x`` does not rise or there are fewer than three points.

    Notes
    -----
    The scheme of Fritsch & Butland 1984 with one-sided three-point ends, as SciPy's ``PchipInterpolator``, which the
    tests compare with; here it costs no import.
    """
    if x.size < 3 or x.size != y.size or not np.all(np.diff(x) > 0.0):
        raise ImpossibleInput("x", x.tolist(), "at least three rising points, one y each")
    h, d = np.diff(x), np.diff(y) / np.diff(x)
    slope = np.zeros_like(y)
    same = d[:-1] * d[1:] > 0.0
    w0, w1 = 2.0 * h[1:] + h[:-1], h[1:] + 2.0 * h[:-1]
    safe0, safe1 = np.where(same, d[:-1], 1.0), np.where(same, d[1:], 1.0)
    slope[1:-1] = np.where(same, (w0 + w1) / (w0 / safe0 + w1 / safe1), 0.0)
    slope[0] = _end_slope(h[0], h[1], d[0], d[1])
    slope[-1] = _end_slope(h[-1], h[-2], d[-1], d[-2])
    held = np.clip(at, x[0], x[-1])
    i = np.clip(np.searchsorted(x, held, side="right") - 1, 0, h.size - 1)
    s = (held - x[i]) / h[i]
    t = 1.0 - s
    value = t * t * ((1.0 + 2.0 * s) * y[i] + s * h[i] * slope[i])
    return np.asarray(value + s * s * ((1.0 + 2.0 * t) * y[i + 1] - t * h[i] * slope[i + 1]))
