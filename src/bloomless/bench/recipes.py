"""The recipe book's jobs: keep, find, weigh up, scale and prepare a batch sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from bloomless.bench.cost_terms import DEFAULT_TERMS
from bloomless.bench.ports import Book, Entry
from bloomless.bench.stock import prices_in_stock
from bloomless.costing import BatchCost, Packaging, Terms, batch_cost
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.ingredients import Ingredient, ingredient_library
from bloomless.recipes import Line, Pantry, Recipe, compose
from bloomless.recipes.balance import Balance, balance
from bloomless.recipes.between_parts import graining_limit, limits_between
from bloomless.recipes.compose import Composed
from bloomless.recipes.documents import (
    ingredient_document,
    ingredient_from_document,
    recipe_document,
    recipe_from_document,
)
from bloomless.recipes.finding_recipes import Difference, SearchIndex, difference
from bloomless.recipes.keeping import Keeping, keeping, keeping_of_a_piece
from bloomless.recipes.recipe import PARTS_OF_A_PIECE
from bloomless.recipes.scaling import from_stock
from bloomless.recipes.water_activity import WaterActivity, water_activity

__all__ = [
    "PartFigures",
    "WeighedUp",
    "duplicate",
    "line_from",
    "makeable",
    "names_of",
    "pantry_of",
    "recipe_named",
    "save_ingredient",
    "save_recipe",
    "search_index",
    "version_difference",
    "weigh_up",
]


SMOOTH: Final = ("caramel", "fruit_gel", "other")
"""Kinds that are spoiled when their sugar grains; what is candied or dried is not."""


@dataclass(frozen=True, slots=True)
class PartFigures:
    """Figures of one part of a piece; parts that touch but do not mix have a water activity of their own."""

    name: str
    made: Composed
    balance: Balance
    water_activity: WaterActivity
    keeping: Keeping


@dataclass(frozen=True, slots=True)
class WeighedUp:
    """Everything calculated about a recipe in one size."""

    made: Composed
    parts: tuple[PartFigures, ...]
    keeping: Keeping
    cost: BatchCost


def pantry_of(book: Book, *, at: datetime | None = None) -> Pantry:
    """Ingredients of the library, the person's own over them, what the stock cost, and the recipes of the book.

    Parameters
    ----------
    book
        The book.
    at
        As it was at that moment; as it is now if not given.
    """
    own = {e.key: ingredient_from_document(e.document, trusted=True) for e in _as_of(book, "ingredient", at)}
    ingredients = {**ingredient_library(), **own}
    for key, prices in prices_in_stock(book).items():
        if key in ingredients:
            known = ingredients[key]
            history = tuple(sorted((*known.prices, *prices), key=lambda price: price.on))
            ingredients[key] = replace(known, prices=history)
    recipes = {e.key: recipe_from_document(e.document, trusted=True) for e in _as_of(book, "recipe", at)}
    return Pantry(ingredients, recipes)


def _as_of(book: Book, kind: str, at: datetime | None) -> Iterator[Entry]:
    for entry in book.latest(kind):
        if at is None or entry.at <= at:
            yield entry
        else:
            yield from [old for old in book.history(kind, entry.key) if old.at <= at and not old.withdrawn][-1:]


def names_of(pantry: Pantry) -> dict[str, str]:
    """Name of every ingredient and recipe by key."""
    return {**{k: i.name for k, i in pantry.ingredients.items()}, **{k: r.name for k, r in pantry.recipes.items()}}


def recipe_named(book: Book, key: str, version: int | None = None) -> tuple[Recipe, Entry]:
    """A recipe of the book, the latest version unless named."""
    entry = book.get("recipe", key, version)
    return recipe_from_document(entry.document, trusted=True), entry


def save_recipe(book: Book, recipe: Recipe, *, at: datetime) -> Entry:
    """Write a version of a recipe; what it names must be there, and it may not contain itself.

    What was measured is of the thing as it was made: with other lines or another cooking it is dropped.
    """
    pantry = pantry_of(book)
    before = pantry.recipes.get(recipe.key)
    if before is not None and recipe.measured is not None and recipe.measured == before.measured:
        unchanged = (before.lines, before.cooking) == (recipe.lines, recipe.cooking)
        recipe = recipe if unchanged else replace(recipe, measured=None)
    compose(recipe, Pantry(pantry.ingredients, {**pantry.recipes, recipe.key: recipe}))
    document = recipe_document(recipe)
    recipe_from_document(document)
    return book.put("recipe", recipe.key, document, at=at)


def save_ingredient(book: Book, ingredient: Ingredient, *, at: datetime) -> Entry:
    """Write a version of an own ingredient, prices included."""
    document = ingredient_document(ingredient)
    ingredient_from_document(document)
    return book.put("ingredient", ingredient.key, document, at=at)


def duplicate(book: Book, key: str, new_key: str, name: str, *, at: datetime) -> Entry:
    """Write a recipe once more under another name, as a variant of the first."""
    recipe, _ = recipe_named(book, key)
    if any(entry.key == new_key for entry in book.latest("recipe")):
        raise ImpossibleInput("key", new_key, "a name that no recipe has yet", code="taken")
    return save_recipe(book, replace(recipe, key=new_key, name=name, variant_of=key, measured=None), at=at)


def version_difference(book: Book, key: str, before: int, after: int) -> tuple[Difference, ...]:
    """What changed between two versions of a recipe."""
    names = names_of(pantry_of(book))
    return difference(recipe_named(book, key, before)[0], recipe_named(book, key, after)[0], names)


def search_index(book: Book, names: Mapping[str, str] | None = None) -> SearchIndex:
    """Index of every recipe of the book for searching as typed."""
    if names is None:
        names = {k: i.name for k, i in ingredient_library().items()}
        names |= {e.key: str(e.document["name"]) for kind in ("ingredient", "recipe") for e in book.latest(kind)}
    return SearchIndex.of((entry.document for entry in book.latest("recipe")), names)


def makeable(pantry: Pantry, stock_g: Mapping[str, float]) -> tuple[tuple[Recipe, float, str], ...]:
    """Recipes the stock allows at all: recipe, how many times its written size, and what ends first (its key)."""
    found = []
    for recipe in pantry.recipes.values():
        size, first = from_stock(recipe, stock_g, pantry)
        if size is not None:
            found.append((recipe, size.put_in_g / recipe.put_in_g, first))
    return tuple(sorted(found, key=lambda item: -item[1]))


def weigh_up(
    recipe: Recipe, pantry: Pantry, *, terms: Terms = DEFAULT_TERMS, packaging: Sequence[Packaging] = ()
) -> WeighedUp:
    """Composition, balance, water activity, keeping and cost of a recipe in the size it has."""
    made = compose(recipe, pantry)
    parts = tuple(_figures(name, part) for name, part in _parts(recipe, pantry, made))
    between = limits_between([(p.name, p.made, p.water_activity) for p in parts], pieces=recipe.pieces or 1.0)
    whole = keeping_of_a_piece([(part.name, part.keeping) for part in parts], between)
    return WeighedUp(made, parts, whole, batch_cost(recipe, pantry, terms, packaging))


def _figures(name: str, made: Composed) -> PartFigures:
    aw, figures = water_activity(made), balance(made)
    grains = graining_limit(figures, cooked=made.water_lost_g > 0.0 and made.recipe.kind in SMOOTH)
    return PartFigures(name, made, figures, aw, keeping(made, aw, (grains,) if grains else ()))


def _parts(recipe: Recipe, pantry: Pantry, made: Composed) -> list[tuple[str, Composed]]:
    """The parts of a piece; each sub-recipe of a filling is a layer of its own."""
    if all(line.part == "" for line in recipe.lines):
        return [("", made)]
    found: list[tuple[str, Composed]] = []
    for part in PARTS_OF_A_PIECE:
        lines = [line for line in recipe.lines if line.part == part and line.mass_g > 0.0]
        loose = tuple(line for line in lines if not line.is_recipe and pantry.ingredients[line.of].group != "salt")
        here = [p.inside for p in made.portions if p.line.part == part]
        found += [(part, inside) for inside in here if inside is not None]
        if loose:
            named = ", ".join(pantry.ingredients[line.of].name for line in loose)
            bare = replace(recipe, name=named, lines=loose, cooking=None, measured=None, declared_mass_g=None)
            found.append((part, compose(bare, pantry)))
    return found


def line_from(of: str, mass_g: float, pantry: Pantry, **more: Any) -> Line:
    """A line of the ingredient or the recipe of that key; an unknown one is answered with the nearest."""
    if of in pantry.recipes:
        return Line(of, mass_g, is_recipe=True, **more)
    if of in pantry.ingredients:
        return Line(of, mass_g, **more)
    raise UnknownName("of", of, [*pantry.ingredients, *pantry.recipes])
