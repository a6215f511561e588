"""Moist air: vapour pressure, dew point, humidity, and how warm a piece must be to stay dry in a room.

Temperatures in °C, pressures in Pa, relative humidity 0-100 %. Every function takes numbers or arrays of equal shape.

References
----------
Magnus form with the coefficients of WMO-No. 8.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.sources import Grade, Sourced

__all__ = [
    "UPTAKE_RH_PCT",
    "dew_point_C",
    "least_surface_C",
    "most_room_rh_pct",
    "saturation_pressure_Pa",
    "vapour_flux_g_m2min",
]

Values = NDArray[np.float64] | float

# Relative humidity at its surface from which chocolate takes up water: dew is not needed for sugar bloom.
UPTAKE_RH_PCT = {
    "dark": Sourced(85.0, "%", 1.5, "food_information_storage", Grade.PUBLISHED, note="82-85 %; sucrose itself 85 %"),
    "milk": Sourced(78.0, "%", 1.5, "food_information_storage", Grade.PUBLISHED),
    "white": Sourced(78.0, "%", 2.0, "food_information_storage", Grade.DERIVED, note="taken as milk: same milk sugar"),
    "cocoa_butter": Sourced(100.0, "%", 2.0, "assumed", Grade.ASSUMED, note="no sugar: only dew wets it"),
}


def _checked_rh(rh_pct: Values) -> NDArray[np.float64]:
    rh = np.asarray(rh_pct, dtype=float)
    if not np.all((rh > 0) & (rh <= 100)):
        raise ImpossibleInput("rh_pct", rh_pct, "above 0 and at most 100 %")
    return rh


def saturation_pressure_Pa(temperature_C: Values) -> NDArray[np.float64]:
    """Saturation vapour pressure over water, -45...60 °C: Magnus, within 0.35 % of ASHRAE's and IAPWS's at 0-40 °C."""
    t = np.asarray(temperature_C, dtype=float)
    if not np.all((t >= -45.0) & (t <= 60.0)):
        raise OutsideValidity(f"temperature_C: {temperature_C!r} is outside -45…60 °C of the Magnus form.")
    return np.asarray(611.2 * np.exp(17.62 * t / (243.12 + t)))


def dew_point_C(temperature_C: Values, rh_pct: Values) -> NDArray[np.float64]:
    """Dew point of air, inverse of the Magnus form; the enhancement by air cancels."""
    t = np.asarray(temperature_C, dtype=float)
    gamma = np.log(_checked_rh(rh_pct) / 100.0) + 17.62 * t / (243.12 + t)
    return np.asarray(243.12 * gamma / (17.62 - gamma))


def least_surface_C(room_C: Values, room_rh_pct: Values, limit_rh_pct: float) -> NDArray[np.float64]:
    """Surface temperature below which the air at a surface is moister than ``limit_rh_pct``.

    With the limit 100 it is the dew point; with that of a chocolate (``UPTAKE_RH_PCT``) the point below which its sugar
    takes up water: 2.4-2.7 K above the dew point for dark, 3.6-4.1 K for milk.
    """
    if not 0 < limit_rh_pct <= 100:
        raise ImpossibleInput("limit_rh_pct", limit_rh_pct, "above 0 and at most 100 %")
    ratio = np.log(_checked_rh(room_rh_pct) / limit_rh_pct)
    t = np.asarray(room_C, dtype=float)
    gamma = ratio + 17.62 * t / (243.12 + t)
    return np.asarray(243.12 * gamma / (17.62 - gamma))


def most_room_rh_pct(surface_C: Values, room_C: Values, limit_rh_pct: float) -> NDArray[np.float64]:
    """Relative humidity of a room up to which a surface stays below ``limit_rh_pct``; at most 100."""
    return np.minimum(100.0, limit_rh_pct * saturation_pressure_Pa(surface_C) / saturation_pressure_Pa(room_C))


def vapour_flux_g_m2min(
    surface_C: Values, room_C: Values, room_rh_pct: Values, convective_W_m2K: Values
) -> NDArray[np.float64]:
    """Water that condenses on a surface, by the analogy of heat and mass transfer (Lewis number to the 2/3).

    Parameters
    ----------
    surface_C, room_C, room_rh_pct
        State of surface and room.
    convective_W_m2K
        Convective film coefficient alone, without radiation.

    Returns
    -------
    g/(m² min); zero while the surface is at or above the dew point.
    """
    lewis, density, heat = 0.86, 1.19, 1006.0  # of air near 20 °C
    transfer_m_s = np.asarray(convective_W_m2K, dtype=float) / (density * heat * lewis ** (2.0 / 3.0))
    k = 273.15
    room = 2.16674 * _checked_rh(room_rh_pct) / 100.0 * saturation_pressure_Pa(room_C) / (np.asarray(room_C) + k)
    wall = 2.16674 * saturation_pressure_Pa(surface_C) / (np.asarray(surface_C) + k)
    return np.asarray(60.0 * transfer_m_s * np.maximum(room - wall, 0.0))
