"""Facts of a chocolate for Directive 2000/36/EC and the UK schedule: dry cocoa solids over the base of Annex I C."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from bloomless.rules.common.composition import Sums
from bloomless.rules.decimals import HUNDRED, ONE, ZERO, floor_to
from bloomless.rules.food import Food

__all__ = ["OTHER_EDIBLE", "cocoa_solids_minimum_pct", "eu_facts", "piece_facts"]

OTHER_EDIBLE: Final = frozenset({
    "nut", "nut_paste", "seed", "seed_paste", "fruit", "cereal", "bakery", "egg", "meat", "gelatine", "hydrocolloid",
    "coffee", "salt", "alcohol", "honey", "starch_flour", "acid", "fibre", "water", "other", "compound", "malted_milk",
})  # fmt: skip
"""Kinds that are "other edible substances" (Annex I B); sugars, cocoa, milk and lecithin stay in the base."""

_FLAVOURINGS: Final = frozenset({"flavour", "spice"})
_SIX_FATS: Final = frozenset({"illipe", "palm", "sal", "shea", "kokum", "mango kernel"})


def eu_facts(sums: Sums) -> dict[str, Any]:
    """Facts of the chocolate part: the numerator dry, the denominator as it is, less other edibles and flavourings.

    Flour and starch stay in the base: chocolate a la taza is measured with them [cautious reading].
    """
    if sums.fault:
        return {}
    edible = sums.kind(*(OTHER_EDIBLE - {"starch_flour"}))
    flavour = sums.kind(*_FLAVOURINGS)
    base = sums.total_g - edible - flavour
    if base <= 0:
        return {}
    cacao_fat, nf = sums.component("cacao_fat"), sums.component("cocoa_nf_dry")
    milk_fat, snf = sums.component("milk_fat"), sums.component("milk_snf")
    water = sums.component("cocoa_water", "milk_water", "water_other")
    dry = max(base - water, Decimal("1e-9"))

    def pct(mass_g: Decimal, of: Decimal = base) -> Decimal:
        return mass_g / of * HUNDRED

    amounts = {
        "tdcs": cacao_fat + nf,
        "cacao_fat": cacao_fat,
        "dnfc": nf,
        "dms": milk_fat + snf,
        "milk_fat": milk_fat,
        "total_fat": cacao_fat + milk_fat,
    }
    facts: dict[str, Any] = {}
    for name, mass_g in amounts.items():
        facts[f"{name}_pct"] = facts[f"{name}_base_pct"] = pct(mass_g)
        facts[f"{name}_dry_pct"] = pct(mass_g, dry)
    return facts | _shares(sums, sums.total_g - edible)


def _shares(sums: Sums, less_edible_g: Decimal) -> dict[str, Any]:
    total = sums.total_g
    hazelnut = sum(
        (x.mass_g * x.substance.share("nut_ground_fine") for x in sums.leaves if x.substance.botanical == "hazelnut"),
        ZERO,
    )
    foreign_fat = sum(
        (x.mass_g * x.substance.share("veg_fat") for x in sums.leaves if x.substance.botanical not in _SIX_FATS), ZERO
    )
    edible = sums.kind(*OTHER_EDIBLE)
    spread = less_edible_g if less_edible_g > 0 else total
    return {
        "other_edible_pct": edible / total * HUNDRED,
        "hazelnut_fine_pct": hazelnut / total * HUNDRED,
        "nuts_pct": sums.component("nut_ground_fine", "nut_other") / total * HUNDRED,
        "starch_flour_pct": sums.component("starch_flour") / total * HUNDRED,
        "animal_fat_pct": sums.component("animal_fat") / total * HUNDRED,
        "veg_fat_pct": sums.component("veg_fat") / spread * HUNDRED,
        "veg_fat_foreign_pct": foreign_fat / spread * HUNDRED,
        "colour_pct": sums.component("colour") / total * HUNDRED,
        "cocoa_powder_pct": sums.kind("cocoa_powder") / total * HUNDRED,
        "cacao_fat_dry_pct": _of_dry(sums),
        "water_pct": sums.component("cocoa_water", "milk_water", "water_other") / total * HUNDRED,
        "flavour_mimics": any(leaf.substance.mimics for leaf in sums.leaves),
    }


def _of_dry(sums: Sums) -> Decimal:
    dry = sums.total_g - sums.component("cocoa_water", "milk_water", "water_other")
    return sums.component("cacao_fat") / dry * HUNDRED if dry > 0 else ZERO


def piece_facts(food: Food) -> dict[str, Any]:
    """Facts of the whole piece: the chocolate share of items 7 and 10 counts over everything, filling included."""
    total = food.finished_g
    chocolate = sum((section.finished_g for section in food.of("chocolate")), ZERO)
    share = chocolate / total * HUNDRED if total > 0 else None
    return {
        "outer_chocolate_pct": share,
        "chocolate_of_piece_pct": share,
        "filling_is_bakery": food.filling_is_bakery,
        "single_mouthful": food.single_mouthful,
    }


def cocoa_solids_minimum_pct(tdcs_pct: Decimal) -> Decimal:
    """The figure for "cocoa solids: x % minimum": never above the truth, so a "70 %" can print 69 (Art. 3(3))."""
    return floor_to(tdcs_pct, ONE)
