"""An ingredient: composition, allergens, what a label calls it, and where its numbers come from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from typing import Final

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.composition import PARTS, Composition, composition_of
from bloomless.quantities import Money
from bloomless.sources import Grade, read_csv

__all__ = ["GRADE_OF_MARK", "AllergenNote", "Constituent", "Ingredient", "Library", "Price", "ingredient_library"]


GRADE_OF_MARK: Final = {
    "seen": Grade.PUBLISHED,
    "derived": Grade.DERIVED,
    "common practice": Grade.TRADE_PRACTICE,
    "memory": Grade.FROM_MEMORY,
    "prior": Grade.ASSUMED,
    "measured": Grade.MEASURED,
}
"""The marks of the data files, and the grade of evidence each stands for."""


@dataclass(frozen=True, slots=True, order=True)
class AllergenNote:
    """One allergenic substance of an ingredient, named as it is: ``hazelnut``, not ``nuts``; ``wheat``, not ``gluten``.

    Which group of which law it belongs to is the business of the rules.
    """

    substance: str
    present: bool = True
    """False if it depends on the supplier: to be asked, and treated as present until then."""


@dataclass(frozen=True, slots=True)
class Constituent:
    """What a compound ingredient is made of, one line of its own list of ingredients."""

    name: str
    """As the supplier's list calls it, or the key of an ingredient of the book."""
    share: float | None = None
    """Mass share 0…1, or None if the supplier does not tell."""
    key: str = ""
    """Key of the ingredient it is, if that is known."""


@dataclass(frozen=True, slots=True)
class Price:
    """What a pack cost on a day; the history of them is kept, and a past batch keeps its own cost."""

    on: str
    """Date, ISO 8601."""
    pack_g: float
    cost: Money
    supplier: str = ""
    lot: str = ""
    usable_share: float = 1.0
    """Share of the pack that can be used."""
    left_g: float | None = None
    """What is left of the pack, if the stock is kept."""

    def __post_init__(self) -> None:
        if not 0.0 < self.pack_g < 1e9:
            raise ImpossibleInput("pack_g", self.pack_g, "a mass above 0 g")
        if self.cost.amount < 0:
            raise ImpossibleInput("cost", str(self.cost), "a cost of 0 or more")
        if not 0.0 < self.usable_share <= 1.0:
            raise ImpossibleInput("usable_share", self.usable_share, "a share above 0 and at most 1")

    @property
    def per_gram(self) -> Money:
        """Cost of one usable gram."""
        return self.cost / Decimal(str(self.pack_g * self.usable_share))


@dataclass(frozen=True, slots=True)
class Ingredient:
    """Something bought, with everything the calculations and the label need to know of it."""

    key: str
    name: str
    group: str
    """Kind of goods: ``dairy``, ``sugar``, ``chocolate_dark``, ``nut`` …"""
    composition: Composition
    allergens: tuple[AllergenNote, ...] = ()
    no_allergens: bool = False
    """True if the supplier's sheet says that it brings none; without it an empty list is an open question."""
    may_contain: tuple[str, ...] = ()
    """Substances the supplier warns of as traces."""
    density_kg_m3: float | None = None
    """Of the solid or the liquid itself at about 20 °C, not of the heap."""
    label_name: str = ""
    """The name a list of ingredients gives it, in English; the rules translate and adapt it."""
    function: str = ""
    """What it does if it is an additive: ``emulsifier``, ``humectant`` …"""
    additive: str = ""
    """Number of the additive, such as ``E322``."""
    made_of: tuple[Constituent, ...] = ()
    """Its own list of ingredients, in falling order of mass, if it is a compound ingredient."""
    solute: str = ""
    """The one dissolved kind that all its carbohydrate counts as, such as ``syrup_de42`` or ``sorbitol``."""
    crisp: bool = False
    """True if it is eaten for its crunch, which water takes away."""
    keeping_risk: str = ""
    """What makes its keeping a matter for a laboratory: ``egg``, ``meat``, ``fresh fruit``, ``fresh herb`` …"""
    source: str = "user"
    item: str = ""
    """Table number, derivation, or name of the supplier's sheet."""
    grade: Grade = Grade.ASSUMED
    note: str = ""
    table_energy_kcal: float | None = None
    """Energy the source prints, per 100 g, to check against."""
    ranges: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    """Lower and upper end of parts that were inferred rather than read, g per 100 g."""
    prices: tuple[Price, ...] = ()
    """Oldest first."""
    sheet: str = ""
    """Name of the supplier's data sheet the numbers were read from."""

    def volume_ml(self, mass_g: float) -> float:
        """Volume [ml] of a mass [g]; refused by name if nobody gave a density."""
        return mass_g / self._density() * 1000.0

    def mass_g(self, volume_ml: float) -> float:
        """Mass [g] of a volume [ml]; refused by name if nobody gave a density."""
        return volume_ml * self._density() / 1000.0

    def _density(self) -> float:
        if self.density_kg_m3 is None:
            raise ImpossibleInput(
                f"{self.key}.density_kg_m3", None, "a density, to turn millilitres into grams", code="no_density"
            )
        return self.density_kg_m3


class Library(dict[str, Ingredient]):
    """Ingredients by key; an unknown key is answered with the nearest known ones."""

    def __missing__(self, key: str) -> Ingredient:
        raise UnknownName("ingredient", key, self)


@cache
def ingredient_library() -> Library:
    """The ingredients that ship with the program, each number with its source; treat as read-only."""
    return Library({row["key"]: _from_row(row) for row in read_csv("bloomless.materials", "ingredients.csv")})


def _from_row(row: Mapping[str, str]) -> Ingredient:
    values = {name: float(row[name]) if row[name] else None for name in PARTS if name in row}
    rest_g = sum(values[name] or 0.0 for name in ("fat_g",)) - (values["milk_fat_g"] or 0.0)
    rest_g = max(0.0, rest_g - (values["cocoa_butter_g"] or 0.0))
    values["liquid_oil_g" if row["other_fat"] == "liquid" else "other_fat_g"] = rest_g
    return Ingredient(
        key=row["key"],
        name=row["name"],
        group=row["group"],
        composition=composition_of(values, field=row["key"]),
        allergens=tuple(AllergenNote(a.rstrip("?"), not a.endswith("?")) for a in row["allergens"].split("|") if a),
        density_kg_m3=float(row["density_kg_m3"]) if row["density_kg_m3"] else None,
        label_name=row["label_name"],
        function=row["function"],
        additive=row["additive"],
        made_of=_constituents(row["made_of"]),
        solute=row["solute"],
        crisp=row["texture"] == "crisp",
        keeping_risk=row["keeping_risk"],
        source=row["source"],
        item=row["item"],
        grade=GRADE_OF_MARK[row["mark"]],
        note=row["note"],
        table_energy_kcal=float(row["table_energy_kcal"] or 0) or None,
    )


def _constituents(text: str) -> tuple[Constituent, ...]:
    pairs = [part.split(":") for part in text.split("|") if part]
    total = sum(float(amount) for _, amount in pairs)
    made = [Constituent(key, float(amount) / total, key) for key, amount in pairs]
    return tuple(sorted(made, key=lambda c: -(c.share or 0.0)))
