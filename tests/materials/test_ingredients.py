"""The library: complete, consistent, sourced; what cannot be is refused by name."""

import pytest

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.composition import PARTS, Composition, composition_of, mix
from bloomless.materials.ingredients import AllergenNote, Ingredient, ingredient_library
from bloomless.sources import bibliography

LIBRARY = ingredient_library()


def test_every_row_is_complete_and_sourced():
    assert len(LIBRARY) == 174
    for ingredient in LIBRARY.values():
        c = ingredient.composition
        assert c.added_up_g == pytest.approx(100, abs=3), ingredient.key
        assert c.sugars_g + c.fibre_g + c.polyols_g <= c.carbohydrate_g + 0.6, ingredient.key
        assert c.saturated_fat_g + c.trans_fat_g <= c.fat_g + 0.01, ingredient.key
        kinds = c.cocoa_butter_g + c.milk_fat_g + c.liquid_oil_g + c.other_fat_g
        assert kinds == pytest.approx(c.fat_g, abs=0.6), ingredient.key
        parts = c.lactose_g + c.sucrose_g + c.glucose_g + c.fructose_g + c.maltose_g
        assert parts == pytest.approx(c.sugars_g, rel=0.1, abs=0.2), ingredient.key
        assert bibliography()[ingredient.source]
        assert ingredient.label_name
        assert ingredient.density_kg_m3 is not None


def test_derived_rows_are_the_mixture_of_their_parts():
    derived = [i for i in LIBRARY.values() if i.made_of]
    assert len(derived) >= 16
    for ingredient in derived:
        made = mix([(part.share, LIBRARY[part.key].composition) for part in ingredient.made_of])
        for name in PARTS:
            size = max(1.0, getattr(made, name))
            off = abs(getattr(made, name) - getattr(ingredient.composition, name)) / size
            assert off < 0.06, (ingredient.key, name)


def test_nuts_are_named_and_unknown_is_not_zero():
    assert LIBRARY["gianduja_milk"].allergens == (AllergenNote("hazelnut"), AllergenNote("milk"))
    assert AllergenNote("sulphite", present=False) in LIBRARY["glucose_syrup_de42"].allergens
    assert "iron_mg" in LIBRARY["vanillin"].composition.unknown
    assert "iron_mg" not in LIBRARY["hazelnut"].composition.unknown


def test_unknown_parts_stay_unknown_in_a_mixture():
    assert "iron_mg" in mix([(1, Composition(iron_mg=3)), (1, Composition(unknown=frozenset({"iron_mg"})))]).unknown


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"cacao_g": 1.0}, "x.cacao_g"),
        ({"fat_g": -1.0}, "x.fat_g"),
        ({"fat_g": 101.0}, "x.fat_g"),
        ({"fat_g": float("nan")}, "x.fat_g"),
        ({"fat_g": 20.0, "cocoa_butter_g": 30.0}, "x.cocoa_butter_g+milk_fat_g+liquid_oil_g+other_fat_g"),
    ],
)
def test_impossible_composition_is_refused_by_field(values, field):
    with pytest.raises(ImpossibleInput) as caught:
        composition_of(values, field="x")
    assert caught.value.field == field


def test_mixture_of_nothing_or_with_too_much_water_lost():
    with pytest.raises(ImpossibleInput):
        mix([])
    with pytest.raises(ImpossibleInput, match="water that went in"):
        mix([(100.0, Composition(water_g=20, fat_g=80))], water_lost_g=30)


def test_volume_needs_a_density():
    assert LIBRARY["cream_35"].mass_g(100) == pytest.approx(99.5)
    assert LIBRARY["cream_35"].volume_ml(99.5) == pytest.approx(100)
    nameless = Ingredient("x", "X", "other", Composition())
    with pytest.raises(ImpossibleInput) as caught:
        nameless.mass_g(10)
    assert caught.value.code == "no_density"


def test_unknown_ingredient_names_the_nearest():
    with pytest.raises(UnknownName, match="dark_70"):
        LIBRARY["dark_71"]
