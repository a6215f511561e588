"""The batch sheet as data: what to weigh, melt and chop, do, tick and write down; paper and screen show the same."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, Final

from bloomless.bench.recipes import WeighedUp, line_from, names_of, weigh_up
from bloomless.errors import ImpossibleInput
from bloomless.materials.mould_library import words_of
from bloomless.materials.moulds import Mould
from bloomless.recipes import Pantry, Recipe, Step
from bloomless.recipes.findings import Finding
from bloomless.recipes.scaling import plan, rounded
from bloomless.sources import Grade, Sourced

__all__ = ["BatchSheet", "ToTemper", "batch_sheet", "quick_bar", "to_temper"]

LATENT_K: Final = Sourced(
    30.0, "K", 4.0, "derived", Grade.DERIVED, note="157 kJ/kg of fat × 0.40 fat × 0.76 solid ÷ 1.6 kJ/(kg K)"
)
BOWL_SHARE: Final = Sourced(
    0.12, "1", 0.05, "assumed", Grade.ASSUMED, note="heat held by the vessel over the chocolate's"
)
SEED_AT_K_ABOVE: Final = 3.5
"""Above the working temperature at which the seed goes in; below about 36 °C form V lives on."""
RESERVE_SHARE: Final = 0.4
MORE_THAN_NEEDED: Final = Sourced(
    0.25,
    "1",
    0.1,
    "common_practice",
    Grade.TRADE_PRACTICE,
    note="stays in the bowl and keeps it warm while casting",
)
WORKING_C: Final = {"chocolate_dark": 31.5, "chocolate_milk": 30.0, "chocolate_white": 29.0}
CAUTIONS: Final = {
    "burns": "Chocolate, sugar and steam stick and burn: cool under running water, keep children at arm's length.",
    "alcohol": "Alcohol: vapour near a flame; age, amount and label are set by local law.",
    "choking": "Whole nuts: not for small children.",
    "moist": "A moist filling: no keeping time is proposed; laboratory, local codes and licensed practice decide.",
    "allergen": "Allergens are those of these lots, rests in the bowl included. Never infer that one is absent.",
}


@dataclass(frozen=True, slots=True)
class ToTemper:
    """One chocolate that goes through the bowl."""

    key: str
    """Of the ingredient, or of the recipe of a blend."""
    kind: str
    """``dark``, ``milk`` or ``white``."""
    name: str
    need_g: float
    melt_g: float
    """To melt, a quarter more than is needed included, seed not."""
    seed_g: float
    reserve_g: float
    """To keep chopped on the board."""
    working_C: float
    why: str


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """Everything on one sheet."""

    title: str
    batch: str
    on: str
    size: str
    sections: tuple[dict[str, Any], ...]
    """One a recipe in the order of work: heading, amounts, steps."""
    temper: tuple[ToTemper, ...]
    mould: str
    """What it is cast in, in words."""
    mould_count: int
    """How many of them; 0 if none was chosen."""
    allergens: tuple[str, ...]
    ask_supplier: tuple[str, ...]
    may_contain: tuple[str, ...]
    cautions: tuple[str, ...]
    keeping: str
    findings: tuple[Finding, ...]
    address: str

    def data(self) -> dict[str, Any]:
        """As JSON values, for the template."""
        return asdict(self)


def to_temper(recipe: Recipe, pantry: Pantry) -> tuple[ToTemper, ...]:
    """Chocolates of a piece's shell, cap or body, with what to melt and chop.

    Seed by the heat balance ``share = (T_add − T_work)·(1 + bowl)/(latent + T_add − T_seed)`` for pieces at 20 °C; the
    bench says more exactly once the bowl is known.
    """
    if recipe.kind not in ("bar", "bonbon", "bark"):
        return ()
    need: dict[str, float] = {}
    for line in recipe.lines:
        if line.part not in ("", "shell", "cap"):
            continue
        group = "" if line.is_recipe else pantry.ingredients[line.of].group
        blend = line.is_recipe and pantry.recipes[line.of].kind == "couverture_blend"
        if group in WORKING_C or blend:
            need[line.of] = need.get(line.of, 0.0) + line.mass_g
    found = []
    for key, grams in need.items():
        source = pantry.recipes[key] if key in pantry.recipes else pantry.ingredients[key]
        group = "chocolate_dark" if isinstance(source, Recipe) else source.group
        working_C = WORKING_C[group]
        at_C = working_C + SEED_AT_K_ABOVE
        share = SEED_AT_K_ABOVE * (1.0 + BOWL_SHARE.value) / (LATENT_K.value + at_C - 20.0)
        total_g = grams * (1.0 + MORE_THAN_NEEDED.value)
        melt_g = _up(total_g / (1.0 + share), 10.0)
        seed_g = _up(share * melt_g, 5.0)
        why = (
            f"{grams:.0f} g are needed and a quarter more keeps the bowl warm; seed at {at_C:.0f} °C: its melting "
            f"takes the bowl to about {working_C:.1f} °C."
        )
        kind, reserve_g = group.removeprefix("chocolate_"), _up(RESERVE_SHARE * seed_g, 5.0)
        found.append(ToTemper(key, kind, source.name, grams, melt_g, seed_g, reserve_g, working_C, why))
    return tuple(found)


def _up(grams: float, step_g: float) -> float:
    return math.ceil(grams / step_g - 1e-9) * step_g


def batch_sheet(
    recipe: Recipe,
    pantry: Pantry,
    *,
    batch: str,
    on: str,
    address: str = "",
    step_g: float = 1.0,
    fine_step_g: float | None = 0.1,
    mould: Mould | None = None,
    lots: Mapping[str, str] | None = None,
) -> BatchSheet:
    """Prepare the sheet of a recipe in the size to be made.

    Parameters
    ----------
    recipe, pantry
        In the size to be made, rejects included.
    batch, on
        Code and day of the batch.
    address
        Where the printed code leads.
    step_g, fine_step_g
        Steps of the scale, and of the finer one for small amounts, if there is one.
    mould
        In which it is cast.
    lots
        Codes of the lots to take, by ingredient.
    """
    found = weigh_up(recipe, pantry)
    findings: list[Finding] = []
    names = names_of(pantry)
    sections = []
    for part in plan(recipe, pantry):
        shown, notes = rounded(part.recipe, step_g, fine_step_g=fine_step_g)
        findings += [replace(note, of=names.get(note.of, note.of)) for note in notes]
        sections.append(_section(shown.lines, part, pantry, lots or {}))
    moist = found.keeping.range_d is None
    cautions = {step.caution for part in plan(recipe, pantry) for step in part.recipe.steps if step.caution in CAUTIONS}
    cautions |= {"moist"} if moist else set()
    cautions |= {"allergen"} if found.made.allergens else set()
    made = found.made
    size = (
        f"{recipe.pieces:.0f} pieces of {made.piece_g:.1f} g"
        if made.piece_g and recipe.pieces
        else f"{made.mass_g:.0f} g"
    )
    return BatchSheet(
        title=recipe.name,
        batch=batch,
        on=on,
        size=size,
        sections=tuple(sections),
        temper=to_temper(recipe, pantry),
        mould=words_of().get(mould.name, mould.name) if mould else "",
        mould_count=math.ceil(recipe.pieces / mould.cavities) if mould and recipe.pieces else 0,
        allergens=tuple(note.substance for note in made.allergens if note.present),
        ask_supplier=tuple(note.substance for note in made.allergens if not note.present),
        may_contain=made.may_contain,
        cautions=tuple(CAUTIONS[key] for key in sorted(cautions, key=list(CAUTIONS).index)),
        keeping=_keeping_words(found),
        findings=tuple(findings),
        address=address,
    )


def _section(lines: Sequence[Any], part: Any, pantry: Pantry, lots: Mapping[str, str]) -> dict[str, Any]:
    amounts = [
        {
            "name": pantry.recipes[line.of].name if line.is_recipe else pantry.ingredients[line.of].name,
            "grams": f"{line.mass_g:.1f}".removesuffix(".0"),
            "mass_g": line.mass_g,
            "digits": 0 if abs(line.mass_g - round(line.mass_g)) < 1e-6 else 1 if line.mass_g >= 1.0 else 2,
            "part": line.part,
            "preparation": line.preparation,
            "lot": line.lot or lots.get(line.of, ""),
            "made_here": line.is_recipe,
        }
        for line in lines
        if line.mass_g > 0.0
    ]
    steps = [
        {
            "text": step.text,
            "at": "" if step.temperature_C is None else f"{step.temperature_C:g} °C",
            "minutes": _minutes(step.hands_min, step.wait_min),
        }
        for step in part.recipe.steps
    ]
    return {
        "heading": part.recipe.name,
        "into": ", ".join(part.goes_into),
        "makes": f"{part.made.mass_g:.0f} g",
        "amounts": amounts,
        "steps": steps,
    }


def _minutes(hands_min: float, wait_min: float) -> str:
    def words(minutes: float) -> str:
        return f"{minutes / 60:.0f} h" if minutes >= 120 else f"{minutes:.0f} min"

    parts = [words(hands_min) if hands_min else "", f"then wait {words(wait_min)}" if wait_min else ""]
    return ", ".join(part for part in parts if part)


def _keeping_words(found: WeighedUp) -> str:
    if found.keeping.range_d is None:
        return "No keeping time is proposed: a laboratory test and the local authority decide."
    low, high = found.keeping.range_d
    return f"Perhaps {low:.0f}–{high:.0f} days at {found.keeping.store}; an estimate, no release: measure it."


def quick_bar(
    pantry: Pantry,
    *,
    chocolate: str,
    bars: int,
    piece_g: float,
    inclusions: Sequence[tuple[str, float]],
    name: str = "",
) -> Recipe:
    """A bar recipe from what a newcomer says: chocolate, number, size, and what goes in with its share.

    Parameters
    ----------
    chocolate
        Key of the couverture.
    bars, piece_g
        How many, and the mass of one.
    inclusions
        Key and share of each thing in it; together below 0.5.
    """
    if not 1 <= bars <= 10_000:
        raise ImpossibleInput("bars", bars, "1 to 10000 bars")
    if not 1.0 <= piece_g <= 5000.0:
        raise ImpossibleInput("piece_g", piece_g, "1 to 5000 g for one bar")
    share = sum(part for _, part in inclusions)
    if not 0.0 <= share < 0.5 or any(part < 0.0 for _, part in inclusions):
        raise ImpossibleInput("inclusions", share, "shares of 0 or more that are together below 0.5")
    total_g = bars * piece_g
    lines = [line_from(chocolate, total_g * (1.0 - share), pantry, base=True)]
    lines += [line_from(key, total_g * part, pantry, part="inclusion") for key, part in inclusions if part > 0.0]
    group = pantry.ingredients[chocolate].group if chocolate in pantry.ingredients else ""
    working_C = WORKING_C.get(group, 31.5)
    steps = (
        Step("Melt, temper: follow the bench.", temperature_C=working_C, hands_min=20, caution="burns"),
        Step("Stir in or sprinkle what goes in, at room warmth; mould and tap.", temperature_C=working_C, hands_min=12),
        Step("Cool in moving air.", temperature_C=13, hands_min=2, wait_min=25),
        Step("Knock out, sort, pack.", hands_min=12),
    )
    words = name or f"{pantry.ingredients[chocolate].name if chocolate in pantry.ingredients else chocolate} bar"
    key = "".join(c if c.isalnum() else "_" for c in words.casefold()).strip("_")
    return Recipe(key, words, "bar", tuple(lines), steps, pieces=float(bars), reject_share=0.0, tags=("bar",))
