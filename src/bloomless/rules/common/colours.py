"""Colours and dusts by market: which pigment may stand where, by what name, with which warning."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from bloomless.rules.common.composition import leaves
from bloomless.rules.decimals import HUNDRED, ZERO
from bloomless.rules.food import Food, Section, Substance
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding

__all__ = ["colour_names", "coloured", "judge_colours", "southern_colours"]

_PEARL_ON_IRON: Final = "E 555+E 172"


def coloured(food: Food) -> Iterator[tuple[Section, Substance]]:
    """Every colour and dust of a food with the section it stands in."""
    for section in food.sections:
        seen = set()
        for leaf in leaves(section.uses):
            if leaf.substance.kind in {"colour", "dust"} and leaf.mass_g > 0 and leaf.substance.key not in seen:
                seen.add(leaf.substance.key)
                yield section, leaf.substance


def _base(pigment: str) -> str:
    return pigment.split("+", maxsplit=1)[0].removesuffix(" lake")


def colour_names(substance: Substance, jurisdiction: str, law: Law) -> tuple[str, ...]:
    """Names of the pigments of a colour as a market lists them; an unlisted one keeps its number."""
    table = "us.colours" if jurisdiction == "us" else f"{jurisdiction}.colours"
    rows = law.table(table).by("e_number")
    found = []
    for pigment in substance.pigments:
        row = rows.get(pigment) or rows.get(_base(pigment))
        found.append(row["declared"] if row else pigment)
    return tuple(found)


def southern_colours(food: Food, jurisdiction: str, law: Law) -> tuple[str, ...]:
    """Names of the six colours with the warning of Annex V that the food holds."""
    if jurisdiction == "us":
        return ()
    rows = law.table(f"{jurisdiction}.colours").by("e_number")
    six = [
        row["declared"]
        for _, colour in coloured(food)
        for pigment in colour.pigments
        if (row := rows.get(_base(pigment))) and row["azo"]
    ]
    return tuple(dict.fromkeys(six))


def judge_colours(
    food: Food, jurisdiction: str, law: Law, *, standardized: bool, warned: bool = True, named_carmine: bool = True
) -> tuple[Finding, ...]:
    """Findings about every colour and dust.

    Parameters
    ----------
    food
        The food.
    jurisdiction
        ``us``, ``eu`` or ``uk``; Northern Ireland asks ``eu``.
    law
        The law in force.
    standardized
        Whether the chocolate carries a reserved name.
    warned
        Whether the label carries the warning of the six colours.
    named_carmine
        Whether carmine stands by its name.
    """
    rows = law.table(f"{jurisdiction}.colours").by("e_number")
    total = food.finished_g
    found: list[Finding] = []
    for section, colour in coloured(food):
        mass_g = sum(
            (x.mass_g * x.substance.share("colour") for x in leaves(section.uses) if x.substance is colour), ZERO
        )
        facts: dict[str, Any] = {
            "section": section.name or section.role,
            "role": section.role,
            "standardized": standardized,
            "dusted": colour.kind == "dust",
            "has_list": colour.ingredient_list_known,
            "colour": colour.names.get("en", colour.key),
            "warned": warned,
            "named_carmine": named_carmine,
            "food_pct": mass_g / total * HUNDRED if total else None,
            "group_three_mg_kg": _southern_mg_kg(section, rows),
        }
        found += law.judge(jurisdiction, "dusts", facts)
        # in the Union a colouring food is an ingredient, not an additive: it stands by its own name
        for pigment in (p for p in colour.pigments if jurisdiction == "us" or p.startswith("E ")):
            row = rows.get(pigment) or rows.get(_base(pigment))
            facts |= {
                "pigment": _base(pigment),
                "listed": row is not None,
                "southern": bool(row and row.get("azo")),
                "pearl_on_iron_oxide": pigment == _PEARL_ON_IRON,
            }
            found += law.judge(jurisdiction, "colours", facts)
        if not colour.pigments and colour.ingredient_list_known:
            found += law.judge(jurisdiction, "dusts", facts | {"has_list": False})
    return tuple(dict.fromkeys(found))


def _southern_mg_kg(section: Section, rows: dict[Any, Any]) -> Any:
    # group III of the additives law reaches further than the six; those are the ones whose pigment share is known here
    dyed = sum(
        (
            leaf.mass_g * leaf.substance.share("colour")
            for leaf in leaves(section.uses)
            if any((row := rows.get(_base(p))) and row.get("azo") for p in leaf.substance.pigments)
        ),
        ZERO,
    )
    return dyed / section.mixing_g * 1_000_000 if section.mixing_g else ZERO
