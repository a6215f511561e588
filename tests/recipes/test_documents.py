"""Documents: there and back without loss; what cannot be is named by field."""

import json

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.errors import ImpossibleInput
from bloomless.materials.ingredients import Ingredient, Price, ingredient_library
from bloomless.quantities import money
from bloomless.recipes import KINDS, Cooking, Line, Measured, Recipe, Step
from bloomless.recipes.documents import (
    book_schema,
    ingredient_document,
    ingredient_from_document,
    problems_of,
    recipe_document,
    recipe_from_document,
)
from bloomless.recipes.recipe import PARTS_OF_A_PIECE

LIBRARY = ingredient_library()
TEXT = st.text(st.characters(blacklist_categories=("Cs", "Cc")), min_size=1, max_size=12).filter(str.strip)
SHARES = st.floats(0, 0.9)
LINES = st.builds(
    Line,
    of=TEXT,
    mass_g=st.floats(0, 1e6),
    is_recipe=st.booleans(),
    part=st.sampled_from(PARTS_OF_A_PIECE),
    trim_share=SHARES,
    base=st.booleans(),
)
RECIPES = st.builds(
    Recipe,
    key=TEXT,
    name=TEXT,
    kind=st.sampled_from(KINDS),
    lines=st.lists(LINES, max_size=4).map(tuple),
    steps=st.lists(st.builds(Step, TEXT, st.none() | st.floats(0, 200), st.floats(0, 99)), max_size=2).map(tuple),
    cooking=st.none() | st.builds(Cooking, final_water_share=SHARES),
    left_behind_share=SHARES,
    pieces=st.none() | st.floats(1, 100),
    tags=st.lists(TEXT, max_size=2).map(tuple),
    measured=st.none() | st.builds(Measured, water_activity=st.floats(0.1, 1), ph=st.none() | st.floats(1, 9)),
)


@given(RECIPES)
def test_recipe_there_and_back(recipe):
    document = json.loads(json.dumps(recipe_document(recipe)))
    assert recipe_from_document(document) == recipe


def test_every_ingredient_there_and_back():
    for ingredient in LIBRARY.values():
        assert ingredient_from_document(json.loads(json.dumps(ingredient_document(ingredient)))) == ingredient
    bought = Ingredient(
        "own",
        "Own",
        "sugar",
        LIBRARY["sucrose"].composition,
        ranges={"fat_g": (0.0, 1.0)},
        prices=(Price("2025-01-02", 1000, money("2.40", "EUR"), usable_share=0.9),),
    )
    assert ingredient_from_document(json.loads(json.dumps(ingredient_document(bought)))) == bought
    assert bought.prices[0].per_gram.amount == pytest.approx(money("2.40", "EUR").amount / 900)


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(book_schema())
    assert problems_of({"format": "bloomless-recipe-book/1", "recipes": []}, "book") == ()


def broken(**changes):
    return {"key": "k", "name": "N", "kind": "bar", "lines": [{"of": "sucrose", "mass_g": 5}], **changes}


@pytest.mark.parametrize(
    ("document", "field"),
    [
        (broken(lines=[{"of": "sucrose", "mass_g": -5}]), "lines[0].mass_g"),
        (broken(lines=[{"of": "sucrose", "mass_g": "5"}]), "lines[0].mass_g"),
        (broken(lines=[{"of": "sucrose"}]), "lines[0].mass_g"),
        (broken(lines=[{"of": "a", "mass_g": 3000}], declared_mass_g=1000), "lines[0].mass_g"),
        (broken(kind="soup"), "kind"),
        (broken(colour="red"), "document"),
        (broken(cooking={}), "cooking.cooking"),
        (broken(steps=[{"text": " "}]), "steps[0].text"),
        ({"name": "N"}, "key"),
    ],
)
def test_bad_recipe_by_field(document, field):
    with pytest.raises(ImpossibleInput) as caught:
        recipe_from_document(document)
    assert caught.value.field == field


def test_all_problems_at_once():
    document = broken(kind="soup", lines=[{"of": "sucrose", "mass_g": -5}, {"mass_g": 1}])
    assert {p.field for p in problems_of(document, "recipe")} == {"kind", "lines[0].mass_g", "lines[1].of"}
    assert all("is not accepted" in p.text for p in problems_of(document, "recipe"))


def test_composition_that_does_not_add_up():
    with pytest.raises(ImpossibleInput) as caught:
        ingredient_from_document({"key": "k", "name": "N", "group": "g", "composition": {"water_g": 30, "fat_g": 20}})
    assert caught.value.code == "does_not_add_up"


@pytest.mark.parametrize("wrong", [{"pack_g": 0}, {"cost": money("-1", "EUR")}, {"usable_share": 0}])
def test_bad_price(wrong):
    with pytest.raises(ImpossibleInput):
        Price(**{"on": "2025-01-01", "pack_g": 100, "cost": money("1", "EUR"), **wrong})
