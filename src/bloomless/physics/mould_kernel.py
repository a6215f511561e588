"""Heat and crystals through the thickness of a filled mould: the compiled march.

Conduction and crystals are one stiff system, taken in steps of the third-order Rosenbrock-W method of
``numerics.rosenbrock``: each stage is one back-substitution of a tridiagonal system, because crystals depend on the
temperature of their own cell only. Its matrix holds conduction, films and what damps the crystals; the method keeps its
order for whatever is left out. Steps follow the estimated error; snapshots between them come from Hermite's cubic, so
that every joule is counted in them too. The cooling space's air is one more temperature, warmed by the moulds and
cooled by the machine within its power.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bloomless.numerics.compiled import kernel
from bloomless.numerics.rosenbrock import ERROR, GAMMA, LAST, PULL, STEP
from bloomless.numerics.tridiagonal import eliminate, substitute
from bloomless.physics.mould_kinetics import crystal_rates, crystal_slopes

__all__ = ["FACE", "SPACE", "Slab", "cool_through", "film"]

Array = NDArray[np.float64]

FACE = ("natural", "forced", "emissivity", "fixed")
"""Numbers of a face: W/(m² K^5/4), W/(m² K), 1, W/(m² K); see ``mould_films.Film``."""
SPACE = ("set_C", "power_W", "gain_W_K", "capacity_J_K", "area_m2")
"""Numbers of a cooling space: temperature held, net power, controller's slope, heat capacity, open area in it."""

_SIGMA = 5.670374419e-8
_FIRST_S, _SHORTEST_S = 0.01, 1e-7


class Slab(NamedTuple):
    """What a run does not change; every quantity for each m² of the open face."""

    capacity: Array
    """Sensible heat of the cells, J/K, shape (n,)."""
    kelvin: Array
    """Warming of a cell if all its fat set as form V, K; 0 for what holds no fat, shape (n,)."""
    between: Array
    """Conductances between neighbours, W/K, shape (n-1,)."""
    ends: Array
    """From the centre of the first and last cell to its face, W/K."""
    end_area: Array
    """Area of those faces over the open one."""
    faces: Array
    """Rows of ``FACE``, shape (2, 4)."""
    space: Array
    """Numbers of ``SPACE``; capacity 0 for air that keeps its temperature."""
    which: NDArray[np.int64]
    """Chocolate in each cell, shape (n,)."""
    table: Array
    """Rates of ``mould_kinetics`` of every chocolate by temperature, shape (chocolates, columns, temperatures)."""
    first_C: float
    per_K: float


class _Work(NamedTuple):
    """Stages and what they share."""

    U: Array
    """Stages of the rows temperature, V, IV, II, shape (4, 4, n)."""
    Uz: Array
    """Stages of heat out through the first and last face and of the air, shape (4, 3)."""
    state: Array
    rate: Array
    flow: Array
    root: Array
    damp: Array
    """1/(1/γh − slope) of each form, shape (3, n)."""
    cold: Array
    """How form V answers to temperature, 1/(s K), at most 0."""
    solver: Array
    """Rows lower, ratio, inverse, right side, diagonal, upper."""
    films: Array
    """Conductances from the centres of the end cells to the air at the start of the step."""


@kernel
def film(face: Array, surface_C: float, air_C: float) -> float:
    """Film coefficient of a face, W/(m² K): convections blended by cubes, radiation, and a fixed part."""
    natural, forced = face[0] * abs(surface_C - air_C) ** 0.25, face[1]
    convective = natural + forced
    if natural > 0.0 and forced > 0.0:
        convective = (natural * natural * natural + forced * forced * forced) ** (1.0 / 3.0)
    a, b = surface_C + 273.15, air_C + 273.15
    return float(convective + face[2] * _SIGMA * (a * a + b * b) * (a + b) + face[3])


