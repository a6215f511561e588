"""The name of a food: its reserved name judged or found, and the facts the list of ingredients is asked about."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from bloomless.rules.common.composition import Leaf, leaves, sums_of
from bloomless.rules.common.identity import Verdict, facts_for, judge_name, names_of, verdicts
from bloomless.rules.common.ingredient_list import IngredientList
from bloomless.rules.common.printed_name import Said, claims_in, percent_in, quality_word_in, reserved_words
from bloomless.rules.common.statements import Statements
from bloomless.rules.decimals import HUNDRED, ZERO
from bloomless.rules.food import Food, Section, Substance
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding, Severity, Status

__all__ = ["Named", "list_facts", "name_facts", "named"]

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


def _finding(
    jurisdiction: str, rule: str, template: str, cure: str, severity: Severity = Severity.BLOCK, **facts: object
) -> Finding:
    citation = {"us": "21 CFR part 163", "eu": "Directive 2000/36/EC", "uk": "SI 2003/1659"}.get(jurisdiction, "")
    return Finding.told(
        f"{jurisdiction}.{rule}", jurisdiction, severity, template, citation, Status.SEEN, cure=cure, where="identity",
        facts=facts,
    )  # fmt: skip


def named(food: Food, jurisdiction: str, law: Law, printed: str = "") -> Named:
    """Judge the reserved name a person chose, or find the one that holds, and hold the printed name against it.

    A chocolate whose composition nobody stated is blocked with the reason, unless its supplier vouches for the name:
    then that is said. ``printed`` is the name on the label, the food's own unless given.
    """
    chocolate = food.of("chocolate")
    if not chocolate:
        return Named(None, None, {}, ())
    if food.assortment:
        return _assortment(food, chocolate, jurisdiction, law)
    section = chocolate[0]
    wanted = food.reserved.get(jurisdiction, "")
    vouched = _vouched(food, section, wanted)
    sums = sums_of(section)
    if sums.fault and not vouched:
        unknown = _finding(
            jurisdiction, "identity.unknown", "The composition of the chocolate is not known: {fault}.",
            "Enter the supplier's sheet.", fault=sums.fault,
        )  # fmt: skip
        return Named(None, None, {}, (unknown,))
    facts = facts_for(jurisdiction, section, law, food)
    if sums.fault and "cocoa_solids_pct" in food.facts:  # vouched for, and the figure stands on the supplier's sheet
        facts |= {"tdcs_pct": food.facts["cocoa_solids_pct"]}
    modified = jurisdiction == "us" and bool(claims_in((printed or food.name,)) & {"sugar_free", "no_added_sugar"})
    if modified:  # 21 CFR 130.10: the standardized name with a nutrient claim in it allows other sweeteners
        facts |= {"modified_sweetener_pct": facts.get("nonnutritive_pct", ZERO), "nonnutritive_pct": ZERO}
    said = reserved_words(printed or food.name)
    wants = any(word.head for word in said)
    found: list[Finding] = []
    verdict: Verdict | None = None
    if wanted and wanted in names_of(jurisdiction, law):
        verdict = judge_name(wanted, facts, law)
        found = list(verdict.findings)
        if vouched:
            note = "That this is {name} rests on the supplier's word."
            found = [_finding(jurisdiction, "identity.vouched", note, "", Severity.INFO, name=verdict.name)]
    elif said or sums.component("cacao_fat", "cocoa_nf_dry") > 0:
        verdict, found = _best(food, section, jurisdiction, law, said, facts)
    piece, more = _piece(food, facts, jurisdiction, law, wants)
    result = Named(verdict, piece, facts, tuple(found + more))
    if vouched:
        return result
    asked = name_facts(food, printed or food.name, result, jurisdiction, law)
    return replace(result, findings=(*result.findings, *law.judge(jurisdiction, "name", asked)))


def _may(word: Said, food: Food, named: Named, jurisdiction: str, law: Law) -> bool:
    """Whether a food may use a reserved word: for itself by the whole standard, for a part by what that part is."""
    if not word.head and any(word.words.lower() in _names_of(use.substance) for _, use in food.uses()):
        return True
    if word.head and named.piece is not None and not named.piece.passes:
        return False
    bare = "familiar_a_la_taza" in word.names  # "chocolate" and nothing more
    if bare and (named.piece is not None or (jurisdiction == "us" and food.of("filling"))):
        return True  # a filled chocolate may be called so whatever its shell; the US has no standard for it
    # a coat of milk chocolate is milk chocolate however many nuts are under it
    facts = named.facts if word.head else {**named.facts, "other_edible_pct": ZERO}
    known = names_of(jurisdiction, law)
    keys = [key for name in word.names if (key := f"{jurisdiction}.{name}") in known]
    if not keys:
        return True  # no law of this place reserves the word
    if not facts or not any(judge_name(key, facts, law).passes for key in keys):
        return False
    # what holds a milk or white chocolate's milk is called that, though its cocoa would do for a dark one
    milky = [key for name in _MILKY if (key := f"{jurisdiction}.{name}") in known]
    return "chocolate" not in word.names or not any(judge_name(key, facts, law).passes for key in milky)


_MILKY: Final = ("milk", "white", "family_milk", "skimmed_milk")


def _names_of(substance: Substance) -> str:
    return " ".join((*substance.names.values(), substance.key.replace("_", " "))).lower()


def name_facts(food: Food, printed: str, named: Named, jurisdiction: str, law: Law) -> dict[str, Any]:
    """Facts about the printed name: reserved words it may not use, the one it leaves out, its percentage."""
    said = reserved_words(printed)
    wrong = [word.words for word in said if not _may(word, food, named, jurisdiction, law)]
    percent = percent_in(printed)
    family = named.verdict.family if named.verdict is not None else ""
    plain_food = family in {"dark", "milk", "white", "coating"} and named.piece is None and not food.of("filling")
    quality = quality_word_in(printed)
    return named.facts | {
        "wrongly_said": ", ".join(dict.fromkeys(wrong)),
        "holds": _holds(named),
        "unsaid": named.verdict.name if plain_food and named.verdict is not None and not said else "",
        "cocoa_claimed": percent is not None and bool(said),
        "cocoa_claim_pct": percent,
        "modified": "modified_sweetener_pct" in named.facts,
        "quality_said": quality,
        "quality_lacks": _quality_lacks(named, jurisdiction, law) if quality and said else "",
    }


def _holds(named: Named) -> str:
    if named.piece is not None and not named.piece.passes:
        return f"no {named.piece.name}"
    return named.verdict.name if named.verdict is not None else "no reserved name holds"


def _quality_lacks(named: Named, jurisdiction: str, law: Law) -> str:
    """What a word of quality asks for and the chocolate has not (Art. 3(5)); nothing where it asks for nothing."""
    if jurisdiction == "us" or named.verdict is None:
        return ""
    family = "couverture" if named.verdict.key.endswith("couverture") else named.verdict.family
    key = f"{jurisdiction}.quality_{ {'dark': 'chocolate'}.get(family, family) }"
    if key not in names_of(jurisdiction, law):
        return ""
    return " ".join(finding.message for finding in judge_name(key, named.facts, law).findings)


def _assortment(food: Food, chocolate: tuple[Section, ...], jurisdiction: str, law: Law) -> Named:
    """A mixed box: no one reserved name, but every chocolate in it has to be able to carry one."""
    found: list[Finding] = []
    for section in chocolate:
        fault = sums_of(section).fault
        if fault:
            note, cure = "The composition of {section} is not known: {fault}.", "Enter the supplier's sheet."
            found.append(_finding(jurisdiction, "identity.unknown", note, cure, section=section.name, fault=fault))
            continue
        _, findings = _best(food, section, jurisdiction, law)
        found += [
            replace(f, message=f"{section.name}: {f.message}", template="")
            for f in findings
            if f.severity is Severity.BLOCK
        ]
    words = "Sold as assorted chocolates with one list of ingredients; cocoa solids need not be given for the box."
    if jurisdiction in {"eu", "uk"}:
        found.append(_finding(jurisdiction, "identity.assortment", words, "", Severity.INFO))
    return Named(None, None, {}, tuple(found))


def _vouched(food: Food, section: Section, wanted: str) -> bool:
    """Whether the supplier's word stands for a chocolate bought whole, by its own names or by what a person read."""
    bought = [leaf for leaf in leaves(section.uses) if leaf.substance.kind == "chocolate"]
    read = bool(food.facts.get("supplier_vouches"))
    return bool(wanted and bought) and all(read or wanted in leaf.substance.supplier_names for leaf in bought)


