"""Arithmetic of the crystal sheet: these check the code, not nature. Numbers of the checks as in the sheet."""

import math

import numpy as np
import pytest

from bloomless.errors import OutsideValidity
from bloomless.materials.chocolates import WINDOWS, chocolate, working_window
from bloomless.materials.vessels import MATERIALS, SURFACES, contact_C, effusivity, vessel
from bloomless.physics import rows
from bloomless.physics.advance import advance
from bloomless.physics.begin import begin
from bloomless.physics.bowl import HEATING, Bowl, microwave_share
from bloomless.physics.cooling_curve import cooling_curve, plateau_rate_1_s
from bloomless.physics.ensemble import Surroundings
from bloomless.physics.isothermal import hold
from bloomless.physics.kinetics import avrami, avrami_half_time, avrami_rate, foubert, foubert_half_time
from bloomless.physics.mixing import (
    mixed_all_melted_C,
    mixed_at_equilibrium_C,
    mixed_sensible_C,
    peclet,
    sphere_melting_time_s,
)
from bloomless.physics.priors import USUAL, draw_parameters
from bloomless.physics.readings import readings
from bloomless.quantities import F_from_C

CHOCOLATE_e = effusivity(0.26, 1250.0, 1600.0)


def test_1_and_2_avrami():
    assert avrami_half_time(1e-6, 3.0) == pytest.approx(88.5, abs=0.1)
    f, h = avrami(1.0, 1e-6, 3.0), 0.01
    for _ in range(20_000):  # the rate form, integrated, is the closed form
        middle = f + 0.5 * h * avrami_rate(f, 1e-6, 3.0)
        f += h * avrami_rate(middle, 1e-6, 3.0)
    assert f == pytest.approx(avrami(201.0, 1e-6, 3.0), abs=1e-3)
    with pytest.raises(OutsideValidity):
        avrami_rate(0.0, 1e-6, 3.0)


def test_3_foubert():
    assert [foubert(t, 1.0, 5.0, 0.01) for t in (1.0, 2.0, 3.0)] == pytest.approx([0.7454, 0.3001, 0.1106], abs=5e-4)
    assert foubert_half_time(1.0, 5.0, 0.01) == pytest.approx(1.4754, abs=1e-3)
    with pytest.raises(OutsideValidity):
        foubert(1.0, 1.0, 0.9, 0.01)


def test_8_and_9_seed_into_melt():
    assert mixed_sensible_C(45.0, 0.25, 20.0) == pytest.approx(38.75, abs=0.01)
    assert mixed_all_melted_C(45.0, 0.25, 20.0) == pytest.approx(31.56, abs=0.05)
    stop_C, solid = mixed_at_equilibrium_C(45.0, 0.25, 20.0)
    assert stop_C == pytest.approx(34.2, abs=0.6)
    assert solid == pytest.approx(0.07, abs=0.03)
    assert mixed_all_melted_C(45.0, 0.30, 20.0) == pytest.approx(28.9, abs=0.1)
    assert mixed_at_equilibrium_C(45.0, 0.30, 20.0)[0] > 31.0
    sheet = {(0.10, 45): 40.0, (0.20, 45): 34.9, (0.30, 45): 33.5, (0.20, 40): 33.9, (0.25, 40): 33.3, (0.10, 36): 34.2}
    for (share, melt_C), stop in sheet.items():
        assert mixed_at_equilibrium_C(float(melt_C), share, 20.0)[0] == pytest.approx(stop, abs=0.6)
    with pytest.raises(OutsideValidity):
        mixed_at_equilibrium_C(45.0, 0.95, 20.0)


def one_bowl(*, temperature_C, room_C=20.0, **kwargs):
    bowl = Bowl(chocolate("dark"), vessel("steel", holds_kg=1.0, diameter_mm=200.0), 1.0, room_C=room_C, **kwargs)
    parameters = draw_parameters(USUAL, 1, seed=1)
    for row, name in enumerate(rows.PARAMETER_ROWS):
        parameters[row] = getattr(USUAL, name).value
    return begin(bowl, parameters, temperature_C=temperature_C)


def test_12_an_open_bowl_cools_as_fast_as_bowls_do():
    bowl = one_bowl(temperature_C=45.0)
    first = advance(bowl, Surroundings(room_C=20.0), 60.0)
    assert 0.4 <= 45.0 - float(first.state[rows.BULK_C][0]) <= 0.8
    minutes, now = 0, bowl
    while now.state[rows.BULK_C][0] > 34.0:
        now, minutes = advance(now, Surroundings(room_C=20.0), 60.0), minutes + 1
    assert 17 <= minutes <= 36


def test_14_and_15_spheres():
    assert sphere_melting_time_s(5e-3, 45.0, nusselt=2.0) == pytest.approx(85, abs=2)
    assert sphere_melting_time_s(5e-3, 34.5, nusselt=2.0) == pytest.approx(680, abs=15)
    ratio = sphere_melting_time_s(1e-2, 40.0, nusselt=2.0) / sphere_melting_time_s(5e-3, 40.0, nusselt=2.0)
    assert ratio == pytest.approx(4.0)
    assert sphere_melting_time_s(5e-3, 33.0) == math.inf
    assert sphere_melting_time_s(5e-3, 36.0, slip_m_s=0.02) < sphere_melting_time_s(5e-3, 36.0) / 4.0
    assert peclet(5e-3, 0.02) == pytest.approx(782, rel=0.01)


