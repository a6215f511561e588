"""Thermal properties of food components.

Sources: Choi & Okos 1986 as in ASHRAE 2006 (table seen), against the food fluids of CoolProp; heat capacity of
chocolate at 40–60 °C from Beckett (ed.) 2009 (seen); crystalline sucrose from memory (425 J/(mol K) over
342 g/mol at 25 °C).
"""

import pytest
from CoolProp.CoolProp import PropsSI

from bloomless.errors import OutsideValidity
from bloomless.materials.chocolates import chocolate
from bloomless.materials.thermal import (
    CHOI_OKOS,
    HEAT_OF_MELTING,
    density_kg_m3,
    heat_capacity_J_kgK,
    heat_of_melting_J_kg,
    of_chocolate,
)

AT_20 = {
    "fat": 2011.75,
    "carbohydrate": 1585.67,
    "protein": 2031.85,
    "fibre": 1880.65,
    "ash": 1128.92,
    "water": 4129.27,
}
COOLPROP = {
    "fat": "FoodFat",
    "carbohydrate": "FoodCarbohydrate",
    "protein": "FoodProtein",
    "fibre": "FoodFiber",
    "ash": "FoodAsh",
    "water": "FoodWater",
}


@pytest.mark.parametrize("name", AT_20)
def test_heat_capacity_at_20_C(name):
    assert heat_capacity_J_kgK({name: 1.0}, 20.0) == pytest.approx(AT_20[name], abs=0.02)


@pytest.mark.parametrize("name", COOLPROP)
@pytest.mark.parametrize("temperature_C", [5.0, 20.0, 45.0, 80.0])
def test_agrees_with_coolprop(name, temperature_C):
    fluid, kelvin = f"INCOMP::{COOLPROP[name]}", temperature_C + 273.15
    own = (
        heat_capacity_J_kgK({name: 1.0}, temperature_C),
        density_kg_m3({name: 1.0}, temperature_C),
    )
    theirs = (PropsSI(what, "T", kelvin, "P", 1e5, fluid) for what in ("C", "D"))
    for mine, other in zip(own, theirs, strict=True):
        assert mine == pytest.approx(other, rel=2e-4)


def test_density_at_20_C():
    assert density_kg_m3({"fat": 1.0}, 20.0) == pytest.approx(917.24, rel=1e-4)
    assert density_kg_m3({"carbohydrate": 1.0}, 20.0) == pytest.approx(1592.89, rel=1e-4)


def test_dark_chocolate_with_crystalline_sugar_is_that_of_the_table():
    shares = of_chocolate(chocolate("dark"))
    plain = {**{k: v for k, v in shares.items() if k != "sucrose"}, "carbohydrate": shares["sucrose"]}
    assert heat_capacity_J_kgK(shares, 40.0) == pytest.approx(1671, abs=10)
    assert heat_capacity_J_kgK(shares, 40.0) == pytest.approx(1670, abs=40)  # Beckett 2009, 40–60 °C
    assert heat_capacity_J_kgK(plain, 40.0) == pytest.approx(1817, abs=10)  # 9 % too high
    assert heat_capacity_J_kgK(of_chocolate(chocolate("milk")), 40.0) == pytest.approx(1618, abs=20)
    assert heat_capacity_J_kgK(of_chocolate(chocolate("white")), 40.0) == pytest.approx(1611, abs=20)
    assert heat_capacity_J_kgK({"sucrose": 1.0}, 25.0) == pytest.approx(425 / 342 * 1000, rel=0.005)


def test_density_of_chocolate():
    for kind in ("dark", "milk", "white"):
        shares = of_chocolate(chocolate(kind))
        assert 1200 < density_kg_m3(shares, 40.0) < 1245  # sheet 5.2: 1214–1238


def test_outside_its_range_it_says_so():
    with pytest.raises(OutsideValidity):
        heat_capacity_J_kgK({"fat": 1.0}, 200.0)


def test_heats_of_melting():
    # Seilert et al. 2021, POS as stored in an open glyceride library: 75.0, 115.3, 140.2 kJ/mol (seen).
    assert heat_of_melting_J_kg("II") / heat_of_melting_J_kg("V") == pytest.approx(75.0 / 140.2, abs=0.05)
    assert heat_of_melting_J_kg("IV") / heat_of_melting_J_kg("V") == pytest.approx(115.3 / 140.2, abs=0.08)
    assert 137e3 <= heat_of_melting_J_kg("V") <= 157e3  # textbook set, and Chevalley et al. 1970 for whole butter
    # 1 % of the fat from form IV to V, w_f 0.33, ΔH_V 150e3, c 1600: +0.056 K.
    rise = 0.33 * 0.01 * (heat_of_melting_J_kg("V") - heat_of_melting_J_kg("IV")) / 1600
    assert rise == pytest.approx(0.056, abs=0.001)
    assert HEAT_OF_MELTING["dark"].value == 46e3
    assert HEAT_OF_MELTING["milk"].value == 44e3
    assert set(AT_20) <= set(CHOI_OKOS)
