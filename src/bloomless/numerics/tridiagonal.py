"""Tridiagonal systems by elimination from both ends at once: no pivoting, for diagonally dominant rows.

The two halves do not wait for each other, which halves the time of a chain of dependent operations.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bloomless.numerics.compiled import kernel

__all__ = ["eliminate", "substitute"]


@kernel
def eliminate(
    lower: NDArray[np.float64],
    diagonal: NDArray[np.float64],
    upper: NDArray[np.float64],
    ratio: NDArray[np.float64],
    inverse: NDArray[np.float64],
) -> None:
    """Eliminate the matrix alone, for several right-hand sides; the two ends meet in the middle row.

    Row ``i`` reads ``lower[i] x[i-1] + diagonal[i] x[i] + upper[i] x[i+1]``; the two corners outside are not read.

    Parameters
    ----------
    lower, diagonal, upper
        The three diagonals, shape (n,), n at least 1.
    ratio, inverse
        Written: what ``substitute`` needs, shape (n,).
    """
    last = diagonal.size - 1
    middle = diagonal.size // 2
    down, up = 0.0, 0.0  # ratios of the rows before, towards the middle
    for i in range(middle):
        j = last - i
        inverse[i] = 1.0 / (diagonal[i] - lower[i] * down) if i > 0 else 1.0 / diagonal[i]
        down = upper[i] * inverse[i]
        ratio[i] = down
        if j > middle:
            inverse[j] = 1.0 / (diagonal[j] - upper[j] * up) if i > 0 else 1.0 / diagonal[j]
            up = lower[j] * inverse[j]
            ratio[j] = up
    rest = diagonal[middle]
    if middle > 0:
        rest -= lower[middle] * down
    if last > middle:
        rest -= upper[middle] * up
    inverse[middle] = 1.0 / rest


@kernel
def substitute(
    lower: NDArray[np.float64],
    upper: NDArray[np.float64],
    ratio: NDArray[np.float64],
    inverse: NDArray[np.float64],
    x: NDArray[np.float64],
) -> None:
    """Solve for one right-hand side, in place in ``x``, after ``eliminate``.

    Parameters
    ----------
    lower, upper
        The outer diagonals that were eliminated, shape (n,).
    ratio, inverse
        As written by ``eliminate``.
    x
        Right-hand side; overwritten by the solution.
    """
    last = x.size - 1
    middle = x.size // 2
    down, up = 0.0, 0.0
    for i in range(middle):
        j = last - i
        down = (x[i] - lower[i] * down) * inverse[i] if i > 0 else x[i] * inverse[i]
        x[i] = down
        if j > middle:
            up = (x[j] - upper[j] * up) * inverse[j] if i > 0 else x[j] * inverse[j]
            x[j] = up
    rest = x[middle]
    if middle > 0:
        rest -= lower[middle] * down
    if last > middle:
        rest -= upper[middle] * up
    rest *= inverse[middle]
    x[middle] = rest
    down, up = rest, rest
    for k in range(1, middle + 1):
        down = x[middle - k] - ratio[middle - k] * down
        x[middle - k] = down
        if middle + k <= last:
            up = x[middle + k] - ratio[middle + k] * up
            x[middle + k] = up
