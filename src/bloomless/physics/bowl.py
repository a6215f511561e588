"""One bowl as all members of an ensemble share it: the chocolate, the vessel, and the constants that follow."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.materials.chocolates import Chocolate, melting_shift_K
from bloomless.materials.films import hot_plate_up_W_m2K, radiation_W_m2K, vertical_plate_W_m2K
from bloomless.materials.thermal import density_kg_m3, heat_capacity_J_kgK, heat_of_melting_J_kg, of_chocolate
from bloomless.materials.vessels import MATERIALS, Vessel
from bloomless.physics import block
from bloomless.physics.constants import BOWL
from bloomless.sources.sourced import Grade, Sourced

__all__ = ["HEATING", "Bowl", "ProbeKind", "microwave_share"]

ProbeKind: TypeAlias = Literal["needle", "glass", "infrared"]

HEATING: Final[dict[str, Sourced]] = {
    "chocolate_emissivity": Sourced(0.92, "1", 0.03, "heat_textbook", Grade.FROM_MEMORY),
    "conductivity_W_mK": Sourced(0.26, "W/(m K)", 0.02, "beckett_2009", Grade.PUBLISHED, note="35–40 °C"),
    "inner_W_m2K": Sourced(
        250.0, "W/(m² K)", 1.5, "heat_textbook", Grade.DERIVED, "factor", "30–50 % of 814 at 1 scrape/s"
    ),
    "water_W_m2K": Sourced(300.0, "W/(m² K)", 2.0, "assumed", Grade.ASSUMED, "factor", "bath to vessel, 200–1000"),
    "dry_wall": Sourced(
        0.5, "1", 0.25, "heat_textbook", Grade.DERIVED, note="part of the wall above the chocolate that counts"
    ),
    "bottom": Sourced(0.5, "1", 0.2, "heat_textbook", Grade.DERIVED, note="it stands on something"),
    "wall_height": Sourced(0.4, "1", 0.1, "common_practice", Grade.TRADE_PRACTICE, note="of a bowl, over its diameter"),
    "microwave_large": Sourced(0.6, "1", 0.12, "zhou_2023", Grade.ASSUMED, note="from 300 g on"),
    "microwave_100g": Sourced(0.3, "1", 0.1, "kitchen_oil_bench_test", Grade.ASSUMED),
    "microwave_50g": Sourced(0.125, "1", 0.05, "kitchen_oil_bench_test", Grade.ASSUMED, note="and less"),
    "hot_air": Sourced(
        0.1, "1", 1.7, "assumed", Grade.ASSUMED, "factor", "share of the power that reaches the chocolate"
    ),
    "scorch_dark_C": Sourced(55.0, "°C", 3.0, "greweling_2007", Grade.TRADE_PRACTICE, note="tables melt dark at 45–55"),
    "scorch_milk_C": Sourced(
        50.0, "°C", 2.0, "common_practice", Grade.TRADE_PRACTICE, note="milk and white never above 50"
    ),
    "sugar_shear": Sourced(
        1.0, "1", 0.5, "dhonsi_stapley_2006", Grade.ASSUMED, note="44 % sugar helps sheared nucleation"
    ),
}


def microwave_share(load_g: float) -> float:
    """Share of an oven's power that a load takes up [-].

    0.6 from 300 g, 0.3 at 100 g, 0.125 at 50 g and less, straight lines of log mass between [prior; small loads of
    oil collapse: 0.17 of water at 25 g].
    """
    masses = np.log([50.0, 100.0, 300.0])
    shares = [HEATING[key].value for key in ("microwave_50g", "microwave_100g", "microwave_large")]
    return float(np.interp(math.log(max(load_g, 1.0)), masses, shares))


@dataclass(frozen=True)
class Bowl:
    """What all members share.

    Parameters
    ----------
    chocolate, vessel
        What is in what.
    mass_kg
        Chocolate in it, pieces included, as the log says; sets wetted wall and microwave share.
    room_C
        Room for which the films of air are evaluated.
    probe
        Where the thermometer looks: ``needle`` and ``glass`` into the core, ``infrared`` at the surface.
    insulated
        No heat to the room: for the energy law and for adiabatic tests.
    """

    chocolate: Chocolate
    vessel: Vessel
    mass_kg: float
    room_C: float = 21.0
    probe: ProbeKind = "needle"
    insulated: bool = False

    @cached_property
    def heat_J_kgK(self) -> float:
        """Heat capacity of the chocolate, taken at 35 °C and kept, so that enthalpy is exact [J/(kg K)]."""
        return heat_capacity_J_kgK(of_chocolate(self.chocolate), 35.0)

    @cached_property
    def density_kg_m3(self) -> float:
        """Density of the chocolate at 35 °C [kg/m³]."""
        return density_kg_m3(of_chocolate(self.chocolate), 35.0)

    @cached_property
    def latent_K(self) -> float:
        """Warming if all the fat set at once without loss [K]: ``w_f ΔH_V/c``, some 30 K."""
        return self.chocolate.fat_share * heat_of_melting_J_kg("V") / self.heat_J_kgK

    @cached_property
    def shift_K(self) -> float:
        """Melting shift of the composition [K]."""
        return melting_shift_K(self.chocolate)

    @cached_property
    def constants(self) -> NDArray[np.float64]:
        """The constants of the compiled step, in the order of ``block.K_…``."""
        k = np.zeros(block.CONSTANTS)
        k[block.K_HEAT] = self.heat_J_kgK
        k[block.K_FAT] = self.chocolate.fat_share
        k[block.K_LATENT_V] = heat_of_melting_J_kg("V")
        k[block.K_LATENT_U] = heat_of_melting_J_kg("IV")
        k[block.K_LATENT_FIRST] = heat_of_melting_J_kg("V")
        k[block.K_SHIFT] = self.shift_K
        k[block.K_BUTTER] = self.chocolate.cocoa_butter_of_fat
        if not self.insulated:
            k[block.K_TOP], k[block.K_SIDE] = _losses_W_K(self)
        k[block.K_INNER], k[block.K_BATH] = _contacts_W_K(self)
        k[block.K_VESSEL] = self.vessel.heat_J_K
        k[block.K_DENSITY] = self.density_kg_m3
        k[block.K_CONDUCT] = HEATING["conductivity_W_mK"].value
        milk = self.chocolate.kind in ("milk", "white")
        k[block.K_SCORCH] = HEATING["scorch_milk_C" if milk else "scorch_dark_C"].value
        k[block.K_SUGAR] = 1.0 + HEATING["sugar_shear"].value * (self.chocolate.sugar_share > 0.1)
        k[block.K_MICROWAVE] = microwave_share(1000.0 * self.mass_kg)
        k[block.K_HOT_AIR] = HEATING["hot_air"].value
        k[block.K_PROBE] = -1.0 if self.probe == "infrared" else 1.0
        return k


def _areas_m2(bowl: Bowl) -> tuple[float, float, float]:
    """Bottom (as the open surface), wetted wall, dry wall."""
    d = bowl.vessel.diameter_m
    bottom = math.pi * d * d / 4.0
    wetted = 4.0 * bowl.mass_kg / (bowl.density_kg_m3 * d)
    wall = max(math.pi * d * HEATING["wall_height"].value * d, wetted)
    return bottom, wetted, wall - wetted


def _losses_W_K(bowl: Bowl) -> tuple[float, float]:
    """Conductance to the room from the open surface and from the vessel, at a difference of 20 K [W/K]."""
    bottom, wetted, dry = _areas_m2(bowl)
    room = bowl.room_C
    warm = room + BOWL["loss_reference_K"].value
    emissivity = MATERIALS[bowl.vessel.material].emissivity.value
    top = hot_plate_up_W_m2K(warm, room, bowl.vessel.diameter_m)
    top += radiation_W_m2K(warm, room, HEATING["chocolate_emissivity"].value)
    height = HEATING["wall_height"].value * bowl.vessel.diameter_m
    side = vertical_plate_W_m2K(warm, room, height) + radiation_W_m2K(warm, room, emissivity)
    reached = wetted + HEATING["dry_wall"].value * dry + HEATING["bottom"].value * bottom
    return top * bottom, side * reached


def _contacts_W_K(bowl: Bowl) -> tuple[float, float]:
    """Conductance from stirred chocolate to the vessel and from a bath to it [W/K]; half the wall lies on each side."""
    bottom, wetted, _ = _areas_m2(bowl)
    solid = MATERIALS[bowl.vessel.material]
    wall_m = (solid.wall_mm.value if solid.wall_mm is not None else 1.0) / 1000.0
    half = 0.5 * wall_m / solid.conductivity_W_mK.value
    inner = 1.0 / (1.0 / HEATING["inner_W_m2K"].value + half)
    water = 1.0 / (1.0 / HEATING["water_W_m2K"].value + half)
    return inner * (bottom + wetted), water * (bottom + wetted)
