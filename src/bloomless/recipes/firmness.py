"""How firm a filling sets: solid fat at serving temperatures, and an index for ranking variants."""

from __future__ import annotations

from typing import Final

import numpy as np

from bloomless.errors import OutsideValidity
from bloomless.materials.composition import Composition
from bloomless.sources import Grade, Sourced

__all__ = ["firmness_index", "solid_fat_pct"]

SOLID_FAT_C: Final = (10.0, 15.0, 20.0, 25.0, 27.5, 30.0, 32.5, 35.0, 35.5)
SOLID_FAT_PCT: Final = (93.0, 88.0, 75.5, 68.0, 59.0, 44.0, 17.0, 0.5, 0.0)
"""Solid fat of tempered West African cocoa butter, % (Shukla 1995, from memory; between and outside approximate)."""
MILK_FAT_SHIFT: Final = Sourced(
    0.15, "K/%", 0.06, "assumed", Grade.ASSUMED, note="each % of milk fat in the fat acts like so much warmth"
)
OIL_SHIFT: Final = Sourced(0.2, "K/%", 0.08, "assumed", Grade.ASSUMED, note="the same for liquid oil; 0.15–0.35")


def solid_fat_pct(composition: Composition, temperature_C: float) -> float:
    """Solid fat in 100 g of the finished thing, g, 10 to 35 °C, once it has set for a day.

    The curve of tempered cocoa butter, moved by milk fat and liquid oil, times the cocoa butter; an estimate to ±3 g.
    Other hard fats are taken to melt like cocoa butter.
    """
    if not 10.0 <= temperature_C <= 35.0:
        raise OutsideValidity(f"Solid fat is tabled from 10 to 35 °C, not at {temperature_C:g} °C.")
    c = composition
    if c.fat_g <= 0.0:
        return 0.0
    moved_K = 100.0 * (MILK_FAT_SHIFT.value * c.milk_fat_g + OIL_SHIFT.value * c.liquid_oil_g) / c.fat_g
    share = float(np.interp(temperature_C + moved_K, SOLID_FAT_C, SOLID_FAT_PCT)) / 100.0
    return (c.cocoa_butter_g + c.other_fat_g) * share


def firmness_index(composition: Composition) -> float:
    """An index to rank variants of one filling by, no unit: higher sets firmer.

    ``cocoa butter − 0.4·milk fat − 1.0·liquid oil + 0.6·fat-free cocoa`` in g per 100 g [assumed]; calibrate it with a
    slab test of your own.
    """
    c = composition
    return c.cocoa_butter_g - 0.4 * c.milk_fat_g - c.liquid_oil_g + 0.6 * c.fat_free_cocoa_solids_g
