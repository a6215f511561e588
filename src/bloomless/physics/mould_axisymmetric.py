"""Hemispheres and cylinders in two dimensions: axisymmetric, on grids that follow the cavity.

A hemisphere is cut in radius and polar angle, a cylinder in radius and depth, so that both faces are exact. Each step
is split into crystals (``mould_kinetics``) and one implicit sweep in each direction (locally one-dimensional backward
Euler): no overshoot for any step, and every joule is counted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput
from bloomless.materials.moulds import Cylinder, Hemisphere, Mould
from bloomless.numerics.compiled import kernel
from bloomless.numerics.tridiagonal import eliminate, substitute
from bloomless.physics.mould_cooling import CoolingSpace
from bloomless.physics.mould_films import Film
from bloomless.physics.mould_kernel import film
from bloomless.physics.mould_kinetics import HEAT_OF_FORM, crystal_step
from bloomless.physics.mould_melt import FIRST_C, PER_K, Melt, Rates, rate_table
from bloomless.physics.mould_stacks import Core, set_before

__all__ = ["PieceCooling", "cool_piece"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PieceCooling:
    """One piece through time; fields of shape (times, first, second) on the grid of its cavity."""

    time_s: Array
    radius_mm: Array
    """Centres from the axis, shape (first, second)."""
    depth_mm: Array
    """Centres below the open face, shape (first, second)."""
    chocolate: NDArray[np.bool_]
    """Which cells hold chocolate."""
    temperature_C: Array
    form_v: Array
    form_iv: Array
    form_ii: Array
    weight: Array
    """Share of the chocolate in each cell, zero in the wall."""
    energy_error: float
    steps: int

    @property
    def solid(self) -> Array:
        """Solid share of the fat, all forms."""
        return self.form_v + self.form_iv + self.form_ii

    @property
    def mean_C(self) -> Array:
        """Mean temperature of the chocolate."""
        return np.asarray((self.temperature_C * self.weight).sum(axis=(1, 2)))


@dataclass(frozen=True, slots=True)
class _Grid:
    volume: Array
    inside: NDArray[np.bool_]
    radius: Array
    depth: Array
    along1: Array
    """Area over distance between neighbours in the first direction, m, shape (n1-1, n2); halves for two materials."""
    half1: tuple[Array, Array]
    half2: tuple[Array, Array]
    ends: tuple[Array, Array, Array]
    """Area over distance from the last cells to the outer faces: first direction high, second low, second high."""
    areas: tuple[Array, Array, Array]
    sides: tuple[int, int, int]
    """Film of those faces: 0 open, 1 wall."""


def _spherical(cavity: Hemisphere, wall_m: float, n: int) -> _Grid:
    radius = cavity.radius_mm / 1000
    walls = max(3, n // 5)
    r = np.concatenate([np.linspace(0, radius, n + 1), radius + wall_m * np.arange(1, walls + 1) / walls])
    theta = np.linspace(0, math.pi / 2, n + 1)
    rc, tc = 0.5 * (r[1:] + r[:-1]), 0.5 * (theta[1:] + theta[:-1])
    ring = np.cos(theta[:-1]) - np.cos(theta[1:])
    volume = 2 * math.pi / 3 * (r[1:] ** 3 - r[:-1] ** 3)[:, None] * ring[None, :]
    shells = 2 * math.pi * r[:, None] ** 2 * ring[None, :]  # area of the faces across the radius
    cones = math.pi * (r[1:] ** 2 - r[:-1] ** 2)[:, None] * np.sin(theta)[None, :]
    width = (r[1:] - r[:-1])[:, None]
    turn = rc[:, None] * (theta[1] - theta[0])
    empty = np.zeros(rc.size)
    return _Grid(
        volume,
        np.broadcast_to((rc < radius)[:, None], volume.shape),
        rc[:, None] * np.sin(tc)[None, :],
        rc[:, None] * np.cos(tc)[None, :],
        shells,
        (shells[1:-1] / (0.5 * width[:-1]), shells[1:-1] / (0.5 * width[1:])),
        (cones[:, 1:-1] / (0.5 * turn), cones[:, 1:-1] / (0.5 * turn)),
        (shells[-1] / (0.5 * width[-1]), empty, cones[:, -1] / (0.5 * turn[:, 0])),
        (shells[-1], empty, cones[:, -1]),
        (1, 0, 0),
    )


def _upright(cavity: Cylinder, wall_m: float, n: int) -> _Grid:
    radius, height = cavity.radius_mm / 1000, cavity.depth_mm / 1000
    walls = max(3, n // 5)
    more = wall_m * np.arange(1, walls + 1) / walls
    r = np.concatenate([np.linspace(0, radius, n + 1), radius + more])
    z = np.concatenate([np.linspace(0, height, n + 1), height + more])
    rc, zc = 0.5 * (r[1:] + r[:-1]), 0.5 * (z[1:] + z[:-1])
    disc = math.pi * (r[1:] ** 2 - r[:-1] ** 2)
    tall = z[1:] - z[:-1]
    mantle = 2 * math.pi * r[:, None] * tall[None, :]
    width, layer = (r[1:] - r[:-1])[:, None], tall[None, :]
    flat = np.broadcast_to(disc[:, None], (rc.size, zc.size))
    return _Grid(
        disc[:, None] * tall[None, :],
        (rc < radius)[:, None] & (zc < height)[None, :],
        np.broadcast_to(rc[:, None], (rc.size, zc.size)),
        np.broadcast_to(zc[None, :], (rc.size, zc.size)),
        mantle,
        (mantle[1:-1] / (0.5 * width[:-1]), mantle[1:-1] / (0.5 * width[1:])),
        (flat[:, :-1] / (0.5 * layer[:, :-1]), flat[:, 1:] / (0.5 * layer[:, 1:])),
        (mantle[-1] / (0.5 * width[-1]), disc / (0.5 * tall[0]), disc / (0.5 * tall[-1])),
        (mantle[-1], disc, disc),
        (1, 0, 1),
    )


def cool_piece(
    mould: Mould,
    melt: Melt,
    space: CoolingSpace,
    *,
    mould_C: float,
    minutes: float = 60.0,
    rates: Rates | None = None,
    cells: int = 24,
    snapshots: int = 61,
    films: tuple[Film, Film] | None = None,
    core: Core | None = None,
    change_K: float = 0.1,
    longest_s: float = 2.0,
) -> PieceCooling:
    """Cool one hemisphere or cylinder, solid or capped; it stays in the space, whose air keeps its temperature.

    Parameters
    ----------
    mould, melt, space
        As for ``mould_cooling.cool``; the cavity must be a hemisphere or a cylinder.
    mould_C
        Temperature of the mould when it is filled.
    minutes, rates, snapshots, films, change_K, longest_s
        As for ``mould_cooling.cool``.
    cells
        Cells of chocolate in each direction.
    core
        Filling between a shell that has set and a cap just poured; ``None`` for solid pieces.
    """
    cavity = mould.cavity
    if not isinstance(cavity, Hemisphere | Cylinder):
        raise ImpossibleInput("cavity", type(cavity).__name__, "a hemisphere or a cylinder")
    if mould_C >= melt.temperature_C:
        raise ImpossibleInput("mould_C", mould_C, f"below the chocolate's {melt.temperature_C:g} °C")
    wall_m = mould.wall_mm / 1000
    grid = _spherical(cavity, wall_m, cells) if isinstance(cavity, Hemisphere) else _upright(cavity, wall_m, cells)
    inside, filling = _regions(grid, cavity, core)
    k = np.where(inside, melt.conductivity_W_mK, mould.wall.conductivity_W_mK.value)
    heat_of = np.where(inside, melt.volumetric_J_m3K, mould.wall.volumetric_J_m3K)
    T = np.where(inside, melt.temperature_C, mould_C)
    v, iv = np.where(inside, melt.form_v, 0.0), np.where(inside, melt.unstable, 0.0)
    if core is not None:
        k = np.where(filling, core.matter.conductivity_W_mK, k)
        heat_of = np.where(filling, core.matter.volumetric_J_m3K, heat_of)
        shell = inside & (grid.depth >= core.cap_mm / 1000)
        done = set_before(melt, mould_C)[0]
        T = np.where(filling, core.temperature_C, np.where(shell, mould_C, T))
        v, iv = np.where(shell, done, v), np.where(shell, 0.0, iv)
    capacity = grid.volume * heat_of
    ii = np.zeros_like(T)
    between1 = 1 / (1 / (grid.half1[0] * k[:-1]) + 1 / (grid.half1[1] * k[1:]))
    between2 = 1 / (1 / (grid.half2[0] * k[:, :-1]) + 1 / (grid.half2[1] * k[:, 1:]))
    ends = (grid.ends[0] * k[-1], grid.ends[1] * k[:, 0], grid.ends[2] * k[:, -1])
    top, bottom = films or space.films()
    faces = np.stack([top.numbers(), bottom.numbers()])
    times = np.linspace(0, 60 * minutes, snapshots)
    out = np.empty((4, snapshots, *T.shape))
    out[:, 0] = T, v, iv, ii
    hot = np.where(inside, melt.kelvin, 0.0)
    heat, steps = _sweep(
        T, v, iv, ii, capacity, hot, between1, between2, *ends, *grid.areas, np.array(grid.sides), faces,
        float(space.air_C), rate_table(melt, rates or Rates()), FIRST_C, PER_K, times, longest_s, change_K, out,
    )  # fmt: skip
    set_ = out[1] * HEAT_OF_FORM[0] + out[2] * HEAT_OF_FORM[1] + out[3] * HEAT_OF_FORM[2]
    stored = ((out[0] - hot * set_) * capacity).sum(axis=(1, 2))
    weight = np.where(inside, capacity, 0.0)
    return PieceCooling(
        times, 1000 * grid.radius, 1000 * grid.depth, inside, out[0], out[1], out[2], out[3], weight / weight.sum(),
        abs(float(stored[0] - stored[-1]) - heat) / max(abs(heat), 1e-9), steps,
    )  # fmt: skip


def _regions(
    grid: _Grid, cavity: Hemisphere | Cylinder, core: Core | None
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which cells hold chocolate, and which a filling."""
    if core is None:
        return grid.inside, np.zeros_like(grid.inside)
    radius, height = (cavity.radius_mm - core.shell_mm) / 1000, (cavity.depth_mm - core.shell_mm) / 1000
    if core.cap_mm / 1000 >= height or radius <= 0:
        raise ImpossibleInput("cap_mm", core.cap_mm, "a cap and a wall that leave room for a filling")
    if isinstance(cavity, Hemisphere):
        within = np.hypot(grid.radius, grid.depth) < radius
    else:
        within = (grid.radius < radius) & (grid.depth < height)
    filling = grid.inside & within & (grid.depth >= core.cap_mm / 1000)
    return grid.inside & ~filling, filling


