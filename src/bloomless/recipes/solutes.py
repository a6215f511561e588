"""What dissolves in the water of a recipe, by kind, with the constants of the water activity models."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from bloomless.materials.ingredients import GRADE_OF_MARK, Ingredient, ingredient_library
from bloomless.sources import Sourced, read_csv

__all__ = ["MOLAR_MASS_WATER_G_MOL", "Solute", "dissolved_moles", "solute_table", "solutes_in"]

MOLAR_MASS_WATER_G_MOL = 18.015


@dataclass(frozen=True, slots=True)
class Solute:
    """One dissolved kind."""

    key: str
    name: str
    molar_mass_g_mol: float
    norrish_k: Sourced
    """Constant of the Norrish equation in natural logarithms, 25 °C."""
    grover_s: float
    """Sucrose equivalence in Grover's equation (Grover 1947, coefficients from memory)."""
    relative_sweetness: float
    """Sweetness of its dry mass against sucrose."""
    kind: str
    """``sugar``, ``syrup``, ``polyol``, ``acid``, ``salt`` or ``alcohol``."""


@cache
def solute_table() -> Mapping[str, Solute]:
    """Every dissolved kind by key."""
    return {
        row["key"]: Solute(
            row["key"],
            row["name"],
            float(row["molar_mass_g_mol"]),
            Sourced(
                float(row["norrish_k"]),
                "1",
                max(0.1, 0.1 * abs(float(row["norrish_k"]))),
                row["source"],
                GRADE_OF_MARK[row["mark"]],
                note=row["note"],
            ),
            float(row["grover_s"]),
            float(row["relative_sweetness"]),
            row["kind"],
        )
        for row in read_csv("bloomless.recipes", "solutes.csv")
    }


def solutes_in(parts: Iterable[tuple[Ingredient, float]]) -> dict[str, float]:
    """Mass [g] of everything that can dissolve, by kind.

    Parameters
    ----------
    parts
        Ingredient and mass in g. A glucose syrup counts as one kind with all its carbohydrate; a compound ingredient
        that hides one is opened.
    """
    sums: dict[str, float] = {}
    for ingredient, mass_g in parts:
        for key, share in _per_gram(ingredient).items():
            sums[key] = sums.get(key, 0.0) + share * mass_g
    return sums


def dissolved_moles(parts: Iterable[tuple[Ingredient, float]]) -> float:
    """Moles of everything that can dissolve and does not boil off (alcohol left out)."""
    table = solute_table()
    return sum(g / table[key].molar_mass_g_mol for key, g in solutes_in(parts).items() if key != "ethanol")


def _per_gram(ingredient: Ingredient) -> dict[str, float]:
    if _hides_a_syrup(ingredient):
        library = ingredient_library()
        opened: dict[str, float] = {}
        for constituent in ingredient.made_of:
            for key, share in _per_gram(library[constituent.key]).items():
                opened[key] = opened.get(key, 0.0) + share * (constituent.share or 0.0)
        return opened
    c = ingredient.composition
    found = {"salt": c.sodium_mg * 2.542e-3, "ethanol": c.alcohol_g}
    if ingredient.solute:
        is_polyol = solute_table()[ingredient.solute].kind == "polyol"
        found[ingredient.solute] = c.polyols_g if is_polyol else c.carbohydrate_g
    else:
        found |= {
            "sucrose": c.sucrose_g,
            "lactose": c.lactose_g,
            "glucose": c.glucose_g,
            "fructose": c.fructose_g,
            "maltose": c.maltose_g,
            "syrup_de12": c.higher_saccharides_g,
            "maltitol": c.polyols_g,
        }
    return {key: g / 100.0 for key, g in found.items() if g > 0.0}


def _hides_a_syrup(ingredient: Ingredient) -> bool:
    library = ingredient_library()
    parts = ingredient.made_of
    if not parts or any(p.share is None or p.key not in library for p in parts):
        return False
    return any(library[p.key].solute for p in parts)
