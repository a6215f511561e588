"""Markets: which jurisdiction answers which question, and in which language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bloomless.errors import UnknownName
from bloomless.rules.common.words import LANGUAGES_OF

__all__ = ["MARKETS", "Market", "market"]


@dataclass(frozen=True, slots=True)
class Market:
    """Where a food is sold."""

    code: str
    name: str
    jurisdiction: str
    """Whose labelling law answers."""
    colours: str
    """Whose list of colours answers."""
    language: str
    """Language unless the country says otherwise."""

    def languages(self, country: str) -> frozenset[str]:
        """Languages the country of sale reads, of those the program has words in; empty if it knows none."""
        if self.code == "eu":
            return LANGUAGES_OF.get(country, frozenset()) if country else frozenset({"en-GB", "de", "fr"})
        return frozenset({self.language})


MARKETS: Final[Mapping[str, Market]] = {
    "us": Market("us", "United States", "us", "us", "en-US"),
    "eu": Market("eu", "European Union", "eu", "eu", "en-GB"),
    "uk": Market("uk", "Great Britain", "uk", "uk", "en-GB"),
    "ni": Market("ni", "Northern Ireland", "uk", "eu", "en-GB"),
}
"""Markets a label is printed for; Codex and Canada are shown for information only."""


def market(code: str) -> Market:
    """A market by code; a market without rules is refused by name."""
    if code not in MARKETS:
        raise UnknownName("market", code, MARKETS)
    return MARKETS[code]
