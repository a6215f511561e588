"""Tridiagonal systems by the Thomas algorithm: no pivoting, for diagonally dominant rows."""

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
    """Forward elimination of the matrix alone, for several right-hand sides.

    Row ``i`` reads ``lower[i] x[i-1] + diagonal[i] x[i] + upper[i] x[i+1]``; the two corners outside are not read.

    Parameters
    ----------
    lower, diagonal, upper
        The three diagonals, shape (n,).
    ratio, inverse
        Written: what ``substitute`` needs, shape (n,).
    """
    inverse[0] = 1.0 / diagonal[0]
    for i in range(1, diagonal.size):
        ratio[i - 1] = upper[i - 1] * inverse[i - 1]
        inverse[i] = 1.0 / (diagonal[i] - lower[i] * ratio[i - 1])


@kernel
def substitute(
    lower: NDArray[np.float64],
    ratio: NDArray[np.float64],
    inverse: NDArray[np.float64],
    x: NDArray[np.float64],
) -> None:
    """Solve for one right-hand side, in place in ``x``, after ``eliminate``.

    Parameters
    ----------
    lower
        The lower diagonal that was eliminated, shape (n,).
    ratio, inverse
        As written by ``eliminate``.
    x
        Right-hand side; overwritten by the solution.
    """
    last = x.size - 1
    x[0] *= inverse[0]
    for i in range(1, last + 1):
        x[i] = (x[i] - lower[i] * x[i - 1]) * inverse[i]
    for i in range(last - 1, -1, -1):
        x[i] -= ratio[i] * x[i + 1]
