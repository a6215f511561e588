"""Allergens of a food: every source in it, rework included, how each market lists it, and cross-contact by dose."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules.food import Food, Substance
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding

__all__ = [
    "AllergenSources",
    "action_level_mg_kg",
    "allergens_in",
    "declared",
    "judge_allergens",
    "judge_cross_contact",
    "listed",
]


@dataclass(frozen=True, slots=True)
class AllergenSources:
    """Every allergenic source of a food, and where it comes from."""

    present: dict[str, tuple[str, ...]]
    """Source → keys of the ingredients (or ``rework``) that bring it."""
    unsure: dict[str, tuple[str, ...]]
    unstated: tuple[str, ...]
    """Ingredients whose allergens nobody has stated."""


def _walk(substance: Substance) -> list[Substance]:
    parts = (*(part for part, _ in substance.parts), *substance.in_order)
    return [substance, *(s for part in parts for s in _walk(part))]


def allergens_in(food: Food, *, confirmed_absent: frozenset[tuple[str, str]] = frozenset()) -> AllergenSources:
    """Sources in a food: ingredients, their parts, and what rework carries in.

    Parameters
    ----------
    food
        The food.
    confirmed_absent
        Pairs (ingredient, source) that were unsure and that a person has confirmed as absent in these lots.
    """
    present: dict[str, list[str]] = {}
    unsure: dict[str, list[str]] = {}
    unstated: list[str] = []
    for _, use in food.uses():
        if use.mass_g <= 0:
            continue
        for substance in _walk(use.substance):
            if not substance.allergens_known:
                unstated.append(substance.key)
            for source in substance.allergens:
                present.setdefault(source, []).append(substance.key)
            for source in substance.allergens_unsure:
                if (substance.key, source) not in confirmed_absent:
                    unsure.setdefault(source, []).append(substance.key)
    for source in food.rework_allergens:
        present.setdefault(source, []).append("rework")
    return AllergenSources(
        {source: tuple(dict.fromkeys(keys)) for source, keys in sorted(present.items())},
        {s: tuple(dict.fromkeys(keys)) for s, keys in sorted(unsure.items()) if s not in present},
        tuple(dict.fromkeys(unstated)),
    )


def listed(source: str, jurisdiction: str, law: Law) -> bool:
    """Whether a jurisdiction lists a source as an allergen."""
    return source in law.table(f"{'eu' if jurisdiction == 'uk' else jurisdiction}.allergens").by("source")


def declared(sources: AllergenSources, jurisdiction: str, law: Law) -> tuple[str, ...]:
    """Words for the sources a jurisdiction lists, nuts and cereals by kind; what it does not list is left out."""
    rows = law.table(f"{'eu' if jurisdiction == 'uk' else jurisdiction}.allergens").by("source")
    return tuple(dict.fromkeys(rows[source]["declared"] for source in sources.present if source in rows))


def _known_words(law: Law) -> frozenset[str]:
    tables = ("us.allergens", "eu.allergens", "ca.allergens", "us.not_allergens", "allergens.unlisted")
    return frozenset(str(row["source"]) for table in tables for row in law.rows(table))


def _unsure_words(sources: AllergenSources) -> str:
    return "; ".join(f"{source} in {', '.join(keys)}" for source, keys in sources.unsure.items())


def judge_allergens(
    sources: AllergenSources, law: Law, *, confirmed: bool, confirmed_set: frozenset[str] | None = None
) -> tuple[Finding, ...]:
    """What every market asks before a label is printed.

    Parameters
    ----------
    sources
        Sources in the food as it is made now.
    law
        The law in force.
    confirmed
        Whether a person has confirmed this label's allergens.
    confirmed_set
        What was confirmed; a source outside it came in by a change of supplier, lot or rework.
    """
    new = set() if confirmed_set is None else set(sources.present) - confirmed_set
    words = {**sources.unsure, **sources.present}
    facts: dict[str, Any] = {
        "unstated": ", ".join(sources.unstated),
        "unknown_words": "; ".join(f"{w} in {', '.join(words[w])}" for w in sorted(set(words) - _known_words(law))),
        "unsure": _unsure_words(sources),
        "new_allergens": ", ".join(sorted(new)),
        "confirmed": confirmed,
    }
    return law.judge("common", "allergens", facts)


def action_level_mg_kg(source: str, eaten_g: Decimal, law: Law, *, doses: str = "allergens.reference_dose") -> Decimal:
    """Action level [mg protein per kg food]: reference dose over the amount eaten at once.

    Raises
    ------
    UnknownName
        If no dose was set for the source: any known cross-contact then counts.
    """
    if eaten_g <= 0:
        raise ImpossibleInput("eaten_g", eaten_g, "a portion above 0 g")
    rows = law.table(doses).by("source")
    if source not in rows:
        raise UnknownName("allergen", source, rows)
    dose: Decimal = rows[source]["mg_protein"]
    return dose / eaten_g * 1000


def _supplier_traces(food: Food, assessed: set[str]) -> str:
    """Traces a supplier warns of that neither the recipe nor the assessment names."""
    inside = {source for _, use in food.uses() for s in _walk(use.substance) for source in s.allergens}
    open_ones: dict[str, list[str]] = {}
    for _, use in food.uses():
        for substance in _walk(use.substance):
            for source in substance.traces - assessed - inside:
                open_ones.setdefault(source, []).append(substance.key)
    return "; ".join(f"{source} in {', '.join(dict.fromkeys(keys))}" for source, keys in sorted(open_ones.items()))


def judge_cross_contact(
    food: Food, law: Law, *, precaution_printed: bool, doses: str = "allergens.reference_dose"
) -> tuple[Finding, ...]:
    """Findings about cross-contact and the precautionary statement."""
    known = law.table(doses).by("source")
    eaten = food.pack.typical_portion_g
    above, undosed, unassessed = [], [], []
    named = {source for source, _ in food.cross_contact}
    for source, mg_kg in food.cross_contact:
        if not food.cross_contact_assessed:
            unassessed.append(source)
        elif source not in known:
            undosed.append(source)
        elif mg_kg is None or eaten is None:
            above.append(f"{source} (amount or portion not stated)")
        elif mg_kg > action_level_mg_kg(source, eaten, law, doses=doses):
            level = action_level_mg_kg(source, eaten, law, doses=doses)
            above.append(f"{source} {mg_kg:f} mg protein/kg, action level {level:.0f} for {eaten:f} g eaten")
    facts = {
        "above_action": "; ".join(above),
        "no_dose": ", ".join(undosed),
        "unassessed": ", ".join(unassessed),
        "supplier_traces": _supplier_traces(food, named),
        "unknown_contacts": ", ".join(sorted(named - _known_words(law))),
        "precaution_printed": precaution_printed,
    }
    return law.judge("common", "precaution", facts)
