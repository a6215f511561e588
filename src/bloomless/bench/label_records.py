"""Records around a label: what was printed and can be printed again, labels counted, laboratory figures, history."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from bloomless.bench.labels import CONFIRMATION, KIND, MATCH, PRINT, TALLY, Draft, draft
from bloomless.bench.ports import Book, Entry
from bloomless.bench.recipes import pantry_of
from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.lots.matching import RollMark, read_mark
from bloomless.rules.ca.nutrition import front_symbol
from bloomless.rules.common.allergens import declared
from bloomless.rules.common.laboratory import Analysed, eu_laboratory, judge_laboratory, us_laboratory
from bloomless.rules.common.markets import market as market_of
from bloomless.rules.law import law_of
from bloomless.rules.rule import Finding

__all__ = ["Again", "Analysis", "Canada", "Tally", "again", "canada", "history", "laboratory", "printed", "tally"]

LABORATORY: Final = "label_laboratory"


@dataclass(frozen=True, slots=True)
class Tally:
    """Labels against pieces after packing."""

    printed: int
    used: int
    spoiled: int
    left: int
    pieces: int

    @property
    def unaccounted(self) -> int:
        """Labels nobody can account for; above zero means a label may sit on a foreign piece."""
        return self.printed - self.used - self.spoiled - self.left

    @property
    def agrees(self) -> bool:
        """Whether every label is accounted for and every piece carries one."""
        return self.unaccounted == 0 and self.used == self.pieces

    @property
    def answer(self) -> str:
        """What a person is told."""
        return " ".join(self.sentences)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer, sentence by sentence."""
        if self.agrees:
            return (f"All {self.printed} labels are accounted for, and {self.pieces} pieces carry one.",)
        told = []
        if self.unaccounted > 0:
            told.append(f"{self.unaccounted} labels are missing: look for them on other pieces before anything leaves.")
        if self.unaccounted < 0:
            told.append(f"{-self.unaccounted} labels more than were printed: count again.")
        if self.used < self.pieces:
            told.append(f"{self.pieces - self.used} pieces carry no label of this roll.")
        if self.used > self.pieces:
            told.append(f"{self.used - self.pieces} labels more were used than there are pieces.")
        return tuple(told)


def _roll(roll: str) -> RollMark:
    mark = read_mark(roll)
    if not isinstance(mark, RollMark):
        raise ImpossibleInput("roll", roll, "the code of a label roll")
    return mark


def printed(book: Book, mark: RollMark) -> int:
    """How many labels with this mark were ever released; 0 for a roll nobody released."""
    try:
        entries = book.history(PRINT, f"{mark.product}/{mark.market}/{mark.lot}")
    except UnknownName:
        return 0
    return sum(int(entry.document["count"]) for entry in entries if entry.document["mark"] == mark.text)


def tally(
    book: Book, roll: str, *, used: int, spoiled: int, left: int, pieces: int, by: str, at: datetime
) -> Tally:  # fmt: skip
    """Count labels after packing; how many were printed is read from the records, never typed.

    Raises
    ------
    ImpossibleInput
        For a code that is no roll, a roll nobody released, a number below 0, or nobody's name.
    """
    mark = _roll(roll)
    for name, value in (("used", used), ("spoiled", spoiled), ("left", left), ("pieces", pieces)):
        if value < 0:
            raise ImpossibleInput(name, value, "a number of at least 0")
    if not by.strip():
        raise ImpossibleInput("by", by, "the name or initials of the person who counts")
    released = printed(book, mark)
    if not released:
        raise ImpossibleInput("roll", roll, "a roll that was released for print here")
    counted = Tally(released, used, spoiled, left, pieces)
    document: dict[str, Any] = {
        "printed": released, "used": used, "spoiled": spoiled, "left": left, "pieces": pieces,
        "unaccounted": counted.unaccounted, "agrees": counted.agrees, "by": by.strip(), "at": at.isoformat(),
    }  # fmt: skip
    book.put(TALLY, mark.text, document, at=at)
    return counted


@dataclass(frozen=True, slots=True)
class Again:
    """A label made again as it was released."""

    draft: Draft
    entry: Entry
    same: bool
    """Whether every word is the one that was printed then."""


