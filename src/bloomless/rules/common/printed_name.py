"""The words a person wants to print: reserved words of a name, percentages and claims, read out of the text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache
from typing import Any

from bloomless.rules.decimals import dec
from bloomless.sources.tables import read_toml

__all__ = ["Said", "claims_in", "percent_in", "quality_word_in", "reserved_words", "without_reserved"]


@dataclass(frozen=True, slots=True)
class Said:
    """A reserved word as it stands in a name."""

    words: str
    """As the person wrote it."""
    names: frozenset[str]
    """Reserved names that may use it, without their jurisdiction."""
    head: bool
    """True if the food itself is called so; False behind "with", "in", "coated": then only a part of it is."""


@cache
def _words() -> Mapping[str, Any]:
    return read_toml("bloomless.rules.common", "name_words.toml")


@cache
def _pattern(text: str) -> re.Pattern[str]:
    return re.compile(text, re.IGNORECASE)


@lru_cache(maxsize=512)
def reserved_words(name: str) -> tuple[Said, ...]:
    """Reserved words of a name in English, German or French, in the order they stand there."""
    table = _words()
    text = _pattern(table["harmless"]).sub(lambda found: "·" * len(found[0]), name)
    hits: list[tuple[int, int, frozenset[str]]] = []
    for word in table["word"]:
        names = frozenset(word["names"])
        hits += [(found.start(), found.end(), names) for found in _pattern(word["pattern"]).finditer(text)]
        text = _pattern(word["pattern"]).sub(lambda found: "·" * len(found[0]), text)
    tail = _pattern(table["tail"]).search(text)
    behind = tail.start() if tail else len(name)
    coated = _pattern(table["coated"])
    return tuple(
        Said(name[start:end], names, start < behind and not coated.match(name, end))
        for start, end, names in sorted(hits, key=lambda hit: hit[0])
    )


@lru_cache(maxsize=512)
def without_reserved(name: str) -> str:
    """A name with its reserved words taken out: the "milk" of "milk chocolate" emphasises no milk."""
    for word in reserved_words(name):
        name = name.replace(word.words, "·", 1)
    return name


def percent_in(name: str) -> Decimal | None:
    """The highest percentage a name gives for its cocoa, or None; behind "with" and "in" only if it says cocoa."""
    tail = _pattern(_words()["tail"]).search(name)
    behind = tail.start() if tail else len(name)
    found = _pattern(_words()["percent"]).finditer(name)
    return max((dec(x[1].replace(",", ".")) for x in found if x[2] or x.start() < behind), default=None)


def quality_word_in(name: str) -> str:
    """A word of quality (Directive 2000/36/EC Art. 3(5)) in a name, or nothing."""
    found = _pattern(_words()["quality"]).search(name)
    return found[0] if found else ""


def claims_in(texts: Iterable[str]) -> frozenset[str]:
    """Kinds of claims in texts: ``free_from``, ``vegan``, ``vegetarian``, ``sugar_free``, ``organic`` and others."""
    said = [text for text in texts if text]
    return frozenset(claim["key"] for claim in _words()["claim"] if any(map(_pattern(claim["pattern"]).search, said)))
