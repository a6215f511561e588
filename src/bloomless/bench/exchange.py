"""The recipe book as a file and back: recipes, own ingredients, photos; everything is taken, or nothing is."""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any, Literal, TypeAlias

from bloomless.bench.ports import Book
from bloomless.bench.recipes import pantry_of, recipe_named, save_ingredient, save_recipe
from bloomless.errors import BloomlessError, UnknownName
from bloomless.materials.ingredients import Ingredient
from bloomless.recipes import Pantry, Recipe, compose
from bloomless.recipes.documents import ingredient_from_document
from bloomless.recipes.interchange import FORMAT, book_from_json, book_to_json
from bloomless.recipes.problems import Problem

__all__ = ["export_book", "import_book", "inner_first", "kind_of_file", "save_foods"]

FileKind: TypeAlias = Literal["book", "schema.org", "table"]
Redraw: TypeAlias = Callable[[bytes], Mapping[str, Any]]


def kind_of_file(text: str) -> FileKind:
    """What a file is, told by its content: the book's own form, a schema.org Recipe, else a table."""
    if text.lstrip()[:1] not in ("{", "["):
        return "table"
    return "book" if f'"{FORMAT}"' in text[:400] or f'"{FORMAT}"' in text[-400:] else "schema.org"


def export_book(book: Book, only: str = "") -> str:
    """The whole book as JSON of the published schema, or one recipe with its photo."""
    recipes = list(pantry_of(book).recipes.values()) if not only else [recipe_named(book, only)[0]]
    own = [] if only else [ingredient_from_document(e.document, trusted=True) for e in book.latest("ingredient")]
    photos = {}
    for recipe in recipes:
        if recipe.photo:
            try:
                photos[recipe.photo] = book.get("photo", recipe.photo).document["large"]
            except UnknownName:
                continue  # a recipe that came without its photo
    return book_to_json(recipes, own, photos)


def import_book(book: Book, text: str, *, at: datetime, redraw: Redraw) -> tuple[int, int, tuple[Problem, ...]]:
    """Take a file of the book's own form; how many recipes and ingredients, or every problem and nothing taken.

    Parameters
    ----------
    book, text, at
        Where to, what, now.
    redraw
        Makes a photo's document of its bytes; a photo of a file is never trusted.
    """
    recipes, ingredients, problems = book_from_json(text)
    if problems:
        return 0, 0, problems
    wrong = _does_not_compose(book, recipes, ingredients)
    pictures, bad = _photos(json.loads(text).get("photos", {}), redraw)
    if wrong or bad:
        return 0, 0, (*wrong, *bad)
    for name, picture in pictures.items():
        book.put("photo", name, picture, at=at)
    for ingredient in ingredients:
        save_ingredient(book, ingredient, at=at)
    for recipe in inner_first(recipes):
        save_recipe(book, recipe, at=at)
    return len(recipes), len(ingredients), ()


def _does_not_compose(book: Book, recipes: Sequence[Recipe], ingredients: Sequence[Ingredient]) -> list[Problem]:
    """Loops, and names that neither the file nor the book knows: found before anything is written."""
    there = pantry_of(book)
    known = {**there.ingredients, **{one.key: one for one in ingredients}}
    together = Pantry(known, {**there.recipes, **{one.key: one for one in recipes}})
    found = []
    for number, recipe in enumerate(recipes):
        try:
            compose(recipe, together)
        except BloomlessError as error:
            field = f"recipes[{number}].{getattr(error, 'field', '')}"
            found.append(Problem(field, getattr(error, "value", None), getattr(error, "accepted", str(error))))
    return found


def _photos(sent: Mapping[str, str], redraw: Redraw) -> tuple[dict[str, Mapping[str, Any]], list[Problem]]:
    found: dict[str, Mapping[str, Any]] = {}
    bad = []
    for name, text in sent.items():
        try:
            found[name] = {**redraw(base64.b64decode(text, validate=True)), "name": name}
        except (BloomlessError, binascii.Error):
            bad.append(Problem(f"photos.{name}", text[:20], "a photo as Base64 of JPEG, PNG or WebP"))
    return found, bad


def save_foods(book: Book, foods: Sequence[Ingredient], *, at: datetime) -> None:
    """Write the ingredients of a food table."""
    for food in foods:
        save_ingredient(book, food, at=at)


def inner_first(recipes: Sequence[Recipe]) -> list[Recipe]:
    """Recipes in an order in which each finds the ones it names."""
    by_key = {recipe.key: recipe for recipe in recipes}
    done: set[str] = set()
    order: list[Recipe] = []

    def visit(recipe: Recipe) -> None:
        if recipe.key in done:
            return
        done.add(recipe.key)
        for line in recipe.lines:
            if line.is_recipe and line.of in by_key:
                visit(by_key[line.of])
        order.append(recipe)

    for recipe in recipes:
        visit(recipe)
    return order
