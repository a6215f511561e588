"""An own ingredient from a supplier's data sheet: what the sheet prints, and what follows from it.

A sheet seldom tells everything. What it does not tell is taken from what was known of the ingredient before, in the
same proportion, or else is booked as unknown; water or ash come by difference, so that the balance can be checked.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Final

from bloomless.errors import ImpossibleInput
from bloomless.materials.composition import MICRONUTRIENTS, Composition, composition_of
from bloomless.materials.ingredients import AllergenNote, Ingredient
from bloomless.sources import Grade

__all__ = ["DataSheet", "ingredient_from_sheet", "sheet_of"]

SALT_PER_SODIUM: Final = 2.5
"""Regulation (EU) No 1169/2011, Annex I, 11: salt is sodium × 2.5."""
MOST_ASH_g: Final = 12.0
"""More than that is no food but a mineral, or a sheet that does not add up [assumed]."""
_SUGARS: Final = ("sucrose_g", "glucose_g", "fructose_g", "maltose_g")
_FATS: Final = ("liquid_oil_g", "other_fat_g")


@dataclass(frozen=True, slots=True)
class DataSheet:
    """What the sheet prints, g in 100 g; None where it prints nothing."""

    water_g: float | None = None
    fat_g: float | None = None
    saturated_fat_g: float | None = None
    cocoa_butter_g: float | None = None
    milk_fat_g: float | None = None
    carbohydrate_g: float | None = None
    sugars_g: float | None = None
    lactose_g: float | None = None
    polyols_g: float | None = None
    fibre_g: float | None = None
    protein_g: float | None = None
    salt_g: float | None = None
    alcohol_g: float | None = None
    energy_kcal: float | None = None
    fibre_within: bool = False
    """True if the carbohydrate printed holds the fibre, as in North America; in Europe it does not."""

    def __post_init__(self) -> None:
        for part in fields(self):
            value = getattr(self, part.name)
            if part.name.endswith("_g") and value is not None and not 0.0 <= value <= 100.0:
                raise ImpossibleInput(part.name, value, "a number from 0 to 100 in 100 g")
        for needed in ("fat_g", "carbohydrate_g", "protein_g"):
            if getattr(self, needed) is None:
                raise ImpossibleInput(needed, None, "what the sheet prints; 0 if there is none", code="missing_field")


def sheet_of(ingredient: Ingredient) -> dict[str, float]:
    """What a data sheet would print of an ingredient, European carbohydrate; what nobody has booked is left out."""
    c = ingredient.composition
    shown = {f.name: getattr(c, f.name, None) for f in fields(DataSheet) if f.name.endswith("_g")}
    shown |= {"carbohydrate_g": c.carbohydrate_g - c.fibre_g, "salt_g": c.salt_g}
    return {name: round(v, 3) for name, v in shown.items() if v is not None and name not in c.unknown}


def ingredient_from_sheet(
    sheet: DataSheet,
    *,
    key: str,
    name: str,
    group: str,
    allergens: tuple[AllergenNote, ...] = (),
    may_contain: tuple[str, ...] = (),
    density_kg_m3: float | None = None,
    label_name: str = "",
    keeping_risk: str = "",
    sheet_name: str = "",
    old: Ingredient | None = None,
) -> Ingredient:
    """The ingredient behind a data sheet.

    Parameters
    ----------
    sheet
        What is printed.
    key, name, group, allergens, may_contain, density_kg_m3, label_name, keeping_risk, sheet_name
        Of the ingredient.
    old
        What was known of it before; gives the kinds of sugar and of fat that the sheet does not tell apart.

    Raises
    ------
    ImpossibleInput
        With the field, if the numbers do not add up to 97–103 g or a part exceeds its whole.
    """
    made = _composition(sheet, None if old is None else old.composition)
    if not 97.0 <= made.added_up_g <= 103.0:
        accepted = "water, protein, fat, carbohydrate, fibre, salt and alcohol that add up to 97–103 g in 100 g"
        raise ImpossibleInput("water_g", round(made.added_up_g, 1), accepted, code="does_not_add_up")
    base = old or Ingredient(key, name, group, made)
    return replace(
        base, key=key, name=name, group=group, composition=made, allergens=allergens, may_contain=may_contain,
        density_kg_m3=density_kg_m3, label_name=label_name, keeping_risk=keeping_risk, source="user",
        item=sheet_name or "supplier's data sheet", sheet=sheet_name, grade=Grade.MEASURED,
        table_energy_kcal=sheet.energy_kcal, ranges={}, prices=() if old is None else old.prices,
    )  # fmt: skip


def _composition(sheet: DataSheet, old: Composition | None) -> Composition:
    fat_g, protein_g = sheet.fat_g or 0.0, sheet.protein_g or 0.0
    fibre_g = sheet.fibre_g or 0.0
    carbohydrate_g = (sheet.carbohydrate_g or 0.0) + (0.0 if sheet.fibre_within else fibre_g)
    rest_g = 100.0 - fat_g - protein_g - carbohydrate_g - (sheet.alcohol_g or 0.0)
    most_g = max(MOST_ASH_g, 1.1 * (sheet.salt_g or 0.0), 0.0 if old is None else old.ash_g + 1.0)
    ash_g = (sheet.salt_g or 0.0) if sheet.water_g is None else min(max(0.0, rest_g - sheet.water_g), most_g)
    water_g = max(0.0, rest_g - ash_g) if sheet.water_g is None else sheet.water_g
    named_fat_g = (sheet.cocoa_butter_g or 0.0) + (sheet.milk_fat_g or 0.0)
    named_sugar_g = sheet.lactose_g or 0.0
    values: dict[str, float | None] = {
        "water_g": water_g, "fat_g": fat_g, "protein_g": protein_g, "carbohydrate_g": carbohydrate_g, "ash_g": ash_g,
        "saturated_fat_g": sheet.saturated_fat_g, "cocoa_butter_g": sheet.cocoa_butter_g or 0.0,
        "milk_fat_g": sheet.milk_fat_g or 0.0, "sugars_g": sheet.sugars_g or 0.0, "lactose_g": sheet.lactose_g or 0.0,
        "polyols_g": sheet.polyols_g or 0.0, "fibre_g": sheet.fibre_g, "alcohol_g": sheet.alcohol_g or 0.0,
        "sodium_mg": None if sheet.salt_g is None else 1000.0 * sheet.salt_g / SALT_PER_SODIUM,
        **_parted(max(0.0, fat_g - named_fat_g), _FATS, old),
        **_parted(max(0.0, (sheet.sugars_g or 0.0) - named_sugar_g), _SUGARS, old),
    }  # fmt: skip
    kept = ("fat_free_cocoa_solids_g", "milk_solids_nonfat_g", "higher_saccharides_g", "trans_fat_g")
    values |= {name: getattr(old, name) if old is not None else 0.0 for name in kept}
    values |= {
        name: getattr(old, name) if old is not None and name not in old.unknown else None for name in MICRONUTRIENTS
    }
    values["added_sugars_g"] = old.added_sugars_g if old is not None else None
    return composition_of(values, field="")


def _parted(total_g: float, names: tuple[str, ...], old: Composition | None) -> dict[str, float]:
    """So much of something, in the kinds known before; without any, all of it is the first kind [assumed]."""
    before = [getattr(old, name) if old is not None else 0.0 for name in names]
    if sum(before) <= 0.0:
        before = [1.0, *([0.0] * (len(names) - 1))]
    return {name: total_g * part / sum(before) for name, part in zip(names, before, strict=True)}
