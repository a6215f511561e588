"""Moulds: speed and exactness of the kernels against exact solutions, FiPy and LSODA, each ratio within one run."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import replace
from time import perf_counter

os.environ.setdefault("FIPY_SOLVERS", "scipy")

import numpy as np
from numba import njit
from scipy.integrate import odeint, solve_ivp
from scipy.optimize import brentq
from scipy.special import erf, erfc

from bloomless.materials.mould_library import library
from bloomless.numerics.enthalpy import EnthalpyCurve, march, planar_row
from bloomless.physics.mould_axisymmetric import cool_piece
from bloomless.physics.mould_cooling import Cooling, CoolingSpace, Inert, Layer, Stack, cool
from bloomless.physics.mould_films import Film
from bloomless.physics.mould_forecast import Doubt, forecast
from bloomless.physics.mould_melt import FIRST_C, PER_K, Melt, Rates, rate_table
from bloomless.physics.mould_stacks import FILLINGS, Core
from bloomless.physics.release import Surface
from report import Figure, at_least, at_most, main

MELT = Melt("dark", 0.34, 1.0, 0.0, 31.0, form_v=0.01)
RATES = Rates(unstable=0.0)
BOTH = (Film(0, 0, 0, 15.0), Film(0, 0, 0, 15.0))
CHOCOLATE, WALL = 167, 33
SPACE = CoolingSpace(12.0)
MINUTES = 60.0


def stack() -> Stack:
    wall = Layer(Inert(0.20, 1200.0 * 1250.0), 2.0, 24.0, WALL)
    return Stack((Layer(MELT, 10.0, 31.0, CHOCOLATE), wall))


def ours(tolerance_K: float = 0.02, snapshots: int = 61) -> Cooling:
    return cool(
        stack(), SPACE, minutes=MINUTES, rates=RATES, films=BOTH, snapshots=snapshots, tolerance_K=tolerance_K,
    )  # fmt: skip


def best_of(job: Callable[[], object], times: int) -> float:
    job()
    taken = []
    for _ in range(times):
        start = perf_counter()
        job()
        taken.append(perf_counter() - start)
    return min(taken)


def grid() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Width, conductivity, volumetric heat, and kelvin of the same 200 cells."""
    width = np.r_[np.full(CHOCOLATE, 0.010 / CHOCOLATE), np.full(WALL, 0.002 / WALL)]
    k = np.r_[np.full(CHOCOLATE, 0.26), np.full(WALL, 0.20)]
    heat = np.r_[np.full(CHOCOLATE, 1250.0 * 1600.0), np.full(WALL, 1200.0 * 1250.0)]
    kelvin = np.r_[np.full(CHOCOLATE, MELT.kelvin), np.zeros(WALL)]
    return width, k, heat, kelvin


def growth_law() -> Callable[[np.ndarray, np.ndarray], np.ndarray]:
    """dV/dt of form V at temperatures, from the same table."""
    table = rate_table(MELT, RATES)
    axis = FIRST_C + np.arange(table.shape[0]) / PER_K

    def rate(T: np.ndarray, v: np.ndarray) -> np.ndarray:
        free = np.interp(T, axis, table[:, 0]) - v
        grow = np.interp(T, axis, table[:, 3]) * np.maximum(v, 0) ** (2 / 3) * free
        return np.where(free > 0, grow, 0.02 * free)

    return rate


def method_of_lines() -> tuple[Callable[[float, np.ndarray], np.ndarray], np.ndarray]:
    """Slope of the interleaved states (temperature, form V) of the cells in NumPy, and the start."""
    width, k, heat, kelvin = grid()
    rate = growth_law()
    half = 0.5 * width / k
    between, ends = 1 / (half[:-1] + half[1:]), 1 / (half[[0, -1]] + 1 / 15.0)
    capacity, n = width * heat, width.size

    def slope(_: float, y: np.ndarray) -> np.ndarray:
        T, v = y[0::2], y[1::2]
        flow = np.zeros(n)
        across = between * np.diff(T)
        flow[:-1] += across
        flow[1:] -= across
        flow[0] -= ends[0] * (T[0] - 12.0)
        flow[-1] -= ends[1] * (T[-1] - 12.0)
        grown = np.where(kelvin > 0, rate(T, v), 0.0)
        out = np.empty(2 * n)
        out[0::2] = flow / capacity + kelvin * grown
        out[1::2] = grown
        return out

    start = np.zeros(2 * n)
    start[0::2] = np.where(kelvin > 0, 31.0, 24.0)
    start[1::2] = np.where(kelvin > 0, MELT.form_v, 0.0)
    return slope, start


