"""Boiling point and water activity of sucrose solutions at any temperature; how much water a boiling point leaves."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from iapws.iapws97 import _PSat_T
from scipy.optimize import brentq

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.physics import boiling as pure_water
from bloomless.quantities import K_from_C
from bloomless.recipes.solutes import MOLAR_MASS_WATER_G_MOL

__all__ = [
    "STANDARD_PRESSURE_hPa",
    "saturation_pressure_hPa",
    "sucrose_water_activity",
    "water_left_at_boiling_g",
]

STANDARD_PRESSURE_hPa: Final = 1013.25
GAS_CONSTANT_J_MOLK: Final = 8.314462618
MOLAR_MASS_SUCROSE_G_MOL: Final = 342.30
# Starzak & Peacock, parameters read in an abstract, algebra recalled; reproduces osmotic tables within 0.0008.
Q_J_MOL: Final = -17638.0
A: Final = -1.0038
B: Final = -0.24653
MOST_SUCROSE_SHARE: Final = 0.985


def saturation_pressure_hPa(temperature_C: float) -> float:
    """Vapour pressure of pure water [hPa] from 0.01 to 373 °C (IAPWS-IF97, region 4, by the library ``iapws``)."""
    if not 0.01 <= temperature_C <= 373.0:
        raise OutsideValidity(
            f"The vapour pressure of water is given from 0.01 to 373 °C, not at {temperature_C:g} °C."
        )
    return float(_PSat_T(K_from_C(temperature_C))) * 1e4


def sucrose_water_activity(sucrose_mole_share: float, temperature_C: float = 25.0) -> float:
    """Water activity of a sucrose solution at any temperature.

    ``aw = x_w · exp[(Q/RT)(1 + a·x_s + b·x_s²)·x_s²]`` (Starzak & Peacock), with mole shares x of water and sucrose.

    Parameters
    ----------
    sucrose_mole_share
        Moles of sucrose (or of what stands for it) over all moles, 0 to 0.78 (98.5 % by mass).
    temperature_C
        0 to 170 °C.
    """
    most = _mole_share(MOST_SUCROSE_SHARE)
    if not 0.0 <= sucrose_mole_share <= most + 1e-9:
        raise OutsideValidity(f"The sucrose equation holds for mole shares from 0 to {most:.3f}.")
    x = sucrose_mole_share
    factor = Q_J_MOL / (GAS_CONSTANT_J_MOLK * K_from_C(temperature_C))
    return (1.0 - x) * math.exp(factor * (1.0 + A * x + B * x * x) * x * x)


def _mole_share(sucrose_share: float) -> float:
    sucrose_mol = sucrose_share / MOLAR_MASS_SUCROSE_G_MOL
    return sucrose_mol / (sucrose_mol + (1.0 - sucrose_share) / MOLAR_MASS_WATER_G_MOL)


def _boiling_at(mole_share: float, pressure_hPa: float) -> float:
    def excess(temperature_C: float) -> float:
        return sucrose_water_activity(mole_share, temperature_C) * saturation_pressure_hPa(temperature_C) - pressure_hPa

    return float(brentq(excess, 60.0, 230.0, xtol=1e-6))


def water_left_at_boiling_g(
    temperature_C: float, dissolved_mol: float, *, pressure_hPa: float = STANDARD_PRESSURE_hPa
) -> float:
    """Water [g] that is left with so many moles of sugar once the mass boils at ``temperature_C``.

    Other sugars count by their molecules, as sucrose would [assumed: glucose syrup raises the boiling point less at the
    same solids, invert sugar more].

    Parameters
    ----------
    temperature_C
        Where cooking stops; above the boiling point of water at this pressure.
    dissolved_mol
        Moles of everything dissolved that does not boil off.
    pressure_hPa
        Air pressure at the pot, 500 to 1100 hPa.
    """
    if not dissolved_mol > 0.0:
        raise ImpossibleInput(
            "end_temperature_C", temperature_C, "a recipe with sugar in it, or no cooking", code="empty"
        )
    share = _share_boiling_at(temperature_C, pressure_hPa)
    return dissolved_mol * (1.0 - share) / share * MOLAR_MASS_WATER_G_MOL


@lru_cache(maxsize=256)
def _share_boiling_at(temperature_C: float, pressure_hPa: float) -> float:
    """Mole share of sugar that boils there; kept, because every sub-recipe asks again."""
    least_C = pure_water.boiling_point_C(pressure_hPa)
    most = _mole_share(MOST_SUCROSE_SHARE)
    most_C = _boiling_at(most, pressure_hPa)
    if not least_C + 0.01 < temperature_C <= most_C:
        raise ImpossibleInput(
            "end_temperature_C",
            temperature_C,
            f"a temperature above {least_C:.1f} °C, where water boils at this air pressure, and up to {most_C:.0f} °C",
        )
    return float(brentq(lambda x: _boiling_at(x, pressure_hPa) - temperature_C, 0.0, most, xtol=1e-9))
