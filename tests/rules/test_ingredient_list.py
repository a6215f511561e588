"""The list of ingredients: order, merging, classes, QUID, compounds, water, languages."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from bloomless.rules import law_of
from bloomless.rules.common.ingredient_list import ingredient_list
from bloomless.rules.food import Use
from rules import foods as f

TODAY = date(2026, 11, 25)
LAW = law_of(TODAY)
WATER = f._substance("water", "water", {"water_other": "1"})
SUNFLOWER = f._substance(
    "sunflower_lecithin", "emulsifier", {"emulsifier": "1"}, e_number="E 322", function="emulsifier",
    names={"en": "lecithins (sunflower)", "en-US": "sunflower lecithin"},
)  # fmt: skip
COUVERTURE = replace(
    f._substance("milk_couverture", "chocolate", {"other": "1"}, names={"en": "milk chocolate"}),
    parts=(
        (f.S, Decimal("0.45")),
        (f.CB, Decimal("0.25")),
        (f.WMP, Decimal("0.2")),
        (f.M, Decimal("0.095")),
        (f.L, Decimal("0.005")),
    ),
)


def made(*pairs, jurisdiction="eu", language="en-GB", food=None, **more):
    food = food or f.food(f.chocolate(*pairs), name=more.pop("name", "bar"), **more.pop("also", {}))
    return ingredient_list(food, jurisdiction, language, LAW, **more)


@given(st.lists(st.integers(1, 500), min_size=5, max_size=5))
def test_the_order_falls(masses):
    pairs = zip((f.M, f.CB, f.S, f.WMP, f.HAZEL), masses, strict=True)
    shares = [item.pct for item in made(*pairs).items]
    assert shares == sorted(shares, reverse=True)
    assert abs(sum(shares) - 100) < Decimal("1e-9")


def test_two_lots_of_one_ingredient_are_one():
    assert made((f.M, 30), (f.S, 20), (f.M, 30)).text == "cocoa mass, sugar"


def test_a_compound_is_opened_and_merged_with_what_is_there():
    assert made((COUVERTURE, 50), (f.CB, 30)).text.startswith("cocoa butter, sugar, whole milk powder")


def test_nested_a_compound_keeps_its_own_list():
    text = made((COUVERTURE, 50), (f.HAZEL, 50), style="nested").text
    assert text == (
        "milk chocolate (sugar, cocoa butter, whole milk powder, cocoa mass, emulsifier: lecithins (soya)), hazelnuts"
    )


def test_below_two_percent_the_list_of_a_chocolate_may_go_but_not_its_allergens():
    found = made((COUVERTURE, 1), (f.HAZEL, 99), style="nested")
    assert found.text == "hazelnuts, milk chocolate (whole milk powder, emulsifier: lecithins (soya))"
    assert found.emphasised == ("hazelnuts", "milk", "soya")
    assert found.omitted


def test_additives_of_one_class_stand_together():
    assert made((f.M, 60), (f.S, 39), (SUNFLOWER, 0.5), (f.L, 0.4)).text == (
        "cocoa mass, sugar, emulsifiers: lecithins (sunflower), lecithins (soya)"
    )
    us = made((f.M, 60), (f.S, 39), (SUNFLOWER, 0.5), (f.L, 0.4), jurisdiction="us", language="en-US")
    assert us.text == "cocoa mass, sugar, sunflower lecithin, soy lecithin"


def test_the_us_tail():
    us = made((f.M, 60), (f.S, 39), (SUNFLOWER, 0.5), (f.L, 0.4), jurisdiction="us", language="en-US", tail=True)
    assert us.text == "cocoa mass, sugar. Contains 2% or less of: sunflower lecithin, soy lecithin"


def test_an_ingredient_of_the_name_has_its_share():
    assert "hazelnuts (20\u00a0%)" in made((f.M, 80), (f.HAZEL, 20), name="chocolate with hazelnuts").text
    assert "hazelnuts (2.5\u00a0%)" in made((f.M, 97.5), (f.HAZEL, 2.5), name="chocolate with hazelnuts").text
    assert "%" not in made((f.M, 80), (f.HAZEL, 20), name="chocolate").text
    assert "%" not in made((f.M, 80), (f.HAZEL, 20), name="with hazelnuts", jurisdiction="us", language="en-US").text


def test_the_share_is_of_the_finished_food_when_moisture_went():
    section = f.chocolate((f.FRUIT, 150), (WATER, 50), role="filling", yield_share=Decimal("0.5"))
    food = f.food(section, name="filling with dried fruit")
    assert "150 g per 100 g" in made(food=food).text


def test_added_water_that_went_is_not_in_the_list():
    kept = f.food(f.chocolate((f.S, 80), (WATER, 20), role="filling"))
    gone = f.food(f.chocolate((f.S, 80), (WATER, 20), role="filling", yield_share=Decimal("0.83")))
    assert made(food=kept).text == "sugar, water"
    assert made(food=gone).text == "sugar"  # 3 % of the finished food
    assert "water" in made(food=gone, jurisdiction="us", language="en-US").text


def test_fats_in_varying_proportion():
    palm = f._substance("palm_fat", "veg_fat", {"veg_fat": "1"}, botanical="palm", names={"en": "palm"})
    shea = replace(f.SHEA, names={"en": "shea"})
    food = f.food(f.chocolate((f.S, 50), (shea, 5), (palm, 6)), varying=frozenset({"shea_fat", "palm_fat"}))
    assert made(food=food).text == "sugar, vegetable fats (palm, shea) in varying proportion"


def test_a_processing_aid_is_left_out_unless_it_is_an_allergen():
    aid = f._substance("talc", "other", {"other": "1"})
    aid = replace(aid, processing_aid=True)
    assert made((f.S, 99), (aid, 1)).text == "sugar"
    nutty = replace(aid, allergens=frozenset({"hazelnut"}), names={"en": "polish"})
    assert made((f.S, 99), (nutty, 1)).emphasised == ("hazelnuts",)


def test_other_languages_set_the_allergen_apart_inside_the_word():
    german = replace(f.WMP, names={"en": "whole milk powder", "de": "Vollmilchpulver", "fr": "lait entier en poudre"})
    assert made((german, 10), language="de").emphasised == ("milch",)
    assert made((german, 10), language="fr").emphasised == ("lait",)
    nuts = replace(f.HAZEL, names={"en": "hazelnuts", "de": "geröstete Haselnüsse"})
    assert made((nuts, 10), language="de").emphasised == ("Haselnüsse",)
    assert made((f.S, 10), language="de").untranslated == ("sugar",)


@given(st.sampled_from(["hazelnut", "milk", "soy", "wheat", "peanut", "sesame", "egg", "almond"]))
def test_no_allergen_of_a_list_goes_unmarked(source):
    thing = f._substance("thing", "other", {"other": "1"}, allergens=frozenset({source}), names={"en": "secret mix"})
    for lot in ("a", "b"):
        food = f.food(f.chocolate(role="filling", name="x"))
        food = replace(
            food, sections=(replace(food.sections[0], uses=(Use(substance=thing, mass_g=Decimal(5), lot=lot),)),)
        )
        assert len(made(food=food).emphasised) == 1


def test_what_only_rework_brings_stands_by_name_at_the_end():
    food = f.food(f.chocolate((f.M, 60), (f.S, 40)), rework_allergens=frozenset({"hazelnut", "milk"}))
    found = made(food=food)
    assert found.text == "cocoa mass, sugar, hazelnuts, milk"
    assert found.emphasised == ("hazelnuts", "milk")
