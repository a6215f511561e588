"""Amounts: sizes, stock, plan, rounding, units."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from test_compose import BONBON, CARAMEL, GANACHE, PANTRY

from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.materials.composition import Composition
from bloomless.materials.ingredients import Ingredient
from bloomless.recipes import Line, Recipe, compose
from bloomless.recipes.scaling import (
    bakers_percentages,
    for_mass,
    for_pieces,
    from_stock,
    mass_from_amount,
    plan,
    rounded,
    stock_needed,
)


def test_sizes():
    assert compose(for_mass(GANACHE, 500, PANTRY), PANTRY).mass_g == pytest.approx(500)
    rejecting = Recipe("b", "B", "bonbon", BONBON.lines, pieces=1, reject_share=0.05)
    assert for_pieces(rejecting, 95).pieces == pytest.approx(100)
    with pytest.raises(Misuse):
        for_pieces(GANACHE, 10)
    for wrong in (lambda: for_pieces(rejecting, 0), lambda: for_mass(GANACHE, 0, PANTRY)):
        with pytest.raises(ImpossibleInput):
            wrong()


def test_stock_counts_losses_and_trimmings():
    needed = stock_needed(BONBON, PANTRY)
    assert needed["hazelnut_roasted"] == pytest.approx(1.25)
    ganache_g = 8 / (910 * 0.97)
    assert needed["invert_paste"] == pytest.approx(40 * ganache_g)
    most, first = from_stock(BONBON, {**{k: g * 100 for k, g in needed.items()}, "salt": needed["salt"] * 40}, PANTRY)
    assert (first, most.pieces) == ("salt", pytest.approx(40))
    assert from_stock(BONBON, {}, PANTRY)[0] is None


def test_plan_makes_sub_recipes_first_and_once():
    box = Recipe(
        "box",
        "Box",
        "other",
        (Line("bonbon", 160, is_recipe=True), Line("ganache", 40, is_recipe=True), Line("caramel", 0, is_recipe=True)),
    )
    batches = plan(box, PANTRY)
    assert {b.recipe.key for b in batches[:2]} == {"caramel", "ganache"}
    assert [b.recipe.key for b in batches[2:]] == ["bonbon", "box"]
    ganache = next(b for b in batches if b.recipe.key == "ganache")
    assert ganache.made.mass_g == pytest.approx(80 + 40)
    assert set(ganache.goes_into) == {"Box", "Bonbon"}
    assert sum(w.mass_g for w in batches[3].weighings) == pytest.approx(200)


@given(st.lists(st.floats(20, 3000), min_size=1, max_size=9), st.sampled_from([1.0, 2.0, 5.0]))
def test_rounding_keeps_the_total(masses, step):
    recipe = Recipe("r", "R", "other", tuple(Line("sucrose", g) for g in masses))
    shown, _ = rounded(recipe, step)
    assert shown.put_in_g == pytest.approx(recipe.put_in_g, abs=0.5 * step + 1e-6)
    for before, after in zip(recipe.lines, shown.lines, strict=True):
        assert abs(after.mass_g - before.mass_g) <= step + 1e-9
        assert after.mass_g / step == pytest.approx(round(after.mass_g / step))


def test_too_little_for_the_scale_is_said():
    recipe = Recipe("r", "R", "other", (Line("sucrose", 500.4), Line("salt", 1.3)))
    shown, findings = rounded(recipe, 1)
    assert [f.code for f in findings] == ["too_little_to_weigh"]
    shown, findings = rounded(recipe, 1, fine_step_g=0.1)
    assert [line.mass_g for line in shown.lines] == pytest.approx([500, 1.3])
    assert findings == ()
    with pytest.raises(ImpossibleInput):
        rounded(recipe, 0)


def test_percentages_of_the_base():
    lines = (Line("dark_64", 200, base=True), Line("cream_35", 100))
    assert bakers_percentages(Recipe("r", "R", "ganache", lines)) == [100, 50]
    assert bakers_percentages(CARAMEL) is None
    assert plan(Recipe("r", "R", "ganache", lines), PANTRY)[0].weighings[1].base_pct == 50


@pytest.mark.parametrize("unit", ["g", "kg", "mg", "oz", "lb"])
def test_units_of_mass_against_pint(unit):
    registry = pint.UnitRegistry()
    assert mass_from_amount(2.5, unit) == pytest.approx(registry.Quantity(2.5, unit).to("g").magnitude)


@pytest.mark.parametrize(("unit", "name"), [("ml", "ml"), ("l", "l"), ("cl", "cl"), ("fl oz", "fluid_ounce")])
def test_units_of_volume_against_pint(unit, name):
    water = PANTRY.ingredients["water"]
    ml = pint.UnitRegistry().Quantity(2.5, name).to("ml").magnitude
    assert mass_from_amount(2.5, unit, water) == pytest.approx(ml * 0.998)


def test_amounts_that_cannot_be():
    nameless = Ingredient("x", "X", "other", Composition())
    for wrong in (
        lambda: mass_from_amount(-1, "g"),
        lambda: mass_from_amount(1, "cup"),
        lambda: mass_from_amount(1, "ml"),
        lambda: mass_from_amount(1, "ml", nameless),
    ):
        with pytest.raises(ImpossibleInput):
            wrong()
    with pytest.raises(UnknownName):
        stock_needed(Recipe("r", "R", "other", (Line("gold", 1),)), PANTRY)
