"""A share of so many, with its interval."""

from __future__ import annotations

import math

__all__ = ["wilson"]

Z_95 = 1.959963984540054


def wilson(good: int, of: int) -> dict[str, float]:
    """Share and its 95 % interval after Wilson (1927), from memory: right also near 0 and 1."""
    if of == 0:
        return {"share": math.nan, "low": 0.0, "high": 1.0, "of": 0}
    share, z2 = good / of, Z_95**2
    centre = (share + z2 / (2 * of)) / (1 + z2 / of)
    half = Z_95 / (1 + z2 / of) * math.sqrt(share * (1 - share) / of + z2 / (4 * of * of))
    # At 0 and 1 the bound is the share itself; rounding must not push it past.
    return {"share": share, "low": max(0.0, centre - half), "high": min(1.0, centre + half), "of": of}
