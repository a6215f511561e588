"""Recipes and ingredients in and out as text: schema.org JSON-LD, tables, the book's own JSON.

Reading collects every problem by field and takes nothing unless it can take all.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Final

from bloomless.errors import ImpossibleInput
from bloomless.materials.composition import composition_of
from bloomless.materials.ingredients import Ingredient
from bloomless.recipes.compose import Pantry, compose
from bloomless.recipes.documents import (
    ingredient_document,
    ingredient_from_document,
    problems_of,
    recipe_document,
    recipe_from_document,
)
from bloomless.recipes.finding_recipes import plain_text
from bloomless.recipes.problems import Problem
from bloomless.recipes.recipe import Line, Recipe, Step
from bloomless.recipes.scaling import UNITS_g, UNITS_ml, mass_from_amount
from bloomless.sources import Grade

__all__ = [
    "Draft",
    "DraftLine",
    "book_from_json",
    "book_to_json",
    "csv_of_recipe",
    "draft_from_schema_org",
    "draft_from_table",
    "headings_of",
    "ingredients_from_food_csv",
    "schema_org",
]

FORMAT: Final = "bloomless-recipe-book/1"
_UNITS: Final = "kg|mg|g|oz|lb|ml|cl|dl|l|fl oz"
_AMOUNT: Final = re.compile(rf"^\s*(?P<n>\d+(?:[.,]\d+)?)\s*(?P<unit>{_UNITS})\b\.?\s*(?P<rest>.+)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class DraftLine:
    """A line as it was read, and what it was taken for; a person confirms it."""

    text: str
    mass_g: float | None
    of: str = ""
    """Key of the ingredient it looks like; empty if none does."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A recipe read from elsewhere; ``recipe`` makes it one once nothing is open."""

    name: str
    lines: tuple[DraftLine, ...]
    steps: tuple[str, ...]
    problems: tuple[Problem, ...]
    pieces: float | None = None

    def recipe(self, key: str, kind: str) -> Recipe:
        """The recipe; the first open problem is raised with its field."""
        if self.problems:
            first = self.problems[0]
            raise ImpossibleInput(first.field, first.value, first.accepted)
        lines = tuple(Line(line.of, line.mass_g or 0.0) for line in self.lines)
        return Recipe(key, self.name, kind, lines, tuple(Step(text) for text in self.steps), pieces=self.pieces)


def schema_org(recipe: Recipe, pantry: Pantry) -> dict[str, Any]:
    """A recipe as schema.org JSON-LD (types Recipe, HowToStep, NutritionInformation, QuantitativeValue)."""
    made = compose(recipe, pantry)
    names = {**{k: i.name for k, i in pantry.ingredients.items()}, **{k: r.name for k, r in pantry.recipes.items()}}
    hands, wait = sum(s.hands_min for s in recipe.steps), sum(s.wait_min for s in recipe.steps)
    c = made.per_100g
    in_pieces = recipe.pieces is not None
    return {
        "@context": "https://schema.org",
        "@type": "Recipe",
        "name": recipe.name,
        "author": {"@type": "Person", "name": recipe.author} if recipe.author else None,
        "keywords": ", ".join(recipe.tags),
        "recipeCategory": recipe.kind.replace("_", " "),
        "recipeYield": {
            "@type": "QuantitativeValue",
            "value": recipe.pieces if in_pieces else round(made.mass_g, 1),
            "unitText": "pieces" if in_pieces else "g",
        },
        "recipeIngredient": [
            f"{line.mass_g:g} g {names[line.of]}" + (f", {line.preparation}" if line.preparation else "")
            for line in recipe.lines
        ],
        "recipeInstructions": [
            {
                "@type": "HowToStep",
                "position": number,
                "text": step.text + (f" ({step.temperature_C:g} °C)" if step.temperature_C is not None else ""),
            }
            for number, step in enumerate(recipe.steps, start=1)
        ],
        "prepTime": f"PT{hands:.0f}M",
        "totalTime": f"PT{hands + wait:.0f}M",
        "nutrition": {
            "@type": "NutritionInformation",
            "servingSize": "100 g",
            "calories": f"{c.energy_kcal:.0f} kcal",
            "fatContent": f"{c.fat_g:.1f} g",
            "saturatedFatContent": f"{c.saturated_fat_g:.1f} g",
            "carbohydrateContent": f"{c.carbohydrate_g - c.fibre_g:.1f} g",
            "sugarContent": f"{c.sugars_g:.1f} g",
            "fiberContent": f"{c.fibre_g:.1f} g",
            "proteinContent": f"{c.protein_g:.1f} g",
            "sodiumContent": f"{c.sodium_mg:.0f} mg",
        },
    }


