"""Heat and crystals through the thickness of a filled mould: the compiled march.

Strang splitting: half a step of crystals, a whole step of conduction, half a step of crystals. Conduction uses the
two-stage, second-order, L-stable singly diagonal implicit method (Alexander 1977, γ = 1 − 1/√2): two back-substitutions
of one tridiagonal elimination, no ringing after the jump between warm chocolate and cool mould. The step adapts to the
greatest change of temperature; the cooling space's air is one more temperature, warmed by the moulds and cooled by
the machine within its power.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bloomless.numerics.compiled import kernel
from bloomless.numerics.tridiagonal import eliminate, substitute
from bloomless.physics.mould_kinetics import crystal_step

__all__ = ["FACE", "SPACE", "conduct", "cool_through", "film"]

Array = NDArray[np.float64]

FACE = ("natural", "forced", "emissivity", "fixed")
"""Numbers of a face: W/(m² K^5/4), W/(m² K), 1, W/(m² K); see ``mould_films.Film``."""
SPACE = ("set_C", "power_W", "gain_W_K", "capacity_J_K", "area_m2")
"""Numbers of a cooling space: temperature held, net power, controller's slope, heat capacity, open area in it."""

_GAMMA = 1.0 - 0.5**0.5
_SIGMA = 5.670374419e-8


@kernel
def film(face: Array, surface_C: float, air_C: float) -> float:
    """Film coefficient of a face, W/(m² K): convections blended by cubes, radiation, and a fixed part."""
    apart = abs(surface_C - air_C)
    natural = face[0] * apart**0.25
    convective = (natural * natural * natural + face[1] * face[1] * face[1]) ** (1.0 / 3.0)
    a, b = surface_C + 273.15, air_C + 273.15
    return float(convective + face[2] * _SIGMA * (a * a + b * b) * (a + b) + face[3])


@kernel
def conduct(
    T: Array, capacity: Array, between: Array, g0: float, g1: float, air_C: float, dt: float, work: Array
) -> tuple[float, float, float]:
    """One step of conduction, in place: heat out through the two ends and the greatest change of temperature.

    Parameters
    ----------
    T, capacity, between
        As for ``cool_through``.
    g0, g1
        Conductances from the centres of the end cells to the air.
    air_C, dt
        Temperature of the air; the step.
    work
        Room for seven rows, shape (7, n).
    """
    n = T.size
    lower, diagonal, upper, ratio, inverse, first, right = work
    implicit = _GAMMA * dt
    for i in range(n):
        out = between[i - 1] if i > 0 else g0
        out += between[i] if i < n - 1 else g1
        lower[i] = -implicit * between[i - 1] if i > 0 else 0.0
        upper[i] = -implicit * between[i] if i < n - 1 else 0.0
        diagonal[i] = capacity[i] + implicit * out
        right[i] = capacity[i] * T[i]
        first[i] = right[i]
    first[0] += implicit * g0 * air_C
    first[n - 1] += implicit * g1 * air_C
    eliminate(lower, diagonal, upper, ratio, inverse)
    substitute(lower, ratio, inverse, first)
    # Second stage: the flow of the first one is (first − T) c / (γ dt).
    share = (1.0 - _GAMMA) / _GAMMA
    for i in range(n):
        right[i] += share * capacity[i] * (first[i] - T[i])
    right[0] += implicit * g0 * air_C
    right[n - 1] += implicit * g1 * air_C
    substitute(lower, ratio, inverse, right)
    moved = 0.0
    for i in range(n):
        moved = max(moved, abs(right[i] - T[i]))
        T[i] = right[i]
    out0 = dt * g0 * ((1.0 - _GAMMA) * (first[0] - air_C) + _GAMMA * (right[0] - air_C))
    out1 = dt * g1 * ((1.0 - _GAMMA) * (first[n - 1] - air_C) + _GAMMA * (right[n - 1] - air_C))
    return out0, out1, moved


@kernel
def cool_through(
    T: Array, v: Array, iv: Array, ii: Array,
    capacity: Array, kelvin: Array, between: Array, ends: Array, end_area: Array,
    faces: Array, space: Array, air_C: float,
    table: Array, first_C: float, per_K: float,
    until: Array, longest: float, shortest: float, change_K: float,
    out_T: Array, out_v: Array, out_iv: Array, out_ii: Array, out_air: Array, out_heat: Array,
) -> int:  # fmt: skip
    """March a row of cells through the times ``until``; the number of steps.

    Parameters
    ----------
    T, v, iv, ii
        State at the start, overwritten, shape (n,).
    capacity
        Sensible heat of the cells, J/K for each m² of the open face, shape (n,).
    kelvin
        Warming of a cell if all its fat set as form V, K; 0 for what holds no fat, shape (n,).
    between
        Conductances, W/K for each m², shape (n-1,).
    ends, end_area
        From the centre of the first and last cell to its face, W/K for each m²; area of those faces over the open one.
    faces
        Rows of ``FACE``, shape (2, 4).
    space, air_C
        Numbers of ``SPACE``; temperature of the air at the start.
    table, first_C, per_K
        Rate table of ``mould_kinetics``.
    until
        Times of the snapshots, s, rising.
    longest, shortest, change_K
        Bounds of the step, s, and the change of temperature it aims at.
    out_T, out_v, out_iv, out_ii
        Written, shape (times, n).
    out_air, out_heat
        Written: air temperature, and heat out since the start, J for each m², of both faces, shape (times, 2).
    """
    n = T.size
    root, pace = np.empty(n), np.zeros((3, n))
    for i in range(n):
        root[i] = v[i] ** (1.0 / 3.0)
    work = np.zeros((7, n))
    now, step, steps, gone0, gone1 = 0.0, shortest, 0, 0.0, 0.0
    g0, g1, owed = 0.0, 0.0, 0.0
    for s in range(until.size):
        while now < until[s] - 1e-9 * until[s]:
            dt = min(step, until[s] - now)
            # The closing half of the step before and the opening half of this one are one step of crystals.
            moved = crystal_step(T, v, iv, ii, root, pace, kelvin, 0.5 * (owed + dt), table, first_C, per_K)
            owed = dt
            # Faces stand a little colder than the centres of their cells: one fixed-point step from the last film.
            face0 = T[0] + (air_C - T[0]) * g0 / ends[0]
            face1 = T[n - 1] + (air_C - T[n - 1]) * g1 / ends[1]
            h0 = film(faces[0], face0, air_C) * end_area[0]
            h1 = film(faces[1], face1, air_C) * end_area[1]
            g0, g1 = ends[0] * h0 / (ends[0] + h0), ends[1] * h1 / (ends[1] + h1)
            out0, out1, there = conduct(T, capacity, between, g0, g1, air_C, dt, work)
            moved = max(moved, there)
            gone0 += out0
            gone1 += out1
            if space[3] > 0.0:
                cooling = min(max(space[2] * (air_C - space[0]), 0.0), space[1])
                air_C += ((out0 + out1) * space[4] - cooling * dt) / space[3]
            now += dt
            steps += 1
            step = min(longest, max(shortest, step * min(max(change_K / (moved + 1e-12), 0.5), 1.25)))
        crystal_step(T, v, iv, ii, root, pace, kelvin, 0.5 * owed, table, first_C, per_K)
        owed = 0.0
        out_T[s], out_v[s], out_iv[s], out_ii[s] = T, v, iv, ii
        out_air[s], out_heat[s, 0], out_heat[s, 1] = air_C, gone0, gone1
    return steps
