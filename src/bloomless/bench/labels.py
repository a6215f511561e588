"""Jobs of a label: draft it, confirm its allergens, release it for print, match roll and tray, count, look back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from bloomless.bench.label_documents import LabelDocument, food_of, label_document, label_from_document
from bloomless.bench.ports import Book, Entry
from bloomless.bench.recipes import pantry_of
from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.lots.matching import Match, RollMark, TrayMark, WrapperMark, match_roll, match_wrapper, read_mark
from bloomless.materials.ingredients import ingredient_library
from bloomless.recipes import Pantry
from bloomless.rules.common.allergens import allergens_in
from bloomless.rules.common.composition import opened
from bloomless.rules.common.from_recipe import substance_of
from bloomless.rules.common.gs1 import checked_gtin, parse_element_string, read_digital_link
from bloomless.rules.common.identity import Change, Verdict, cures, verdicts
from bloomless.rules.common.markets import MARKETS
from bloomless.rules.common.review import Confirmed, Review, review
from bloomless.rules.food import Food, Substance
from bloomless.rules.law import JURISDICTIONS, Law, all_law, law_of
from bloomless.rules.rule import Severity

__all__ = [
    "CONFIRMATION", "KIND", "MATCH", "PRINT", "TALLY", "Draft", "NameRow", "Released", "confirm", "draft",
    "fingerprint", "judge", "names", "release", "save", "scan",
]  # fmt: skip

KIND: Final = "label"
CONFIRMATION: Final = "label_confirmation"
PRINT: Final = "label_print"
MATCH: Final = "label_match"
TALLY: Final = "label_tally"


@dataclass(frozen=True, slots=True)
class Draft:
    """A label of the book under the law of a day."""

    product: str
    market: str
    version: int
    """Version of the label's document."""
    label: LabelDocument
    food: Food
    review: Review
    confirmed_by: str
    """Who confirmed the allergens, and when; empty while nobody has."""

    @property
    def may_print(self) -> bool:
        """Whether nothing blocks."""
        return not self.review.blocked


@dataclass(frozen=True, slots=True)
class Released:
    """A label released for print: what the roll says it is."""

    draft: Draft
    mark: RollMark
    count: int


def save(book: Book, label: LabelDocument, *, at: datetime) -> Entry:
    """Keep a label; every change is a new version."""
    return book.put(KIND, label.product, label_document(label), at=at)


def fingerprint(food: Food) -> list[str]:
    """What a confirmation rests on: every ingredient with the allergens it brings, sure or not."""
    found = set()
    for _, use in food.uses():
        stack = [use.substance]
        while stack:
            substance = stack.pop()
            stack += [*(part for part, _ in substance.parts), *substance.in_order]
            brings = ", ".join(sorted(substance.allergens | substance.allergens_unsure)) or "–"
            warned = f"; traces: {', '.join(sorted(substance.traces))}" if substance.traces else ""
            found.add(f"{substance.key}: {brings}{warned}")
    return sorted(found | {f"rework: {source}" for source in food.rework_allergens})


def _key(product: str, market: str) -> str:
    return f"{product}/{market}"


def _confirmation(book: Book, product: str, market: str, food: Food) -> tuple[Confirmed | None, str]:
    try:
        entry = book.get(CONFIRMATION, _key(product, market))
    except UnknownName:
        return None, ""
    document = entry.document
    confirmed = Confirmed(
        frozenset(document["present"]), frozenset((str(key), str(source)) for key, source in document["absent"])
    )
    now = set(allergens_in(food, confirmed_absent=confirmed.absent).present)
    same = document["rests_on"] == fingerprint(food)
    if not same and now <= confirmed.present:
        # another ingredient without a new allergen: still another label, so a person reads it again
        return None, ""
    return confirmed, f"{document['by']}, {entry.at:%Y-%m-%d %H:%M}"


def judge(
    book: Book, label: LabelDocument, market: str, day: date, *, version: int = 0, lot: str = "",
    language: str = "", pantry: Pantry | None = None, law: Law | None = None,
) -> Draft:  # fmt: skip
    """Judge a label that need not be kept yet, with the confirmation the book holds for its product."""
    dated = replace(label, pack=replace(label.pack, lot=lot)) if lot else label
    others = {product: label_from_document(book.get(KIND, product).document) for product, _ in label.box}
    food = food_of(dated, pantry or pantry_of(book), others)
    confirmed, by = _confirmation(book, label.product, market, food)
    found = review(food, market, day, confirmed=confirmed, language=language, settings=label.settings, law=law)
    return Draft(label.product, market, version, dated, food, found, by)