@kernel
def _through(slab: Slab, side: int, cell_C: float, air_C: float, guess: float) -> float:
    """Conductance from the centre of an end cell to the air, its face a little colder than the cell.

    From ``guess`` two fixed-point steps: each leaves less than a thousandth of the error.
    """
    end, g = slab.ends[side], guess
    for _ in range(2):
        h = film(slab.faces[side], cell_C + (air_C - cell_C) * g / end, air_C) * slab.end_area[side]
        g = end * h / (end + h)
    return float(g)


@kernel
def _flows(slab: Slab, T: Array, air_C: float, films: Array, flow: Array) -> None:
    """Heat into every cell, W, in ``flow[:n]``; out through the two ends in ``flow[n:]``."""
    n = T.size
    flow[n] = _through(slab, 0, T[0], air_C, films[0]) * (T[0] - air_C)
    flow[n + 1] = _through(slab, 1, T[n - 1], air_C, films[1]) * (T[n - 1] - air_C)
    flow[0] = slab.between[0] * (T[1] - T[0]) - flow[n]
    for i in range(1, n - 1):
        flow[i] = slab.between[i] * (T[i + 1] - T[i]) - slab.between[i - 1] * (T[i] - T[i - 1])
    flow[n - 1] = slab.between[n - 2] * (T[n - 2] - T[n - 1]) - flow[n + 1]


@kernel
def _air(Z: Array, space: Array) -> tuple[float, float]:
    """Temperature of the air from the heat that came to it, and what the machine does to it, K/s."""
    if space[3] <= 0.0:
        return Z[2], 0.0
    air_C = Z[2] + (Z[0] + Z[1]) * space[4] / space[3]
    return air_C, -min(max(space[2] * (air_C - space[0]), 0.0), space[1]) / space[3]


@kernel
def _prepare(slab: Slab, work: _Work, X: Array, air_C: float, per: float, lively: bool) -> None:
    """Films, damping of the crystals and elimination for a step with ``per`` = 1/(γh)."""
    n = X.shape[1]
    lower, ratio, inverse, _, diagonal, upper = work.solver
    work.films[0] = _through(slab, 0, X[0, 0], air_C, work.films[0])
    work.films[1] = _through(slab, 1, X[0, n - 1], air_C, work.films[1])
    crystal_slopes(X, work.root, slab.which, slab.table, slab.first_C, slab.per_K, lively, per, work.damp, work.cold)
    for i in range(n):
        out = slab.between[i - 1] if i > 0 else work.films[0]
        out += slab.between[i] if i < n - 1 else work.films[1]
        lower[i] = -slab.between[i - 1] if i > 0 else 0.0
        upper[i] = -slab.between[i] if i < n - 1 else 0.0
        diagonal[i] = slab.capacity[i] * per * (1.0 - slab.kelvin[i] * work.damp[0, i] * work.cold[i]) + out
    eliminate(lower, diagonal, upper, ratio, inverse)


