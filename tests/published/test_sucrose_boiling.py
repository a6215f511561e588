"""Boiling points of sucrose syrups: the sheet's own computation (Starzak & Peacock with IAPWS-IF97), and older kitchen
tables from memory, which run up to 3 °C higher.
"""

import pytest
from CoolProp.CoolProp import PropsSI

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.recipes.boiling import saturation_pressure_hPa, syrup_boiling_point_C, water_left_at_boiling_g


@pytest.mark.parametrize(
    ("share", "boils_C", "within"),
    [(0, 100.0, 0.05), (0.5, 101.8, 0.1), (0.7, 105.0, 0.3), (0.85, 114.0, 0.4), (0.95, 139.4, 0.3)],
)
def test_boiling_points(share, boils_C, within):
    assert syrup_boiling_point_C(share) == pytest.approx(boils_C, abs=within)


def test_kitchen_tables_run_higher_but_not_far():
    for share, table_C in ((0.70, 106.5), (0.80, 112.0)):
        assert 0 <= table_C - syrup_boiling_point_C(share) < 3


@pytest.mark.parametrize(("boils_C", "solids_pct"), [(105, 70.1), (118, 87.8), (145, 96.1)])
def test_the_way_back(boils_C, solids_pct):
    water_g = water_left_at_boiling_g(boils_C, 1 / 342.30)
    assert 100 / (1 + water_g) == pytest.approx(solids_pct, abs=0.5)


def test_altitude_lowers_it():
    assert syrup_boiling_point_C(0.85, pressure_hPa=800) < syrup_boiling_point_C(0.85) - 5


@pytest.mark.parametrize("temperature_C", [5, 60, 100, 140])
def test_vapour_pressure_against_another_library(temperature_C):
    other = PropsSI("P", "T", temperature_C + 273.15, "Q", 0, "Water") / 100
    assert saturation_pressure_hPa(temperature_C) == pytest.approx(other, rel=2e-4)


def test_outside():
    for wrong in (lambda: syrup_boiling_point_C(0.99), lambda: saturation_pressure_hPa(-5)):
        with pytest.raises(OutsideValidity):
            wrong()
    for wrong in (
        lambda: syrup_boiling_point_C(0.5, pressure_hPa=10),
        lambda: water_left_at_boiling_g(99, 1),
        lambda: water_left_at_boiling_g(118, 0),
    ):
        with pytest.raises(ImpossibleInput):
            wrong()
