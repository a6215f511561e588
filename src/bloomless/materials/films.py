"""Heat through films of air and melt: natural convection, radiation, a scraped wall, a sphere in slow flow."""

from __future__ import annotations

from typing import Final

from bloomless.errors import OutsideValidity
from bloomless.quantities import K_from_C

__all__ = [
    "air_properties",
    "hot_plate_up_W_m2K",
    "nusselt_hot_plate_up",
    "nusselt_vertical_plate",
    "radiation_W_m2K",
    "vertical_plate_W_m2K",
]

STEFAN_BOLTZMANN: Final = 5.670374419e-8
GRAVITY: Final = 9.80665


def air_properties(temperature_C: float) -> tuple[float, float, float]:
    """Conductivity [W/(m K)], kinematic viscosity [m²/s] and Prandtl number [-] of air at 1 atm.

    Sutherland's law for the viscosity and a straight line for the conductivity, −20…120 °C, within 1.5 % of CoolProp.

    Raises
    ------
    OutsideValidity
        Outside that range.
    """
    if not -20.0 <= temperature_C <= 120.0:
        raise OutsideValidity(f"Air properties hold from −20 to 120 °C, not at {temperature_C:g} °C.")
    kelvin = K_from_C(temperature_C)
    viscosity_Pas = 1.716e-5 * (kelvin / 273.15) ** 1.5 * (273.15 + 110.4) / (kelvin + 110.4)
    density = 101325.0 / (287.05 * kelvin)
    conductivity = 0.02436 + 7.4e-5 * temperature_C
    return conductivity, viscosity_Pas / density, 1006.0 * viscosity_Pas / conductivity


def nusselt_vertical_plate(rayleigh: float, prandtl: float) -> float:
    """Natural convection at a vertical plate [-], all Ra < 10¹² [Churchill & Chu 1975].

    ``Nu = {0.825 + 0.387 Ra^(1/6)/[1 + (0.492/Pr)^(9/16)]^(8/27)}²``
    """
    return float((0.825 + 0.387 * rayleigh ** (1 / 6) / (1.0 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)) ** 2)


def nusselt_hot_plate_up(rayleigh: float) -> float:
    """Natural convection over a hot surface facing up [-]: ``0.54 Ra^¼``, Ra 10⁴…10⁷, length = area/perimeter."""
    return float(0.54 * rayleigh**0.25)


def _rayleigh(surface_C: float, room_C: float, length_m: float) -> tuple[float, float, float]:
    film_C = 0.5 * (surface_C + room_C)
    conductivity, viscosity, prandtl = air_properties(film_C)
    buoyancy = GRAVITY * abs(surface_C - room_C) / K_from_C(film_C)
    return buoyancy * length_m**3 / viscosity**2 * prandtl, prandtl, conductivity / length_m


def vertical_plate_W_m2K(surface_C: float, room_C: float, height_m: float) -> float:
    """Film coefficient of a vertical wall in still air [W/(m² K)]."""
    rayleigh, prandtl, scale = _rayleigh(surface_C, room_C, height_m)
    return scale * nusselt_vertical_plate(rayleigh, prandtl)


def hot_plate_up_W_m2K(surface_C: float, room_C: float, diameter_m: float) -> float:
    """Film coefficient of an open round surface in still air [W/(m² K)]."""
    rayleigh, _, scale = _rayleigh(surface_C, room_C, 0.25 * diameter_m)
    return scale * nusselt_hot_plate_up(rayleigh)


def radiation_W_m2K(surface_C: float, room_C: float, emissivity: float) -> float:
    """Radiation as a film coefficient [W/(m² K)]: ``ε σ (T₁² + T₂²)(T₁ + T₂)``, T in K."""
    hot, cold = K_from_C(surface_C), K_from_C(room_C)
    return emissivity * STEFAN_BOLTZMANN * (hot**2 + cold**2) * (hot + cold)
