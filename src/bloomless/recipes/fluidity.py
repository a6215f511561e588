"""How chocolate flows: what cocoa butter or lecithin does, what water does, what seized chocolate can still become."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.sources import Grade, Sourced

__all__ = [
    "SEIZES_FROM_PCT",
    "Rescue",
    "cocoa_butter_for_thinner_g",
    "cocoa_butter_to_add_g",
    "lecithin_to_add_g",
    "relative_viscosity",
    "seized_rescue",
]

SOLIDS_KG_L: Final = 1.55
FAT_KG_L: Final = 0.90
MOST_PACKED: Final = Sourced(
    0.68, "1", 0.02, "beckett_2008", Grade.FROM_MEMORY, note="solids volume at which flow ends"
)
BEST_LECITHIN_PCT: Final = Sourced(
    0.5, "%", 0.1, "beckett_2008", Grade.FROM_MEMORY, note="beyond it the yield rises again"
)
SEIZES_FROM_PCT: Final = Sourced(
    0.5, "%", 0.2, "common_practice", Grade.TRADE_PRACTICE, note="water that thickens a bowl"
)
GANACHE_WATER_SHARE: Final = 0.18


def cocoa_butter_to_add_g(mass_g: float, fat_pct: float, wanted_fat_pct: float) -> float:
    """Cocoa butter [g] that brings a chocolate to a fat content: ``m·(f′ − f)/(100 − f′)``."""
    if not 0.0 < fat_pct <= wanted_fat_pct < 100.0:
        raise ImpossibleInput("wanted_fat_pct", wanted_fat_pct, f"at least the {fat_pct:g} % there is, and below 100")
    return mass_g * (wanted_fat_pct - fat_pct) / (100.0 - wanted_fat_pct)


def relative_viscosity(fat_pct: float) -> float:
    """Plastic viscosity against that of the fat alone, by Krieger and Dougherty, 28 to 60 % fat.

    ``η = (1 − φ/φₘ)^(−2.5·φₘ)``, φ the volume share of solids; ratios are good to a third.
    """
    if not 28.0 <= fat_pct <= 60.0:
        raise OutsideValidity(f"The flow equation is used for 28 to 60 % fat, not {fat_pct:g} %.")
    solids, fat = (100.0 - fat_pct) / SOLIDS_KG_L, fat_pct / FAT_KG_L
    packed = MOST_PACKED.value
    return float((1.0 - solids / (solids + fat) / packed) ** (-2.5 * packed))


def cocoa_butter_for_thinner_g(mass_g: float, fat_pct: float, thinner: float) -> float:
    """Cocoa butter [g] that makes a chocolate ``thinner`` times as thin (1 to 5), found on the flow curve.

    It also dilutes cocoa, milk and sugar, so the label changes, and raises the temperatures of a milky chocolate.
    """
    if not 1.0 <= thinner <= 5.0:
        raise ImpossibleInput("thinner", thinner, "a factor from 1 to 5")
    wanted, low, high = relative_viscosity(fat_pct) / thinner, fat_pct, 60.0
    if relative_viscosity(high) > wanted:
        raise OutsideValidity("So thin a chocolate would be more than 60 % fat.")
    while high - low > 1e-6:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if relative_viscosity(middle) > wanted else (low, middle)
    return cocoa_butter_to_add_g(mass_g, fat_pct, high)


def lecithin_to_add_g(mass_g: float, lecithin_pct: float) -> float:
    """Lecithin [g] up to the share beyond which it thickens again; 0 if it is there already."""
    if not 0.0 <= lecithin_pct <= 100.0:
        raise ImpossibleInput("lecithin_pct", lecithin_pct, "a share from 0 to 100 %")
    return max(0.0, mass_g * (BEST_LECITHIN_PCT.value - lecithin_pct) / (100.0 - BEST_LECITHIN_PCT.value))


@dataclass(frozen=True, slots=True)
class Rescue:
    """What a seized bowl can become, and what it takes."""

    what: str
    add_g: float
    of: str
    text: str


def seized_rescue(mass_g: float, water_g: float) -> tuple[Rescue, ...]:
    """Other uses of chocolate that water has seized; it cannot be couverture again.

    Parameters
    ----------
    mass_g
        Chocolate in the bowl.
    water_g
        Water that got in.
    """
    if not (mass_g > 0.0 and 0.0 <= water_g <= mass_g):
        raise ImpossibleInput("water_g", water_g, f"from 0 to the {mass_g:g} g of chocolate there is")
    if 100.0 * water_g / mass_g < SEIZES_FROM_PCT.value:
        return (
            Rescue(
                "chocolate", 0.0, "", "Below the amount that seizes: stir on, and use it where thin flow is no matter."
            ),
        )
    share = GANACHE_WATER_SHARE
    cream_g = max(0.0, (share * (mass_g + water_g) - water_g) / (0.59 - share))
    return (
        Rescue(
            "ganache",
            cream_g,
            "cream 35 %",
            f"Stir in {cream_g:.0f} g of hot cream: about {100 * share:.0f} % water, a filling to use at once.",
        ),
        Rescue("drink", 4.0 * mass_g, "milk", f"Or whisk it into {4 * mass_g:.0f} g of hot milk as a drink."),
    )
