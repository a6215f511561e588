"""In and out as text; nothing half-imported, every problem by field; search and differences."""

import json
from dataclasses import replace

import pytest
from test_compose import BONBON, CARAMEL, GANACHE, PANTRY

from bloomless.errors import ImpossibleInput
from bloomless.recipes import Line, Step
from bloomless.recipes.documents import recipe_document
from bloomless.recipes.finding_recipes import SearchIndex, difference
from bloomless.recipes.interchange import (
    book_from_json,
    book_to_json,
    csv_of_recipe,
    draft_from_schema_org,
    draft_from_table,
    ingredients_from_food_csv,
    schema_org,
)

STEPPED = replace(CARAMEL, steps=(Step("Boil", temperature_C=118, hands_min=20, wait_min=5),), tags=("soft",))


def test_schema_org_there_and_back():
    written = schema_org(STEPPED, PANTRY)
    assert written["recipeYield"] == {"@type": "QuantitativeValue", "value": 851.1, "unitText": "g"}
    assert written["totalTime"] == "PT25M"
    assert schema_org(BONBON, PANTRY)["recipeYield"]["unitText"] == "pieces"
    draft = draft_from_schema_org(json.dumps({"@graph": [{"@type": "Thing"}, written]}), PANTRY)
    assert draft.problems == ()
    back = draft.recipe("caramel2", "caramel")
    assert [(line.of, line.mass_g) for line in back.lines] == [(line.of, line.mass_g) for line in CARAMEL.lines]
    assert back.steps[0].text == "Boil (118 °C)"


def test_schema_org_problems_by_field():
    text = json.dumps(
        {
            "@type": ["Recipe"],
            "recipeIngredient": ["some love", "10 g unobtainium", "5 ml Cocoa butter"],
            "recipeInstructions": [{"@type": "HowToSection", "itemListElement": [{"name": "Stir"}]}, "Pour"],
        }
    )
    draft = draft_from_schema_org(text, PANTRY)
    assert {p.field for p in draft.problems} == {"name", "recipeIngredient[0]", "recipeIngredient[1]"}
    assert draft.lines[2].mass_g == pytest.approx(4.525)
    assert draft.steps == ("Stir", "Pour")
    with pytest.raises(ImpossibleInput):
        draft.recipe("x", "other")
    for wrong in ("{", "[]", '{"@type": "Event"}'):
        with pytest.raises(ImpossibleInput):
            draft_from_schema_org(wrong, PANTRY)
    empty = draft_from_schema_org('{"@type":"Recipe","name":"x","recipeInstructions":"a\\nb"}', PANTRY)
    assert empty.steps == ("a", "b")
    assert empty.problems[0].field == "recipeIngredient"


def test_table_with_columns_of_ones_own():
    text = "Zutat;Menge;Einheit\nCream 35 % fat;0,3;kg\ndark couverture 64 %;450;g\n;;\nButter unsalted;60;\n"
    columns = {"name": "Zutat", "amount": "Menge", "unit": "Einheit"}
    draft = draft_from_table(text, columns, PANTRY, name="Ganache")
    assert draft.problems == ()
    assert [(line.of, line.mass_g) for line in draft.lines] == [
        ("cream_35", 300),
        ("dark_64", 450),
        ("butter_unsalted", 60),
    ]
    wrong = draft_from_table(text, {"name": "Ingredient"}, PANTRY, name="G")
    assert {p.field for p in wrong.problems} == {"columns.name", "columns.amount"}
    assert wrong.lines == ()
    assert draft_from_table("a,b\n", {"name": "a", "amount": "b"}, PANTRY, name="G").problems[0].field == "rows"
    bad = draft_from_table("a,b\nsugar,lots\n", {"name": "a", "amount": "b"}, PANTRY, name="G")
    assert bad.problems[0].field == "row 2"


HEADER = 'fdc_id,description,Water,Protein,Total lipid (fat),"Carbohydrate, by difference",Ash,"Sodium, Na"\n'


