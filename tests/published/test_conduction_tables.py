"""Heat kernels against the tables of the moulding sheet, section 8: its checks 29-32, 40 and 46.

Exact solutions: Carslaw and Jaeger, Conduction of Heat in Solids, 1959 (series for a slab with convection; Neumann),
evaluated in double precision on the sheet; layered tables: Richardson from 400 and 800 cells there.
"""

from dataclasses import replace

import numpy as np
import pytest

from bloomless.numerics.enthalpy import EnthalpyCurve, march, planar_row
from bloomless.physics.mould_cooling import CoolingSpace, Inert, Layer, Stack, cool
from bloomless.physics.mould_films import Film
from bloomless.physics.mould_melt import Melt, Rates

K, VOLUMETRIC, LATENT = 0.26, 2e6, 1250 * 46_000.0
ALPHA = K / VOLUMETRIC
COLD = Melt("dark", 0.34, 1.0, 0.0, 31.0, form_v=0.01, heat_of_melting_J_kg=1e-9)


@pytest.mark.parametrize(
    ("bi", "fo", "centre", "surface"),
    [
        (0.1, 0.2, 0.993999, 0.951420),
        (0.5, 0.5, 0.864114, 0.686882),
        (1.0, 0.2, 0.950642, 0.643391),
        (1.0, 1.0, 0.533859, 0.348177),
        (2.0, 2.0, 0.115890, 0.054942),
        (10.0, 0.5, 0.454641, 0.064329),
        (10.0, 2.0, 0.021265, 0.003008),
    ],
)
def test_slab_with_convection(bi, fo, centre, surface):
    # Check 31 (Heisler's chart, exact): one face insulated, both kernels.
    depth, film = 0.01, bi * K / 0.01
    seconds = np.array([fo * depth**2 / ALPHA])
    row = planar_row((depth,), (200,), (K,))
    run = march(
        row, (EnthalpyCurve.sensible(VOLUMETRIC),), 1.0, film_W_m2K=(0.0, film), outside_C=(0.0, 0.0), until_s=seconds,
        step_s=float(seconds[0]) / 3000,
    )  # fmt: skip
    assert run.temperature_C[0, 0] == pytest.approx(centre, abs=1e-3)
    face = run.temperature_C[0, -1] * row.end[1] / (row.end[1] + film)
    assert face == pytest.approx(surface, abs=1e-3)
    slab = Stack((Layer(replace(COLD, temperature_C=32.0), 10.0, 32.0, 200),))
    films = (Film(0, 0, 0, 0.0), Film(0, 0, 0, film))
    kernel = cool(slab, CoolingSpace(12.0), minutes=float(seconds[0]) / 60, films=films, snapshots=2, tolerance_K=1e-4)
    assert (kernel.temperature_C[-1, 0] - 12) / 20 == pytest.approx(centre, abs=1e-3)


def test_square_bar_is_a_product():
    # Check 46: square bar, Bi 1, Fo 0.5: centre 0.596797, corner 0.254542, from the one-dimensional kernel.
    film, seconds = K / 0.01, np.array([0.5 * 0.01**2 / ALPHA])
    row = planar_row((0.01,), (400,), (K,))
    run = march(
        row, (EnthalpyCurve.sensible(VOLUMETRIC),), 1.0, film_W_m2K=(0.0, film), outside_C=(0.0, 0.0), until_s=seconds,
        step_s=0.05,
    )  # fmt: skip
    corner = run.temperature_C[0, -1] * row.end[1] / (row.end[1] + film)
    assert run.temperature_C[0, 0] ** 2 == pytest.approx(0.596797, abs=5e-4)
    assert corner**2 == pytest.approx(0.254542, abs=5e-4)


def test_sealed_outer_face():
    # Check 40 (oil and heat obey one law): inner face held, outer sealed; 1 − θ at Fo 0.1, 0.2, 0.5, 1.
    times = np.array([0.1, 0.2, 0.5, 1.0]) * 0.01**2 / ALPHA
    run = march(
        planar_row((0.01,), (200,), (K,)), (EnthalpyCurve.sensible(VOLUMETRIC),), 1.0, film_W_m2K=(np.inf, 0.0),
        outside_C=(0.0, 0.0), until_s=times, step_s=0.05,
    )  # fmt: skip
    assert 1 - run.temperature_C[:, -1] == pytest.approx([0.050695, 0.227688, 0.629223, 0.892023], abs=5e-4)


def test_fronts_at_300_s():
    # Check 29: one phase, s(300 s) 6.0806 mm, T(1 mm) 14.8346; check 30 A: 5.4668 mm, T(1 mm) 15.1081.
    row = planar_row((0.05,), (500,), (K,))
    depth = 1000 * row.centre_m
    for start, front, at_1_mm in ((28.0, 6.080567, 14.834599), (32.0, 5.466754, 15.108112)):
        run = march(
            row, (EnthalpyCurve.sharp((VOLUMETRIC, VOLUMETRIC), LATENT, 28.0),), start, film_W_m2K=(np.inf, 0.0),
            outside_C=(12.0, 0.0), until_s=np.array([300.0]), step_s=0.5, first_step_s=0.01,
        )  # fmt: skip
        solid = (1 - np.clip(run.enthalpy_J_m3[0] / LATENT, 0, 1)) @ row.volume
        assert 1000 * solid == pytest.approx(front, rel=0.01)
        assert np.interp(1.0, depth, run.temperature_C[0]) == pytest.approx(at_1_mm, abs=0.05)


LAYERED = {  # check 32: seconds → top face, mid chocolate, mean; no latent heat
    60: (27.91962, 29.97035, 29.23475), 300: (23.56870, 25.49191, 24.99819), 600: (20.17110, 21.55650, 21.20889),
    1200: (16.10477, 16.80125, 16.62665),
}  # fmt: skip


def test_layered_slab():
    wall = Layer(Inert(0.20, 1200.0 * 1250.0), 2.0, 24.0, 40)
    both = (Film(0, 0, 0, 15.0), Film(0, 0, 0, 15.0))
    run = cool(
        Stack((Layer(COLD, 10.0, 31.0, 200), wall)), CoolingSpace(12.0), minutes=20, films=both, snapshots=21,
        rates=Rates(unstable=0.0), tolerance_K=1e-4,
    )  # fmt: skip
    for seconds, (top, middle, mean) in LAYERED.items():
        at = seconds // 60
        end = 200 * 2 * K / 0.01
        face = (end * run.temperature_C[at, 0] + 15 * 12) / (end + 15)
        assert face == pytest.approx(top, abs=0.02)
        assert np.interp(5.0, run.depth_mm, run.temperature_C[at]) == pytest.approx(middle, abs=0.02)
        assert run.mean_C[at] == pytest.approx(mean, abs=0.02)
