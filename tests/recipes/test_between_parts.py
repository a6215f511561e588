"""What parts of a piece do to each other in time."""

from dataclasses import replace

import pytest

from bloomless.materials.ingredients import ingredient_library
from bloomless.physics.bloom import Climate, oil_bloom_risk
from bloomless.recipes import Line, Pantry, Recipe, compose
from bloomless.recipes.balance import balance
from bloomless.recipes.between_parts import graining_limit, limits_between
from bloomless.recipes.recipe import Cooking
from bloomless.recipes.water_activity import water_activity

PANTRY = Pantry(ingredient_library())


def part(name, *lines, **more):
    made = compose(Recipe("r", "R", "other", tuple(Line(*line) for line in lines), **more), PANTRY)
    return name, made, water_activity(made)


SHELL = part("shell", ("dark_64", 240))
NUT = part("filling", ("nut_paste_hazelnut", 200), ("milk_38", 100))
GANACHE = part("filling", ("dark_64", 200), ("cream_35", 100), ("invert_paste", 60))
WAFER = part("inclusion", ("crisp_wafer_flakes", 40))


def test_oil_from_a_nut_filling_crosses_the_shell():
    (found,) = limits_between([SHELL, NUT], pieces=30)
    low, _, high = oil_bloom_risk(1.5, Climate()).days
    assert (found.least_d, found.most_d) == (low, high)
    assert found.of == "nut_paste_hazelnut"
    assert limits_between([SHELL, NUT], pieces=30, shell_mm=3.0)[0].least_d == pytest.approx(4 * low)
    assert limits_between([SHELL, GANACHE], pieces=30) == ()
    assert limits_between([NUT], pieces=30) == ()


def test_crunch_goes_where_a_moist_filling_touches_it():
    (found,) = limits_between([SHELL, GANACHE, WAFER], pieces=30)
    assert found.by == "loss of crunch"
    assert 0 < found.least_d < found.most_d < 30
    assert all(one.by != "loss of crunch" for one in limits_between([SHELL, NUT, WAFER], pieces=30))


def test_syrup_holds_a_caramel_smooth():
    caramel = (Line("sucrose", 300), Line("glucose_syrup_de42", 250), Line("cream_35", 170))
    recipe = Recipe("c", "C", "caramel", caramel, cooking=Cooking(final_water_share=0.08))

    def limit(grams):
        made = compose(replace(recipe, lines=(caramel[0], replace(caramel[1], mass_g=grams), caramel[2])), PANTRY)
        return graining_limit(balance(made), cooked=True)

    assert limit(250).least_d > limit(110).least_d > limit(0).least_d
    plain = balance(compose(replace(recipe, cooking=None), PANTRY))
    assert graining_limit(plain, cooked=False) is None
    assert graining_limit(balance(GANACHE[1]), cooked=True) is None
