"""The enthalpy kernel as an algorithm: both schemes agree, heat is kept, odd curves, bad input; FiPy on a tiny case."""

import os

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bloomless.errors import ImpossibleInput
from bloomless.numerics.enthalpy import EnthalpyCurve, march, planar_row

SENSIBLE = EnthalpyCurve.sensible(2e6)
SHARP = EnthalpyCurve.sharp((2e6, 2.2e6), 5.75e7, 28.0)
KW = {"film_W_m2K": (0.0, 15.0), "outside_C": (12.0, 12.0), "until_s": np.array([60.0, 600.0]), "step_s": 2.0}


@settings(max_examples=25)
@given(start=st.floats(-5, 45), air=st.floats(-20, 40), film=st.floats(0, 200), thick=st.floats(0.001, 0.03))
def test_schemes_agree_and_no_heat_is_lost(start, air, film, thick):
    row = planar_row((thick, 0.002), (12, 3), (0.26, 0.2))
    curves = (SHARP, EnthalpyCurve.sensible(1.5e6))
    found = []
    for scheme, step in (("implicit", 1.0), ("explicit", 1.0)):
        run = march(
            row, curves, start, film_W_m2K=(film, film), outside_C=(air, air), until_s=np.array([300.0]), step_s=step,
            scheme=scheme,
        )  # fmt: skip
        before = np.array([curves[m].at(start)[0] for m in row.material])
        lost = (before - run.enthalpy_J_m3[0]) @ row.volume
        assert lost == pytest.approx(run.heat_out_J[0].sum(), rel=1e-6, abs=1e-3)
        assert min(start, air) - 1e-6 <= run.temperature_C.min() <= run.temperature_C.max() <= max(start, air) + 1e-6
        found.append(run.temperature_C[0])
    assert found[0] == pytest.approx(found[1], abs=0.25)


def test_explicit_front_of_neumann():
    # Numerics sheet A6: λ = 0.441240, front 18.720 mm at 3,600 s.
    row = planar_row((0.08,), (200,), (0.25,))
    curve = EnthalpyCurve.sharp((2e6, 2e6), 1250.0 * 45_000.0, 28.0)
    run = march(
        row, (curve,), 32.0, film_W_m2K=(np.inf, 0.0), outside_C=(12.0, 0.0), until_s=np.array([600.0, 3600.0]),
        step_s=60.0, scheme="explicit",
    )  # fmt: skip
    front = (1 - np.clip(run.enthalpy_J_m3 / (1250.0 * 45_000.0), 0, 1)) @ row.volume
    assert front == pytest.approx([7.642e-3, 18.720e-3], rel=0.003)


def test_a_curve_with_a_step_at_its_end():
    # Two knots at one temperature, first or last: the straight continuation is that of the next piece.
    first = EnthalpyCurve(np.array([20.0, 20.0, 21.0]), np.array([0.0, 5e6, 7e6]))
    last = EnthalpyCurve(np.array([19.0, 20.0, 20.0]), np.array([0.0, 2e6, 7e6]))
    assert first.at(22.0)[0] == pytest.approx(9e6)
    assert last.at(18.0)[0] == pytest.approx(-2e6)
    assert SHARP.at(28.0)[0] == pytest.approx(5.75e7)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: EnthalpyCurve(np.array([1.0]), np.array([1.0])),
        lambda: EnthalpyCurve(np.array([1.0, 0.0]), np.array([0.0, 1.0])),
        lambda: EnthalpyCurve(np.array([0.0, 1.0]), np.array([1.0, 0.0])),
        lambda: planar_row((0.0,), (5,), (0.2,)),
        lambda: planar_row((0.01,), (0,), (0.2,)),
        lambda: planar_row((0.01,), (5,), (-1.0,)),
        lambda: march(planar_row((0.01,), (5,), (0.2,)), (SENSIBLE,), 20.0, **{**KW, "until_s": np.array([5.0, 1.0])}),
        lambda: march(planar_row((0.01,), (5,), (0.2,)), (SENSIBLE,), 20.0, **{**KW, "step_s": 0.0}),
    ],
)
def test_impossible(wrong):
    with pytest.raises(ImpossibleInput):
        wrong()


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_fipy_says_the_same():
    # FiPy on a tiny case: a slab with convection on one face, latent heat spread from 22 to 30 °C as apparent capacity.
    os.environ.setdefault("FIPY_SOLVERS", "scipy")
    from fipy import CellVariable, DiffusionTerm, FaceVariable, Grid1D, ImplicitSourceTerm, TransientTerm

    n, thick, k, film = 20, 0.01, 0.26, 15.0
    dx, volumetric, latent = thick / n, 2e6, 1250.0 * 46_000.0
    mesh = Grid1D(nx=n, dx=dx)
    T = CellVariable(mesh=mesh, value=32.0, hasOld=True)
    gamma = FaceVariable(mesh=mesh, value=k)
    gamma.constrain(0.0, mesh.exteriorFaces)
    through = np.zeros(n)
    through[-1] = 1 / (1 / film + 0.5 * dx / k) / dx
    loss = CellVariable(mesh=mesh, value=through)
    capacity = CellVariable(mesh=mesh, value=volumetric)
    equation = TransientTerm(coeff=capacity) == DiffusionTerm(coeff=gamma) - ImplicitSourceTerm(loss) + loss * 12.0
    for _ in range(120):
        T.updateOld()
        for _ in range(3):
            middle = 0.5 * (T.value + T.old.value)
            capacity.setValue(volumetric + np.where((middle > 22) & (middle < 30), latent / 8, 0.0))
            equation.sweep(var=T, dt=5.0)
    knots = np.array([-50.0, 22.0, 30.0, 80.0])
    curve = EnthalpyCurve(knots, volumetric * knots + latent * np.clip((knots - 22) / 8, 0, 1))
    run = march(planar_row((thick,), (n,), (k,)), (curve,), 32.0, film_W_m2K=(0.0, film), outside_C=(0.0, 12.0),
                until_s=np.array([600.0]), step_s=1.0)  # fmt: skip
    assert run.temperature_C[0] == pytest.approx(T.value, abs=0.15)
