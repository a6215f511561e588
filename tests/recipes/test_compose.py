"""Composing: what the sheet worked by hand, conservation, and what cannot be."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.ingredients import AllergenNote, ingredient_library
from bloomless.recipes import Cooking, Line, Measured, Pantry, Recipe, Step, compose

LIBRARY = ingredient_library()
GANACHE = Recipe(
    "ganache",
    "Ganache",
    "ganache",
    (
        Line("dark_64", 450),
        Line("cream_35", 300),
        Line("glucose_syrup_de60", 60),
        Line("invert_paste", 40),
        Line("butter_unsalted", 60),
    ),
    left_behind_share=0.03,
)
CARAMEL = Recipe(
    "caramel",
    "Caramel",
    "caramel",
    (
        Line("sucrose", 300),
        Line("glucose_syrup_de42", 250),
        Line("cream_35", 170),
        Line("butter_unsalted", 100),
        Line("condensed_sweet", 150),
        Line("salt", 5),
    ),
    cooking=Cooking(final_water_share=0.10),
)
BONBON = Recipe(
    "bonbon",
    "Bonbon",
    "bonbon",
    (
        Line("dark_64", 4, part="shell"),
        Line("ganache", 8, is_recipe=True, part="filling"),
        Line("caramel", 3, is_recipe=True, part="filling"),
        Line("hazelnut_roasted", 1, part="inclusion", trim_share=0.2),
    ),
    pieces=1,
    keeping_risks=("oil infusion",),
)
PANTRY = Pantry(LIBRARY, {r.key: r for r in (GANACHE, CARAMEL, BONBON)})


def test_ganache_as_worked_in_the_sheet():
    made = compose(GANACHE, PANTRY)
    assert (made.per_100g.water_g, made.per_100g.fat_g, made.per_100g.sugars_g) == pytest.approx(
        (23, 37, 25.9), abs=0.05
    )
    assert made.mass_g == pytest.approx(0.97 * 910)
    assert made.left_behind_g == pytest.approx(0.03 * 910)


def test_caramel_loses_its_water():
    made = compose(CARAMEL, PANTRY)
    assert made.mass_g == pytest.approx(851.1, abs=0.5)
    assert made.per_100g.water_g == pytest.approx(10.0)
    assert made.water_lost_g == pytest.approx(975 - made.mass_g)
    weighed = Recipe("w", "W", "caramel", CARAMEL.lines, cooking=Cooking(finished_g=851.1311))
    assert compose(weighed, PANTRY).per_100g.water_g == pytest.approx(10.0, abs=1e-4)
    boiled = Recipe("b", "B", "caramel", CARAMEL.lines, cooking=Cooking(end_temperature_C=118))
    assert 8 < compose(boiled, PANTRY).per_100g.water_g < 11


def test_tree_leaves_and_allergens():
    made = compose(BONBON, PANTRY)
    assert made.piece_g == pytest.approx(16)
    assert sum(leaf.mass_g for leaf in made.leaves) == pytest.approx(made.mass_g + made.water_lost_g)
    assert sum(share for _, share in made.shares()) == pytest.approx(1)
    assert [p.name for p in made.part("filling")] == ["Ganache", "Caramel"]
    assert made.portions[1].inside.mass_g == pytest.approx(8)
    assert AllergenNote("hazelnut") in made.allergens
    assert made.allergen_from["hazelnut"] == ("Hazelnuts, dry roasted",)
    assert made.keeping_risks == ("fresh dairy", "oil infusion")
    assert BONBON.lines[3].from_stock_g == pytest.approx(1.25)
    assert compose(GANACHE, PANTRY).piece_g is None
    assert made.mass_g == pytest.approx(made.put_in_g)


@given(factor=st.floats(1e-3, 1e3), boil=st.booleans())
def test_size_does_not_matter(factor, boil):
    recipe = CARAMEL if boil else BONBON
    small, large = compose(recipe, PANTRY), compose(recipe.times(factor), PANTRY)
    assert large.mass_g == pytest.approx(small.mass_g * factor)
    assert large.per_100g.values() == pytest.approx(small.per_100g.values())


@given(st.lists(st.tuples(st.sampled_from(sorted(LIBRARY)), st.floats(0.1, 1e4)), min_size=1, max_size=8))
def test_nothing_appears_or_vanishes(lines):
    made = compose(Recipe("r", "R", "other", tuple(Line(of, g) for of, g in lines)), PANTRY)
    for name in ("water_g", "fat_g", "protein_g", "sodium_mg"):
        put_in = sum(g * getattr(LIBRARY[of].composition, name) for of, g in lines)
        assert made.mass_g * getattr(made.per_100g, name) == pytest.approx(put_in, rel=1e-9, abs=1e-9)


def test_loops_are_refused_with_their_path():
    a = Recipe("a", "A", "other", (Line("b", 1, is_recipe=True),))
    b = Recipe("b", "B", "other", (Line("a", 1, is_recipe=True),))
    with pytest.raises(ImpossibleInput, match="a → b → a") as caught:
        compose(a, Pantry(LIBRARY, {"a": a, "b": b}))
    assert caught.value.code == "loop"


def test_unknown_lines_are_named():
    with pytest.raises(UnknownName) as caught:
        compose(Recipe("r", "R", "other", (Line("sucrose", 1), Line("suger", 1))), PANTRY)
    assert caught.value.field == "r.lines[1].of"
    with pytest.raises(UnknownName):
        compose(Recipe("r", "R", "other", (Line("ganash", 1, is_recipe=True),)), PANTRY)


@pytest.mark.parametrize(
    "cooking",
    [Cooking(finished_g=2000), Cooking(finished_g=100), Cooking(final_water_share=0.9), Cooking(finished_g=975.1)],
)
def test_impossible_yield(cooking):
    with pytest.raises(ImpossibleInput) as caught:
        compose(Recipe("r", "R", "caramel", CARAMEL.lines, cooking=cooking), PANTRY)
    assert caught.value.code == "impossible_yield"


@pytest.mark.parametrize(
    "make",
    [
        lambda: Line("x", -1),
        lambda: Line("x", float("nan")),
        lambda: Line("", 1),
        lambda: Line("x", 1, part="roof"),
        lambda: Line("x", 1, trim_share=1),
        lambda: Step(" "),
        lambda: Step("x", temperature_C=400),
        lambda: Step("x", hands_min=-1),
        lambda: Cooking(),
        lambda: Cooking(finished_g=1, final_water_share=0.1),
        lambda: Cooking(finished_g=0),
        lambda: Cooking(final_water_share=1),
        lambda: Cooking(end_temperature_C=60),
        lambda: Cooking(finished_g=1, pressure_hPa=10),
        lambda: Measured(water_activity=1.2),
        lambda: Measured(water_activity_sd=0),
        lambda: Measured(ph=15),
        lambda: Recipe("", "x", "other", ()),
        lambda: Recipe("x", " ", "other", ()),
        lambda: Recipe("x", "x", "soup", ()),
        lambda: Recipe("x", "x", "other", (), left_behind_share=1),
        lambda: Recipe("x", "x", "other", (), pieces=0),
        lambda: GANACHE.times(0),
        lambda: compose(Recipe("x", "x", "other", ()), PANTRY),
        lambda: Recipe("x", "x", "other", (Line("lecithin_soy", 3000),), declared_mass_g=1000),
    ],
)
def test_what_cannot_be(make):
    with pytest.raises(ImpossibleInput):
        make()


def test_scaling_a_weighed_recipe_scales_its_yield():
    weighed = Recipe(
        "w", "W", "caramel", CARAMEL.lines, cooking=Cooking(finished_g=850), declared_mass_g=975, pieces=90
    )
    twice = weighed.times(2)
    assert twice.cooking.finished_g == 1700
    assert (twice.declared_mass_g, twice.pieces) == (1950, 180)
