"""Facts of a chocolate for 21 CFR 163: the liquor formula, and milk by the dairy each section lists."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from bloomless.rules.common.composition import INCLUSION_KINDS, Leaf, Sums
from bloomless.rules.decimals import HUNDRED, ZERO
from bloomless.rules.law import Law

__all__ = ["liquor_pct", "us_facts"]

_LIQUOR_KINDS: Final = frozenset({"cocoa_mass", "cocoa_nibs"})
_FOREIGN: Final = frozenset({
    "egg", "meat", "gelatine", "alcohol", "animal_fat", "starch_flour", "hydrocolloid", "water", "acid", "fibre",
    "dust", "preservative", "other", "compound", "bakery",
})  # fmt: skip
_DAIRY: Final = frozenset({"milk_fat", "whole_milk", "skim_milk", "buttermilk", "malted_milk"})


def _is_liquor(leaf: Leaf) -> bool:
    return leaf.substance.kind in _LIQUOR_KINDS or leaf.as_liquor


def liquor_pct(liquor_g: Decimal, fat_g: Decimal, additions_g: Decimal, finished_g: Decimal, law: Law) -> Decimal:
    """Chocolate liquor [%] by the formula of 21 CFR 163.123(a)(2).

    Parameters
    ----------
    liquor_g
        Chocolate liquor used [g], moisture included.
    fat_g
        Cacao fat in that liquor [g].
    additions_g
        Alkali, neutralizer and seasoning in that liquor [g].
    finished_g
        The finished chocolate [g].
    law
        The law in force.

    Returns
    -------
    Decimal
        2.2 × (liquor − fat − additions) / finished × 100.
    """
    return law.figure("us.liquor_factor") * (liquor_g - fat_g - additions_g) / finished_g * HUNDRED


def us_facts(sums: Sums, law: Law) -> dict[str, Any]:
    """Facts of the chocolate part, whole inclusions taken off; percentages of its finished mass."""
    chocolate = Sums(
        tuple(leaf for leaf in sums.leaves if leaf.substance.kind not in INCLUSION_KINDS), sums.total_g, sums.fault
    )
    base = sum((leaf.mass_g for leaf in chocolate.leaves), ZERO)
    if base <= 0 or sums.fault:
        return {}
    liquor = [leaf for leaf in chocolate.leaves if _is_liquor(leaf)]
    liquor_g = sum((leaf.mass_g for leaf in liquor), ZERO)
    fat_g = sum((leaf.mass_g * leaf.substance.share("cacao_fat") for leaf in liquor), ZERO)
    alkali_g = sum((leaf.mass_g * leaf.substance.share("other") for leaf in liquor), ZERO)
    loose_powder = sum(
        (x.mass_g for x in chocolate.leaves if x.substance.kind == "cocoa_powder" and not x.as_liquor), ZERO
    )
    foreign = [leaf for leaf in chocolate.leaves if leaf.substance.kind in _FOREIGN and leaf.mass_g > 0]

    def pct(mass_g: Decimal) -> Decimal:
        return mass_g / base * HUNDRED

    facts: dict[str, Any] = {
        "liquor_g": liquor_g,
        "liquor_pct": liquor_pct(liquor_g, fat_g, alkali_g, base, law),
        "liquor_fat_pct": fat_g / liquor_g * HUNDRED if liquor_g else ZERO,
        "cacao_fat_pct": pct(chocolate.component("cacao_fat")),
        "cacao_pct": pct(chocolate.component("cacao_fat", "cocoa_nf_dry", "cocoa_water")),
        "cocoa_nf_dry_pct": _dry_pct(chocolate, base),
        "sweetener_pct": pct(chocolate.component("sweetener_nutritive")),
        "nonnutritive_pct": pct(chocolate.component("sweetener_other")),
        "emulsifier_pct": pct(chocolate.component("emulsifier")),
        "colour_pct": pct(chocolate.component("colour")),
        "veg_fat_pct": pct(chocolate.component("veg_fat")),
        "whey_pct": pct(chocolate.kind("whey", "lactose")),
        "cocoa_powder_pct": pct(loose_powder),
        "foreign_pct": pct(sum((leaf.mass_g for leaf in foreign), ZERO)),
        "foreign_names": ", ".join(sorted({leaf.substance.names.get("en", leaf.substance.key) for leaf in foreign})),
        "milk_fat_all_pct": pct(chocolate.component("milk_fat")),
        "milk_solids_all_pct": pct(chocolate.component("milk_fat", "milk_snf")),
    }
    return facts | _dairy_facts(chocolate, base, law)


def _dry_pct(chocolate: Sums, base: Decimal) -> Decimal:
    water = chocolate.component("cocoa_water", "milk_water", "water_other")
    return chocolate.component("cocoa_nf_dry") / (base - water) * HUNDRED if base > water else ZERO


def _dairy_facts(chocolate: Sums, base: Decimal, law: Law) -> dict[str, Any]:
    """Milk as each standard counts it; lactose and whey beyond the natural amount count nowhere."""
    listed = law.table("us.dairy").by("kind")
    facts: dict[str, Any] = {}
    for standard in ("sweet", "white", "milk", "buttermilk", "skim"):
        kinds = frozenset(kind for kind, row in listed.items() if row[standard])
        fat, snf = chocolate.component_of(kinds, "milk_fat"), chocolate.component_of(kinds, "milk_snf")
        facts[f"milk_fat_{standard}_pct"] = fat / base * HUNDRED
        facts[f"milk_snf_{standard}_pct"] = snf / base * HUNDRED
        facts[f"milk_solids_{standard}_pct"] = (fat + snf) / base * HUNDRED
    barred = frozenset(kind for kind, row in listed.items() if not row["milk"])
    facts["unlisted_dairy_milk_pct"] = chocolate.component_of(barred, "milk_fat", "milk_snf") / base * HUNDRED
    shares = [chocolate.component_of(frozenset({kind}), "milk_fat", "milk_snf") / base * HUNDRED for kind in _DAIRY]
    present = [share for share in shares if share > 0]
    facts["dairy_kinds"] = Decimal(len(present))
    facts["smallest_dairy"] = min(present, default=ZERO)
    facts["largest_dairy"] = max(present, default=ZERO)
    return facts