def compiled_lines() -> Callable[[float, np.ndarray], np.ndarray]:
    """The same slope compiled, one pass over the cells."""
    width, k, heat, kelvin = grid()
    half = 0.5 * width / k
    between, ends = 1 / (half[:-1] + half[1:]), 1 / (half[[0, -1]] + 1 / 15.0)
    capacity, n = width * heat, width.size
    table = rate_table(MELT, RATES)
    curve, growth = np.ascontiguousarray(table[:, 0]), np.ascontiguousarray(table[:, 3])

    @njit(error_model="numpy")
    def slope(_: float, y: np.ndarray) -> np.ndarray:
        out, before = np.empty(2 * n), ends[0] * (12.0 - y[0])
        for i in range(n):
            T, v, grown = y[2 * i], y[2 * i + 1], 0.0
            after = between[i] * (T - y[2 * i + 2]) if i < n - 1 else ends[1] * (T - 12.0)
            if kelvin[i] > 0:
                x = (T - FIRST_C) * PER_K
                at = min(max(int(x), 0), curve.size - 2)
                f = x - at
                free = curve[at] + f * (curve[at + 1] - curve[at]) - v
                grown = 0.02 * free
                if free > 0:
                    grown = (growth[at] + f * (growth[at + 1] - growth[at])) * max(v, 0.0) ** (2 / 3) * free
            out[2 * i], out[2 * i + 1] = (before - after) / capacity[i] + kelvin[i] * grown, grown
            before = after
        return out

    return slope


def lsodas() -> dict[str, Callable[[float], np.ndarray]]:
    """LSODA as it may be called; each gives the temperatures of the chocolate at the snapshots for a tolerance."""
    plain, start = method_of_lines()
    fast = compiled_lines()
    times = np.linspace(0, 60 * MINUTES, 61)
    until, band = (0.0, 60 * MINUTES), {"lband": 2, "uband": 2}

    def ivp(slope: Callable[..., np.ndarray], tolerance: float, **more: int) -> np.ndarray:
        run = solve_ivp(slope, until, start, "LSODA", times, rtol=tolerance, atol=tolerance * 1e-2, **more)
        return run.y[0::2].T[:, :CHOCOLATE]

    def quick(tolerance: float) -> np.ndarray:
        at = {"rtol": tolerance, "atol": tolerance * 1e-2, "ml": 2, "mu": 2}
        return odeint(fast, start, times, tfirst=True, **at)[:, 0::2][:, :CHOCOLATE]

    return {
        "solve_ivp, full Jacobian, right side in NumPy": lambda tolerance: ivp(plain, tolerance),
        "solve_ivp, banded Jacobian, right side in NumPy": lambda tolerance: ivp(plain, tolerance, **band),
        "solve_ivp, banded Jacobian, right side compiled": lambda tolerance: ivp(fast, tolerance, **band),
        "best known, odeint, banded Jacobian, right side compiled": quick,
    }


def against_lsoda_on_the_bar(one_s: float, exact: np.ndarray, ours_K: float, quick: bool) -> Iterator[Figure]:
    """LSODA's loosest tolerance that is as exact as ours, and the ratio of times."""
    for name, job in lsodas().items():
        for tolerance in (1e-2, 5e-3, 3e-3, 2e-3, 1e-3, 5e-4, 3e-4):
            error = float(np.sqrt(np.mean((job(tolerance) - exact) ** 2)))
            if error <= ours_K:
                break
        taken = best_of(lambda job=job, at=tolerance: job(at), 1 if "full" in name else 3 if quick else 15)
        told = f"bar with crystals: times faster than LSODA, {name}"
        between = "banded Jacobian" in name and "best known" not in name
        yield Figure(f"LSODA's error, {name}", 1e3 * error, "mK", f"≤ {1e3 * ours_K:.3g}", error <= ours_K)
        yield Figure(told, taken / one_s, "×", "–", None) if between else at_least(told, taken / one_s, "×", 40.0)


