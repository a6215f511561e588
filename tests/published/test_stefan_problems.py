"""Enthalpy kernel against exact solutions: Neumann's one- and two-phase problem, the slab with convection, two bodies.

Sources: Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., 1959 (equations recalled; evaluated here with scipy);
the tables repeated as numbers come from the project's sheet on moulding, section 8, computed in double precision there.
"""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import erf, erfc, erfcx

from bloomless.numerics.enthalpy import EnthalpyCurve, march, planar_row

K, RHO, C, L = 0.26, 1250.0, 1600.0, 46_000.0


def neumann(wall, melting, start, ks, cs, kl, cl, latent, rho):
    """Constant of the front, s = 2 λ √(α_s t)."""
    ratio = np.sqrt(ks / cs * cl / kl)
    cold, warm = cs * (melting - wall) / latent, cl * (start - melting) / latent

    def balance(x):
        return (
            cold / (np.exp(x * x) * erf(x))
            - warm / (ratio * np.exp((ratio * x) ** 2) * erfc(ratio * x))
            - x * np.pi**0.5
        )

    return brentq(balance, 1e-4, 3)


def front_m(run, row, latent_J_m3):
    solid = 1 - np.clip(run.enthalpy_J_m3 / latent_J_m3, 0, 1)
    return solid @ row.volume


@pytest.mark.parametrize(
    ("wall", "melting", "start", "cs", "kl", "cl", "latent", "rho", "ks", "expected"),
    [
        (12, 28, 28, 1600, K, 1600, L, RHO, K, 0.486835),  # one phase, sheet 8.1
        (12, 28, 32, 1600, K, 1600, L, RHO, K, 0.437691),  # A, sheet 8.2
        (12, 28, 32, 1590, 0.26, 1670, L, RHO, 0.22, 0.432713),  # B
        (10, 30, 45, 1600, K, 1600, 100_000, RHO, K, 0.305893),  # C
        (-10, 0, 5, 2050, 0.58, 4186, 333_600, 1000, 2.2, 0.164046),  # W, water
    ],
)
def test_front_of_neumann(wall, melting, start, cs, kl, cl, latent, rho, ks, expected):
    constant = neumann(wall, melting, start, ks, cs, kl, cl, latent, rho)
    assert constant == pytest.approx(expected, abs=1e-6)
    if ks != kl:
        return  # one conductivity a material: the front is checked where it is the same in both phases
    row = planar_row((0.08,), (400,), (ks,))
    curve = EnthalpyCurve.sharp((rho * cs, rho * cl), rho * latent, melting)
    times = np.array([600.0, 1800.0, 3600.0])
    run = march(
        row,
        (curve,),
        start,
        film_W_m2K=(np.inf, 0.0),
        outside_C=(wall, 0.0),
        until_s=times,
        step_s=2.0,
        first_step_s=0.01,
    )
    exact = 2 * constant * np.sqrt(ks / (rho * cs) * times)
    assert front_m(run, row, rho * latent) == pytest.approx(exact, rel=0.0025)
    assert front_m(run, row, rho * latent)[-1] == pytest.approx(exact[-1], rel=0.0005)
    stored = (run.enthalpy_J_m3 - curve.at(start)[0]) @ row.volume
    assert -stored == pytest.approx(run.heat_out_J.sum(axis=1), rel=1e-9)


def test_temperatures_of_case_a():
    row = planar_row((0.04,), (400,), (K,))
    curve = EnthalpyCurve.sharp((RHO * C, RHO * C), RHO * L, 28.0)
    run = march(
        row, (curve,), 32.0, film_W_m2K=(np.inf, 0.0), outside_C=(12.0, 0.0), until_s=np.array([60.0, 300.0, 600.0]),
        step_s=1.0, first_step_s=0.01,
    )  # fmt: skip
    at_1mm = [np.interp(0.001, row.centre_m, t) for t in run.temperature_C]
    assert at_1mm == pytest.approx([18.891104, 15.108112, 14.200114], abs=0.05)
    assert np.interp(0.005, row.centre_m, run.temperature_C[1]) == pytest.approx(26.780360, abs=0.05)


def test_front_converges():
    errors = []
    for cells in (50, 100, 200):
        row = planar_row((0.06,), (cells,), (K,))
        curve = EnthalpyCurve.sharp((RHO * C, RHO * C), RHO * L, 28.0)
        times = np.linspace(600, 3600, 31)
        run = march(
            row, (curve,), 32.0, film_W_m2K=(np.inf, 0.0), outside_C=(12.0, 0.0), until_s=times, step_s=4.0,
            first_step_s=0.01,
        )  # fmt: skip
        exact = 2 * 0.437691 * np.sqrt(K / (RHO * C) * times)
        errors.append(np.sqrt(np.mean((front_m(run, row, RHO * L) / exact - 1) ** 2)))
    order = np.log2(errors[0] / errors[2]) / 2
    assert order > 1.0, errors


@pytest.mark.parametrize(
    ("thick_m", "film", "time", "inner", "outer"),
    [  # sheet 8.3, 32 °C into air of 12 °C, one face insulated
        (0.010, 20.0, 300.0, 29.312055, 24.369390),
        (0.010, 20.0, 600.0, 25.686422, 21.739574),
        (0.010, 20.0, 1200.0, 20.525224, 18.066367),
        (0.008, 10.0, 300.0, 29.653187, 27.254443),
        (0.005, 40.0, 300.0, 20.525224, 18.066367),
    ],
)
def test_slab_with_convection(thick_m, film, time, inner, outer):
    row = planar_row((thick_m,), (100,), (K,))
    run = march(
        row, (EnthalpyCurve.sensible(RHO * C),), 32.0, film_W_m2K=(0.0, film), outside_C=(0.0, 12.0),
        until_s=np.array([time]), step_s=0.5, first_step_s=0.01,
    )  # fmt: skip
    last = run.temperature_C[0]
    face = 12 + (last[-1] - 12) * row.end[1] / (row.end[1] + film)
    assert last[0] == pytest.approx(inner, abs=0.02)
    assert face == pytest.approx(outer, abs=0.02)


