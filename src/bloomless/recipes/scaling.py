"""Amounts for what is wanted: pieces, moulds, a mass, or what the stock allows; the work plan; rounding to a scale."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bloomless.errors import ImpossibleInput, Misuse
from bloomless.materials.ingredients import Ingredient
from bloomless.recipes.compose import Composed, Pantry, compose
from bloomless.recipes.findings import Finding
from bloomless.recipes.recipe import Line, Recipe

__all__ = [
    "Batch",
    "Weighing",
    "bakers_percentages",
    "for_mass",
    "for_pieces",
    "from_stock",
    "mass_from_amount",
    "plan",
    "rounded",
    "stock_needed",
]

UNITS_g: Final = {"g": 1.0, "kg": 1000.0, "mg": 0.001, "oz": 28.349523125, "lb": 453.59237}
UNITS_ml: Final = {"ml": 1.0, "l": 1000.0, "cl": 10.0, "dl": 100.0, "fl oz": 29.5735295625}


def mass_from_amount(amount: float, unit: str, ingredient: Ingredient | None = None) -> float:
    """Mass [g] of an amount as people write it.

    Parameters
    ----------
    amount
        0 or more.
    unit
        One of g, kg, mg, oz, lb, or ml, cl, dl, l, fl oz; a volume needs the density of ``ingredient``.
    """
    if not 0.0 <= amount < 1e9:
        raise ImpossibleInput("amount", amount, "an amount of 0 or more", code="impossible_amount")
    if unit in UNITS_g:
        return amount * UNITS_g[unit]
    if unit not in UNITS_ml:
        raise ImpossibleInput("unit", unit, f"one of {', '.join([*UNITS_g, *UNITS_ml])}")
    if ingredient is None:
        raise ImpossibleInput("unit", unit, "a unit of mass; a recipe has no density", code="no_density")
    return ingredient.mass_g(amount * UNITS_ml[unit])


def for_mass(recipe: Recipe, finished_g: float, pantry: Pantry) -> Recipe:
    """The recipe in the size whose finished mass, losses taken off, is ``finished_g``."""
    if not finished_g > 0.0:
        raise ImpossibleInput("finished_g", finished_g, "a mass above 0 g")
    return recipe.times(finished_g / compose(recipe, pantry).mass_g)


def for_pieces(recipe: Recipe, good_pieces: float) -> Recipe:
    """The recipe in the size that gives so many good pieces, rejects made on top."""
    if recipe.pieces is None:
        raise Misuse(f"{recipe.name} makes a mass and no pieces; ask for grams instead.")
    if not good_pieces > 0.0:
        raise ImpossibleInput("pieces", good_pieces, "a number of pieces above 0")
    made = good_pieces / (1.0 - recipe.reject_share)
    return recipe.times(made / recipe.pieces)


def stock_needed(recipe: Recipe, pantry: Pantry) -> dict[str, float]:
    """Mass [g] to take from the stock by ingredient: sub-recipes, their losses and all trimmings included."""
    needed: dict[str, float] = {}

    def add(part: Recipe, times: float) -> None:
        for line in part.lines:
            if line.is_recipe:
                inner = pantry.recipes[line.of]
                add(inner, times * line.from_stock_g / compose(inner, pantry).mass_g)
            else:
                needed[line.of] = needed.get(line.of, 0.0) + times * line.from_stock_g

    compose(recipe, pantry)  # names and loops are checked there
    add(recipe, 1.0)
    return needed


def from_stock(recipe: Recipe, stock_g: Mapping[str, float], pantry: Pantry) -> tuple[Recipe | None, str]:
    """The largest size the stock allows, and the key of the ingredient that ends first; water comes from the tap.

    Returns
    -------
    tuple
        None in place of the recipe if something is missing altogether.
    """
    needed = {
        key: g
        for key, g in stock_needed(recipe, pantry).items()
        if g > 0.0 and pantry.ingredients[key].group != "water"
    }
    if not needed:
        return None, ""
    limits = {key: stock_g.get(key, 0.0) / g for key, g in needed.items()}
    first = min(limits, key=lambda key: limits[key])
    return (recipe.times(limits[first]) if limits[first] > 0.0 else None), first


@dataclass(frozen=True, slots=True)
class Weighing:
    """One amount to weigh."""

    line: Line
    name: str
    mass_g: float
    """As it goes in."""
    from_stock_g: float
    base_pct: float | None
    """Per cent of the base lines, if the recipe has such."""


@dataclass(frozen=True, slots=True)
class Batch:
    """One recipe to be made, in the order of work; what others need of it is added up."""

    recipe: Recipe
    """In the size to be made."""
    made: Composed
    weighings: tuple[Weighing, ...]
    goes_into: tuple[str, ...]
    """Names of the recipes that take it."""


def plan(recipe: Recipe, pantry: Pantry) -> tuple[Batch, ...]:
    """What to make, sub-recipes first, each once in the size that all its uses together need."""
    compose(recipe, pantry)
    amounts: dict[str, float] = {}
    users: dict[str, list[str]] = {}
    order: list[str] = []

    def visit(part: Recipe) -> None:
        for line in part.lines:
            if line.is_recipe and line.mass_g > 0.0:
                inner = pantry.recipes[line.of]
                amounts[line.of] = amounts.get(line.of, 0.0) + line.from_stock_g
                if part.name not in users.setdefault(line.of, []):
                    users[line.of].append(part.name)
                if line.of in order:
                    order.remove(line.of)
                order.append(line.of)
                visit(for_mass(inner, line.from_stock_g, pantry))

    visit(recipe)
    batches = [
        _batch(for_mass(pantry.recipes[key], amounts[key], pantry), pantry, users[key]) for key in reversed(order)
    ]
    return (*batches, _batch(recipe, pantry, []))


def _batch(recipe: Recipe, pantry: Pantry, users: Sequence[str]) -> Batch:
    percentages = bakers_percentages(recipe)
    weighings = tuple(
        Weighing(line, _name(line, pantry), line.mass_g, line.from_stock_g, None if percentages is None else pct)
        for line, pct in zip(recipe.lines, percentages or [0.0] * len(recipe.lines), strict=True)
        if line.mass_g > 0.0
    )
    return Batch(recipe, compose(recipe, pantry), weighings, tuple(users))


def _name(line: Line, pantry: Pantry) -> str:
    return pantry.recipes[line.of].name if line.is_recipe else pantry.ingredients[line.of].name


def bakers_percentages(recipe: Recipe) -> list[float] | None:
    """Every line in per cent of the base lines together; None if no line is a base."""
    base_g = sum(line.mass_g for line in recipe.lines if line.base)
    return [100.0 * line.mass_g / base_g for line in recipe.lines] if base_g > 0.0 else None


def rounded(
    recipe: Recipe, step_g: float, *, fine_step_g: float | None = None, fine_below_g: float = 50.0
) -> tuple[Recipe, tuple[Finding, ...]]:
    """Amounts as the scale can show them, the total kept to half a step and every share as near as the scale allows.

    Each amount is rounded down, then the largest remainders are rounded up until the total is right again.

    Parameters
    ----------
    recipe
        In the size to be made.
    step_g
        Step of the scale.
    fine_step_g, fine_below_g
        Step of a second, finer scale for small amounts, if there is one.

    Returns
    -------
    tuple
        The rounded recipe, and a finding for every amount that the step changes by more than 2 %.
    """
    if not 0.0 < step_g <= 1000.0:
        raise ImpossibleInput("step_g", step_g, "a step above 0 and up to 1000 g")
    fine = step_g if fine_step_g is None else fine_step_g
    steps = [fine if line.mass_g < fine_below_g else step_g for line in recipe.lines]
    exact = [line.mass_g for line in recipe.lines]
    masses = [max(math.floor(g / s + 1e-9) * s, s if g > 0.0 else 0.0) for g, s in zip(exact, steps, strict=True)]
    by_rest = sorted(range(len(exact)), key=lambda n: -(exact[n] - masses[n]) / steps[n])
    for n in by_rest:
        missing_g = sum(exact) - sum(masses)
        if exact[n] - masses[n] > 0.0 and missing_g >= 0.5 * steps[n]:
            masses[n] += steps[n]
    found = []
    for line, before, after, step in zip(recipe.lines, exact, masses, steps, strict=True):
        if before > 0.0 and abs(after / before - 1.0) > 0.02:
            text = f"{before:.3g} g is too little for a scale in steps of {step:g} g; weigh it on a finer one."
            found.append(Finding("too_little_to_weigh", "care", text, before, step, of=line.of))
    lines = tuple(replace(line, mass_g=round(g, 6)) for line, g in zip(recipe.lines, masses, strict=True))
    return replace(recipe, lines=lines, declared_mass_g=None), tuple(found)
