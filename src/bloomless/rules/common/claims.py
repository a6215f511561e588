"""Claims on a label or in a name, held against what the food is made of."""

from __future__ import annotations

from typing import Any, Final

from bloomless.rules.common.composition import Leaf, leaves
from bloomless.rules.common.printed_name import claims_in
from bloomless.rules.food import Food, Nutrients
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding

__all__ = ["claim_facts", "judge_claims", "nutrition_claimed"]

_DAIRY: Final = frozenset({"whole_milk", "skim_milk", "milk_fat", "buttermilk", "malted_milk", "whey", "lactose"})
_SLAUGHTERED: Final = frozenset({"meat", "gelatine", "animal_fat"})
_ANIMAL: Final = _DAIRY | _SLAUGHTERED | {"egg", "honey"}
_ANIMAL_NUMBERS: Final = frozenset({"E 120", "E 901", "E 904", "E 966"})
"""Carmine, beeswax, shellac, lactitol [from memory]."""
_INSECTS: Final = frozenset({"E 120"})
_ANIMAL_SOURCES: Final = frozenset({"milk", "egg", "fish", "crustacea", "molluscs"})
_SWEETENING: Final = frozenset({"sugar", "syrup", "honey"})
_OF_NUTRITION: Final = frozenset({"sugar_free", "no_added_sugar", "nutrition", "health"})


def _texts(food: Food, printed: str) -> tuple[str, ...]:
    return (printed, *food.pack.claims)


def nutrition_claimed(food: Food, printed: str) -> bool:
    """Whether a nutrition or health claim is made, which takes every exemption away; a claim nobody knows counts."""
    unknown = any(not claims_in((text,)) for text in food.pack.claims)
    return unknown or bool(claims_in(_texts(food, printed)) & _OF_NUTRITION)


def _named(found: list[Leaf]) -> str:
    return ", ".join(dict.fromkeys(leaf.substance.names.get("en", leaf.substance.key) for leaf in found))


def _from(leaf: Leaf, kinds: frozenset[str], numbers: frozenset[str], sources: frozenset[str]) -> bool:
    substance = leaf.substance
    return (
        substance.kind in kinds
        or substance.e_number in numbers
        or bool(numbers & set(substance.pigments))
        or bool(sources & substance.allergens)
    )


def claim_facts(food: Food, printed: str, per_100g: Nutrients | None) -> dict[str, Any]:
    """Facts about what name and claims promise; ``per_100g`` is None while nobody knows the nutrients."""
    said = claims_in(_texts(food, printed))
    facts: dict[str, Any] = {f"{kind}_claim": kind in said for kind in (
        "free_from", "vegan", "vegetarian", "sugar_free", "no_added_sugar", "organic", "health",
    )}  # fmt: skip
    facts["nutrition_claim"] = "nutrition" in said or any(not claims_in((text,)) for text in food.pack.claims)
    if not said and not facts["nutrition_claim"]:
        return facts  # nothing is promised, so nothing has to be looked up
    inside = [leaf for section in food.sections for leaf in leaves(section.uses) if leaf.mass_g > 0]
    sweet = [x for x in inside if x.substance.kind in _SWEETENING
             or (x.substance.nutrients is not None and x.substance.nutrients.added_sugars > 0)]  # fmt: skip
    traces = {source for source, _ in food.cross_contact} & _ANIMAL_SOURCES
    return facts | {
        "animal": _named([x for x in inside if _from(x, _ANIMAL, _ANIMAL_NUMBERS, _ANIMAL_SOURCES)]),
        "animal_traces": ", ".join(sorted(traces)),
        "slaughtered": _named([x for x in inside if _from(x, _SLAUGHTERED, _INSECTS, frozenset({"fish"}))]),
        "sugars_pct": per_100g.sugars if per_100g is not None else None,
        "sweetened_with": _named(sweet),
        "organic_certificate": bool(food.facts.get("organic_certificate")),
    }


def judge_claims(food: Food, printed: str, per_100g: Nutrients | None, law: Law) -> tuple[Finding, ...]:
    """Findings about name and claims."""
    return law.judge("common", "claims", claim_facts(food, printed, per_100g))
