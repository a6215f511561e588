"""Moist air against PsychroLib (ASHRAE Handbook 2017), CoolProp's humid air, tables of the moulding sheet."""

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from iapws.iapws97 import _PSat_T

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.physics import moist_air as air

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize(("T", "hPa"), [(0.01, 6.1164), (10, 12.2603), (20, 23.3260), (30, 42.3372), (40, 73.6746)])
def test_saturation_pressure(T, hPa):
    assert air.saturation_pressure_Pa(T) / 100 == pytest.approx(hPa, abs=2e-4)
    assert air.saturation_pressure_Pa(T) == pytest.approx(_PSat_T(T + 273.15) * 1e6, rel=3.5e-3)
    assert air.saturation_pressure_Pa(T) == pytest.approx(psychrolib.GetSatVapPres(max(T, 0.02)), rel=3.5e-3)


@pytest.mark.parametrize(
    ("T", "rh", "dew"),
    [
        (20, 50, 9.255),
        (22, 60, 13.875),
        (25, 60, 16.693),
        (28, 70, 22.015),
        (18, 35, 2.295),
        (24, 60, 15.8),
        (28, 65, 20.8),
    ],
)
def test_dew_point(T, rh, dew):
    ours = float(air.dew_point_C(T, rh))
    assert ours == pytest.approx(dew, abs=0.002 if dew != round(dew, 1) else 0.05)
    assert ours == pytest.approx(psychrolib.GetTDewPointFromRelHum(T, rh / 100), abs=0.05)
    assert ours == pytest.approx(HAPropsSI("D", "T", T + 273.15, "P", 101325, "R", rh / 100) - 273.15, abs=0.06)


def test_chocolate_takes_up_water_above_its_dew_point():
    # Sheet 4.3 and check 25: 85 % at a dew point of 10 °C → 2.454 K above; 78 % → 3.771 K.
    rh = 100 * air.saturation_pressure_Pa(10.0) / air.saturation_pressure_Pa(20.0)
    assert float(air.least_surface_C(20.0, rh, 85.0)) - 10 == pytest.approx(2.454, abs=0.005)
    assert float(air.least_surface_C(20.0, rh, 78.0)) - 10 == pytest.approx(3.771, abs=0.005)
    assert float(air.least_surface_C(20.0, rh, 100.0)) == pytest.approx(10.0, abs=1e-9)


@pytest.mark.parametrize(
    ("piece", "room", "limits"),
    [(10, 20, (52.6, 44.7, 41.0)), (12, 22, (53, 45, 41)), (8, 22, (41, 35, 32)), (12, 28, (37, 31.5, 29))],
)
def test_most_humid_room(piece, room, limits):
    ours = [float(air.most_room_rh_pct(piece, room, limit)) for limit in (100.0, 85.0, 78.0)]
    assert ours == pytest.approx(limits, abs=0.1 if room == 20 else 0.6)


def test_condensation():
    # Check 28: room 22 °C, 60 %, piece 6 °C, h 5 → 1.216 g/(m² min) ± 3 %; none at or above the dew point.
    assert float(air.vapour_flux_g_m2min(6.0, 22.0, 60.0, 5.0)) == pytest.approx(1.216, rel=0.03)
    assert float(air.vapour_flux_g_m2min(12.0, 22.0, 60.0, 5.0)) == pytest.approx(0.27, rel=0.05)
    assert float(air.vapour_flux_g_m2min(13.9, 22.0, 60.0, 5.0)) == 0.0


def test_nonsense_is_refused():
    for rh in (0.0, 101.0, np.nan):
        with pytest.raises(ImpossibleInput):
            air.dew_point_C(20.0, rh)
    with pytest.raises(OutsideValidity):
        air.saturation_pressure_Pa(80.0)
    with pytest.raises(ImpossibleInput):
        air.least_surface_C(20.0, 50.0, 0.0)
