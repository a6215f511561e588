"""Chance that is a function of (seed, stream, member): no state, the same on any number of threads.

Each pair of keys is mixed by the finaliser of splitmix64 [Steele, Lea & Flood 2014]; two mixed words make one normal
deviate by Box and Muller.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.numerics.compiled import kernel

__all__ = [
    "normals",
]

_GOLDEN: Final = np.uint64(0x9E3779B97F4A7C15)
_M1: Final = np.uint64(0xBF58476D1CE4E5B9)
_M2: Final = np.uint64(0x94D049BB133111EB)
_S27, _S30, _S31, _S11 = np.uint64(27), np.uint64(30), np.uint64(31), np.uint64(11)
_UNIT: Final = 1.0 / 9007199254740992.0  # 2^-53


@kernel
def _mix(z: np.uint64) -> np.uint64:
    z = (z ^ (z >> _S30)) * _M1
    z = (z ^ (z >> _S27)) * _M2
    return z ^ (z >> _S31)


@kernel
def _normal_row(seed: np.uint64, stream: np.uint64, out: NDArray[np.float64]) -> None:
    key = _mix(_mix(seed * _GOLDEN) ^ _mix(stream + _GOLDEN))
    for member in range(out.size):
        a = _mix(key + np.uint64(member) * _GOLDEN)
        b = _mix(a + _GOLDEN)
        u = (np.float64(a >> _S11) + 0.5) * _UNIT
        v = (np.float64(b >> _S11) + 0.5) * _UNIT
        out[member] = math.sqrt(-2.0 * math.log(u)) * math.cos(2.0 * math.pi * v)


def _word(key: int) -> np.uint64:
    return np.uint64(key & 0xFFFFFFFFFFFFFFFF)


def normals(seed: int, stream: int, members: int) -> NDArray[np.float64]:
    """Standard normal deviates, one a member; each a function of its keys and place.

    Parameters
    ----------
    seed, stream
        Any integers; two different pairs give unrelated rows.
    members
        How many; the first ones do not depend on it.
    """
    out = np.empty(members)
    _normal_row(_word(seed), _word(stream), out)
    return out