def csv_of_recipe(recipe: Recipe, pantry: Pantry) -> str:
    """Lines of a recipe as a table: key, name, grams, share, part, preparation."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["key", "name", "mass_g", "share", "part", "preparation"])
    for line in recipe.lines:
        source = pantry.recipes if line.is_recipe else pantry.ingredients
        share = line.mass_g / recipe.put_in_g
        writer.writerow(
            [line.of, source[line.of].name, f"{line.mass_g:g}", f"{share:.5f}", line.part, line.preparation]
        )
    return out.getvalue()


def _match(name: str, pantry: Pantry) -> str:
    known = {plain_text(i.name): key for key, i in pantry.ingredients.items()}
    known |= {plain_text(i.label_name): key for key, i in pantry.ingredients.items() if i.label_name}
    known |= {plain_text(key.replace("_", " ")): key for key in pantry.ingredients}
    wanted = plain_text(name.split(",")[0])
    if wanted in known:
        return known[wanted]
    near = get_close_matches(wanted, list(known), n=1, cutoff=0.82)
    return known[near[0]] if near else ""


def _draft_line(text: str, field: str, pantry: Pantry) -> tuple[DraftLine, list[Problem]]:
    found = _AMOUNT.match(text)
    if found is None:
        accepted = f"an amount with a unit ({', '.join([*UNITS_g, *UNITS_ml])}) and a name"
        return DraftLine(text, None), [Problem(field, text, accepted)]
    key = _match(found["rest"], pantry)
    if not key:
        return DraftLine(text, None), [Problem(field, found["rest"], "the name of an ingredient of the book")]
    try:
        grams = mass_from_amount(float(found["n"].replace(",", ".")), found["unit"].lower(), pantry.ingredients[key])
    except ImpossibleInput as error:
        return DraftLine(text, None, key), [Problem(field, text, error.accepted)]
    return DraftLine(text, grams, key), []


def draft_from_schema_org(text: str, pantry: Pantry) -> Draft:
    """A recipe from a schema.org file (JSON-LD; a list or ``@graph`` is searched for the first Recipe)."""
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        raise ImpossibleInput("file", text[:40], f"JSON; line {error.lineno}: {error.msg}", code="not_json") from None
    found = _first_recipe(data)
    if found is None:
        raise ImpossibleInput("@type", None, "a schema.org Recipe somewhere in the file", code="no_recipe")
    problems: list[Problem] = []
    name = found.get("name")
    if not isinstance(name, str) or not name.strip():
        problems.append(Problem("name", name, "a name"))
    lines = []
    ingredients = found.get("recipeIngredient", [])
    for number, line in enumerate(ingredients if isinstance(ingredients, list) else [ingredients]):
        read, wrong = _draft_line(str(line), f"recipeIngredient[{number}]", pantry)
        lines.append(read)
        problems += wrong
    if not lines:
        problems.append(Problem("recipeIngredient", None, "at least one ingredient"))
    steps = tuple(s for s in (_step_text(step) for step in _steps(found.get("recipeInstructions", []))) if s)
    return Draft(str(name or ""), tuple(lines), steps, tuple(problems))


def _first_recipe(data: Any) -> Mapping[str, Any] | None:
    if isinstance(data, list):
        return next((found for item in data if (found := _first_recipe(item)) is not None), None)
    if not isinstance(data, dict):
        return None
    types = data.get("@type")
    if types == "Recipe" or (isinstance(types, list) and "Recipe" in types):
        return data
    return _first_recipe(data.get("@graph"))


def _steps(instructions: Any) -> Sequence[Any]:
    if isinstance(instructions, list):
        sections = [item.get("itemListElement", [item]) if isinstance(item, dict) else [item] for item in instructions]
        return [step for section in sections for step in section]
    return str(instructions).splitlines()


def _step_text(step: Any) -> str:
    return str(step.get("text") or step.get("name") or "").strip() if isinstance(step, dict) else str(step).strip()


def _delimiter(text: str) -> str:
    first = text.partition("\n")[0]
    return max(",;\t", key=first.count)


def headings_of(text: str) -> list[str]:
    """Headings of a table saved as text, with comma, semicolon or tab."""
    return next(csv.reader(io.StringIO(text), delimiter=_delimiter(text)), [])


def draft_from_table(text: str, columns: Mapping[str, str], pantry: Pantry, *, name: str, unit: str = "g") -> Draft:
    """A recipe from a spreadsheet saved as CSV, its columns named by the person.

    Parameters
    ----------
    text
        The table; comma, semicolon or tab.
    columns
        ``{"name": …, "amount": …}`` and, if there is one, ``"unit"``: headings of the table.
    name
        Of the recipe.
    unit
        For rows without a unit of their own.
    """
    headings = headings_of(text)
    rows = list(csv.DictReader(io.StringIO(text), delimiter=_delimiter(text)))
    wrong = [
        Problem(f"columns.{role}", heading, f"one of the headings {', '.join(str(h) for h in headings)}")
        for role, heading in columns.items()
        if heading not in headings
    ]
    absent = [role for role in ("name", "amount") if role not in columns]
    wrong += [Problem(f"columns.{role}", None, "the heading of that column") for role in absent]
    if wrong or not rows:
        return Draft(name, (), (), tuple(wrong) or (Problem("rows", 0, "at least one row below the headings"),))
    lines, problems = [], []
    for number, row in enumerate(rows, start=2):
        amount, what = (row[columns["amount"]] or "").strip(), (row[columns["name"]] or "").strip()
        if not amount and not what:
            continue
        row_unit = ((row[columns["unit"]] or "").strip() if "unit" in columns else "") or unit
        read, bad = _draft_line(f"{amount} {row_unit} {what}", f"row {number}", pantry)
        lines.append(read)
        problems += bad
    return Draft(name, tuple(lines), (), tuple(problems))


FOOD_COLUMNS: Final[Mapping[str, tuple[str, ...]]] = {
    "name": ("description", "shrt_desc", "food", "name"),
    "id": ("fdc_id", "ndb_no", "id"),
    "water_g": ("water", "water_(g)", "water (g)", "water_g"),
    "protein_g": ("protein", "protein_(g)", "protein (g)", "protein_g"),
    "fat_g": ("total lipid (fat)", "lipid_tot_(g)", "total fat (g)", "fat (g)", "fat_g"),
    "carbohydrate_g": ("carbohydrate, by difference", "carbohydrt_(g)", "carbohydrate (g)", "carbohydrate_g"),
    "ash_g": ("ash", "ash_(g)", "ash (g)", "ash_g"),
    "sugars_g": ("sugars, total", "sugar_tot_(g)", "total sugars", "sugars (g)", "sugars_g"),
    "fibre_g": ("fiber, total dietary", "fiber_td_(g)", "fiber (g)", "fibre_g"),
    "saturated_fat_g": ("fatty acids, total saturated", "fa_sat_(g)", "saturated fat (g)", "saturated_fat_g"),
    "sodium_mg": ("sodium, na", "sodium_(mg)", "sodium (mg)", "sodium_mg"),
    "alcohol_g": ("alcohol, ethyl", "alcohol (g)", "alcohol_g"),
}
"""Headings under which public food tables print each part; case does not matter."""
NEEDED: Final = ("name", "water_g", "protein_g", "fat_g", "carbohydrate_g")


def ingredients_from_food_csv(text: str, *, group: str = "other") -> tuple[tuple[Ingredient, ...], tuple[Problem, ...]]:
    """Ingredients from a table of a public food database (one food a row, per 100 g).

    Returns
    -------
    tuple
        The ingredients, none at all if there is any problem; and the problems by row and column.
    """
    rows = list(csv.DictReader(io.StringIO(text), delimiter=_delimiter(text)))
    headings = {h.strip().lower(): h for h in (rows[0] if rows else {}) if h}
    column = {
        part: headings[next(n for n in names if n in headings)]
        for part, names in FOOD_COLUMNS.items()
        if any(n in headings for n in names)
    }
    problems = [
        Problem(f"columns.{part}", ", ".join(headings), f"a column such as {FOOD_COLUMNS[part][0]!r}")
        for part in NEEDED
        if part not in column
    ]
    if problems:
        return (), tuple(problems)
    made = []
    for number, row in enumerate(rows, start=2):
        read, bad = _food(row, column, number, group)
        problems += bad
        if read is not None:
            made.append(read)
    return (() if problems else tuple(made)), tuple(problems)


def _food(
    row: Mapping[str, str], column: Mapping[str, str], number: int, group: str
) -> tuple[Ingredient | None, list[Problem]]:
    values: dict[str, float | None] = {"potassium_mg": None, "calcium_mg": None, "iron_mg": None, "vitamin_d_ug": None}
    problems = []
    for part, heading in column.items():
        cell = (row[heading] or "").strip()
        if part in ("name", "id"):
            continue
        try:
            values[part] = float(cell.replace(",", ".")) if cell else None
        except ValueError:
            problems.append(Problem(f"row {number}.{heading}", cell, "a number"))
    problems += [
        Problem(f"row {number}.{column[part]}", "", "a number; without it nothing can be calculated")
        for part in NEEDED[1:]
        if values.get(part, 0.0) is None
    ]
    name = (row[column["name"]] or "").strip()
    if not name:
        problems.append(Problem(f"row {number}.{column['name']}", "", "a name"))
    if problems:
        return None, problems
    values["liquid_oil_g"] = values["fat_g"]  # which fat it is, the table does not tell; the softest is assumed
    key = re.sub(r"\W+", "_", plain_text(name)).strip("_")
    document = {"key": key, "name": name, "group": group, "composition": values, "grade": Grade.PUBLISHED.value}
    document |= {"source": "usda_sr28_2016", "item": (row[column["id"]] or "") if "id" in column else ""}
    try:
        composition_of(values, field=f"row {number}")
        return ingredient_from_document(document), []
    except ImpossibleInput as error:
        field = error.field if error.field.startswith("row") else f"row {number}.{error.field}"
        return None, [Problem(field, error.value, error.accepted)]


def book_to_json(
    recipes: Sequence[Recipe], ingredients: Sequence[Ingredient], photos: Mapping[str, str] | None = None
) -> str:
    """Recipes, own ingredients and photos (name → Base64 of JPEG) as a file of the published schema."""
    book: dict[str, Any] = {
        "format": FORMAT,
        "recipes": [recipe_document(recipe) for recipe in recipes],
        "ingredients": [ingredient_document(ingredient) for ingredient in ingredients],
    }
    if photos:
        book["photos"] = dict(photos)
    return json.dumps(book, ensure_ascii=False, indent=1) + "\n"


def book_from_json(text: str) -> tuple[tuple[Recipe, ...], tuple[Ingredient, ...], tuple[Problem, ...]]:
    """Recipes and ingredients of such a file; nothing at all if there is any problem."""
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        return (), (), (Problem("file", text[:40], f"JSON; line {error.lineno}: {error.msg}"),)
    problems = list(problems_of(data, "book"))
    recipes, ingredients = [], []
    if not problems:
        for number, document in enumerate(data.get("recipes", ())):
            try:
                recipes.append(recipe_from_document(document, trusted=True))
            except ImpossibleInput as error:
                problems.append(Problem(f"recipes[{number}].{error.field}", error.value, error.accepted))
        for number, document in enumerate(data.get("ingredients", ())):
            try:
                ingredients.append(ingredient_from_document(document, trusted=True))
            except ImpossibleInput as error:
                problems.append(Problem(f"ingredients[{number}].{error.field}", error.value, error.accepted))
    return ((), (), tuple(problems)) if problems else (tuple(recipes), tuple(ingredients), ())
