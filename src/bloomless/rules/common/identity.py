"""Which reserved names a chocolate may carry, by how much it passes or fails, and what change would make it pass."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Final

from bloomless.errors import UnknownName
from bloomless.rules.common.composition import Sums, sums_of
from bloomless.rules.decimals import HUNDRED, ZERO, plain
from bloomless.rules.eu.identity import eu_facts, piece_facts
from bloomless.rules.food import Food, Section, Substance, Use
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding, Rule, Severity
from bloomless.rules.us.identity import us_facts

__all__ = ["Change", "Need", "Verdict", "cures", "facts_for", "judge_name", "names_of", "verdicts"]

FACTS: Final[dict[str, Callable[[Sums, Law], dict[str, Any]]]] = {
    "us": us_facts,
    "eu": lambda sums, _law: eu_facts(sums),
    "uk": lambda sums, _law: eu_facts(sums),
    "codex": lambda sums, _law: eu_facts(sums),
    "ca": lambda sums, _law: eu_facts(sums),
}


@dataclass(frozen=True, slots=True)
class Need:
    """One need of a name: what it asks, what the food has, and the distance."""

    rule: Rule
    finding: Finding | None
    margin_pct: Decimal | None
    """Points inside (positive) or outside (negative) the limit."""

    @property
    def words(self) -> str:
        """What it asks for, in words and with the number."""
        test = self.rule.predicate
        name = _WORDS.get(test.measure, test.measure.removesuffix("_pct").replace("_", " "))
        if test.limit is None:
            return self.rule.id.rsplit(".", maxsplit=1)[1].replace("_", " ")
        sense = {"<": "at least", "<=": "more than", ">": "at most", ">=": "less than"}[test.sign]
        return f"{name}: {sense} {plain(test.limit)} %"


_WORDS: Final = {
    "tdcs_pct": "total dry cocoa solids", "tdcs_dry_pct": "total cocoa solids of the dry matter",
    "tdcs_base_pct": "total dry cocoa solids of the chocolate used", "dnfc_pct": "dry non-fat cocoa solids",
    "dnfc_dry_pct": "non-fat cocoa solids of the dry matter", "dms_pct": "dry milk solids",
    "dms_dry_pct": "milk solids of the dry matter", "cacao_fat_pct": "cocoa butter",
    "cacao_fat_dry_pct": "cocoa butter of the dry matter", "total_fat_pct": "cocoa butter and milk fat",
    "veg_fat_pct": "vegetable fat", "veg_fat_foreign_pct": "vegetable fat outside the six",
    "other_edible_pct": "other edible substances", "liquor_pct": "chocolate liquor by the formula",
    "starch_flour_pct": "flour or starch", "nonnutritive_pct": "sweetener that is not nutritive",
    "foreign_pct": "what no standard lists", "hazelnut_fine_pct": "finely ground hazelnut",
}  # fmt: skip
"""Measures in words, for people; what is not here is told by its own name."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """One reserved name and whether the chocolate may carry it."""

    key: str
    name: str
    citation: str
    family: str
    needs: tuple[Need, ...]

    @property
    def passes(self) -> bool:
        """Whether every need is met; a warning alone does not take the name away."""
        return all(need.finding is None or need.finding.severity is Severity.WARN for need in self.needs)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What stands against the name."""
        return tuple(need.finding for need in self.needs if need.finding is not None)

    @property
    def shortfall_pct(self) -> Decimal:
        """The sum of what is missing, in points; zero when it passes."""
        return sum(
            (-need.margin_pct for need in self.needs if need.margin_pct is not None and need.margin_pct < 0), ZERO
        )


@dataclass(frozen=True, slots=True)
class Change:
    """A change of recipe that would make the name pass: so much more of one thing instead of another."""

    more: str
    less: str
    pct: Decimal
    """Points of the section's mass to move."""

    @property
    def words(self) -> str:
        """The change as one sentence."""
        return f"{plain(self.pct)} g more {self.more} and as much less {self.less} in 100 g"


def names_of(jurisdiction: str, law: Law) -> Mapping[str, Mapping[str, Any]]:
    """Reserved names of a jurisdiction by key."""
    return law.table(f"{jurisdiction}.names").by("key")


def facts_for(jurisdiction: str, section: Section, law: Law, food: Food | None = None) -> dict[str, Any]:
    """Facts of a chocolate section for one jurisdiction; empty when its composition is not known."""
    facts = FACTS[jurisdiction](sums_of(section), law)
    return facts | piece_facts(food) if food is not None else facts