def again(book: Book, roll: str) -> Again:
    """Make a released label again: its version, the book and the law of the day it was printed.

    Raises ``ImpossibleInput`` for a roll nobody released.
    """
    mark = _roll(roll)
    try:
        entries = book.history(PRINT, f"{mark.product}/{mark.market}/{mark.lot}")
    except UnknownName:
        entries = ()
    entry = next((one for one in reversed(entries) if one.document["mark"] == mark.text), None)
    if entry is None:
        raise ImpossibleInput("roll", roll, "a roll that was released for print here")
    day = date.fromisoformat(str(entry.document["law_of"]))
    pantry = pantry_of(book, at=entry.at)
    found = draft(book, mark.product, mark.market, day, version=mark.version, lot=mark.lot, pantry=pantry)
    label, words = found.review.label, entry.document["words"]
    same = label is not None and words["ingredients"] == label.ingredients.text and words["name"] == label.name
    return Again(found, entry, same)


@dataclass(frozen=True, slots=True)
class Analysis:
    """Figures of a laboratory against the label."""

    lines: tuple[Analysed, ...]
    findings: tuple[Finding, ...]


def laboratory(
    book: Book, found: Draft, figures: Mapping[str, Decimal], *, sheet: str, by: str, at: datetime
) -> Analysis:  # fmt: skip
    """Hold a laboratory's figures, per 100 g, against the declared ones, and keep them.

    Raises
    ------
    ImpossibleInput
        If no figure, no report or nobody is named.
    Misuse
        If the label has no nutrition declaration to hold them against.
    """
    for name, value in (("sheet", sheet), ("by", by)):
        if not value.strip():
            raise ImpossibleInput(name, value, "given; it is missing", code="missing_field")
    if not figures:
        raise ImpossibleInput("figures", 0, "at least one figure")
    per_100g, label = found.review.nutrients.per_100g, found.review.label
    if per_100g is None or label is None:
        raise Misuse("There is no declaration to hold figures against.", code="no_declaration")
    law = law_of(found.review.day)
    place = market_of(found.market)
    if place.jurisdiction == "us":
        if label.serving is None:
            raise Misuse("There is no panel to hold figures against.", code="no_declaration")
        lines = us_laboratory(per_100g, label.serving.mass_g, figures, law)
    else:
        lines = eu_laboratory(per_100g, figures, law)
    findings = judge_laboratory(lines, place.jurisdiction, law)
    document = {
        "sheet": sheet.strip(), "by": by.strip(), "market": found.market, "label_version": found.version,
        "figures": {name: f"{value:f}" for name, value in figures.items()}, "outside": len(findings),
        "at": at.isoformat(),
    }  # fmt: skip
    book.put(LABORATORY, f"{found.product}/{found.market}", document, at=at)
    return Analysis(lines, findings)


@dataclass(frozen=True, slots=True)
class Canada:
    """What Canada asks, for information."""

    allergens: tuple[str, ...]
    symbol: tuple[str, ...] | None
    """What the symbol on the front would name; None while the nutrients are not known."""


def canada(found: Draft) -> Canada:
    """Allergens and symbol as Canada has them, for information."""
    law, per_100g = law_of(found.review.day), found.review.nutrients.per_100g
    symbol = None if per_100g is None else front_symbol(per_100g, found.food.pack.net_g, law)
    return Canada(declared(found.review.sources, "ca", law), symbol)


def history(book: Book, product: str, markets: Sequence[str] = ("us", "eu", "uk", "ni")) -> tuple[Entry, ...]:
    """Every version, confirmation, print, scan, count and analysis of a product's label, oldest first."""
    found = list(book.history(KIND, product))
    for market in markets:
        for kind in (CONFIRMATION, LABORATORY):
            try:
                found += book.history(kind, f"{product}/{market}")
            except UnknownName:
                continue
    mine = {PRINT: f"{product}/", MATCH: f"T|{product}|", TALLY: f"R|{product}|"}
    for kind, prefix in mine.items():
        for entry in [entry for entry in book.latest(kind) if entry.key.startswith(prefix)]:
            found += book.history(kind, entry.key)
    return tuple(sorted(found, key=lambda entry: entry.at))