def fipy_s(steps: int, dt: float) -> float:
    """Seconds that FiPy takes for so many implicit steps of the same bar, growth explicit, one sweep a step."""
    from fipy import CellVariable, DiffusionTerm, FaceVariable, Grid1D, ImplicitSourceTerm, TransientTerm

    width, k, heat, kelvin = grid()
    rate = growth_law()
    mesh = Grid1D(nx=width.size, dx=width)
    T = CellVariable(mesh=mesh, value=np.where(kelvin > 0, 31.0, 24.0), hasOld=True)
    capacity = CellVariable(mesh=mesh, value=heat)
    gamma = FaceVariable(mesh=mesh, value=CellVariable(mesh=mesh, value=k).harmonicFaceValue.value)
    gamma.constrain(0.0, mesh.exteriorFaces)
    film = np.zeros(width.size)
    film[0], film[-1] = (1 / (1 / 15.0 + 0.5 * width[i] / k[i]) / width[i] for i in (0, -1))
    loss, source = CellVariable(mesh=mesh, value=film), CellVariable(mesh=mesh, value=0.0)
    equation = (
        TransientTerm(coeff=capacity) == DiffusionTerm(coeff=gamma) - ImplicitSourceTerm(loss) + loss * 12.0 + source
    )
    v = np.where(kelvin > 0, MELT.form_v, 0.0)
    start = perf_counter()
    for _ in range(steps):
        T.updateOld()
        grown = np.where(kelvin > 0, rate(T.value, v), 0.0)
        v = v + dt * grown
        source.setValue(heat * kelvin * grown)
        equation.solve(var=T, dt=dt)
    return perf_counter() - start


def neumann() -> Iterator[Figure]:
    """Front of the two-phase problem of the numerics sheet A6: k 0.25, c 1600, L 45 kJ/kg, 28 °C, from 32, wall 12."""
    k, volumetric, latent = 0.25, 2e6, 1250.0 * 45_000.0
    cold, warm = 1600 * 16 / 45_000, 1600 * 4 / 45_000
    front = brentq(
        lambda x: cold / (np.exp(x * x) * erf(x)) - warm / (np.exp(x * x) * erfc(x)) - x * np.pi**0.5, 1e-3, 3
    )
    times = np.linspace(600, 3600, 61)
    errors = []
    for cells in (50, 100, 200, 400):
        row = planar_row((0.08,), (cells,), (k,))
        run = march(
            row, (EnthalpyCurve.sharp((volumetric, volumetric), latent, 28.0),), 32.0, film_W_m2K=(np.inf, 0.0),
            outside_C=(12.0, 0.0), until_s=times, step_s=2.0, first_step_s=0.01,
        )  # fmt: skip
        solid = (1 - np.clip(run.enthalpy_J_m3 / latent, 0, 1)) @ row.volume
        errors.append(solid / (2 * front * np.sqrt(k / volumetric * times)) - 1)
    yield at_most("front of Neumann's problem after an hour, 400 cells", 100 * abs(errors[-1][-1]), "%", 0.05)
    yield from against_lsoda(front)
    rms = [float(np.sqrt(np.mean(e**2))) for e in errors]
    yield Figure("the same, rms from 10 to 60 min, 400 cells", 100 * rms[-1], "%", "–", None)
    yield at_least("order of convergence of that rms, 50 to 400 cells", float(np.log2(rms[0] / rms[-1]) / 3), "", 1.0)


def smooth_order() -> float:
    """Order in space of the kernel of the bar on a smooth problem: Carslaw and Jaeger's slab, Bi 0.769, 600 s."""
    roots = [brentq(lambda z: z * np.tan(z) - 20 * 0.01 / 0.26, n * np.pi, (n + 0.5) * np.pi - 1e-9) for n in range(30)]
    cold = replace(MELT, temperature_C=32.0, heat_of_melting_J_kg=1e-9)
    errors = []
    for cells in (10, 20, 40):
        slab = Stack((Layer(cold, 10.0, 32.0, cells),))
        films = (Film(0, 0, 0, 0.0), Film(0, 0, 0, 20.0))
        run = cool(slab, SPACE, minutes=10, films=films, snapshots=2, tolerance_K=1e-6)
        depth = run.depth_mm / 10
        exact = sum(
            4 * np.sin(z) / (2 * z + np.sin(2 * z)) * np.exp(-z * z * 1.3e-7 * 600 / 1e-4) * np.cos(z * depth)
            for z in roots
        )
        errors.append(float(np.sqrt(np.mean((run.temperature_C[-1] - 12 - 20 * exact) ** 2))))
    return float(np.log2(errors[0] / errors[-1]) / 2)


