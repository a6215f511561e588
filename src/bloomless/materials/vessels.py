"""Vessels and work surfaces: heat capacity, conductivity and what a bowl of a given size usually weighs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.sources.sourced import Grade, Sourced

__all__ = ["MATERIALS", "SURFACES", "Solid", "Vessel", "VesselMaterial", "vessel"]

VesselMaterial: TypeAlias = Literal["steel", "glass", "plastic", "ceramic", "copper", "aluminium"]


@dataclass(frozen=True, slots=True)
class Solid:
    """Heat capacity [J/(kg K)], density [kg/m³], conductivity [W/(m K)], emissivity; usual wall of a kitchen bowl."""

    heat_J_kgK: Sourced
    density_kg_m3: Sourced
    conductivity_W_mK: Sourced
    emissivity: Sourced
    wall_mm: Sourced | None = None


def _solid(c: float, rho: float, k: float, eps: float, wall_mm: float | None = None) -> Solid:
    source, grade = "heat_textbook", Grade.FROM_MEMORY
    wall = None
    if wall_mm is not None:
        wall = Sourced(wall_mm, "mm", 1.4, "common_practice", Grade.TRADE_PRACTICE, "factor")
    return Solid(
        Sourced(c, "J/(kg K)", 0.04 * c, source, grade),
        Sourced(rho, "kg/m³", 0.02 * rho, source, grade),
        Sourced(k, "W/(m K)", 0.1 * k, source, grade),
        Sourced(eps, "1", 0.05, source, grade),
        wall,
    )


MATERIALS: Final[dict[str, Solid]] = {
    "steel": _solid(490.0, 7900.0, 15.0, 0.2, 0.6),
    "glass": _solid(810.0, 2400.0, 1.1, 0.92, 4.0),
    "plastic": _solid(1900.0, 905.0, 0.18, 0.93, 2.0),
    "ceramic": _solid(850.0, 2300.0, 1.5, 0.92, 5.0),
    "copper": _solid(385.0, 8930.0, 400.0, 0.2, 1.0),
    "aluminium": _solid(900.0, 2700.0, 237.0, 0.1, 1.0),
}
"""Plastic is polypropylene; ceramic stands between glass and stone [memory]."""

SURFACES: Final[dict[str, Solid]] = {
    "marble": _solid(855.0, 2680.0, 2.5, 0.93),
    "granite": _solid(775.0, 2630.0, 2.8, 0.93),
    "steel": MATERIALS["steel"],
    "polycarbonate": _solid(1225.0, 1200.0, 0.20, 0.93),
}


@dataclass(frozen=True, slots=True)
class Vessel:
    """A bowl: what it is made of, its mass and the diameter of the open surface."""

    material: VesselMaterial
    mass_kg: float
    diameter_m: float

    @property
    def heat_J_K(self) -> float:
        """Heat capacity of the whole bowl [J/K]."""
        return self.mass_kg * MATERIALS[self.material].heat_J_kgK.value


def vessel(
    material: VesselMaterial = "steel",
    *,
    holds_kg: float,
    mass_g: float | None = None,
    diameter_mm: float | None = None,
) -> Vessel:
    """A bowl with what is known of it; mass and diameter as usual for what it holds.

    Parameters
    ----------
    material
        One of ``MATERIALS``.
    holds_kg
        Chocolate in it.
    mass_g, diameter_mm
        Of the bowl, if known.

    Returns
    -------
    Vessel
        Usual is a diameter of 20 cm for 1 kg, growing with the cube root, walls of 8/20 of it, and the wall
        thickness of its material.

    Raises
    ------
    UnknownName, ImpossibleInput
        Unknown material; a mass or a size that is no bowl's.
    """
    if material not in MATERIALS:
        raise UnknownName("vessel", material, MATERIALS)
    if not 0.0 < holds_kg <= 100.0:
        raise ImpossibleInput("mass", holds_kg, "more than 0 and at most 100 kg")
    if mass_g is not None and not 10.0 <= mass_g <= 50_000.0:
        raise ImpossibleInput("vessel mass_g", mass_g, "10 to 50000")
    if diameter_mm is not None and not 40.0 <= diameter_mm <= 1000.0:
        raise ImpossibleInput("vessel diameter_mm", diameter_mm, "40 to 1000")
    across = 0.2 * max(holds_kg, 0.05) ** (1.0 / 3.0) if diameter_mm is None else diameter_mm / 1000.0
    solid = MATERIALS[material]
    if mass_g is None:
        wall_m = (solid.wall_mm.value if solid.wall_mm is not None else 1.0) / 1000.0
        area = math.pi * across * (0.4 * across) + math.pi * across**2 / 4.0
        return Vessel(material, area * wall_m * solid.density_kg_m3.value, across)
    return Vessel(material, mass_g / 1000.0, across)
