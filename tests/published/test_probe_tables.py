"""Sensor formulas and fixed points against published tables; the source stands beside each check."""

import pytest

from bloomless.physics.boiling import boiling_point_C, pressure_hPa_from_altitude
from bloomless.physics.sensors import (
    platinum_C,
    platinum_ohm,
    thermistor_by_beta,
)

# IEC 60751 Pt100 table as reproduced by makers of elements (two decimals; read in three reproductions).
PT100 = {
    -200: 18.52,
    -100: 60.26,
    -50: 80.31,
    -20: 92.16,
    -10: 96.09,
    0: 100.00,
    10: 103.90,
    20: 107.79,
    30: 111.67,
    40: 115.54,
    50: 119.40,
    100: 138.51,
    150: 157.33,
    200: 175.86,
    400: 247.09,
    600: 313.71,
}


@pytest.mark.parametrize(("celsius", "ohm"), PT100.items())
def test_iec_60751_table(celsius, ohm):
    assert platinum_ohm(celsius) == pytest.approx(ohm, abs=0.0051)
    assert platinum_C(platinum_ohm(celsius)) == pytest.approx(celsius, abs=1e-8)


# IAPWS-IF97 release, table 36: saturation temperature by pressure (recalled): 0.1 MPa → 372.755919 K.
def test_iapws_verification_value():
    assert boiling_point_C(1000.0) == pytest.approx(372.755919 - 273.15, abs=1e-6)


# Boiling points by station pressure, computed with IAPWS-IF97 for the reference sheet.
@pytest.mark.parametrize(
    ("hPa", "celsius"), [(950, 98.178), (980, 99.042), (1000, 99.606), (1013.25, 99.974), (1030, 100.434)]
)
def test_boiling_points(hPa, celsius):
    assert boiling_point_C(hPa) == pytest.approx(celsius, abs=6e-4)


# ICAO standard atmosphere (Doc 7488): pressure at 1000, 2000 and 3000 m (recalled), and the boiling points there.
@pytest.mark.parametrize(
    ("metres", "hPa", "boils_C"),
    [(0, 1013.25, 99.97), (500, 954.61, 98.31), (1000, 898.75, 96.65), (2000, 794.95, 93.32), (3000, 701.09, 89.97)],
)
def test_icao_atmosphere(metres, hPa, boils_C):
    assert pressure_hPa_from_altitude(metres) == pytest.approx(hPa, abs=0.05)
    assert boiling_point_C(pressure_hPa_from_altitude(metres)) == pytest.approx(boils_C, abs=0.01)


def test_pressure_agrees_with_an_independent_library():
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    for metres in (-100, 0, 800, 2500):
        assert pressure_hPa_from_altitude(metres) == pytest.approx(
            psychrolib.GetStandardAtmPressure(metres) / 100, rel=2e-4
        )


def test_thermistor_of_10_kilohm():
    # 10 kΩ, B 3950: 7,700 Ω at 31 °C (reference sheet, derived)
    assert thermistor_by_beta(10_000, 3950).temperature_C(7700) == pytest.approx(31.0, abs=0.02)