@kernel
def _stage(slab: Slab, work: _Work, s: int, per: float, machine: float, lively: bool) -> None:
    """Solve stage ``s`` from the rates and flows at its state."""
    U, Uz, S, rate, flow, damp = work.U, work.Uz, work.state, work.rate, work.flow, work.damp
    n, x, cold, kelvin, capacity = S.shape[1], work.solver[3], work.cold, slab.kelvin, slab.capacity
    c0, c1, c2 = PULL[s, 0] * per * GAMMA, PULL[s, 1] * per * GAMMA, PULL[s, 2] * per * GAMMA
    for r in range(4 if lively else 2):
        for i in range(n):
            S[r, i] = c0 * U[0, r, i] + c1 * U[1, r, i] + c2 * U[2, r, i]
    if lively:
        for r in range(2, 4):
            for i in range(n):
                U[s, r, i] = (rate[r - 1, i] + S[r, i]) * damp[r - 1, i]
    # Short loops over few arrays each, so that they become SIMD code.
    for i in range(n):
        U[s, 1, i] = (rate[0, i] + S[1, i]) * damp[0, i]
    for i in range(n):
        # Temperature less the heat that crystals gave is what conduction alone changes.
        given = per * (U[s, 1, i] + 0.82 * U[s, 2, i] + 0.54 * U[s, 3, i])
        S[0, i] += kelvin[i] * (given - S[1, i] - 0.82 * S[2, i] - 0.54 * S[3, i])
    for i in range(n):
        x[i] = flow[i] + capacity[i] * S[0, i]
    substitute(work.solver[0], work.solver[5], work.solver[1], work.solver[2], x)
    for i in range(n):
        U[s, 0, i] = x[i]
    for i in range(n):
        U[s, 1, i] += damp[0, i] * cold[i] * U[s, 0, i]
    for k in range(2):
        pull = c0 * Uz[0, k] + c1 * Uz[1, k] + c2 * Uz[2, k]
        Uz[s, k] = (flow[n + k] + work.films[k] * x[k * (n - 1)] + pull) / per
    pull = c0 * Uz[0, 2] + c1 * Uz[1, 2] + c2 * Uz[2, 2]
    Uz[s, 2] = (machine + pull) / (per + (slab.space[2] / slab.space[3] if slab.space[3] > 0.0 else 0.0))


@kernel
def _attempt(
    slab: Slab, work: _Work, X: Array, Z: Array, rate: Array, flow: Array, dt: float, lively: bool
) -> float:  # fmt: skip
    """Stages of one step from a state with its rates and flows; the estimated error, K.

    The error is the root mean square over cells of temperature and crystals (by their heat), and the air's.
    """
    U, Uz, S, n = work.U, work.Uz, work.state, X.shape[1]
    z, per = np.empty(3), 1.0 / (GAMMA * dt)
    _prepare(slab, work, X, _air(Z, slab.space)[0], per, lively)
    work.rate[:], work.flow[:] = rate, flow
    _stage(slab, work, 0, per, _air(Z, slab.space)[1], lively)
    for s in range(1, 4):
        a0, a1, a2 = STEP[s, 0], STEP[s, 1], STEP[s, 2]
        for r in range(4 if lively else 2):
            for i in range(n):
                S[r, i] = X[r, i] + a0 * U[0, r, i] + a1 * U[1, r, i] + a2 * U[2, r, i]
        for k in range(3):
            z[k] = Z[k] + a0 * Uz[0, k] + a1 * Uz[1, k] + a2 * Uz[2, k]
        air_C, machine = _air(z, slab.space)
        crystal_rates(S, work.root, slab.kelvin, slab.which, slab.table, slab.first_C, slab.per_K, lively, work.rate)
        _flows(slab, S[0], air_C, work.films, work.flow)
        _stage(slab, work, s, per, machine, lively)
    total = 0.0
    for r in range(4 if lively else 2):
        for i in range(n):
            e = ERROR[0] * U[0, r, i] + ERROR[1] * U[1, r, i] + ERROR[2] * U[2, r, i] + ERROR[3] * U[3, r, i]
            e *= 1.0 if r == 0 else slab.kelvin[i]
            total += e * e
    air = ERROR[0] * Uz[0, 2] + ERROR[1] * Uz[1, 2] + ERROR[2] * Uz[2, 2] + ERROR[3] * Uz[3, 2]
    return float(np.sqrt(total / n + air * air))


@kernel
def _accept(work: _Work, X: Array, Z: Array) -> None:
    """The state after the step, in place; no form below nothing."""
    U, Uz = work.U, work.Uz
    for r in range(4):
        for i in range(X.shape[1]):
            X[r, i] += LAST[0] * U[0, r, i] + LAST[1] * U[1, r, i] + LAST[2] * U[2, r, i] + LAST[3] * U[3, r, i]
            if r > 0:
                X[r, i] = max(X[r, i], 0.0)
    for k in range(3):
        Z[k] += LAST[0] * Uz[0, k] + LAST[1] * Uz[1, k] + LAST[2] * Uz[2, k] + LAST[3] * Uz[3, k]