def _best(
    food: Food,
    section: Section,
    jurisdiction: str,
    law: Law,
    said: tuple[Said, ...] | None = None,
    known: dict[str, Any] | None = None,
) -> tuple[Verdict | None, list[Finding]]:
    """The fullest name that holds; one the printed name asks for comes first. ``said`` None: a name is wanted."""
    head = [word for word in said or () if word.head]
    asked = frozenset().union(*(word.names for word in head))
    judged = [v for v in verdicts(jurisdiction, section, law, food, known) if v.family != "piece"]
    passing = [v for v in judged if v.passes]
    if passing:
        order = {"milk": 0, "white": 0, "dark": 1, "gianduja": 2, "coating": 3}

        def rank(v: Verdict) -> tuple[bool, int, bool, Decimal]:
            wanted = v.key.split(".")[1] in asked
            return not (wanted and v.family == "gianduja"), order.get(v.family, 9), not wanted, -_strictness(v)

        best = min(passing, key=rank)
        note, cure = "Named by its composition: {name}.", "Choose another that holds."
        return best, [_finding(jurisdiction, "identity.found", note, cure, Severity.INFO, name=best.name)]
    nearest = judged[0]
    message = "No reserved name holds; the nearest is {name}: {lacks}"
    cure = "Change the recipe, or give it a name of its own that says what it is and does not call it chocolate."
    severity = Severity.BLOCK if said is None or head else Severity.INFO
    lacks = nearest.findings
    return None, [_finding(jurisdiction, "identity.none", message, cure, severity, name=nearest.name, lacks=lacks)]