@pytest.mark.parametrize(
    ("film", "faces", "inside"),
    [  # sheet 8.4, deep body of 32 °C, air of 12 °C: face and 5 mm below it
        (20.0, (30.164950, 27.944447, 24.517739, 22.682574), (31.998720, 31.472968, 28.454588, 26.308321)),
        (100.0, (24.972342, 20.162737, 16.366917, 15.193469), None),
    ],
)
def test_deep_body_with_convection(film, faces, inside):
    times = np.array([10.0, 60.0, 300.0, 600.0])
    row = planar_row((0.08,), (800,), (K,))
    run = march(
        row, (EnthalpyCurve.sensible(RHO * C),), 32.0, film_W_m2K=(film, 0.0), outside_C=(12.0, 0.0), until_s=times,
        step_s=0.1, first_step_s=0.01,
    )  # fmt: skip
    skin = run.temperature_C[:, 0]
    face = 12 + (skin - 12) * row.end[0] / (row.end[0] + film)
    assert face == pytest.approx(np.array(faces), abs=0.02)
    # Carslaw & Jaeger 2.7: erfc A - exp(-A²) erfcx(A + B), A = x/2√(αt), B = h√(αt)/k.
    a, b = 0.005 / (2 * np.sqrt(K / (RHO * C) * times)), film / K * np.sqrt(K / (RHO * C) * times)
    exact = 32 - 20 * (erfc(a) - np.exp(-a * a) * erfcx(a + b))
    at_5_mm = run.temperature_C[:, 49:51].mean(axis=1)
    assert at_5_mm == pytest.approx(exact, abs=0.02)
    if inside:
        assert exact == pytest.approx(np.array(inside), abs=1e-5)


def layered(latent, top_film=15.0):
    """Sheet 8.5: 10 mm of chocolate at 31 on 2 mm of polycarbonate at 24, air 12."""
    row = planar_row((0.010, 0.002), (200, 40), (K, 0.20))
    knots = np.array([-50.0, 22.0, 30.0, 80.0])
    heat = RHO * C * knots + RHO * latent * np.clip((knots - 22) / 8, 0, 1)
    curves = (EnthalpyCurve(knots, heat), EnthalpyCurve.sensible(1200.0 * 1250.0))
    start = np.where(row.material == 0, 31.0, 24.0)
    times = np.array([60.0, 300.0, 600.0, 1200.0, 1800.0, 2400.0, 3600.0])
    run = march(
        row, curves, start, film_W_m2K=(top_film, 15.0), outside_C=(12.0, 12.0), until_s=times, step_s=0.5,
        first_step_s=0.01,
    )  # fmt: skip
    return row, run


def test_layered_slab_without_latent_heat():
    row, run = layered(0.0)
    chocolate = row.material == 0
    mean = run.temperature_C[:, chocolate].mean(axis=1)
    middle = run.temperature_C[:, 99:101].mean(axis=1)
    assert mean[:4] == pytest.approx([29.23475, 24.99819, 21.20889, 16.62665], abs=0.02)
    assert middle[:4] == pytest.approx([29.97035, 25.49191, 21.55650, 16.80125], abs=0.02)
    _, covered = layered(0.0, top_film=0.0)
    assert covered.temperature_C[1, chocolate].mean() == pytest.approx(27.93254, abs=0.02)


def test_layered_slab_with_latent_heat():
    row, run = layered(L)
    chocolate = row.material == 0
    T = run.temperature_C[:, chocolate]
    fraction = 1 - np.clip((T - 22) / 8, 0, 1).mean(axis=1)
    assert T.mean(axis=1) == pytest.approx([29.900, 28.659, 27.348, 25.031, 23.064, 19.727, 13.950], abs=0.05)
    assert fraction == pytest.approx([0.0289, 0.1675, 0.3315, 0.6212, 0.8669, 1, 1], abs=0.005)
    assert run.heat_out_J[-1].sum() == pytest.approx(991_000, rel=0.15)


def test_contact_of_two_bodies():
    # Semi-infinite bodies: T = (e1 T1 + e2 T2)/(e1 + e2); chocolate of 31 °C on polycarbonate of 20 °C: 26.25 °C.
    row = planar_row((0.02, 0.02), (2000, 2000), (K, 0.20))
    curves = (EnthalpyCurve.sensible(RHO * C), EnthalpyCurve.sensible(1200.0 * 1250.0))
    run = march(
        row, curves, np.where(row.material == 0, 31.0, 20.0), film_W_m2K=(0.0, 0.0), outside_C=(0.0, 0.0),
        until_s=np.array([4.0]), step_s=0.02, first_step_s=1e-5,
    )  # fmt: skip
    e1, e2 = np.sqrt(K * RHO * C), np.sqrt(0.20 * 1200 * 1250)
    between = (run.temperature_C[0, 1999] * 0.26 + run.temperature_C[0, 2000] * 0.20) / 0.46
    assert between == pytest.approx((e1 * 31 + e2 * 20) / (e1 + e2), abs=0.01)
    assert between == pytest.approx(26.252, abs=0.01)