def test_16_and_28_contact_and_films():
    marble = SURFACES["marble"]
    e = effusivity(2.5, marble.density_kg_m3.value, marble.heat_J_kgK.value)
    assert contact_C(45.0, CHOCOLATE_e, 20.0, e) == pytest.approx(25.7, abs=0.3)
    board = SURFACES["polycarbonate"]
    e = effusivity(board.conductivity_W_mK.value, board.density_kg_m3.value, board.heat_J_kgK.value)
    assert contact_C(31.0, CHOCOLATE_e, 20.0, e) == pytest.approx(26.3, abs=0.3)
    film, blade = 0.0015 * 1250.0 * 1600.0, 0.001 * 7900.0 * 500.0  # J/(m² K)
    assert film / 10.0 == pytest.approx(300.0, rel=0.1)
    assert (film * 32.0 + blade * 20.0) / (film + blade) == pytest.approx(25.2, abs=0.2)
    assert MATERIALS["steel"].heat_J_kgK.value == pytest.approx(490.0, abs=10.0)


def test_23_cooling_curves():
    shares = (0.001, 0.003, 0.01, 0.02, 0.04, 0.08)
    curves = [cooling_curve(x) for x in shares]
    slopes = [c.slope_K_min for c in curves]
    assert slopes == sorted(slopes, reverse=True)
    assert slopes[1] > 0.0
    assert curves[4].ratio <= 0.10
    assert curves[5].ratio <= 0.02
    bends = [c.bend_C for c in curves]
    assert bends == sorted(bends)
    assert [curves[0].verdict, curves[4].verdict, cooling_curve(0.3).verdict] == ["under", "well", "over"]
    with pytest.raises(OutsideValidity):
        cooling_curve(0.0)


def test_24_plateau():
    assert plateau_rate_1_s(25.0, 0.0) == pytest.approx(2.69e-3, rel=0.01)


def test_25_melting_out():
    out = hold(45.0, 15.0, form_v=0.6, unstable=0.1, shear_1_s=30.0)
    assert out.form_v[-1] + out.unstable[-1] < 1e-4
    kept = hold(32.0, 10.0, form_v=0.015, unstable=0.02, shear_1_s=30.0)
    assert kept.form_v[-1] > 0.9 * 0.015
    assert kept.unstable[-1] < 1e-3
    assert hold(36.5, 10.0, form_v=0.015, shear_1_s=30.0).form_v[-1] < 0.05 * 0.015
    with pytest.raises(OutsideValidity):
        hold(70.0, 10.0)


def test_26_windows_in_fahrenheit():
    for celsius, fahrenheit in ((31, 87.8), (32, 89.6), (28, 82.4), (29, 84.2), (45, 113.0), (50, 122.0)):
        assert F_from_C(celsius) == pytest.approx(fahrenheit, abs=0.05)
    for kind, (low, high) in {"dark": (31, 32), "milk": (29, 31), "white": (27, 30)}.items():
        assert WINDOWS[kind].low.value <= low < high <= WINDOWS[kind].high.value  # the usual advice lies inside
        assert working_window(chocolate(kind)) == pytest.approx(
            (WINDOWS[kind].low.value, WINDOWS[kind].high.value), abs=0.03
        )
    richer = working_window(chocolate("dark", milk_fat_share=0.038))  # 10 % of the fat
    assert richer[0] == pytest.approx(29.3 - 1.5)
    assert working_window(chocolate("dark", liquid_oil_share=0.019))[1] == pytest.approx(33.0 - 1.0)


def test_29_microwave():
    assert microwave_share(500.0) == pytest.approx(0.6)
    assert microwave_share(100.0) == pytest.approx(0.3)
    assert microwave_share(25.0) <= 0.25 * HEATING["microwave_large"].value  # 472 of 2718 J in a bench test (seen)
    melt_J = 0.5 * (1600.0 * 25.0 + 46_000.0)
    assert melt_J == pytest.approx(43e3)
    assert melt_J / (700.0 * microwave_share(500.0)) == pytest.approx(102, abs=2)


def test_30_diffusion():
    diffusivity = 0.26 / (1250.0 * 1600.0)
    assert diffusivity == pytest.approx(1.3e-7, rel=0.05)
    assert 0.03**2 / diffusivity == pytest.approx(6900, abs=350)


def test_unstirred_bowls_stratify_and_stirring_mends_it():
    resting = advance(one_bowl(temperature_C=40.0), Surroundings(room_C=20.0, stir=0.0), 600.0)
    stirred = advance(one_bowl(temperature_C=40.0), Surroundings(room_C=20.0), 600.0)
    assert resting.state[rows.SPLIT_K][0] > 1.0 > 0.2 > stirred.state[rows.SPLIT_K][0]
    assert resting.state[rows.PROBE_C][0] > resting.state[rows.BULK_C][0] + 0.3
    mended = advance(resting, Surroundings(room_C=20.0), 30.0)
    assert mended.state[rows.SPLIT_K][0] < 0.2


def test_one_evaporates_nothing_and_readings_are_shares():
    seen = readings(one_bowl(temperature_C=31.0))
    assert float(seen.batch_kg[0]) == pytest.approx(1.0)
    for name in ("form_v_of_fat", "unstable_of_fat", "first_crop_of_fat", "water_share", "scorch"):
        value = getattr(seen, name)
        assert np.all((value >= 0.0) & (value <= 1.0))
