"""Findings of the law in the language of a device: its templates are translated, the facts put in after."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from bloomless.rules import Finding
from bloomless.rules.decimals import plain
from bloomless.web.view import View
from bloomless.web.words import translations

__all__ = ["FindingWords", "finding_words"]


@dataclass(frozen=True, slots=True)
class FindingWords:
    """What a screen says of a finding."""

    message: str
    cure: str
    english: bool
    """True if the language has no words for it, so that it stands in English."""


class _Facts:
    """Facts for a sentence, numbers as the device writes them."""

    def __init__(self, facts: Mapping[str, Any], view: View) -> None:
        self.facts, self.view = facts, view

    def __getitem__(self, key: str) -> object:
        value = self.facts.get(key)
        if isinstance(value, Decimal):
            text = plain(Decimal(f"{value:.2f}"))
            return self.view.number(float(value), len(text.partition(".")[2]))
        if isinstance(value, tuple) and value and isinstance(value[0], Finding):
            return " ".join(finding_words(one, self.view).message for one in value)
        if isinstance(value, frozenset | set | tuple):
            return ", ".join(sorted(str(one) for one in value))
        return "–" if value is None else translations(self.view.language).gettext(str(value)) if value else value


def finding_words(finding: Finding, view: View) -> FindingWords:
    """A finding in the language of a view, or in English where nobody has put it into that language."""
    known = translations(view.language).gettext
    told = known(finding.template) if finding.template else ""
    if view.language == "en" or not told or told == finding.template:
        return FindingWords(finding.message, finding.cure, english=view.language != "en")
    facts: Any = _Facts(finding.facts, view)
    cure = known(finding.cure_template) if finding.cure_template else ""
    return FindingWords(told.format_map(facts), cure.format_map(facts), english=False)
