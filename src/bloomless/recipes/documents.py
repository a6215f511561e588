"""Recipes and ingredients as JSON documents, and back; the published schema is checked first, field by field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Any, TypeVar

import jsonschema

from bloomless.errors import ImpossibleInput
from bloomless.materials.composition import Composition, composition_of
from bloomless.materials.ingredients import AllergenNote, Constituent, Ingredient, Price
from bloomless.quantities import Money, money
from bloomless.recipes.problems import Problem
from bloomless.recipes.recipe import Cooking, Line, Measured, Recipe, Step
from bloomless.sources import Grade, read_json

__all__ = [
    "book_schema",
    "ingredient_document",
    "ingredient_from_document",
    "problems_of",
    "recipe_document",
    "recipe_from_document",
]

T = TypeVar("T")


@cache
def book_schema() -> Any:
    """JSON Schema (draft 2020-12) of a file of the recipe book; ``$defs`` hold recipe and ingredient."""
    return read_json("bloomless.recipes", "book.schema.json")


@cache
def _validator(kind: str) -> jsonschema.Draft202012Validator:
    schema = book_schema()
    return jsonschema.Draft202012Validator({"$ref": f"#/$defs/{kind}", "$defs": schema["$defs"]})


def problems_of(document: object, kind: str) -> tuple[Problem, ...]:
    """Everything the schema has against a document of a kind (``recipe``, ``ingredient``, ``book``), by field."""
    found = sorted(
        _validator(kind).iter_errors(document), key=lambda error: [str(part) for part in error.absolute_path]
    )
    return tuple(Problem(_path(error), error.instance, _accepted(error)) for error in found)


def _path(error: jsonschema.ValidationError) -> str:
    text = ""
    for part in error.absolute_path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}"
    if error.validator == "required":
        text += f".{error.message.split(chr(39))[1]}"  # 'name' is a required property
    return text.lstrip(".") or "document"


def _accepted(error: jsonschema.ValidationError) -> str:
    if error.validator == "required":
        return "given; it is missing"
    if error.validator == "additionalProperties":
        return error.message.replace("Additional properties are not allowed", "only the fields of the schema")
    if error.validator == "enum":
        return f"one of {error.message.partition(' is not one of ')[2].strip('[]')}"
    if error.validator == "type":
        return f"of type {error.validator_value}"
    return str(error.message)


def _checked(document: object, kind: str) -> None:
    problems = problems_of(document, kind)
    if problems:
        first = problems[0]
        raise ImpossibleInput(first.field, first.value, first.accepted, code="not_as_the_schema")


def _plain(thing: Any) -> Any:
    """Data as JSON values, defaults left out, so that documents stay short and a new field changes no old one."""
    if isinstance(thing, Money):
        return {"amount": str(thing.amount), "currency": thing.currency}
    if isinstance(thing, Enum):
        return thing.value
    if is_dataclass(thing):
        pairs = ((f, getattr(thing, f.name)) for f in fields(thing))
        return {f.name: _plain(value) for f, value in pairs if value != f.default and value not in ((), {}, None)}
    if isinstance(thing, Mapping):
        return {key: _plain(value) for key, value in thing.items()}
    if isinstance(thing, tuple | list):
        return [_plain(value) for value in thing]
    return thing


def recipe_document(recipe: Recipe) -> dict[str, Any]:
    """A recipe as the document of the book."""
    document: dict[str, Any] = _plain(recipe)
    document.setdefault("lines", [])
    return document


def recipe_from_document(document: Mapping[str, Any], *, trusted: bool = False) -> Recipe:
    """A recipe from its document; the first thing that cannot be is raised with its field.

    ``trusted`` skips the schema for what was checked when it was written.
    """
    if not trusted:
        _checked(document, "recipe")
    plain = dict(document)
    return Recipe(
        **{
            **plain,
            "lines": tuple(_at(f"lines[{n}]", Line, line) for n, line in enumerate(plain["lines"])),
            "steps": tuple(_at(f"steps[{n}]", Step, step) for n, step in enumerate(plain.get("steps", ()))),
            "cooking": _at("cooking", Cooking, plain["cooking"]) if plain.get("cooking") is not None else None,
            "measured": _at("measured", Measured, plain["measured"]) if plain.get("measured") is not None else None,
            "tags": tuple(plain.get("tags", ())),
            "keeping_risks": tuple(plain.get("keeping_risks", ())),
        }
    )


def _at(where: str, make: type[T], values: Mapping[str, Any]) -> T:
    try:
        return make(**values)
    except ImpossibleInput as error:
        field = f"{where}.{error.field}".rstrip(".")
        raise ImpossibleInput(field, error.value, error.accepted, code=error.code) from None


def ingredient_document(ingredient: Ingredient) -> dict[str, Any]:
    """An ingredient as the document of the book; what nobody has booked is null."""
    document: dict[str, Any] = _plain(ingredient)
    c = ingredient.composition
    booked = {name: value for name, value in c.values().items() if value}
    document["composition"] = {**booked, **dict.fromkeys(sorted(c.unknown))}
    document["ranges"] = {name: list(ends) for name, ends in ingredient.ranges.items()}
    if not document["ranges"]:
        del document["ranges"]
    return document


def ingredient_from_document(document: Mapping[str, Any], *, trusted: bool = False) -> Ingredient:
    """An ingredient from its document; a composition that does not add up to 97–103 g is refused.

    ``trusted`` skips the schema for what was checked when it was written.
    """
    if not trusted:
        _checked(document, "ingredient")
    plain = dict(document)
    composition: Composition = composition_of(plain["composition"])
    if not 97.0 <= composition.added_up_g <= 103.0:
        raise ImpossibleInput(
            "composition",
            round(composition.added_up_g, 2),
            "water, protein, fat, carbohydrate, ash and alcohol that add up to 97–103 g in 100 g",
            code="does_not_add_up",
        )
    return Ingredient(
        **{
            **plain,
            "composition": composition,
            "allergens": tuple(AllergenNote(**note) for note in plain.get("allergens", ())),
            "may_contain": tuple(plain.get("may_contain", ())),
            "made_of": tuple(Constituent(**part) for part in plain.get("made_of", ())),
            "grade": Grade(plain.get("grade", Grade.ASSUMED)),
            "ranges": {name: (float(low), float(high)) for name, (low, high) in plain.get("ranges", {}).items()},
            "prices": tuple(_price(n, price) for n, price in enumerate(plain.get("prices", ()))),
        }
    )


def _price(number: int, values: Mapping[str, Any]) -> Price:
    cost = values["cost"]
    return _at(f"prices[{number}]", Price, {**values, "cost": money(Decimal(cost["amount"]), cost["currency"])})