@kernel
def _line(
    T: Array, capacity: Array, between: Array, dt: float, low: float, high: float, air_C: float,
    lower: Array, diagonal: Array, upper: Array, ratio: Array, inverse: Array,
) -> float:  # fmt: skip
    """One implicit sweep along a line, in place; the heat that left through its two ends."""
    n = T.size
    for i in range(n):
        out = low if i == 0 else between[i - 1]
        out += high if i == n - 1 else between[i]
        lower[i] = -dt * between[i - 1] if i > 0 else 0.0
        upper[i] = -dt * between[i] if i < n - 1 else 0.0
        diagonal[i] = capacity[i] + dt * out
        T[i] *= capacity[i]
    T[0] += dt * low * air_C
    T[n - 1] += dt * high * air_C
    eliminate(lower[:n], diagonal[:n], upper[:n], ratio[:n], inverse[:n])
    substitute(lower[:n], upper[:n], ratio[:n], inverse[:n], T)
    return float(dt * (low * (T[0] - air_C) + high * (T[n - 1] - air_C)))


@kernel
def _through(end: float, area: float, face: Array, cell_C: float, air_C: float) -> float:
    """Conductance from the centre of a cell through its face and the film to the air."""
    if area <= 0.0:
        return 0.0
    h = film(face, cell_C, air_C) * area
    h = film(face, cell_C + (air_C - cell_C) * h / (end + h), air_C) * area
    return end * h / (end + h)