def _rules(key: str, family: str, law: Law) -> list[Rule]:
    jurisdiction = key.split(".")[0]
    rules = [rule for rule in law.topic(jurisdiction, "identity") if rule.name == key]
    if family in {"dark", "milk", "white", "gianduja", "taza"}:
        rules += law.topic(jurisdiction, "identity_standard")
    if family in {"dark", "milk", "white", "taza"}:  # the nuts of a gianduja have limits of their own
        rules += law.topic(jurisdiction, "identity_edible")
    if family in {"dark", "milk"}:
        rules += law.topic(jurisdiction, "identity_dark_milk")
    if family in {"dark", "milk", "white", "gianduja"}:
        rules += law.topic(jurisdiction, "identity_starch")
    if family == "piece":
        rules += law.topic(jurisdiction, "identity_piece")
    return rules


def judge_name(key: str, facts: Mapping[str, Any], law: Law) -> Verdict:
    """Judge one reserved name.

    Parameters
    ----------
    key
        Name such as ``us.bittersweet``.
    facts
        Facts from ``facts_for``.
    law
        The law in force.

    Raises
    ------
    UnknownName
        If no law of that day reserves such a name.
    """
    jurisdiction = key.split(".")[0]
    if jurisdiction not in FACTS or key not in names_of(jurisdiction, law):
        known = [k for j in FACTS for k in names_of(j, law)]
        raise UnknownName("reserved name", key, known)
    row = names_of(jurisdiction, law)[key]
    needs = tuple(Need(rule, rule.finding(facts), rule.margin(facts)) for rule in _rules(key, row["family"], law))
    return Verdict(key, row["name"], row["citation"], row["family"], needs)


def verdicts(
    jurisdiction: str, section: Section, law: Law, food: Food | None = None, facts: Mapping[str, Any] | None = None
) -> tuple[Verdict, ...]:
    """Every reserved name of finished chocolates and pieces, those that pass first, then the nearest.

    ``facts`` are those of ``facts_for`` unless given.
    """
    facts = facts_for(jurisdiction, section, law, food) if facts is None else facts
    families = {"dark", "milk", "white", "gianduja", "coating"} | (
        {"piece"} if food and len(food.sections) > 1 else set()
    )
    judged = [
        judge_name(key, facts, law) for key, row in names_of(jurisdiction, law).items() if row["family"] in families
    ]
    return tuple(sorted(judged, key=lambda v: (not v.passes, len(v.findings), v.shortfall_pct)))


def cures(key: str, section: Section, law: Law, candidates: tuple[Substance, ...] = ()) -> tuple[Change, ...]:
    """Changes of one ingredient against another that would let the section carry the name, smallest first.

    Every pair of a section's own substances (and of ``candidates``) is tried: mass moves from one to the other until
    the name passes, found to 0.1 g in 100 g.
    """
    own: dict[str, Use] = {use.substance.key: use for use in section.uses}
    jurisdiction = key.split(".")[0]
    gains = {use.substance.key: use.substance for use in section.uses} | {s.key: s for s in candidates}
    total = section.mixing_g

    def passes(gain: Substance, loss: str, pct: Decimal) -> bool:
        moved = total * pct / HUNDRED
        uses = [replace(use, mass_g=use.mass_g - moved) if k == loss else use for k, use in own.items()]
        tried = replace(section, uses=(*uses, Use(substance=gain, mass_g=moved)))
        return judge_name(key, facts_for(jurisdiction, tried, law), law).passes

    found = []
    for gain in gains.values():
        for loss, use in own.items():
            if loss == gain.key:
                continue
            least = _least(lambda pct, g=gain, x=loss: passes(g, x, pct), use.mass_g / total * HUNDRED)  # type: ignore[misc]
            if least is not None:
                found.append(Change(gain.names.get("en", gain.key), use.substance.names.get("en", loss), least))
    return tuple(sorted(found, key=lambda change: change.pct))


def _least(passes: Callable[[Decimal], bool], most_pct: Decimal) -> Decimal | None:
    """The least of 0.1…most that passes: a coarse walk first, because two needs may leave only a window."""
    whole = int(most_pct)
    step = next((n for n in range(1, whole + 1) if passes(Decimal(n))), None)
    if step is None:
        return None
    tenths = (step - 1 + Decimal(n) / 10 for n in range(1, 11))
    return next(tenth for tenth in tenths if passes(tenth))
