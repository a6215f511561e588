"""Solid fat of tempered cocoa butter, and how composition moves it.

The table is of stabilised butters by pulsed NMR, by origin; a monotone curve runs through it. The bowl's compiled step
needs the same curve without branches: ``spline_bends`` gives it as squares of positive parts, monotone because its
slope is made of non-negative hats. A chocolate shifts the curve along the temperature and scales it by the cocoa
butter in its fat.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import OutsideValidity, UnknownName
from bloomless.materials.chocolates import Chocolate, melting_shift_K
from bloomless.materials.curves import monotone_cubic
from bloomless.quantities import C_from_K, K_from_C
from bloomless.sources.sourced import Grade, Sourced
from bloomless.sources.tables import read_csv

__all__ = [
    "LIQUID_OIL_BRACKET_K_PER_PCT",
    "dilution_C",
    "end_of_melting_C",
    "origins",
    "solid_fat",
    "solid_fat_table",
    "spline_bends",
]

_PACKAGE: Final = "bloomless.materials"
R_J_molK: Final = 8.314
HEAT_PER_MOL_J: Final = 150.0 * 860.0
"""150 J/g × 860 g/mol = 129 kJ/mol [crystal sheet 3.1]."""

LIQUID_OIL_BRACKET_K_PER_PCT: Final = (
    Sourced(-0.064, "K/%", 0.01, "derived", Grade.DERIVED, note="ideal dilution, the least"),
    Sourced(-0.35, "K/%", 0.05, "lovegren_1976", Grade.PUBLISHED, note="cocoa butter with 10 % olive oil, the most"),
)


@cache
def solid_fat_table() -> dict[str, tuple[tuple[float, Sourced], ...]]:
    """Rows of the table by origin: temperature [°C] and solid share of the fat."""
    found: dict[str, list[tuple[float, Sourced]]] = {}
    for row in read_csv(_PACKAGE, "solid_fat.csv"):
        share = float(row["solid_pct"]) / 100.0
        spread = 0.08 if "approximate" in row["note"] else 0.03
        value = Sourced(share, "1", spread, row["source"], Grade(row["mark"]), note=row["note"])
        found.setdefault(row["origin"], []).append((float(row["temperature_C"]), value))
    return {origin: tuple(rows) for origin, rows in found.items()}


def origins() -> tuple[str, ...]:
    """Origins of cocoa butter the table knows."""
    return tuple(solid_fat_table())


def solid_fat(
    temperature_C: NDArray[np.float64], *, of: Chocolate | None = None, origin: str = "west_africa"
) -> NDArray[np.float64]:
    """Solid share of the fat of a tempered butter or chocolate at equilibrium [-].

    Parameters
    ----------
    temperature_C
        Where; below 10 °C the value at 10 °C holds, above 35.5 °C it is 0.
    of
        A chocolate, which shifts the curve and scales it by its cocoa butter; none: plain cocoa butter.
    origin
        One of ``origins()``. A single lot may differ from its origin.

    Raises
    ------
    UnknownName
        If the origin is unknown.
    """
    table = solid_fat_table()
    if origin not in table:
        raise UnknownName("origin", origin, table)
    x = np.array([t for t, _ in table[origin]])
    y = np.array([share.value for _, share in table[origin]])
    if of is None:
        return monotone_cubic(x, y, np.asarray(temperature_C))
    return of.cocoa_butter_of_fat * monotone_cubic(x, y, np.asarray(temperature_C) - melting_shift_K(of))


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


def dilution_C(pure_C: float, share: float) -> float:
    """End of melting of a fat diluted by liquid fat, ideal solution [°C].

    ``1/T = 1/T₀ − (R/ΔH) ln x``; the least depression to expect, measured ones are 1.4–2.5 times larger.

    Parameters
    ----------
    pure_C
        End of melting of the undiluted fat.
    share
        Of cocoa-butter-like triglycerides in the fat, 0.7…1.

    Raises
    ------
    OutsideValidity
        If the share is outside that range.
    """
    if not 0.7 <= share <= 1.0:
        raise OutsideValidity(f"Ideal dilution holds for 70 to 100 % of the fat, not {100 * share:g} %.")
    return C_from_K(1.0 / (1.0 / K_from_C(pure_C) - R_J_molK / HEAT_PER_MOL_J * math.log(share)))


def end_of_melting_C(pure_C: float, oil_pct: float) -> tuple[float, float]:
    """Range in which the end of melting lies with some liquid oil in the fat [°C]: most and least depressed.

    Parameters
    ----------
    pure_C
        End of melting without oil.
    oil_pct
        Liquid oil in the fat, 0…30 %.

    Raises
    ------
    OutsideValidity
        If there is more oil.
    """
    if not 0.0 <= oil_pct <= 30.0:
        raise OutsideValidity(f"Depression by oil is known for 0 to 30 % of the fat, not {oil_pct:g} %.")
    least, most = LIQUID_OIL_BRACKET_K_PER_PCT
    return pure_C + most.value * oil_pct, pure_C + least.value * oil_pct