def draft(
    book: Book, product: str, market: str, day: date, *, version: int | None = None, lot: str = "", language: str = "",
    pantry: Pantry | None = None, law: Law | None = None,
) -> Draft:  # fmt: skip
    """A label of the book under the law of a day.

    Parameters
    ----------
    book
        The book.
    product, market, day
        What is labelled, where it is sold, and the day whose law binds.
    version
        An old version of the label; the latest unless given.
    lot
        Lot printed on it; the one of the document unless given.
    language, pantry, law
        See ``rules.common.review`` and ``label_documents.food_of``.

    Raises
    ------
    UnknownName
        If the book has no such label.
    """
    entry = book.get(KIND, product, version)
    label = label_from_document(entry.document)
    return judge(book, label, market, day, version=entry.version, lot=lot, language=language, pantry=pantry, law=law)


@dataclass(frozen=True, slots=True)
class NameRow:
    """A reserved name, and the smallest swaps of two ingredients that would let it pass."""

    verdict: Verdict
    changes: tuple[Change, ...]


_CANDIDATES: Final = ("cocoa_mass", "cocoa_butter", "wmp", "smp", "amf", "sucrose", "nut_paste_hazelnut")


def _usual_candidates() -> tuple[Substance, ...]:
    """What a chocolate is usually corrected with, besides what is in it already."""
    pantry = Pantry(ingredient_library())
    return tuple(substance_of(pantry.ingredients[key], pantry) for key in _CANDIDATES)


def names(found: Draft, *, jurisdiction: str = "", nearest: int = 3, swaps: int = 3) -> tuple[NameRow, ...]:
    """Names the chocolate of a draft may carry, and the nearest that it may not.

    Parameters
    ----------
    found
        The draft.
    jurisdiction
        Another law than that of the draft's market, such as ``codex`` or ``ca`` for information.
    nearest
        How many failing names to show, the nearest first, each with its cures.
    swaps
        How many swaps to tell, the smallest first.
    """
    chocolate = found.food.of("chocolate")
    if not chocolate or found.market not in MARKETS:
        return ()
    law = law_of(found.review.day)
    jurisdiction = jurisdiction or MARKETS[found.market].jurisdiction
    if jurisdiction not in JURISDICTIONS:
        raise UnknownName("jurisdiction", jurisdiction, JURISDICTIONS)
    section = opened(chocolate[0])
    judged = verdicts(jurisdiction, section, law, found.food)
    failing = [verdict for verdict in judged if not verdict.passes][:nearest]
    rows = [NameRow(verdict, ()) for verdict in judged if verdict.passes]
    rows += [
        NameRow(
            verdict, () if verdict.family == "piece" else cures(verdict.key, section, law, _usual_candidates())[:swaps]
        )
        for verdict in failing
    ]
    return tuple(rows)


def confirm(
    book: Book, found: Draft, *, by: str, present: Sequence[str], absent: Sequence[tuple[str, str]] = (), at: datetime
) -> Entry:
    """Record that a person has read the allergens of a label against the sheets of its lots.

    Parameters
    ----------
    book
        The book.
    found
        The draft that was read.
    by
        Who confirms; a name or initials.
    present
        Every source the person found, typed or ticked one by one: it has to be exactly what the recipe brings.
    absent
        Unsure pairs (ingredient, source) that the sheets of these lots deny.
    at
        When.

    Raises
    ------
    ImpossibleInput
        If nobody signs, or the person's list is not the recipe's: then one of the two is wrong, and both must be read.
    """
    if not by.strip():
        raise ImpossibleInput("by", by, "the name or initials of the person who confirms")
    denied = frozenset(absent)
    sources = allergens_in(found.food, confirmed_absent=denied)
    if sources.unsure:
        open_ones = "; ".join(f"{source} in {', '.join(keys)}" for source, keys in sources.unsure.items())
        raise ImpossibleInput("absent", sorted(denied), f"an answer for every open question: {open_ones}")
    if set(present) != set(sources.present):
        raise ImpossibleInput(
            "present", sorted(present), f"exactly what the recipe brings: {', '.join(sources.present) or 'none'}"
        )
    document = {
        "by": by.strip(), "present": sorted(present), "absent": sorted(list(pair) for pair in denied),
        "rests_on": fingerprint(found.food), "label_version": found.version, "product": found.product,
        "market": found.market, "lot": found.food.pack.lot, "at": at.isoformat(),
    }  # fmt: skip
    return book.put(CONFIRMATION, _key(found.product, found.market), document, at=at)


