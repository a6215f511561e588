"""Boiling points of sucrose syrups: the sheet's own computation (Starzak & Peacock with IAPWS-IF97), and older kitchen
tables from memory, which run up to 3 °C higher.
"""

import pytest
from CoolProp.CoolProp import PropsSI

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.recipes.boiling import saturation_pressure_hPa, water_left_at_boiling_g


def solids_pct(boils_C, **at):
    """Of a syrup of sucrose that boils there, % by mass."""
    return 100.0 / (1.0 + water_left_at_boiling_g(boils_C, 1.0 / 342.30, **at))


@pytest.mark.parametrize(
    ("boils_C", "pct", "within"),
    [(101.8, 50, 1.5), (105, 70.1, 0.5), (114.0, 85, 0.5), (118, 87.8, 0.5), (139.4, 95, 0.2), (145, 96.1, 0.5)],
)
def test_boiling_points(boils_C, pct, within):
    assert solids_pct(boils_C) == pytest.approx(pct, abs=within)


@pytest.mark.parametrize(("pct", "table_C"), [(70, 106.5), (80, 112.0)])
def test_kitchen_tables_run_higher_but_not_far(pct, table_C):
    assert solids_pct(table_C - 3.0) < pct <= solids_pct(table_C)


def test_altitude_lowers_it():
    assert solids_pct(109.0, pressure_hPa=800) > solids_pct(114.0)


@pytest.mark.parametrize("temperature_C", [5, 60, 100, 140])
def test_vapour_pressure_against_another_library(temperature_C):
    other = PropsSI("P", "T", temperature_C + 273.15, "Q", 0, "Water") / 100
    assert saturation_pressure_hPa(temperature_C) == pytest.approx(other, rel=2e-4)


def test_outside():
    with pytest.raises(OutsideValidity):
        saturation_pressure_hPa(-5)
    for wrong in (lambda: water_left_at_boiling_g(99, 1), lambda: water_left_at_boiling_g(118, 0)):
        with pytest.raises(ImpossibleInput):
            wrong()
