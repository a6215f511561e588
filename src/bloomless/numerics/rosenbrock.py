"""One Rosenbrock-W method for stiff systems: third order with any approximation of the Jacobian, stiffly accurate.

ROS34PW2 in four stages, with an embedded second-order result. A step from ``u`` with slope ``f``, step ``h`` and any
matrix ``W`` near the Jacobian solves, one after the other and with one matrix::

    (I/(γh) − W) U_i = f(u + Σ_j STEP[i, j] U_j) + Σ_j PULL[i, j] U_j / h,   j < i

and ends at ``u + Σ_j LAST[j] U_j``; ``Σ_j ERROR[j] U_j`` is the difference to the embedded result.

References
----------
Rang, J.; Angermann, L.: New Rosenbrock W-methods of order 3 for partial differential algebraic equations of index 1,
BIT Numerical Mathematics 45 (2005) 761-787 [recalled; the order conditions are checked by a test].
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["ALPHA", "ERROR", "GAMMA", "LAST", "PULL", "SLANT", "STEP", "WEIGHTS", "WEIGHTS_EMBEDDED"]

Array = NDArray[np.float64]

GAMMA: Final = 0.43586652150845900
"""Root of γ³ − 3γ² + 3γ/2 − 1/6 = 0: L-stable."""

ALPHA: Final[Array] = np.array(
    [
        [0.0, 0.0, 0.0, 0.0],
        [0.87173304301691801, 0.0, 0.0, 0.0],
        [0.84457060015369423, -0.11299064236484185, 0.0, 0.0],
        [0.0, 0.0, 1.0, 0.0],
    ]
)
"""α_ij as published."""
SLANT: Final[Array] = np.array(
    [
        [GAMMA, 0.0, 0.0, 0.0],
        [-0.87173304301691801, GAMMA, 0.0, 0.0],
        [-0.90338057013044082, 0.054180672388095326, GAMMA, 0.0],
        [0.24212380706095346, -1.2232505839045147, 0.54526025533510214, GAMMA],
    ]
)
"""γ_ij as published."""
WEIGHTS: Final[Array] = np.array([0.24212380706095346, -1.2232505839045147, 1.5452602553351020, GAMMA])
WEIGHTS_EMBEDDED: Final[Array] = np.array(
    [0.37810903145819369, -0.096042292212423178, 0.5, 0.21793326075422950]
)  # fmt: skip

# The same method in stages that need no product with the Jacobian (Hairer and Wanner, section IV.7).
_BACK = np.linalg.inv(SLANT)
STEP: Final[Array] = np.tril(ALPHA @ _BACK, -1)
PULL: Final[Array] = np.tril(np.eye(4) / GAMMA - _BACK, -1)
LAST: Final[Array] = WEIGHTS @ _BACK
ERROR: Final[Array] = (WEIGHTS - WEIGHTS_EMBEDDED) @ _BACK
