"""Composition of a food: what is in 100 g, and how to mix."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Final

from bloomless.errors import ImpossibleInput

__all__ = ["MICRONUTRIENTS", "PARTS", "Composition", "composition_of", "mix"]


@dataclass(frozen=True, slots=True)
class Composition:
    """What 100 g of the edible part hold; g per 100 g unless the name says otherwise.

    Carbohydrate is total, by difference, with fibre and polyols. A number nobody has booked is 0 here and its name
    stands in ``unknown``: zero and unknown are not the same.
    """

    water_g: float = 0.0
    protein_g: float = 0.0
    fat_g: float = 0.0
    saturated_fat_g: float = 0.0
    trans_fat_g: float = 0.0
    cocoa_butter_g: float = 0.0
    """All cocoa fat, that of mass and powder included."""
    milk_fat_g: float = 0.0
    liquid_oil_g: float = 0.0
    """Fat that is liquid at 20 °C: nuts, seeds, most kernel oils, lecithin."""
    other_fat_g: float = 0.0
    """Any other fat that is at least half solid at 20 °C, such as that of coconut, palm or baked goods."""
    fat_free_cocoa_solids_g: float = 0.0
    milk_solids_nonfat_g: float = 0.0
    carbohydrate_g: float = 0.0
    sugars_g: float = 0.0
    """Mono- and disaccharides."""
    added_sugars_g: float = 0.0
    sucrose_g: float = 0.0
    lactose_g: float = 0.0
    glucose_g: float = 0.0
    fructose_g: float = 0.0
    maltose_g: float = 0.0
    higher_saccharides_g: float = 0.0
    """Soluble glucose chains longer than maltose: no sugar by law, but dissolved."""
    polyols_g: float = 0.0
    fibre_g: float = 0.0
    alcohol_g: float = 0.0
    ash_g: float = 0.0
    sodium_mg: float = 0.0
    potassium_mg: float = 0.0
    calcium_mg: float = 0.0
    iron_mg: float = 0.0
    cholesterol_mg: float = 0.0
    vitamin_d_ug: float = 0.0
    unknown: frozenset[str] = frozenset()
    """Names of the fields above that nobody has booked."""

    @property
    def salt_g(self) -> float:
        """Salt as labels count it, g per 100 g: sodium × 2.5 (Regulation (EU) No 1169/2011, Annex I, 11)."""
        return self.sodium_mg * 2.5e-3

    @property
    def dry_matter_g(self) -> float:
        """All but water and alcohol, g per 100 g."""
        return 100.0 - self.water_g - self.alcohol_g

    @property
    def added_up_g(self) -> float:
        """Water, protein, fat, carbohydrate, ash and alcohol added up; a complete analysis comes near 100 g."""
        return self.water_g + self.protein_g + self.fat_g + self.carbohydrate_g + self.ash_g + self.alcohol_g

    @property
    def energy_kcal(self) -> float:
        """Energy in kcal per 100 g with the factors of Regulation (EU) No 1169/2011, Annex XIV.

        Carbohydrate 4, fibre 2, polyols 2.4, protein 4, fat 9, alcohol 7; organic acids (3) are not told apart from
        carbohydrate.
        """
        digestible_g = max(0.0, self.carbohydrate_g - self.fibre_g - self.polyols_g)
        return (
            4.0 * digestible_g
            + 2.0 * self.fibre_g
            + 2.4 * self.polyols_g
            + 4.0 * self.protein_g
            + 9.0 * self.fat_g
            + 7.0 * self.alcohol_g
        )

    def values(self) -> dict[str, float]:
        """Every part by name."""
        return {name: getattr(self, name) for name in PARTS}


PARTS: Final[tuple[str, ...]] = tuple(f.name for f in fields(Composition) if f.name != "unknown")
"""Names of the numbers of a composition."""

MICRONUTRIENTS: Final[tuple[str, ...]] = (
    "potassium_mg",
    "calcium_mg",
    "iron_mg",
    "cholesterol_mg",
    "vitamin_d_ug",
)
"""Parts without which a composition is still complete enough to calculate with."""


def composition_of(values: Mapping[str, float | None], *, field: str = "composition") -> Composition:
    """Make a composition from named numbers, unknown ones given as ``None``; impossible ones are refused by name.

    Parameters
    ----------
    values
        Part name → amount in 100 g. A part that is not named is zero; ``None`` says nobody has booked it.
    field
        Where the numbers stand, for the errors.

    Raises
    ------
    ImpossibleInput
        If a name is no part, a number is negative or above 100 g, or a part is larger than what it is a part of.
    """
    for name, value in values.items():
        if name not in PARTS:
            raise ImpossibleInput(f"{field}.{name}", value, "one of the parts of a composition", code="unknown_part")
        most = 100.0 if name.endswith("_g") else 100_000.0
        if value is not None and not 0.0 <= value <= most + 1e-9:
            raise ImpossibleInput(f"{field}.{name}", value, f"a number from 0 to {most:g} in 100 g")
    unknown = frozenset(name for name, value in values.items() if value is None)
    made = Composition(**{n: v for n, v in values.items() if v is not None}, unknown=unknown)
    for part_names, whole in _INSIDE:
        part = sum(getattr(made, name) for name in part_names)
        if part > getattr(made, whole) + 1.0:
            accepted = f"at most {whole} ({getattr(made, whole):g} g), of which it is a part"
            raise ImpossibleInput(
                f"{field}.{'+'.join(part_names)}", round(part, 4), accepted, code="part_exceeds_whole"
            )
    return made


_INSIDE: Final = (
    (("saturated_fat_g", "trans_fat_g"), "fat_g"),
    (("cocoa_butter_g", "milk_fat_g", "liquid_oil_g", "other_fat_g"), "fat_g"),
    (("sugars_g", "fibre_g", "polyols_g"), "carbohydrate_g"),
)
"""Parts that cannot add up to more than their whole; tables round, so a gram is let pass."""


def mix(parts: Iterable[tuple[float, Composition]], *, water_lost_g: float = 0.0) -> Composition:
    """Composition of a mixture, per 100 g of what is left of it.

    Parameters
    ----------
    parts
        Mass in g and composition of everything that went in.
    water_lost_g
        Water that left, in g.

    Raises
    ------
    ImpossibleInput
        If nothing is left, or more water left than went in.
    """
    parts = tuple(parts)
    total_g = sum(mass_g for mass_g, _ in parts) - water_lost_g
    if not total_g > 0.0:
        raise ImpossibleInput("mass_g", total_g, "a mixture of more than 0 g", code="nothing_in_it")
    sums = {name: sum(m * getattr(c, name) for m, c in parts) / total_g for name in PARTS}
    sums["water_g"] -= 100.0 * water_lost_g / total_g
    if sums["water_g"] < -1e-9:
        water_in_g = water_lost_g + sums["water_g"] * total_g / 100.0
        raise ImpossibleInput("water_lost_g", water_lost_g, f"at most the {water_in_g:.4g} g of water that went in")
    sums["water_g"] = max(0.0, sums["water_g"])
    unknown = frozenset().union(*(c.unknown for m, c in parts if m > 0.0))
    return Composition(**sums, unknown=unknown)
