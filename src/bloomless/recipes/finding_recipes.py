"""Search as typed, and the difference of two versions."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from bloomless.recipes.recipe import Recipe

__all__ = ["Difference", "SearchIndex", "difference", "plain_text"]


def plain_text(text: str) -> str:
    """Text for comparing: no case, no accents, one space."""
    folded = unicodedata.normalize("NFKD", text.casefold())
    return " ".join("".join(c for c in folded if not unicodedata.combining(c)).split())


@dataclass(frozen=True, slots=True)
class SearchIndex:
    """Every recipe as one line of plain text; a word matches anywhere, and names count before the rest."""

    names: Mapping[str, str]
    texts: Mapping[str, str]

    @classmethod
    def of(cls, documents: Iterable[Mapping[str, Any]], names: Mapping[str, str]) -> SearchIndex:
        """Index of recipe documents; ``names`` are those of ingredients and recipes by key."""
        by_name, by_text = {}, {}
        for document in documents:
            parts = [document["name"], document["kind"].replace("_", " "), document.get("note", "")]
            parts += [*document.get("tags", ())]
            parts += [names.get(line["of"], line["of"]) for line in document["lines"]]
            by_name[document["key"]] = plain_text(document["name"])
            by_text[document["key"]] = plain_text(" ".join(parts))
        return cls(by_name, by_text)

    def find(self, typed: str, *, most: int = 50) -> list[str]:
        """Keys of recipes that hold every typed word, best first."""
        words = plain_text(typed).split()
        if not words:
            return sorted(self.names, key=lambda key: self.names[key])[:most]
        hits = [key for key, text in self.texts.items() if all(word in text for word in words)]

        def rank(key: str) -> tuple[int, str]:
            name = self.names[key]
            missing = sum(0 if word in name else 1 for word in words)
            return (missing if not name.startswith(words[0]) else missing - 1, name)

        return sorted(hits, key=rank)[:most]


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that two versions do not share."""

    what: str
    before: str
    after: str


def difference(before: Recipe, after: Recipe, names: Mapping[str, str]) -> tuple[Difference, ...]:
    """What changed from one version to the other, in words; lines are matched by what they are and where they go."""
    found = []
    old = {(line.of, line.part): line for line in before.lines}
    new = {(line.of, line.part): line for line in after.lines}
    for key in [*old, *(k for k in new if k not in old)]:
        name = names.get(key[0], key[0]) + (f" ({key[1]})" if key[1] else "")
        a, b = old.get(key), new.get(key)
        if a != b:
            found.append(Difference(name, f"{a.mass_g:g} g" if a else "–", f"{b.mass_g:g} g" if b else "–"))
    for field in ("name", "kind", "pieces", "left_behind_share", "reject_share", "cooking", "measured", "tags", "note"):
        a_value, b_value = getattr(before, field), getattr(after, field)
        if a_value != b_value:
            found.append(Difference(field.replace("_", " "), _shown(a_value), _shown(b_value)))
    for number in range(max(len(before.steps), len(after.steps))):
        a_step = before.steps[number] if number < len(before.steps) else None
        b_step = after.steps[number] if number < len(after.steps) else None
        if a_step != b_step:
            a_text, b_text = (step.text if step else "–" for step in (a_step, b_step))
            found.append(Difference(f"step {number + 1}", a_text, b_text))
    return tuple(found)


def _shown(value: object) -> str:
    if value in (None, "", ()):
        return "–"
    return ", ".join(value) if isinstance(value, tuple) else str(value)
