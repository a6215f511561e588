"""How much sugar water can hold, and what graining threatens beyond that."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from bloomless.sources import Grade, Sourced

__all__ = [
    "dissolved_and_crystals",
    "sucrose_limit_g_per_g",
]

LACTOSE_LIMIT: Final = Sourced(
    0.19, "g/g", 0.01, "common_practice", Grade.FROM_MEMORY, note="20 °C; 18–19 g/100 g water"
)
SUCROSE_LIMIT_ALONE: Final = Sourced(2.0, "g/g", 0.05, "charles_1960", Grade.FROM_MEMORY, note="20 °C")
SUCROSE_LIMIT_SLOPE: Final = Sourced(
    0.4, "1", 0.15, "assumed", Grade.ASSUMED, note="each gram of other sugar per gram of water takes this much sucrose"
)
SUCROSE_LIMIT_LEAST: Final = Sourced(0.8, "g/g", 0.2, "assumed", Grade.ASSUMED)
SALT_LIMIT: Final = Sourced(0.359, "g/g", 0.002, "robinson_stokes_1965", Grade.FROM_MEMORY, note="20 °C")
BESIDES: Final = ("sugar", "syrup", "polyol")


def sucrose_limit_g_per_g(others_g_per_g: float) -> float:
    """Sucrose that a gram of water holds at 20 °C beside other dissolved sugars and polyols.

    Parameters
    ----------
    others_g_per_g
        Other sugars, syrup solids and polyols per gram of water, 0 or more.

    Returns
    -------
    float
        ``max(2.0 − 0.4·others, 0.8)`` g per g [assumed, shape after Jackson & Silsbee 1924].
    """
    least = SUCROSE_LIMIT_LEAST.value
    return max(SUCROSE_LIMIT_ALONE.value - SUCROSE_LIMIT_SLOPE.value * others_g_per_g, least)


def dissolved_and_crystals(
    solutes_g: Mapping[str, float], kinds: Mapping[str, str], water_g: float
) -> tuple[dict[str, float], dict[str, float]]:
    """What of the sugars is dissolved at equilibrium, and what stays as crystals.

    Parameters
    ----------
    solutes_g
        Solute → mass in g.
    kinds
        Solute → ``sugar``, ``syrup``, ``polyol``, ``salt`` …
    water_g
        Water, g.

    Returns
    -------
    tuple
        Dissolved and crystalline masses in g, by solute.
    """
    lactose_limit_g = LACTOSE_LIMIT.value * water_g
    lactose_g = min(solutes_g.get("lactose", 0.0), lactose_limit_g)
    others_g = lactose_g + sum(
        g for key, g in solutes_g.items() if kinds[key] in BESIDES and key not in ("sucrose", "lactose")
    )
    sucrose_limit_g = water_g * sucrose_limit_g_per_g(others_g / water_g) if water_g > 0.0 else 0.0
    limits = {"lactose": lactose_limit_g, "sucrose": sucrose_limit_g, "salt": SALT_LIMIT.value * water_g}
    dissolved = {key: min(g, limits.get(key, g)) for key, g in solutes_g.items()}
    crystals = {key: g - dissolved[key] for key, g in solutes_g.items() if g - dissolved[key] > 1e-12}
    return dissolved, crystals