_PLAIN: Final = frozenset({"us.bittersweet", "us.milk", "us.white"} | {
    f"{jurisdiction}.{name}" for jurisdiction in ("eu", "uk") for name in ("chocolate", "milk", "white")
})  # fmt: skip
"""The names customers know; a couverture is offered as a chocolate unless a person asks for the other name."""


def _strictness(verdict: Verdict) -> Decimal:
    # the plain names customers know come first; among the others the one with the higher demands
    demands = sum((need.rule.predicate.limit or ZERO for need in verdict.needs if "min" in need.rule.id), ZERO)
    return demands + (HUNDRED * 10 if verdict.key in _PLAIN else ZERO)


def _piece(
    food: Food, facts: dict[str, Any], jurisdiction: str, law: Law, wants: bool
) -> tuple[Verdict | None, list[Finding]]:
    """Items 7 and 10: a filled chocolate, or a single mouthful that is filled or mixed."""
    mixed = food.single_mouthful and facts.get("other_edible_pct", ZERO) > 40
    if jurisdiction not in {"eu", "uk"} or not (food.of("filling") or mixed):
        return None, []
    verdict = judge_name(f"{jurisdiction}.{'praline' if food.single_mouthful else 'filled'}", facts, law)
    if wants:
        return verdict, list(verdict.findings)
    # it does not call itself chocolate: good to know, and no reason to stop
    return verdict, [replace(finding, severity=Severity.INFO) for finding in verdict.findings]


def _over_limit(found: list[Leaf], total: Decimal, law: Law) -> str:
    over = []
    for row in law.rows("eu.additive_limits"):
        mass_g = sum((x.mass_g for x in found if x.substance.e_number == row["e_number"]), ZERO)
        if total and mass_g / total * 1000 > row["g_per_kg"]:
            over.append(f"{row['e_number']} {mass_g / total * 1000:.1f} g/kg, limit {row['g_per_kg']}")
    return "; ".join(over)


_COMPOUND: Final = frozenset({"compound", "bakery", "chocolate"})


def _closed(food: Food, jurisdiction: str, law: Law) -> tuple[str, ...]:
    """Compounds whose own list nobody has stated; a chocolate below 2 % needs none in the Union (Annex VII E 2)."""
    total = sum((section.mixing_g for section in food.sections), ZERO)
    found = []
    for leaf in (leaf for section in food.sections for leaf in leaves(section.uses)):
        substance = leaf.substance
        if substance.kind not in _COMPOUND or substance.in_order or leaf.mass_g <= 0:
            continue
        small = leaf.mass_g * HUNDRED < total * law.figure("eu.compound_list_pct")
        if jurisdiction != "us" and substance.kind == "chocolate" and small:
            continue
        found.append(substance.names.get("en", substance.key))
    return tuple(dict.fromkeys(found))


def list_facts(
    food: Food, named: Named, found: IngredientList, said: Statements, jurisdiction: str, law: Law
) -> dict[str, Any]:
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
        "veg_fat_pct": named.facts.get("veg_fat_pct", ZERO) if named.verdict is not None else ZERO,
        "closed_compounds": ", ".join(_closed(food, jurisdiction, law)),
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
