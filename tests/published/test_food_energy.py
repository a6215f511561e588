"""Energy against the USDA National Nutrient Database for Standard Reference 28 (numbers read in its abbreviated table).

The European general factors and the food-specific American ones differ; up to 8 % is the factors' own difference, and
seven foods are known to lie beyond.
"""

import pytest

from bloomless.materials.ingredients import ingredient_library

LIBRARY = ingredient_library()
SPECIFIC_FACTORS = {
    "honey", "raisin", "raisin_golden", "lecithin_soy", "black_pepper", "chili_powder", "spirulina",
}  # fmt: skip


@pytest.mark.parametrize(
    ("key", "kcal_eu", "within"),
    [
        ("almond", 595.2, 1),
        ("sucrose", 399.9, 0.5),
        ("butter_unsalted", 734, 1),
        ("spirit_40", 233, 2),
        ("cocoa_butter", 900, 0.1),
    ],
)
def test_energy_with_european_factors(key, kcal_eu, within):
    assert LIBRARY[key].composition.energy_kcal == pytest.approx(kcal_eu, abs=within)


def test_every_food_against_the_table():
    for ingredient in LIBRARY.values():
        table_kcal = ingredient.table_energy_kcal
        if table_kcal and ingredient.key not in SPECIFIC_FACTORS:
            off = abs(ingredient.composition.energy_kcal - table_kcal)
            assert off <= max(15.0, 0.08 * table_kcal), ingredient.key


def test_named_foods():
    cream, dark, milk = (LIBRARY[k].composition for k in ("cream_35", "dark_70", "milk_38"))
    assert (cream.water_g, cream.fat_g, cream.lactose_g) == pytest.approx((59.0, 35.0, 3.2), abs=0.3)
    assert (dark.cocoa_butter_g, dark.sugars_g) == pytest.approx((42.3, 30.0), abs=0.1)
    assert milk.milk_fat_g / milk.fat_g == pytest.approx(0.156, abs=0.005)
    assert LIBRARY["spirit_40"].composition.alcohol_g == pytest.approx(33.3, abs=0.3)
    assert LIBRARY["salt"].composition.salt_g == pytest.approx(96.9, abs=0.1)
    assert LIBRARY["spirit_40"].composition.dry_matter_g == pytest.approx(0, abs=1e-9)
