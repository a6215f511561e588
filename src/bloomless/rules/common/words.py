"""Words of a label by language, and where in a name an allergen stands."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from bloomless.errors import UnknownName
from bloomless.sources.tables import read_toml

__all__ = ["LANGUAGES", "LANGUAGES_OF", "Run", "emphasis", "name_in", "phrase", "runs_text", "stem", "storage_words"]

LANGUAGES: Final = ("en-US", "en-GB", "de", "fr")

LANGUAGES_OF: Final[Mapping[str, frozenset[str]]] = {
    "US": frozenset({"en-US"}),
    "GB": frozenset({"en-GB"}),
    "NI": frozenset({"en-GB"}),
    "IE": frozenset({"en-GB"}),
    "MT": frozenset({"en-GB"}),
    "DE": frozenset({"de"}),
    "AT": frozenset({"de"}),
    "FR": frozenset({"fr"}),
    "LU": frozenset({"de", "fr"}),
    "BE": frozenset({"fr", "de"}),
}
"""Languages a country of sale reads, of those the program has words in [from memory]."""


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of text, set apart or not."""

    text: str
    strong: bool = False


def runs_text(runs: tuple[Run, ...]) -> str:
    """The words without their emphasis."""
    return "".join(run.text for run in runs)


@cache
def _words() -> Mapping[str, Any]:
    return read_toml("bloomless.rules.common", "phrases.toml")


def _base(language: str) -> str:
    base = language.split("-")[0]
    if base not in _words():
        raise UnknownName("language", language, LANGUAGES)
    return base


def phrase(key: str, language: str, **values: object) -> str:
    """A phrase of a label; raises ``UnknownName`` for a language or phrase nobody has written."""
    words = _words()[_base(language)]
    if key not in words:
        raise UnknownName("phrase", key, words)
    return str(words[key]).format(**values) if values else str(words[key])


def storage_words(typed: str, language: str) -> str:
    """How to store it: the usual sentence in the label's language, anything else as a person typed it."""
    plain = typed.strip().rstrip(".").lower()
    for key in ("store_cool", "store_dry"):
        if any(plain == str(words[key]).lower() for words in _words().values() if key in words):
            return phrase(key, language)
    return typed


def name_in(names: Mapping[str, str], language: str) -> str | None:
    """A name in a language; ``en`` stands in for both Englishes, nothing stands in for another language."""
    return names.get(language) or names.get(language.split("-")[0])


def stem(source: str, language: str) -> str:
    """How an allergen is recognised in a name; its own name where nobody wrote one down."""
    found = _words()["stems"].get(source, {}).get(_base(language), source)
    if language == "en-US" and source == "soy":
        return "soy"
    return str(found)


def emphasis(name: str, sources: tuple[str, ...], language: str, words: Mapping[str, str]) -> tuple[Run, ...]:
    """A name with its allergens set apart; a source the name does not show is added in brackets.

    Parameters
    ----------
    name
        Name of the ingredient as it stands in the list.
    sources
        Allergenic sources in it, as the market lists them.
    language
        Language of the label.
    words
        What to write for a source that the name does not show.
    """
    spans: list[tuple[int, int]] = []
    missing: list[str] = []
    for source in sources:
        # longest words first, so that «noix de cajou» is not cut to «noix»
        found = max(
            (m for option in stem(source, language).split("|") for m in re.finditer(re.escape(option), name.lower())),
            key=lambda m: m.end() - m.start(),
            default=None,
        )
        if found is None:
            missing.append(words.get(source, source))
        else:
            end = found.end()
            while end < len(name) and name[end] in ("en" if language == "de" else "s"):  # the plural belongs to it
                end += 1
            spans.append((found.start(), end))
    runs: list[Run] = []
    at = 0
    for start, end in sorted(spans):
        if start < at:
            continue
        if start > at:
            runs.append(Run(name[at:start]))
        runs.append(Run(name[start:end], strong=True))
        at = end
    if at < len(name):
        runs.append(Run(name[at:]))
    for word in missing:
        runs += [Run(" ("), Run(word, strong=True), Run(")")]
    return tuple(runs)