@kernel
def _look(
    slab: Slab, work: _Work, X: Array, Z: Array, lively: bool, rate: Array, flow: Array, slope: Array, slope_z: Array
) -> None:
    """Rates, flows and slopes of a state."""
    n = X.shape[1]
    air_C, machine = _air(Z, slab.space)
    crystal_rates(X, work.root, slab.kelvin, slab.which, slab.table, slab.first_C, slab.per_K, lively, rate)
    _flows(slab, X[0], air_C, work.films, flow)
    for i in range(n):
        grown = rate[0, i] + 0.82 * rate[1, i] + 0.54 * rate[2, i]
        slope[0, i] = flow[i] / slab.capacity[i] + slab.kelvin[i] * grown
    slope[1:] = rate
    slope_z[0], slope_z[1], slope_z[2] = flow[n], flow[n + 1], machine


@kernel
def cool_through(
    slab: Slab, X: Array, air_C: float, until: Array, tolerance_K: float, longest: float, out: Array, out_z: Array
) -> int:
    """March a row of cells through the times ``until``; the number of steps, or −1 if they became too short.

    Parameters
    ----------
    slab
        Cells, faces, cooling space and rates.
    X
        Temperature and shares of the fat in V, IV and II at the start, overwritten, shape (4, n), n at least 3.
    air_C
        Air at the start.
    until
        Times of the snapshots, s, rising.
    tolerance_K, longest
        Error of one step, and its longest length, s.
    out, out_z
        Written: states, shape (times, 4, n); heat out through both faces, J for each m², and air, shape (times, 3).
    """
    n = X.shape[1]
    lively = bool(np.any(slab.table[:, 4:6] > 0.0) or np.any(X[2:] > 0.0))
    work = _Work(
        np.zeros((4, 4, n)), np.zeros((4, 3)), X.copy(), np.zeros((3, n)), np.empty(n + 2), np.ones(n),
        np.zeros((3, n)), np.zeros(n), np.empty((6, n)), np.zeros(2),
    )  # fmt: skip
    Z, rate, flow = np.array([0.0, 0.0, air_C]), np.zeros((3, n)), np.empty(n + 2)
    slope, slope_z, before, before_z = np.empty((4, n)), np.empty(3), np.empty((4, n)), np.empty(3)
    slope_before, slope_before_z = np.empty((4, n)), np.empty(3)
    now, step, steps, s = 0.0, _FIRST_S, 0, 0
    _look(slab, work, X, Z, lively, rate, flow, slope, slope_z)
    while s < until.size:
        error = _attempt(slab, work, X, Z, rate, flow, step, lively) / tolerance_K
        change = min(max(0.9 * (error + 1e-9) ** (-1.0 / 3.0), 0.2), 5.0)
        if not error <= 1.0:
            step *= min(change, 0.9) if error > 1.0 else 0.2
            if step < _SHORTEST_S:
                return -1
            continue
        before[:], before_z[:], slope_before[:], slope_before_z[:] = X, Z, slope, slope_z
        _accept(work, X, Z)
        _look(slab, work, X, Z, lively, rate, flow, slope, slope_z)
        while s < until.size and until[s] <= now + step:
            f = (until[s] - now) / step
            a, b, c = f * f * (3.0 - 2.0 * f), step * f * (1.0 - f) * (1.0 - f), step * f * f * (1.0 - f)
            out[s] = before + a * (X - before) + b * slope_before - c * slope
            out_z[s] = before_z + a * (Z - before_z) + b * slope_before_z - c * slope_z
            out_z[s, 2] = _air(out_z[s], slab.space)[0]
            s += 1
        now += step
        steps += 1
        step = min(step * change, longest)
    return steps
