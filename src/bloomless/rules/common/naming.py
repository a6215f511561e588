"""The name of a food: its reserved name judged or found, and the facts the list of ingredients is asked about."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from bloomless.rules.common.composition import Leaf, leaves, sums_of
from bloomless.rules.common.identity import Verdict, facts_for, judge_name, names_of, verdicts
from bloomless.rules.common.ingredient_list import IngredientList
from bloomless.rules.common.statements import Statements
from bloomless.rules.decimals import HUNDRED, ZERO
from bloomless.rules.food import Food, Section
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding, Severity, Status

__all__ = ["Named", "list_facts", "named"]

_SOLIDS_DUE: Final = frozenset({
    "chocolate", "vermicelli", "couverture", "gianduja", "milk", "milk_vermicelli", "milk_couverture", "milk_gianduja",
    "cream", "skimmed_milk", "family_milk", "milk_20", "a_la_taza", "familiar_a_la_taza",
})  # fmt: skip
"""Items of Art. 3(3): 3, 4, 5, 8, 9; not white, filled or pralines."""


@dataclass(frozen=True, slots=True)
class Named:
    """The reserved name of the chocolate, what holds against it, and its facts."""

    verdict: Verdict | None
    piece: Verdict | None
    facts: dict[str, Any]
    findings: tuple[Finding, ...]

    @property
    def cocoa_solids_due(self) -> bool:
        """Whether "cocoa solids: x % minimum" is due."""
        filled = self.piece is not None and self.piece.passes
        return self.verdict is not None and self.verdict.key.split(".")[1] in _SOLIDS_DUE and not filled


def _finding(jurisdiction: str, rule: str, message: str, cure: str, severity: Severity = Severity.BLOCK) -> Finding:
    citation = {"us": "21 CFR part 163", "eu": "Directive 2000/36/EC", "uk": "SI 2003/1659"}.get(jurisdiction, "")
    return Finding(f"{jurisdiction}.{rule}", jurisdiction, severity, message, citation, Status.SEEN, cure, "identity")


def named(food: Food, jurisdiction: str, law: Law) -> Named:
    """Judge the reserved name a person chose, or find the one that holds.

    A chocolate whose composition nobody stated is blocked with the reason, unless its supplier vouches for the name:
    then that is said.
    """
    chocolate = food.of("chocolate")
    if not chocolate:
        return Named(None, None, {}, ())
    if food.assortment:
        return _assortment(food, chocolate, jurisdiction, law)
    section = chocolate[0]
    wanted = food.reserved.get(jurisdiction, "")
    vouched = _vouched(section, wanted)
    fault = sums_of(section).fault
    if fault and not vouched:
        message = f"The composition of the chocolate is not known: {fault}."
        return Named(
            None, None, {}, (_finding(jurisdiction, "identity.unknown", message, "Enter the supplier's sheet."),)
        )
    facts = facts_for(jurisdiction, section, law, food)
    if wanted and wanted in names_of(jurisdiction, law):
        chosen = judge_name(wanted, facts, law)
        verdict: Verdict | None = chosen
        found = list(chosen.findings)
        if vouched:
            note = f"That this is {chosen.name} rests on the supplier's word."
            found = [_finding(jurisdiction, "identity.vouched", note, "", Severity.INFO)]
    else:
        verdict, found = _best(food, section, jurisdiction, law)
    piece, more = _piece(food, facts, jurisdiction, law)
    return Named(verdict, piece, facts, tuple(found + more))


def _assortment(food: Food, chocolate: tuple[Section, ...], jurisdiction: str, law: Law) -> Named:
    """A mixed box: no one reserved name, but every chocolate in it has to be able to carry one."""
    found: list[Finding] = []
    for section in chocolate:
        fault = sums_of(section).fault
        if fault:
            message = f"The composition of {section.name} is not known: {fault}."
            found.append(_finding(jurisdiction, "identity.unknown", message, "Enter the supplier's sheet."))
            continue
        _, findings = _best(food, section, jurisdiction, law)
        found += [replace(f, message=f"{section.name}: {f.message}") for f in findings if f.severity is Severity.BLOCK]
    words = "Sold as assorted chocolates with one list of ingredients; cocoa solids need not be given for the box."
    if jurisdiction in {"eu", "uk"}:
        found.append(_finding(jurisdiction, "identity.assortment", words, "", Severity.INFO))
    return Named(None, None, {}, tuple(found))


def _vouched(section: Section, wanted: str) -> bool:
    bought = [leaf for leaf in leaves(section.uses) if leaf.substance.kind == "chocolate"]
    return bool(wanted and bought) and all(wanted in leaf.substance.supplier_names for leaf in bought)


def _best(food: Food, section: Section, jurisdiction: str, law: Law) -> tuple[Verdict | None, list[Finding]]:
    # the fullest name that holds: a bittersweet is also a sweet chocolate, a couverture also a chocolate
    judged = [v for v in verdicts(jurisdiction, section, law, food) if v.family != "piece"]
    passing = [v for v in judged if v.passes]
    if passing:
        order = {"milk": 0, "white": 0, "dark": 1, "gianduja": 2, "coating": 3}
        best = min(passing, key=lambda v: (order.get(v.family, 9), -_strictness(v)))
        note = f"Named by its composition: {best.name}."
        return best, [_finding(jurisdiction, "identity.found", note, "Choose another that holds.", Severity.INFO)]
    nearest = judged[0]
    lacks = " ".join(finding.message for finding in nearest.findings)
    message = f"No reserved name holds; the nearest is {nearest.name}: {lacks}"
    return None, [_finding(jurisdiction, "identity.none", message, "Change the recipe or give it a name of its own.")]


_PLAIN: Final = frozenset({"us.bittersweet", "us.milk", "us.white"} | {
    f"{jurisdiction}.{name}" for jurisdiction in ("eu", "uk") for name in ("chocolate", "milk", "white")
})  # fmt: skip
"""The names customers know; a couverture is offered as a chocolate unless a person asks for the other name."""


def _strictness(verdict: Verdict) -> Decimal:
    # the plain names customers know come first; among the others the one with the higher demands
    demands = sum((need.rule.predicate.limit or ZERO for need in verdict.needs if "min" in need.rule.id), ZERO)
    return demands + (HUNDRED * 10 if verdict.key in _PLAIN else ZERO)


def _piece(food: Food, facts: dict[str, Any], jurisdiction: str, law: Law) -> tuple[Verdict | None, list[Finding]]:
    if jurisdiction not in {"eu", "uk"} or not food.of("filling"):
        return None, []
    key = f"{jurisdiction}.{'praline' if food.single_mouthful else 'filled'}"
    verdict = judge_name(key, facts, law)
    return verdict, list(verdict.findings)


def _over_limit(found: list[Leaf], total: Decimal, law: Law) -> str:
    over = []
    for row in law.rows("eu.additive_limits"):
        mass_g = sum((x.mass_g for x in found if x.substance.e_number == row["e_number"]), ZERO)
        if total and mass_g / total * 1000 > row["g_per_kg"]:
            over.append(f"{row['e_number']} {mass_g / total * 1000:.1f} g/kg, limit {row['g_per_kg']}")
    return "; ".join(over)


def list_facts(food: Food, named: Named, found: IngredientList, said: Statements, law: Law) -> dict[str, Any]:
    """Facts about the list of ingredients and the statements beside it."""
    everything = [leaf for section in food.sections for leaf in leaves(section.uses)]
    unnamed = {
        x.substance.key
        for x in everything
        if x.substance.kind in {"emulsifier", "preservative"} and not (x.substance.function and x.substance.e_number)
    }
    alkalised = [x.substance for x in everything if x.substance.alkalised]
    return {
        "untranslated": ", ".join(found.untranslated),
        "over_limit": _over_limit(everything, sum((x.mass_g for x in everything), ZERO), law),
        "unnamed_additives": ", ".join(sorted(unnamed)),
        "veg_fat_pct": named.facts.get("veg_fat_pct", ZERO),
        "veg_fat_said": bool(said.vegetable_fats),
        "cocoa_solids_due": named.cocoa_solids_due,
        "cocoa_solids_said": said.cocoa_solids_pct is not None,
        "cocoa_solids_printed": said.cocoa_solids_pct,
        "tdcs_pct": named.facts.get("tdcs_pct"),
        "sweetener": any(
            x.substance.kind in {"sweetener_other", "polyol"} and x.substance.function == "sweetener"
            for x in everything
        ),
        "sweetener_said": bool(said.sweetener),
        "alkalised": bool(alkalised),
        "alkali_said": all("alkali" in s.names.get("en-US", "") for s in alkalised),
    }
