"""Pieces in the freezer: their water activity there is that of ice, whatever they are made of."""

from __future__ import annotations

import math
from typing import Final

from bloomless.errors import OutsideValidity
from bloomless.quantities import K_from_C

__all__ = ["FREEZING", "frozen_water_activity"]

FREEZER_C: Final = -18.0


def frozen_water_activity(temperature_C: float) -> float:
    """Water activity of anything with ice in it: vapour pressure of ice over that of supercooled water, −40 to 0 °C.

    Both pressures after Murphy & Koop, Quarterly Journal of the Royal Meteorological Society 131 (2005) 1539, equations
    7 and 10 (from memory).
    """
    if not -40.0 <= temperature_C <= 0.0:
        raise OutsideValidity(f"Ice and supercooled water are compared from −40 to 0 °C, not at {temperature_C:g} °C.")
    t = K_from_C(temperature_C)
    ice = 9.550426 - 5723.265 / t + 3.53068 * math.log(t) - 0.00728332 * t
    bent = 53.878 - 1331.22 / t - 9.44523 * math.log(t) + 0.014025 * t
    water = 54.842763 - 6763.22 / t - 4.210 * math.log(t) + 0.000367 * t + math.tanh(0.0415 * (t - 218.8)) * bent
    return min(1.0, math.exp(ice - water))


FREEZING: Final = (
    f"Frozen at {FREEZER_C:.0f} °C, wrapped airtight before, pieces are kept 6 to 12 months; water activity there "
    f"is that of ice, {frozen_water_activity(FREEZER_C):.2f}. Thaw in the wrap: 12 to 24 h at 4 °C, then 12 h at 12 °C "
    "to 16 °C; then the life that was left goes on."
)
"""How pieces are frozen and thawed [trade practice, no source]."""
