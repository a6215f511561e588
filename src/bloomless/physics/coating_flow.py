"""Flow of chocolate as moulding needs it: Casson, Bingham and Windhab laws, the trade's two numbers, films on walls.

Stresses in Pa, viscosities in Pa s, shear rates in 1/s, lengths in mm at the surface of the module.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from bloomless.errors import ImpossibleInput
from bloomless.sources import Grade, Sourced

__all__ = [
    "BUBBLE",
    "USE_WORDS",
    "CassonPair",
    "casson_from_interpolation",
    "drained_film_mm",
    "held_bubble_mm",
    "static_film_mm",
    "tempered",
]

_G: Final = 9.80665


@dataclass(frozen=True, slots=True)
class CassonPair:
    """Casson yield and viscosity, √τ = √τ_y + √(η γ̇), with the spread that published pairs deserve."""

    yield_Pa: float
    viscosity_Pas: float
    yield_factor: float = 1.65
    """One sd as a factor: pairs of one chocolate differ ×7 between laboratories (Aeschlimann and Beckett 2000)."""
    viscosity_factor: float = 1.22

    def __post_init__(self) -> None:
        if not (self.yield_Pa >= 0 and self.viscosity_Pas > 0):
            raise ImpossibleInput("viscosity_Pas", self.viscosity_Pas, "above 0, and a yield of at least 0")

    def stress_Pa(self, rate: float) -> float:
        """Stress at a shear rate."""
        return (math.sqrt(self.yield_Pa) + math.sqrt(self.viscosity_Pas * rate)) ** 2

    def viscosity_at_Pas(self, rate: float) -> float:
        """Stress over shear rate."""
        return self.stress_Pa(rate) / rate


# Pairs of untempered chocolate at 40 °C by what it is used for [assumed, wide]; shell weights correct them.
USE_WORDS: Final[dict[str, CassonPair]] = {
    "stiff": CassonPair(30.0, 10.0, 2.0, 1.6),
    "thick": CassonPair(15.0, 5.0, 1.8, 1.5),
    "bars": CassonPair(8.0, 2.5, 1.8, 1.5),
    "thin": CassonPair(4.0, 1.5, 1.8, 1.5),
    "spraying": CassonPair(2.0, 0.8, 1.8, 1.5),
}

BUBBLE: Final = Sourced(0.143, "1", 0.01, "tsamopoulos_2008", Grade.FROM_MEMORY, note="τ_y/(ρgR) that holds a bubble")
YIELD_BY_CRYSTALS: Final = Sourced(
    60.0, "1", 1.6, "assumed", Grade.ASSUMED, spread_is="factor", note="yield × (1 + a X); 1.5 % of the fat gives 1.9"
)
VISCOSITY_BY_CRYSTALS: Final = Sourced(
    20.0, "1", 1.8, "assumed", Grade.ASSUMED, spread_is="factor", note="viscosity × (1 + a X); 3 % give 1.2-4"
)
GAS_J_molK: Final = 8.314
ACTIVATION_J_mol: Final = Sourced(30e3, "J/mol", 4e3, "assumed", Grade.ASSUMED, note="25-35 kJ/mol")


def casson_from_interpolation(stress_5_Pa: float, viscosity_40_Pas: float) -> CassonPair:
    """Casson pair from the trade's two numbers: stress at 5 1/s and viscosity at 40 1/s [derived]."""
    stress_40 = 40.0 * viscosity_40_Pas
    if not 0 < stress_5_Pa < stress_40:
        raise ImpossibleInput("stress_5_Pa", stress_5_Pa, f"above 0 and below the stress at 40 1/s, {stress_40:g} Pa")
    slope = (math.sqrt(stress_40) - math.sqrt(stress_5_Pa)) / (math.sqrt(40.0) - math.sqrt(5.0))
    start = math.sqrt(stress_5_Pa) - slope * math.sqrt(5.0)
    return CassonPair(max(start, 0.0) ** 2, slope**2, 1.2, 1.1)


def tempered(pair: CassonPair, temperature_C: float, crystals_share: float) -> CassonPair:
    """Pair of the tempered bowl from that of the untempered melt at 40 °C.

    Parameters
    ----------
    pair
        Untempered, 40 °C.
    temperature_C
        Of the bowl.
    crystals_share
        Dispersed crystals as a share of the fat, all forms.

    Notes
    -----
    Viscosity by Arrhenius and by crystals, yield by crystals and half the thermal factor [assumed]: 1.5 % of the fat
    turn 8 Pa, 2.5 Pa s at 40 °C into some 18 Pa and 4.5 Pa s at 31.5 °C; Bergemann 2018 found 36 Pa, 8.7 Pa s.
    """
    if not 0 <= crystals_share <= 0.3:
        raise ImpossibleInput("crystals_share", crystals_share, "0 to 0.3 of the fat")
    warm = math.exp(ACTIVATION_J_mol.value / GAS_J_molK * (1 / (temperature_C + 273.15) - 1 / 313.15))
    return CassonPair(
        pair.yield_Pa * math.sqrt(warm) * (1.0 + YIELD_BY_CRYSTALS.value * crystals_share),
        pair.viscosity_Pas * warm * (1.0 + VISCOSITY_BY_CRYSTALS.value * crystals_share),
        max(pair.yield_factor, 1.5),
        max(pair.viscosity_factor, 1.4),
    )


def static_film_mm(yield_Pa: float, density_kg_m3: float, angle_deg: float = 90.0) -> float:
    """Film that a yield stress holds on a wall: δ₀ = τ_y/(ρ g sin θ), θ from the horizontal."""
    if not 0 < angle_deg <= 90:
        raise ImpossibleInput("angle_deg", angle_deg, "above 0 and at most 90 degrees from the horizontal")
    return 1000.0 * yield_Pa / (density_kg_m3 * _G * math.sin(math.radians(angle_deg)))


def drained_film_mm(
    yield_Pa: float,
    viscosity_Pas: float,
    density_kg_m3: float,
    below_mm: float,
    seconds: float,
    angle_deg: float = 90.0,
) -> float:
    """Film left after draining: δ = ½[δ₀ + √(δ₀² + 4ηz/(ρgt))], the kinematic wave of a Bingham film.

    With yield 0 it is Jeffreys' film of 1930; after long it is δ₀.

    Parameters
    ----------
    yield_Pa, viscosity_Pas, density_kg_m3
        Of the chocolate.
    below_mm
        Distance below the upper edge.
    seconds
        Time of draining, above 0.
    angle_deg
        Of the wall from the horizontal.
    """
    if not (seconds > 0 and below_mm > 0):
        raise ImpossibleInput("seconds", seconds, "above 0, at a distance above 0")
    weight = density_kg_m3 * _G * math.sin(math.radians(angle_deg))
    still = static_film_mm(yield_Pa, density_kg_m3, angle_deg) / 1000.0
    moving = 4.0 * viscosity_Pas * below_mm / 1000.0 / (weight * seconds)
    return 500.0 * (still + math.sqrt(still**2 + moving))


def held_bubble_mm(yield_Pa: float, density_kg_m3: float) -> float:
    """Radius up to which bubbles are held by the yield stress unless the mould is tapped."""
    return 1000.0 * yield_Pa / (density_kg_m3 * _G * BUBBLE.value)
