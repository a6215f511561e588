"""Solid fat of tempered cocoa butter.

The table is of a stabilised West African butter by pulsed NMR. The bowl's compiled step needs a curve through it
without branches: ``spline_bends`` gives it as squares of positive parts, monotone because its slope is made of
non-negative hats. A chocolate shifts the curve along the temperature and scales it by the cocoa butter in its fat.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import Final

from bloomless.sources.sourced import Grade, Sourced
from bloomless.sources.tables import read_csv

__all__ = ["solid_fat_table", "spline_bends"]

_PACKAGE: Final = "bloomless.materials"


@cache
def solid_fat_table() -> tuple[tuple[float, Sourced], ...]:
    """Temperature [°C] and solid share of the fat."""
    found = []
    for row in read_csv(_PACKAGE, "solid_fat.csv"):
        share, spread = float(row["solid_pct"]) / 100.0, 0.08 if "approximate" in row["note"] else 0.03
        value = Sourced(share, "1", spread, row["source"], Grade(row["mark"]), note=row["note"])
        found.append((float(row["temperature_C"]), value))
    return tuple(found)


@cache
def spline_bends() -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Knots [°C] and bends ``b`` of ``X(T) = Σ bᵢ·(knotᵢ − T)₊²`` [1/K²] for West African butter.

    The slope is piecewise linear through the non-negative slopes of ``solid_fat_slopes.csv``; a bend is half the change
    of its incline at a knot. Exactly 0 above the last knot, constant below the first.
    """
    rows = read_csv(_PACKAGE, "solid_fat_slopes.csv")
    knots = tuple(float(row["knot_C"]) for row in rows)
    slopes = [float(row["slope_1_K"]) for row in rows]
    inclines = [0.0]
    inclines += [(slopes[i] - slopes[i + 1]) / (knots[i + 1] - knots[i]) for i in range(len(knots) - 1)]
    inclines.append(0.0)
    return knots, tuple(0.5 * (below - above) for below, above in pairwise(inclines))
