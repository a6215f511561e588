"""USDA National Nutrient Database, Standard Reference 28: one food per class, values typed from it.

Foods (NDB number) per 100 g: whole milk powder 01212, hazelnuts 12120, cocoa butter 04501, Medjool dates 09421.
"""

from datetime import date
from decimal import Decimal

import pytest

from bloomless.materials.ingredients import ingredient_library
from bloomless.recipes import Pantry
from bloomless.rules import law_of
from bloomless.rules.common.from_recipe import substance_of
from bloomless.rules.common.nutrients import nutrients_of
from bloomless.rules.eu.nutrition import carbohydrate_eu
from bloomless.rules.food import Food, Section, Use
from bloomless.rules.us.nutrition import energy_kcal, us_panel

LAW = law_of(date(2026, 11, 25))
PANTRY = Pantry(ingredient_library())

# key, protein, fat, carbohydrate by difference, fibre, sodium mg, kcal of the table
FOODS = [
    ("wmp", "26.32", "26.71", "38.42", "0", 371, 496),
    ("hazelnut", "14.95", "60.75", "16.70", "9.7", 0, 628),
    ("cocoa_butter", "0", "100", "0", "0", 0, 884),
    ("date", "1.81", "0.15", "74.97", "6.7", 1, 277),
]


def per_100g(key):
    use = Use(substance=substance_of(PANTRY.ingredients[key], PANTRY), mass_g=Decimal(250))
    food = Food(key=key, name=key, reserved={}, sections=(Section(role="filling", name=key, uses=(use,)),))
    return nutrients_of(food).per_100g


@pytest.mark.parametrize(("key", "protein", "fat", "carbohydrate", "fibre", "sodium", "kcal"), FOODS)
def test_the_table_comes_out_again(key, protein, fat, carbohydrate, fibre, sodium, kcal):
    found = per_100g(key)
    assert float(found.protein) == pytest.approx(float(protein), abs=0.02)
    assert float(found.fat) == pytest.approx(float(fat), abs=0.25)
    assert float(found.carbohydrate) == pytest.approx(float(carbohydrate), abs=0.3)
    assert float(found.fibre) == pytest.approx(float(fibre), abs=0.1)
    assert float(found.sodium_mg) == pytest.approx(sodium, abs=1)
    assert float(carbohydrate_eu(found)) == pytest.approx(float(carbohydrate) - float(fibre), abs=0.3)
    # general factors against the table's food-specific ones: 8 % (sheet ingredients-and-water, section 1)
    assert float(energy_kcal(found, LAW, "less_fibre")) == pytest.approx(kcal, rel=0.08)
    assert us_panel(found, Decimal(30), LAW).mass_g == 30
