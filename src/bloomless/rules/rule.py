"""A rule, a legal figure, a legal table and a finding as frozen data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, Final

from bloomless.rules.predicate import FactMissing, Facts, Predicate, predicate
from bloomless.sources import Grade

__all__ = ["NO_ADVICE", "Figure", "Finding", "Provenance", "Row", "Rule", "Severity", "Status", "Table"]

NO_ADVICE: Final = "Check against the law in force where you sell; this is no legal advice."

Row = Mapping[str, Any]


class Severity(StrEnum):
    """What a finding means for printing."""

    BLOCK = "block"
    """The label is not printed."""
    WARN = "warn"
    """A person decides."""
    INFO = "info"
    """Good to know."""


class Status(StrEnum):
    """How a legal text is known."""

    SEEN = "seen"
    """Read in the law or an authority's page."""
    DERIVED = "derived"
    """Arithmetic on what was read."""
    MEMORY = "memory"
    """Not seen: to be checked before anybody relies on it."""
    PRACTICE = "practice"
    """Common practice; no source could be named."""

    @property
    def grade(self) -> Grade:
        """The same as a grade of evidence."""
        return {
            Status.SEEN: Grade.PUBLISHED,
            Status.DERIVED: Grade.DERIVED,
            Status.MEMORY: Grade.FROM_MEMORY,
            Status.PRACTICE: Grade.TRADE_PRACTICE,
        }[self]

    @property
    def words(self) -> str:
        """What stands beside a finding."""
        return {
            Status.SEEN: "",
            Status.DERIVED: "derived from the text",
            Status.MEMORY: "from memory: the text was not seen",
            Status.PRACTICE: "common practice, no source",
        }[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """What every piece of law carries."""

    id: str
    jurisdiction: str
    """``us``, ``eu``, ``uk``, ``codex`` or ``ca``."""
    topic: str
    citation: str
    status: Status
    source: str
    """Key of the bibliography."""
    verified_on: date
    in_force_from: date = date.min
    in_force_to: date = date.max
    """Last day in force."""
    note: str = ""

    def in_force(self, day: date) -> bool:
        """Whether it binds on that day."""
        return self.in_force_from <= day <= self.in_force_to


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule says about one food in one market; returned, never raised."""

    rule: str
    jurisdiction: str
    severity: Severity
    message: str
    citation: str
    status: Status
    cure: str = ""
    where: str = ""
    """Part of the label or food it is about."""
    unknown: bool = False
    """True if the rule could not be judged because a fact is missing."""
    template: str = ""
    """The message with places for facts, for another language to fill; and so the cure."""
    cure_template: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)

    @classmethod
    def told(
        cls, rule: str, jurisdiction: str, severity: Severity, template: str, citation: str, status: Status, *,
        cure: str = "", where: str = "", unknown: bool = False, facts: Mapping[str, Any],
    ) -> Finding:  # fmt: skip
        """A finding whose words are templates, filled from facts."""
        words: Any = _Words(facts)
        return cls(
            rule, jurisdiction, severity, template.format_map(words), citation, status, cure.format_map(words), where,
            unknown, template, cure, facts,
        )  # fmt: skip

    @property
    def law(self) -> str:
        """Citation with the honesty mark."""
        return f"{self.citation} ({self.status.words})" if self.status.words else self.citation

    def document(self) -> dict[str, str]:
        """As plain JSON."""
        return {
            "rule": self.rule,
            "jurisdiction": self.jurisdiction,
            "severity": str(self.severity),
            "message": self.message,
            "cure": self.cure,
            "law": self.law,
            "where": self.where,
        }


class _Words:
    """Facts for a message, shown only when the message asks for them; what is unknown is a dash."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts

    def __getitem__(self, key: str) -> object:
        return _shown(self.facts.get(key))


def _shown(value: object) -> object:
    if isinstance(value, Decimal):
        text = f"{value:.2f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    if isinstance(value, tuple) and value and isinstance(value[0], Finding):
        return " ".join(one.message for one in value)
    if isinstance(value, frozenset | set | tuple):
        return ", ".join(sorted(str(v) for v in value)) or "none"
    return "–" if value is None else value


_FACT_WORDS: Final = {
    "moist_filling": "the water activity of the filling", "filling_aw": "the water activity of the filling",
    "filling_ph": "the pH of the filling", "food_code": "the water activity and pH of the filling",
    "largest_surface_cm2": "the largest surface of the pack", "label_area_in2": "the room for labels on the pack",
    "panel_in2": "the front panel of the pack", "employees": "how many people work here",
    "units_per_year": "how many packs are made in a year", "sales_usd": "the sales to consumers in a year",
    "food_sales_usd": "the food sales to consumers in a year", "keeps_days": "how long it keeps",
    "net_g": "the net quantity", "alcohol_pct_vol": "the strength of the piece", "sugars_pct": "the sugars of the food",
    "cooked_meat_pct": "the share of cooked meat", "heaviest_piece_g": "the mass of a piece",
    "tdcs_pct": "the cocoa solids", "polyols_pct": "the polyols of the food",
}  # fmt: skip
"""Facts in words, for a finding that lacks one; what is not here is told by its own name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule(Provenance):
    """One rule: broken when ``breach`` holds, asked only when ``applies`` holds."""

    breach: str
    message: str
    severity: Severity
    applies: str = ""
    cure: str = ""
    name: str = ""
    """Key of the reserved name it belongs to, for rules of identity."""
    where: str = ""

    @property
    def predicate(self) -> Predicate:
        """The parsed predicate."""
        return predicate(self.breach)

    def finding(self, facts: Facts) -> Finding | None:
        """Judge the facts.

        A fact that nobody knows gives a finding too, at the rule's own severity: an unknown is never a pass.
        """
        try:
            if self.applies and not predicate(self.applies).holds(facts):
                return None
            if not self.predicate.holds(facts):
                return None
        except FactMissing as missing:
            lacking = {"lacking": _FACT_WORDS.get(missing.name, missing.name.replace("_", " "))}
            return self._found("Cannot be judged: {lacking} is not known.", "State {lacking}.", lacking, unknown=True)
        return self._found(self.message, self.cure, facts)

    def _found(self, message: str, cure: str, facts: Facts, *, unknown: bool = False) -> Finding:
        return Finding.told(
            self.id, self.jurisdiction, self.severity, message, self.citation, self.status, cure=cure,
            where=self.where or self.topic, unknown=unknown, facts=facts,
        )  # fmt: skip

    def margin(self, facts: Facts) -> Decimal | None:
        """How far inside (positive) or outside (negative) the limit, or None where there is no one number."""
        test = self.predicate
        value = facts.get(test.measure)
        if test.limit is None or value is None:
            return None
        gap: Decimal = value - test.limit
        return gap if test.sign in {"<", "<="} else -gap


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure(Provenance):
    """One legal number."""

    value: Decimal
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Table(Provenance):
    """One legal table: rows in order."""

    rows: tuple[Row, ...] = field(default=())

    def by(self, column: str) -> dict[Any, Row]:
        """Rows by the value of a column."""
        return {row[column]: row for row in self.rows}