def release(book: Book, found: Draft, *, count: int, by: str, at: datetime, on: str = "") -> Released:
    """Release a label for print, and record it: who, how many, on what, which version, and every word of it.

    Raises
    ------
    Misuse
        If anything blocks; the finding says what.
    """
    if found.review.blocked:
        reasons = "; ".join(finding.message for finding in found.review.of(Severity.BLOCK))
        raise Misuse(f"This label is not printed: {reasons}", code="label_blocked")
    if not by.strip():
        raise ImpossibleInput("by", by, "the name or initials of the person who prints")
    if not 1 <= count <= 20_000:
        raise ImpossibleInput("count", count, "1 to 20,000 labels")
    lot = found.food.pack.lot
    if not lot:
        raise ImpossibleInput("lot", lot, "the lot the labels are for: a roll without one cannot be matched to a tray")
    mark = RollMark(found.product, lot, found.market, found.version)
    label = found.review.label
    words = {} if label is None else {"name": label.name, "ingredients": label.ingredients.text, "net": label.net,
                                      "date": label.date_text, "contains": list(label.contains)}  # fmt: skip
    document = {
        "by": by.strip(), "count": count, "on": on, "mark": mark.text, "law_of": found.review.day.isoformat(),
        "words": words, "confirmed_by": found.confirmed_by, "at": at.isoformat(),
    }  # fmt: skip
    book.put(PRINT, f"{_key(found.product, found.market)}/{lot}", document, at=at)
    return Released(found, mark, count)


def scan(book: Book, tray: str, roll: str, *, by: str, at: datetime) -> Match:
    """Match a scanned roll with a scanned tray and record the answer, yes or no.

    There is no parameter that overrules a no. A roll that was never released, or whose version is not the latest
    released one of its product, market and lot, is a no as well.
    """
    first = read_mark(tray)
    if not isinstance(first, TrayMark):
        raise ImpossibleInput("tray", tray, "the code of a tray first, then the code of the roll")
    wrapper = _wrapper(book, roll.strip())
    if wrapper is not None:
        found = match_wrapper(first, wrapper)
    else:
        second = read_mark(roll)
        if not isinstance(second, RollMark):
            raise ImpossibleInput("roll", roll, "the code of a label roll or of a wrapper")
        found = match_roll(first, second, latest_version=_released_version(book, second))
    document = {
        "tray": first.text,
        "roll": found.roll.text,
        "ok": found.ok,
        "reason": found.reason,
        "by": by,
        "at": at.isoformat(),
    }
    book.put(MATCH, first.text, document, at=at)
    return found


def _released_version(book: Book, roll: RollMark) -> int:
    """Version of the label last released for a roll's market and lot; 0 where none was."""
    try:
        printed = book.get(PRINT, f"{_key(roll.product, roll.market)}/{roll.lot}").document
    except UnknownName:
        return 0
    latest = read_mark(str(printed["mark"]))
    return latest.version if isinstance(latest, RollMark) else 0


def _wrapper(book: Book, text: str) -> WrapperMark | None:
    """The wrapper a trade code stands on (EAN, element string, Digital Link), or None for any other text."""
    gtin, lot = text, ""
    if link := read_digital_link(text):
        gtin, lot = link
    elif text.startswith(("(01)", "01")) and not checked_gtin(text):
        try:
            elements = dict(parse_element_string(text, all_law()))
        except ImpossibleInput:
            return None
        gtin, lot = elements.get("01", ""), elements.get("10", "")
    if not checked_gtin(gtin):
        return None
    numbers = {str(entry.document["pack"].get("gtin", "")).zfill(14): entry.key for entry in book.latest(KIND)}
    return WrapperMark(text, numbers.get(gtin.zfill(14), ""), lot)
