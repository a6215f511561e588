"""Film coefficients against the open library ``ht`` and the values of textbooks.

Sources: Churchill & Chu 1975 and the hot plate facing up, equations from memory, checked against ``ht``; air against
CoolProp.
"""

import ht
import pytest
from CoolProp.CoolProp import PropsSI

from bloomless.errors import OutsideValidity
from bloomless.materials.films import (
    air_properties,
    hot_plate_up_W_m2K,
    nusselt_hot_plate_up,
    nusselt_vertical_plate,
    radiation_W_m2K,
    vertical_plate_W_m2K,
)


@pytest.mark.parametrize("rayleigh", [1e3, 1e5, 1e7, 1e9])
def test_vertical_plate_is_that_of_ht(rayleigh):
    theirs = ht.conv_free_immersed.Nu_vertical_plate_Churchill(Pr=0.71, Gr=rayleigh / 0.71)
    assert nusselt_vertical_plate(rayleigh, 0.71) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("rayleigh", [2e4, 1e6, 9e6])
def test_hot_plate_up_is_that_of_ht(rayleigh):
    theirs = ht.conv_free_immersed.Nu_horizontal_plate_McAdams(Pr=0.71, Gr=rayleigh / 0.71, buoyancy=True)
    assert nusselt_hot_plate_up(rayleigh) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("temperature_C", [-10.0, 20.0, 45.0, 100.0])
def test_air_is_that_of_coolprop(temperature_C):
    kelvin = temperature_C + 273.15
    conductivity, viscosity, prandtl = air_properties(temperature_C)
    density, mu, k, c = (PropsSI(what, "T", kelvin, "P", 101325.0, "Air") for what in "DVLC")
    assert conductivity == pytest.approx(k, rel=0.02)
    assert viscosity == pytest.approx(mu / density, rel=0.015)
    assert prandtl == pytest.approx(mu * c / k, rel=0.02)


def test_films_of_the_sheet():
    # Crystal sheet 5.4, computed there with ht: 45 °C surface, 20 °C room.
    assert vertical_plate_W_m2K(45.0, 20.0, 0.08) == pytest.approx(5.6, abs=0.3)
    assert hot_plate_up_W_m2K(45.0, 20.0, 0.20) == pytest.approx(6.5, abs=0.3)
    assert radiation_W_m2K(45.0, 20.0, 1.0) == pytest.approx(6.49, abs=0.02)
    assert vertical_plate_W_m2K(32.0, 20.0, 0.08) == pytest.approx(4.7, abs=0.3)
    assert hot_plate_up_W_m2K(60.0, 20.0, 0.20) == pytest.approx(7.3, abs=0.3)


def test_air_has_a_range():
    with pytest.raises(OutsideValidity):
        air_properties(300.0)
