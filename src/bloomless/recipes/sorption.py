"""Water held by solids that do not dissolve: cocoa, milk protein, nuts, starch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from scipy.optimize import brentq

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.materials.ingredients import GRADE_OF_MARK, Ingredient, ingredient_library
from bloomless.recipes.compose import Leaf
from bloomless.sources import Sourced, read_csv

__all__ = ["Isotherm", "isotherms", "opened", "sorbing_solids_g"]

MOST_AW = 0.97


@dataclass(frozen=True, slots=True)
class Isotherm:
    """A sorption isotherm in the form of Guggenheim, Anderson and de Boer.

    ``M = m0·C·k·aw / [(1 − k·aw)(1 − k·aw + C·k·aw)]``, M and m0 in g of water per 100 g of dry solids.
    """

    key: str
    name: str
    m0_pct: Sourced
    c: float
    k: float

    def moisture_pct(self, water_activity: float) -> float:
        """Water held, g per 100 g dry, for a water activity from 0 to 0.97."""
        if not 0.0 <= water_activity <= MOST_AW + 1e-9:
            raise OutsideValidity(f"The isotherm holds from 0 to {MOST_AW}, not at {water_activity:.3f}.")
        ka = self.k * water_activity
        return self.m0_pct.value * self.c * ka / ((1.0 - ka) * (1.0 - ka + self.c * ka))

    def water_activity(self, moisture_pct: float) -> float:
        """Water activity [0 … 0.97] at which so much water is held, g per 100 g dry."""
        if not moisture_pct >= 0.0:
            raise ImpossibleInput("moisture_pct", moisture_pct, "0 or more")
        if moisture_pct >= self.moisture_pct(MOST_AW):
            return MOST_AW
        return float(brentq(lambda aw: self.moisture_pct(aw) - moisture_pct, 0.0, MOST_AW, xtol=1e-9))


@cache
def isotherms() -> Mapping[str, Isotherm]:
    """Isotherms by the kind of solids."""
    return {
        row["key"]: Isotherm(
            row["key"],
            row["name"],
            Sourced(
                float(row["m0_pct"]),
                "%",
                float(row["m0_sd_pct"]),
                row["source"],
                GRADE_OF_MARK[row["mark"]],
                note=row["note"],
            ),
            float(row["c"]),
            float(row["k"]),
        )
        for row in read_csv("bloomless.recipes", "isotherms.csv")
    }


def opened(leaves: Sequence[Leaf]) -> tuple[Leaf, ...]:
    """The leaves with pastes and composites of the library opened into what they are made of."""
    library = ingredient_library()
    found: list[Leaf] = []
    for leaf in leaves:
        parts = leaf.ingredient.made_of
        known = all(p.share is not None and p.key in library for p in parts)
        if leaf.ingredient.group == "composite" and parts and known:
            inside = [Leaf(library[p.key], leaf.mass_g * (p.share or 0.0)) for p in parts]
            found.extend(opened(inside))
        else:
            found.append(leaf)
    return tuple(found)


def sorbing_solids_g(leaves: Sequence[Leaf]) -> float:
    """Dry solids that hold water in a filling, g: fat-free cocoa, 0.36 × fat-free milk, solids of nuts and cereals."""
    return sum(leaf.mass_g * _per_gram(leaf.ingredient) for leaf in opened(leaves))


def _per_gram(ingredient: Ingredient) -> float:
    c = ingredient.composition
    nut_g = 0.0
    if ingredient.group in ("nut", "seed", "cereal") or (
        ingredient.group == "composite" and c.liquid_oil_g > c.milk_fat_g
    ):
        nut_g = max(0.0, 100.0 - c.water_g - c.fat_g - c.sugars_g)
    return (c.fat_free_cocoa_solids_g + 0.36 * c.milk_solids_nonfat_g + nut_g) / 100.0