def against_lsoda(front: float) -> Iterator[Figure]:
    """The same problem on 200 cells, its melting spread over 0.02 K for both: explicit kernel and LSODA (odeint)."""
    k, volumetric, latent, n, times = 0.25, 2e6, 1250.0 * 45_000.0, 200, np.array([600.0, 1800.0, 3600.0])
    row = planar_row((0.08,), (n,), (k,))
    exact = 2 * front * np.sqrt(k / volumetric * times)
    wide = latent + 0.02 * volumetric
    spread = EnthalpyCurve(
        np.array([27.0, 28.0, 28.02, 29.02]), np.array([-volumetric, 0.0, wide, wide + volumetric])
    )  # fmt: skip
    between, first = row.conductance, row.end[0]
    per_volume = 1.0 / row.volume[0]

    def kernel() -> np.ndarray:
        run = march(
            row, (spread,), 32.0, film_W_m2K=(np.inf, 0.0), outside_C=(12.0, 0.0), until_s=times, step_s=60.0,
            scheme="explicit",
        )  # fmt: skip
        return (1 - np.clip(run.enthalpy_J_m3 / wide, 0, 1)) @ row.volume

    @njit(error_model="numpy")
    def slope(_: float, h: np.ndarray) -> np.ndarray:
        out, before, T = np.empty(n), 0.0, 0.0
        for i in range(n + 1):
            after = 0.0
            if i < n:
                x = h[i]
                here = 28.0 + min(x, 0.0) / volumetric + 0.02 * min(max(x / wide, 0.0), 1.0)
                here += max(x - wide, 0.0) / volumetric
                after = first * (12.0 - here) if i == 0 else between[i - 1] * (T - here)
                T = here
            if i > 0:
                out[i - 1] = (before - after) * per_volume
            before = after
        return out

    def lines(tolerance: float) -> np.ndarray:
        start = np.full(n, wide + volumetric * (32.0 - 28.02))
        at = {"rtol": tolerance, "atol": tolerance * 1e7, "ml": 1, "mu": 1, "mxstep": 100_000}
        h = odeint(slope, start, np.r_[0.0, times], tfirst=True, **at)[1:]
        return (1 - np.clip(h / wide, 0, 1)) @ row.volume

    ours_error = float(np.abs(kernel() / exact - 1).max())
    for tolerance in (1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5):
        theirs_error = float(np.abs(lines(tolerance) / exact - 1).max())
        if theirs_error <= ours_error:
            break
    yield Figure(
        "front of Neumann's problem, 200 cells, worst of three times: explicit kernel", 100 * ours_error, "%", "–", None
    )
    yield Figure("the same by LSODA (odeint, banded, compiled)", 100 * theirs_error, "%", "–", None)
    ratio = best_of(lambda: lines(tolerance), 3) / best_of(kernel, 10)
    yield at_least("times faster than LSODA (odeint, banded, compiled) on it, errors alike", ratio, "×", 40.0)


def measure(quick: bool) -> Iterator[Figure]:
    """Every figure of issue 6."""
    one = best_of(ours, 30)
    yield at_most("bar 10 mm in 2 mm of mould, crystals, 60 min, 200 cells", 1e3 * one, "ms", 5.0)
    run = ours()
    yield at_most("energy not accounted for", 100 * run.energy_error, "%", 0.1)
    exact = ours(1e-5).temperature_C
    error = float(np.sqrt(np.mean((run.temperature_C - exact) ** 2)))
    yield Figure("its error of temperature, rms", 1e3 * error, "mK", "–", None)
    yield Figure("its steps", float(run.steps), "", "–", None)
    finer = ours(2e-4)
    smaller = float(np.sqrt(np.mean((finer.temperature_C - exact) ** 2)))
    order = np.log(error / smaller) / np.log(finer.steps / run.steps)
    yield at_least("order: its error against the number of steps, four times as many", float(order), "", 2.0)
    yield at_least("order in space on a smooth problem, Carslaw and Jaeger's slab", smooth_order(), "", 1.9)
    yield from against_lsoda_on_the_bar(one, exact, error, quick)
    steps = 30 if quick else 360
    yield at_least(
        "times faster than FiPy on the same grid, 360 steps of 10 s",
        fipy_s(steps, 10.0) / steps * 360 / one,
        "×",
        1000.0,
    )
    yield from neumann()
    half = library()["hemisphere-30"]
    piece = best_of(lambda: cool_piece(half, MELT, SPACE, mould_C=22.0, minutes=60), 2)
    yield at_most("hemisphere in two dimensions, 60 min", piece, "s", 1.0)
    core = Core(1.5, 1.5, FILLINGS["ganache"], 22.0)
    filled_piece = best_of(lambda: cool_piece(half, MELT, SPACE, mould_C=22.0, minutes=60, core=core), 2)
    yield at_most("capped hemisphere in two dimensions, 60 min", filled_piece, "s", 1.0)
    doubt = Doubt((0.008, 0.015, 0.03))
    many = best_of(
        lambda: forecast(
            library()["bar-60"], MELT, CoolingSpace(12.0, 1.0), Surface(), doubt, np.random.default_rng(1), minutes=60
        ),
        2,
    )
    yield at_most("200 members with release, 60 min", many, "s", 1.0)


if __name__ == "__main__":
    main(measure, __doc__)
