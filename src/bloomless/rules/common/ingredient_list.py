"""The list of ingredients: order, compounds opened and merged, additives by class, allergens set apart, QUID."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, Literal

from bloomless.rules.common.colours import colour_names
from bloomless.rules.common.printed_name import without_reserved
from bloomless.rules.common.words import Run, emphasis, name_in, phrase, runs_text, stem
from bloomless.rules.decimals import HUNDRED, ONE, ZERO, plain, round_to
from bloomless.rules.food import Food, Substance
from bloomless.rules.law import Law

__all__ = ["IngredientList", "Item", "ingredient_list"]

_ADDITIVE_KINDS: Final = frozenset({"emulsifier", "colour", "dust", "preservative", "acid", "hydrocolloid", "polyol"})
_GROUP_OF: Final = {"veg_fat": "vegetable_fats_list", "nut": "nuts_list", "fruit": "fruits_list"}
_TENTH: Final = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class Item:
    """One ingredient of the list with its share of the food."""

    runs: tuple[Run, ...]
    pct: Decimal
    """Share of the mixing mass [%]."""
    keys: tuple[str, ...]
    quid: str = ""


@dataclass(frozen=True, slots=True)
class IngredientList:
    """The list as it is printed."""

    items: tuple[Item, ...]
    runs: tuple[Run, ...]
    untranslated: tuple[str, ...]
    """Ingredients with no name in the language."""
    omitted: tuple[str, ...]
    """What the law lets out, with the reason."""

    @property
    def text(self) -> str:
        """The words without emphasis."""
        return runs_text(self.runs)

    @property
    def emphasised(self) -> tuple[str, ...]:
        """Every stretch that is set apart, in order."""
        return tuple(run.text for run in self.runs if run.strong)


@dataclass(frozen=True, slots=True)
class _Entry:
    substance: Substance
    mass_g: Decimal
    names: tuple[str, ...] = ()


class _Composer:
    """Composes one list: keeps what every step needs together, nothing more."""

    def __init__(self, food: Food, jurisdiction: str, language: str, law: Law) -> None:
        self.food, self.jurisdiction, self.language, self.law = food, jurisdiction, language, law
        self.us = jurisdiction == "us"
        table = "eu" if jurisdiction == "uk" else jurisdiction
        self.listed = law.table(f"{table}.allergens").by("source")
        self.untranslated: list[str] = []
        self.omitted: list[str] = []
        self.total_g = sum((s.mixing_g for s in food.sections), ZERO)

    def name(self, substance: Substance) -> str:
        found = name_in(substance.names, self.language)
        if found is None:
            self.untranslated.append(substance.key)
            return substance.names.get("en", substance.key)
        return found

    def sources(self, substance: Substance) -> tuple[str, ...]:
        """Listed sources of a substance, without those its own name is excepted for (Annex II exceptions)."""
        own = set(substance.allergens)
        if not self.us:
            plain_name = substance.names.get("en", "").lower()
            own -= {row["source"] for row in self.law.rows("eu.allergen_exceptions") if row["words"] in plain_name}
        return tuple(sorted(source for source in own if source in self.listed))

    def word(self, source: str) -> str:
        if self.language.startswith("en"):
            return str(self.listed[source]["declared"])
        return (
            stem(source, self.language).split("|")[0].capitalize()
            if self.language == "de"
            else stem(source, self.language)
        )

    def marked(self, name: str, sources: tuple[str, ...]) -> tuple[Run, ...]:
        if self.us:
            return (Run(name),)
        return emphasis(name, sources, self.language, {source: self.word(source) for source in sources})

    def named(self, substance: Substance) -> tuple[Run, ...]:
        """An additive by class and name, a colour by its pigments, anything else by its name."""
        name, sources = self.name(substance), self.sources(substance)
        if substance.kind in {"colour", "dust"} and (self.us or _numbered(substance)) and substance.pigments:
            names = ", ".join(colour_names(substance, self.jurisdiction, self.law))
            return self.marked(names, sources)
        return self.marked(name, sources)

    def class_of(self, substance: Substance) -> str:
        """Class name an additive carries in the Union; the US names the substance itself."""
        if self.us or substance.kind not in _ADDITIVE_KINDS or not (substance.e_number or _numbered(substance)):
            return ""
        function = substance.function or ("colour" if substance.kind in {"colour", "dust"} else "")
        if function == "sweetener":
            return phrase("sweetener_class", self.language)
        return phrase(function, self.language) if function else ""


def _numbered(substance: Substance) -> bool:
    return any(pigment.startswith("E ") for pigment in substance.pigments)


def _opened(substance: Substance, mass_g: Decimal) -> Iterator[_Entry]:
    if substance.parts:
        for part, share in substance.parts:
            yield from _opened(part, mass_g * share)
    else:
        yield _Entry(substance, mass_g)


def _entries(food: Food, style: str) -> list[_Entry]:
    """Uses merged by what they are called, so that two roasts of one nut or two lots of sugar are one ingredient."""
    merged: dict[tuple[str, str], _Entry] = {}
    for section in food.sections:
        lost_g = section.mixing_g - section.finished_g
        for use in section.uses:
            parts = _opened(use.substance, use.mass_g) if style == "opened" else [_Entry(use.substance, use.mass_g)]
            for entry in parts:
                mass_g = entry.mass_g
                if entry.substance.kind == "water":
                    gone = min(lost_g, mass_g)
                    lost_g, mass_g = lost_g - gone, mass_g - gone
                key = (entry.substance.names.get("en", entry.substance.key), entry.substance.kind)
                if key in merged:
                    old = merged[key]
                    # the merged name must show every allergen of both
                    both = replace(old.substance, allergens=old.substance.allergens | entry.substance.allergens)
                    merged[key] = _Entry(both, old.mass_g + mass_g, (*old.names, entry.substance.key))
                else:
                    merged[key] = _Entry(entry.substance, mass_g, (entry.substance.key,))
    return [entry for entry in merged.values() if entry.mass_g > 0]


def _without_exempt(entries: list[_Entry], make: _Composer) -> list[_Entry]:
    kept = []
    finished = make.food.finished_g
    for entry in entries:
        substance = entry.substance
        if substance.processing_aid and not make.sources(substance):
            make.omitted.append(f"{substance.key}: processing aid")
        elif (
            substance.kind == "water"
            and not make.us
            and entry.mass_g * HUNDRED < finished * make.law.figure("eu.water_named_pct")
        ):
            make.omitted.append(f"{substance.key}: added water below 5 % of the finished food (Annex VII A 1)")
        else:
            kept.append(entry)
    return kept


def _compound_runs(make: _Composer, substance: Substance, pct: Decimal) -> tuple[Run, ...]:
    """A compound by name with its own list in brackets, in its own order."""
    name = make.name(substance)
    parts = sorted(substance.parts, key=lambda part: -part[1]) or [(part, ZERO) for part in substance.in_order]
    short = not make.us and substance.kind == "chocolate" and pct < make.law.figure("eu.compound_list_pct")
    if short:
        # composition fixed by the Union's law and below 2 %: the list may go, additives and allergens stay (VII E)
        parts = [(s, x) for s, x in parts if make.class_of(s) or make.sources(s)]
        make.omitted.append(f"{substance.key}: list of a compound below 2 % whose composition law fixes")
    runs: list[Run] = [Run(name)]
    if parts:
        runs.append(Run(" ("))
        for number, (part, _) in enumerate(parts):
            label = make.class_of(part)
            inner = _compound_runs(make, part, pct) if part.parts or part.in_order else make.named(part)
            runs += [Run(", " if number else ""), Run(f"{label}: " if label else ""), *inner]
        runs.append(Run(")"))
    elif not short:
        runs = list(make.named(substance))
    return tuple(run for run in runs if run.text)


def _quid(make: _Composer, entry: _Entry) -> str:
    """Share of an ingredient that the name or the label emphasises (Art. 22, Annex VIII; from memory)."""
    food, substance = make.food, entry.substance
    if make.us or substance.kind in {"flavour", "spice", "emulsifier"}:
        return ""
    names = " ".join(without_reserved(name) for name in (food.name, *food.standing_names.values())).lower()
    own = {substance.botanical.lower(), *(name.lower() for tag, name in substance.names.items() if tag != "en-US")}
    if substance.botanical in substance.allergens:
        own |= set(stem(substance.botanical, make.language).split("|"))
    wanted = set(entry.names) & food.emphasised or any(word and word.rstrip("s") in names for word in own)
    if not wanted or substance.kind in {"cocoa_mass", "cocoa_butter", "cocoa_powder", "chocolate", "sugar"}:
        return ""
    lost = make.total_g - food.finished_g
    share = entry.mass_g / (food.finished_g if lost > 0 else make.total_g) * HUNDRED
    if share > HUNDRED:
        return f" ({phrase('per_100_g_food', make.language).replace('x', plain(round_to(share, ONE)), 1)})"
    return f" ({plain(round_to(share, ONE if share >= 5 else _TENTH))}\u00a0%)"


def _items(make: _Composer, entries: list[_Entry]) -> list[Item]:
    items: list[Item] = []
    groups: dict[str, list[_Entry]] = {}
    varying = make.food.varying
    for entry in entries:
        label = make.class_of(entry.substance)
        if not label and set(entry.names) & varying and entry.substance.kind in _GROUP_OF:
            label = f"~{entry.substance.kind}"
        if label:
            groups.setdefault(label, []).append(entry)
            continue
        pct = entry.mass_g / make.total_g * HUNDRED
        compound = entry.substance.parts or entry.substance.in_order
        runs = _compound_runs(make, entry.substance, pct) if compound else make.named(entry.substance)
        quid = _quid(make, entry)
        items.append(Item((*runs, Run(quid)) if quid else runs, pct, entry.names, quid.strip(" ()")))
    items += [_group(make, label, members) for label, members in groups.items()]
    return sorted(items, key=lambda item: -item.pct)


def _group(make: _Composer, label: str, members: list[_Entry]) -> Item:
    """Additives of one class behind its name, or fats, nuts and fruit "in varying proportion" (Annex VII A 4, 8, 9)."""
    members = sorted(members, key=lambda entry: -entry.mass_g)
    pct = sum((entry.mass_g for entry in members), ZERO) / make.total_g * HUNDRED
    inner: list[Run] = []
    for number, entry in enumerate(members):
        inner += [Run(", " if number else ""), *make.named(entry.substance)]
    keys = tuple(name for entry in members for name in entry.names)
    if label.startswith("~"):
        head = phrase(_GROUP_OF[label[1:]], make.language)
        tail = f") {phrase('varying', make.language)}"
        runs = (Run(f"{head} ("), *inner, Run(tail))
    else:
        word = label
        if len(members) > 1 and label in {phrase("emulsifier", make.language), phrase("colour", make.language)}:
            key = "emulsifiers" if label == phrase("emulsifier", make.language) else "colours"
            word = phrase(key, make.language)
        runs = (Run(f"{word}: "), *inner)
    return Item(tuple(run for run in runs if run.text), pct, keys)


def _from_rework(make: _Composer, items: list[Item]) -> list[Item]:
    """Allergens that only rework brings: no recipe line names them, so they stand by name at the end of the list."""
    shown = " ".join(runs_text(item.runs) for item in items).lower()
    found = []
    for source in sorted(make.food.rework_allergens):
        known = any(option in shown for option in stem(source, make.language).split("|"))
        if source in make.listed and not known:
            found.append(Item((Run(make.word(source), strong=not make.us),), ZERO, ("rework",)))
    return found


def ingredient_list(
    food: Food,
    jurisdiction: str,
    language: str,
    law: Law,
    *,
    style: Literal["opened", "nested"] = "opened",
    tail: bool = False,
) -> IngredientList:
    """The list of ingredients of a food.

    Parameters
    ----------
    food
        The food.
    jurisdiction
        ``us``, ``eu`` or ``uk``.
    language
        Language tag.
    law
        The law in force.
    style
        ``opened``: compounds whose shares are known are opened and merged; ``nested``: they stand by name with their
        own list in brackets (21 CFR 101.4(b)(2); Reg. 1169/2011 Annex VII E). A compound whose shares are not known
        stays nested in any case.
    tail
        US only: what is 2 % or less follows "Contains 2% or less of" (101.4(a)(2)).
    """
    make = _Composer(food, jurisdiction, language, law)
    items = _items(make, _without_exempt(_entries(food, style), make))
    items += _from_rework(make, items)
    limit = law.figure("us.tail_pct")
    cut = [item for item in items if item.pct <= limit] if make.us and tail else []
    if len(cut) < 2:
        cut = []
    runs: list[Run] = []
    for item in (item for item in items if item not in cut):
        runs += [Run(", " if runs else ""), *item.runs]
    if cut:
        runs.append(Run(f". {phrase('contains_two_percent', language)}: "))
        for number, item in enumerate(cut):
            runs += [Run(", " if number else ""), *item.runs]
    return IngredientList(
        tuple(items),
        _joined(tuple(run for run in runs if run.text)),
        tuple(dict.fromkeys(make.untranslated)),
        tuple(dict.fromkeys(make.omitted)),
    )


def _joined(runs: tuple[Run, ...]) -> tuple[Run, ...]:
    out: list[Run] = []
    for run in runs:
        if out and out[-1].strong == run.strong:
            out[-1] = Run(out[-1].text + run.text, run.strong)
        else:
            out.append(run)
    return tuple(out)
