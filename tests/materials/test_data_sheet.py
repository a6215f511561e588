"""An own ingredient from a supplier's data sheet."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.errors import ImpossibleInput
from bloomless.materials.data_sheet import DataSheet, ingredient_from_sheet, sheet_of
from bloomless.materials.ingredients import ingredient_library
from bloomless.sources import Grade


def made(sheet, **more):
    return ingredient_from_sheet(sheet, key="mine", name="Mine", group="nut", **more)


def test_a_european_label_without_water_and_ash():
    # A hazelnut paste as labels print it: 65 fat, 6 carbohydrate, 9 fibre, 15 protein, 0.01 salt.
    label = DataSheet(fat_g=65, carbohydrate_g=6, fibre_g=9, protein_g=15, salt_g=0.01, saturated_fat_g=5, sugars_g=5)
    found = made(label)
    c = found.composition
    assert c.carbohydrate_g == 15
    assert c.water_g == pytest.approx(4.99)
    assert c.sodium_mg == pytest.approx(4)
    assert c.liquid_oil_g == 65
    assert c.sucrose_g == 5
    assert "calcium_mg" in c.unknown
    assert found.grade == Grade.MEASURED


def test_what_was_known_before_is_kept_in_proportion():
    old = ingredient_library()["milk_38"]
    known = sheet_of(old)
    found = made(DataSheet(**{n: v for n, v in known.items() if n != "water_g"}), old=old)
    assert found.composition.cocoa_butter_g == pytest.approx(old.composition.cocoa_butter_g, abs=0.01)
    assert found.composition.sucrose_g == pytest.approx(old.composition.sucrose_g, abs=0.3)
    assert found.composition.milk_solids_nonfat_g == old.composition.milk_solids_nonfat_g
    assert found.composition.added_up_g == pytest.approx(100)


def test_american_carbohydrate_holds_the_fibre():
    label = DataSheet(fat_g=50, carbohydrate_g=22, fibre_g=12, protein_g=21, water_g=4.4, fibre_within=True)
    assert made(label).composition.carbohydrate_g == 22
    assert made(label).composition.ash_g == pytest.approx(2.6)


@pytest.mark.parametrize(
    ("sheet", "field"),
    [
        ({"carbohydrate_g": 1, "protein_g": 1}, "fat_g"),
        ({"fat_g": 101, "carbohydrate_g": 1, "protein_g": 1}, "fat_g"),
        ({"fat_g": 60, "carbohydrate_g": 60, "protein_g": 1}, "water_g"),
        ({"fat_g": 10, "carbohydrate_g": 10, "protein_g": 10, "water_g": 10}, "water_g"),
        ({"fat_g": 10, "carbohydrate_g": 10, "protein_g": 10, "saturated_fat_g": 20}, "saturated_fat_g"),
        ({"fat_g": 10, "carbohydrate_g": 10, "protein_g": 10, "cocoa_butter_g": 20}, "cocoa_butter_g"),
    ],
)
def test_what_cannot_be_is_named(sheet, field):
    with pytest.raises(ImpossibleInput) as caught:
        made(DataSheet(**sheet))
    assert field in caught.value.field


@given(st.sampled_from(sorted(ingredient_library())))
def test_the_sheet_of_any_ingredient_gives_it_back(key):
    old = ingredient_library()[key]
    found = made(DataSheet(**sheet_of(old)), old=old)
    assert found.composition.added_up_g == pytest.approx(100, abs=3)
    for part in ("fat_g", "sugars_g", "water_g", "alcohol_g"):
        assert getattr(found.composition, part) == pytest.approx(getattr(old.composition, part), abs=0.01)
