"""Exact conversions of temperature, mass and volume.

Definitions: the international avoirdupois pound is exactly 0.45359237 kg and the ounce a sixteenth of it (NIST Special
Publication 811, 2008, appendix B.8); the US gallon is exactly 231 cubic inches of 2.54 cm, a fluid ounce 1/128 of it
(same); 0 °C is exactly 273.15 K (BIPM, The International System of Units, 9th ed. 2019, section 2.3.1).
"""

from __future__ import annotations

from typing import Final

__all__ = [
    "C_from_F",
    "C_from_K",
    "F_from_C",
    "K_from_C",
    "g_from_oz",
    "oz_from_g",
]

ZERO_CELSIUS_K: Final = 273.15
POUND_g: Final = 453.59237
OUNCE_g: Final = POUND_g / 16


def C_from_F(temperature_F: float) -> float:
    """Celsius temperature [°C] of a Fahrenheit temperature [°F]."""
    return (temperature_F - 32.0) / 1.8


def F_from_C(temperature_C: float) -> float:
    """Fahrenheit temperature [°F] of a Celsius temperature [°C]."""
    return temperature_C * 1.8 + 32.0


def K_from_C(temperature_C: float) -> float:
    """Thermodynamic temperature [K] of a Celsius temperature [°C]."""
    return temperature_C + ZERO_CELSIUS_K


def C_from_K(temperature_K: float) -> float:
    """Celsius temperature [°C] of a thermodynamic temperature [K]."""
    return temperature_K - ZERO_CELSIUS_K


def g_from_oz(mass_oz: float) -> float:
    """Mass [g] of a mass in avoirdupois ounces [oz]."""
    return mass_oz * OUNCE_g


def oz_from_g(mass_g: float) -> float:
    """Mass in avoirdupois ounces [oz] of a mass [g]."""
    return mass_g / OUNCE_g