@kernel
def _sweep(
    T: Array, v: Array, iv: Array, ii: Array, capacity: Array, kelvin: Array, between1: Array, between2: Array,
    end1: Array, end2_low: Array, end2_high: Array, area1: Array, area2_low: Array, area2_high: Array,
    sides: NDArray[np.int64], faces: Array, air_C: float, table: Array, first_C: float, per_K: float,
    times: Array, longest: float, change_K: float, out: Array,
) -> tuple[float, int]:  # fmt: skip
    """March through ``times``; heat that left and steps taken."""
    n1, n2 = T.shape
    most = max(n1, n2)
    lower, diagonal, upper = np.empty(most), np.empty(most), np.empty(most)
    ratio, inverse, line, line_C = np.empty(most), np.empty(most), np.empty(most), np.empty(most)
    flat_T, flat_v, flat_iv, flat_ii = T.reshape(-1), v.reshape(-1), iv.reshape(-1), ii.reshape(-1)
    before = np.empty(flat_T.size)
    root, pace, hot = flat_v ** (1.0 / 3.0), np.zeros((3, flat_v.size)), kelvin.reshape(-1)
    now, step, steps, heat, owed = 0.0, 0.02, 0, 0.0, 0.0
    for s in range(1, times.size):
        while now < times[s] - 1e-9 * times[s]:
            dt = min(step, times[s] - now)
            moved = crystal_step(
                flat_T, flat_v, flat_iv, flat_ii, root, pace, hot, 0.5 * (owed + dt), table, first_C, per_K
            )
            owed = dt
            before[:] = flat_T
            for j in range(n2):
                line[:n1] = T[:, j]
                line_C[:n1] = capacity[:, j]
                g = _through(end1[j], area1[j], faces[sides[0]], T[n1 - 1, j], air_C)
                heat += _line(
                    line[:n1], line_C[:n1], between1[:, j].copy(), dt, 0.0, g, air_C, lower, diagonal, upper, ratio,
                    inverse,
                )  # fmt: skip
                T[:, j] = line[:n1]
            for i in range(n1):
                a = _through(end2_low[i], area2_low[i], faces[sides[1]], T[i, 0], air_C)
                b = _through(end2_high[i], area2_high[i], faces[sides[2]], T[i, n2 - 1], air_C)
                heat += _line(
                    T[i], capacity[i], between2[i], dt, a, b, air_C, lower, diagonal, upper, ratio, inverse
                )  # fmt: skip
            # Two sweeps may move a cell there and back: what counts is the sum.
            for i in range(before.size):
                moved = max(moved, abs(flat_T[i] - before[i]))
            now += dt
            steps += 1
            step = min(longest, max(0.02, step * min(max(change_K / (moved + 1e-12), 0.5), 1.25)))
        crystal_step(flat_T, flat_v, flat_iv, flat_ii, root, pace, hot, 0.5 * owed, table, first_C, per_K)
        owed = 0.0
        out[0, s], out[1, s], out[2, s], out[3, s] = T, v, iv, ii
    return heat, steps