def test_food_table():
    found, problems = ingredients_from_food_csv(HEADER + "1,Quince paste,30,0.5,0.2,69,0.3,5\n", group="fruit")
    assert problems == ()
    assert (found[0].key, found[0].item, found[0].composition.fat_g) == ("quince_paste", "1", 0.2)
    assert "iron_mg" in found[0].composition.unknown


@pytest.mark.parametrize(
    ("text", "fields"),
    [
        ("description,Water\nx,1\n", {"columns.protein_g", "columns.fat_g", "columns.carbohydrate_g"}),
        (HEADER + "1,A,30,0.5,0.2,69,0.3,5\n2,B,wet,1,1,1,1,1\n", {"row 3.Water"}),
        (HEADER + "1,,30,0.5,,69,0.3,5\n", {"row 2.description", "row 2.Total lipid (fat)"}),
        (HEADER + "1,A,10,0.5,0.2,69,0.3,5\n", {"row 2.composition"}),
        (HEADER + "1,A,-10,0.5,0.2,69,0.3,5\n", {"row 2.water_g"}),
    ],
)
def test_food_table_nothing_half_imported(text, fields):
    found, problems = ingredients_from_food_csv(text)
    assert found == ()
    assert {p.field for p in problems} == fields


def test_own_json():
    text = book_to_json([BONBON, CARAMEL], [PANTRY.ingredients["dark_64"]])
    recipes, ingredients, problems = book_from_json(text)
    assert (recipes, problems) == ((BONBON, CARAMEL), ())
    assert ingredients[0].key == "dark_64"
    broken = json.loads(text)
    broken["recipes"][1]["lines"][0]["mass_g"] = -1
    assert book_from_json(json.dumps(broken))[2][0].field == "recipes[1].lines[0].mass_g"
    broken = json.loads(text)
    broken["ingredients"][0]["composition"]["water_g"] = 60
    broken["recipes"][0]["name"] = " "
    recipes, _, problems = book_from_json(json.dumps(broken))
    assert recipes == ()
    assert {p.field for p in problems} == {"recipes[0].name", "ingredients[0].composition"}
    assert book_from_json("{")[2][0].field == "file"


def test_csv():
    table = csv_of_recipe(BONBON, PANTRY).splitlines()
    assert table[0] == "key,name,mass_g,share,part,preparation"
    assert table[2] == "ganache,Ganache,8,0.50000,filling,"


def test_search_as_typed():
    documents = [recipe_document(r) for r in (GANACHE, STEPPED, replace(BONBON, name="Bonbon à la crème"))]
    names = {k: i.name for k, i in PANTRY.ingredients.items()}
    index = SearchIndex.of(documents, names)
    assert index.find("crem") == ["bonbon", "ganache", "caramel"] or index.find("creme") == ["bonbon"]
    assert index.find("cream ganache") == ["ganache"]
    assert index.find("hazel") == ["bonbon"]
    assert index.find("soft") == ["caramel"]
    assert len(index.find("")) == 3
    assert index.find("nothing") == []


def test_difference_of_two_versions():
    after = replace(
        GANACHE,
        lines=(replace(GANACHE.lines[0], mass_g=500), *GANACHE.lines[2:], Line("salt", 2)),
        left_behind_share=0.05,
        steps=(Step("Stir"),),
        tags=("new",),
    )
    found = {d.what: (d.before, d.after) for d in difference(GANACHE, after, {"dark_64": "Dark"})}
    assert found["Dark"] == ("450 g", "500 g")
    assert found["cream_35"] == ("300 g", "–")
    assert found["salt"] == ("–", "2 g")
    assert found["left behind share"] == ("0.03", "0.05")
    assert found["step 1"] == ("–", "Stir")
    assert found["tags"] == ("–", "new")
    assert difference(GANACHE, GANACHE, {}) == ()
