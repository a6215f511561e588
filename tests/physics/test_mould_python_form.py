"""The kernels of mould cooling and enthalpy are what their Python says: small cases with and without compilation."""

import os
import subprocess
import sys

import numpy as np
import pytest

SCRIPT = """
import sys
import numpy as np
from bloomless.errors import NumericalFailure
from bloomless.materials.mould_walls import WALLS
from bloomless.materials.moulds import Cylinder, Hemisphere, Mould
from bloomless.numerics import enthalpy
from bloomless.numerics.enthalpy import EnthalpyCurve, march, planar_row
from bloomless.physics.mould_axisymmetric import cool_piece
from bloomless.physics.mould_cooling import CoolingSpace, Inert, Layer, Stack, cool
from bloomless.physics.mould_kinetics import crystal_step
from bloomless.physics.mould_melt import FIRST_C, PER_K, Melt, Rates, rate_table

row = planar_row((0.004, 0.002), (4, 2), (0.26, 0.2))
curves = (EnthalpyCurve.sharp((2e6, 2e6), 5.75e7, 28.0), EnthalpyCurve.sharp((1.5e6, 1.5e6), 1.0, 90.0))
until = np.array([60.0, 600.0])
slab = march(row, curves, 32.0, film_W_m2K=(15.0, np.inf), outside_C=(12.0, 12.0), until_s=until, step_s=20.0)

short_steps = {"film_W_m2K": (15.0, np.inf), "outside_C": (12.0, 12.0), "until_s": until, "step_s": 20.0}
explicit = march(row, curves, 32.0, scheme="explicit", **short_steps)

pc = WALLS["polycarbonate"]
melt = Melt("dark", 0.34, 1.0, 0.0, 31.0, form_v=0.002, unstable=0.002)
wall = Inert(0.20, 1.5e6)


def plate(temperature_C, of=melt):
    layers = (Layer(of, 3.0, temperature_C, 4), Layer(wall, 2.0, 20.0, 2))
    return Stack(layers, open_m2=0.03)


cold = cool(plate(31.0), CoolingSpace(-5.0), minutes=25, snapshots=6)
sound = Melt("dark", 0.34, 1.0, 0.0, 31.0, form_v=0.01)
calm = cool(plate(31.0, sound), CoolingSpace(12.0), minutes=20, rates=Rates(unstable=0.0))
try:
    cool(plate(31.0), CoolingSpace(12.0), minutes=1, tolerance_K=1e-300)
    raise AssertionError("steps too short are refused")
except NumericalFailure:
    pass
warm = cool(plate(20.0, Melt("dark", 0.34, 1.0, 0.0, 20.0, form_v=0.3, unstable=0.2)), CoolingSpace(45.0), minutes=20)
milk = cool(plate(29.0, Melt("milk", 0.34, 0.8, -1.5, 29.0, form_v=0.01)), CoolingSpace(8.0), minutes=8)
halves = Mould("half-shells", Hemisphere(15), 24, pc, 2.5, 500.0)
discs = Mould("discs", Cylinder(30, 8), 24, pc, 2.0, 500.0)
short = {"mould_C": 22.0, "minutes": 2.0, "cells": 3, "snapshots": 3}
pieces = [cool_piece(m, melt, CoolingSpace(10.0), **short) for m in (halves, discs)]
closed = CoolingSpace(-10.0, moulds=4, power_W=20.0, capacity_J_K=4000.0)
shut = cool(plate(31.0), closed, minutes=8)
breeze = cool(plate(31.0), CoolingSpace(12.0, air_speed_m_s=0.6), minutes=2)

# Forms II and IV set in the cold, climb, and melt when warmed: crystals alone, cell by cell.
T = np.array([8.0, 14.0, 19.0, 8.0, 24.0])
v, iv, ii = np.array([0.0, 0.01, 0.0, 0.4, 0.0]), np.zeros(5), np.zeros(5)
root, pace, kelvin = np.full(5, 0.3), np.zeros((3, 5)), np.array([30.0, 30.0, 30.0, 30.0, 0.0])
table = rate_table(melt, Rates())
forms = []
for at_C in (8.0, 19.0, 26.0, 33.0):
    for _ in range(40):
        T[:] = at_C
        crystal_step(T, v, iv, ii, root, pace, kelvin, 4.0, table, FIRST_C, PER_K)
    forms.append([v.copy(), iv.copy(), ii.copy()])
enthalpy._ITERATIONS = 0
failed = False
if sys.argv[2] == "python":  # a compiled kernel keeps the constant it was made with
    try:
        march(row, curves, 32.0, film_W_m2K=(15.0, 0.0), outside_C=(12.0, 12.0), until_s=until, step_s=20.0)
    except NumericalFailure:
        failed = True
    assert failed
np.savez(
    sys.argv[1],
    slab=slab.temperature_C,
    explicit=explicit.temperature_C,
    cold=cold.temperature_C,
    cold_solid=cold.solid,
    warm=warm.temperature_C,
    calm=calm.solid,
    warm_solid=warm.solid,
    milk=milk.temperature_C,
    shut=shut.air_C,
    breeze=breeze.temperature_C,
    forms=np.array(forms),
    half=pieces[0].temperature_C,
    disc=pieces[1].temperature_C,
)
"""


@pytest.mark.slow
def test_compiled_and_python_agree(tmp_path):
    found = []
    for form, jit in (("compiled", "0"), ("python", "1")):
        out = tmp_path / f"{form}.npz"
        command = [sys.executable, "-c", SCRIPT, str(out), form]
        subprocess.run(command, check=True, env={**os.environ, "NUMBA_DISABLE_JIT": jit}, timeout=300)
        with np.load(out) as arrays:
            found.append(dict(arrays))
    for name, compiled in found[0].items():
        np.testing.assert_allclose(found[1][name], compiled, rtol=1e-7, atol=1e-9, err_msg=name)
