"""Boiling point of water by pressure, and pressure by altitude: the upper fixed point of a kitchen.

Water boils at 99.974 °C, not 100, at 1013.25 hPa on the ITS-90 scale, and a degree lower for each 280 m of height. What
counts is the pressure at the station; weather reports give it reduced to sea level.
"""

from __future__ import annotations

from typing import Final

from iapws.iapws97 import _TSat_P  # the public way computes two whole phases to get this one number

from bloomless.errors import OutsideValidity
from bloomless.quantities import C_from_K

__all__ = ["boiling_point_C", "pressure_hPa_from_altitude"]

LEAST_hPa: Final = 300.0  # above the highest summit
MOST_hPa: Final = 1100.0  # above the highest pressure ever noted at the sea
SEA_LEVEL_hPa: Final = 1013.25
SEA_LEVEL_K: Final = 288.15
LAPSE_K_m: Final = 0.0065
GRAVITY_m_s2: Final = 9.80665
AIR_J_kgK: Final = 287.05287


def boiling_point_C(pressure_hPa: float) -> float:
    """Temperature at which pure water boils.

    Parameters
    ----------
    pressure_hPa
        Pressure of the air at the pot [hPa], 300 to 1100; not the one reduced to sea level.

    Returns
    -------
    float
        Saturation temperature [°C], ITS-90.

    Raises
    ------
    OutsideValidity
        For a pressure that no kitchen has.

    Notes
    -----
    IAPWS-IF97 region 4, backward equation 31 (``iapws_if97``).
    """
    if not LEAST_hPa <= pressure_hPa <= MOST_hPa:
        raise OutsideValidity(
            f"No kitchen has {pressure_hPa:g} hPa; accepted is {LEAST_hPa:g} to {MOST_hPa:g} hPa of station pressure."
        )
    return C_from_K(float(_TSat_P(pressure_hPa * 1e-4)))


def pressure_hPa_from_altitude(altitude_m: float) -> float:
    """Pressure of the standard atmosphere.

    Parameters
    ----------
    altitude_m
        Height above the sea [m], −430 to 8,000.

    Returns
    -------
    float
        Pressure [hPa]. Weather moves the real one by about ±20 hPa, the boiling point by ±0.6 K.

    Raises
    ------
    OutsideValidity
        Outside the heights at which people live.

    Notes
    -----
    Lowest layer of the ICAO standard atmosphere (``icao_atmosphere_1993``):
    p = p₀·(1 − L·h/T₀)^(g/(R·L)).
    """
    if not -430.0 <= altitude_m <= 8000.0:
        raise OutsideValidity(f"Nobody cooks at {altitude_m:g} m; accepted is −430 to 8000 m above the sea.")
    exponent = GRAVITY_m_s2 / (AIR_J_kgK * LAPSE_K_m)
    return float(SEA_LEVEL_hPa * (1.0 - LAPSE_K_m * altitude_m / SEA_LEVEL_K) ** exponent)
