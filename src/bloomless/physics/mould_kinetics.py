"""Crystals in a cooling mould: one step of forms V, IV and II in one cell, compiled.

The law is the two-group reduction with the unstable group resolved into IV and II, because their melting points, their
contraction and what they do to release differ. Every rate that depends on temperature alone stands in a table on even
temperatures, so that a step costs two look-ups and no exponential. Shares are of all fat, 0…1.

Growth: dV/dt = g(T) V^(2/3) (V∞(T) − S)⁺ with S = V + IV + II; IV and II appear from the melt at rates r(T) (x∞ − S)⁺,
II climbs to IV and IV to V; what stands above its curve melts back.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bloomless.numerics.compiled import inlined, kernel

__all__ = ["COLUMNS", "HEAT_OF_FORM", "crystal_rates", "crystal_slopes", "crystal_step"]

Array = NDArray[np.float64]

COLUMNS = (
    "equilibrium_v", "equilibrium_iv", "equilibrium_ii", "growth_v", "birth_iv", "birth_ii", "climb_ii_iv",
    "climb_iv_v", "melt_iv", "melt_ii",
)  # fmt: skip
"""Columns of the rate table: shares of fat, then rates in 1/s."""

HEAT_OF_FORM = (1.0, 0.82, 0.54)
"""Heat of melting of V, IV and II over that of V; see ``materials``. Literal here because compiled code wants it so."""

_MELT_V = 0.02  # 1/s, back to the curve; bowls lose crystals above it within a minute or two [assumed]


@inlined
def _decay(x: float) -> float:
    """1 − exp(−x) for x ≥ 0 to second order, between 0 and 1 for any x."""
    return (x + 0.5 * x * x) / (1.0 + x + 0.5 * x * x)


@kernel
def _changes(
    T: float, root: float, v: float, iv: float, ii: float, dv: float, div: float, dii: float, dt: float,
    table: Array, first_C: float, per_K: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Changes of V, IV and II in ``dt``: rates of the middle, each form relaxing from where it stands now.

    ``T`` and ``root`` (of V) are those of the middle, ``v, iv, ii`` of the start; ``dv, div, dii`` lead to the middle.
    """
    x = (T - first_C) * per_K
    k = min(max(int(x), 0), table.shape[0] - 2)
    f = min(max(x - k, 0.0), 1.0)
    low, high = table[k], table[k + 1]
    solid = v + iv + ii
    free = low[0] + f * (high[0] - low[0]) - solid - div - dii
    to_v = 0.0
    if free > 0.0:
        growth = low[3] + f * (high[3] - low[3])
        to_v = free * _decay(growth * root * root * dt)
    else:
        to_v = max(free, -v) * _decay(_MELT_V * dt)
    to_iv = 0.0
    to_ii = 0.0
    if low[4] + high[4] > 0.0:
        free = low[1] + f * (high[1] - low[1]) - solid - dv - dii
        if free > 0.0:
            to_iv = free * _decay((low[4] + f * (high[4] - low[4])) * dt)
        if low[5] + high[5] > 0.0:
            free = low[2] + f * (high[2] - low[2]) - solid - dv - div
            if free > 0.0:
                to_ii = free * _decay((low[5] + f * (high[5] - low[5])) * dt)
    # Climbing takes half an hour and more, so that a step moves little of it; melting is quick.
    if ii > 0.0:
        climb = (ii + max(dii, -ii)) * min((low[6] + f * (high[6] - low[6])) * dt, 1.0)
        to_iv += climb
        to_ii -= climb
        if high[9] > 0.0:
            to_ii -= ii * _decay((low[9] + f * (high[9] - low[9])) * dt)
    if iv > 0.0:
        climb = (iv + max(div, -iv)) * min((low[7] + f * (high[7] - low[7])) * dt, 1.0)
        to_v += climb
        to_iv -= climb
        if high[8] > 0.0:
            to_iv -= iv * _decay((low[8] + f * (high[8] - low[8])) * dt)
    return to_v, to_iv, to_ii


@kernel
def crystal_step(
    T: Array, v: Array, iv: Array, ii: Array, root: Array, pace: Array, kelvin: Array, dt: float,
    table: Array, first_C: float, per_K: float,
) -> float:  # fmt: skip
    """Advance every cell by ``dt`` without conduction; the greatest change of temperature.

    The rates are those of the middle of the step, foreseen with the pace of the step before: second order with one
    look-up a cell.

    Parameters
    ----------
    T, v, iv, ii
        Temperature, °C, and shares of the fat, overwritten, shape (cells,).
    root
        Cube root of ``v`` in the middle of the last step, kept by one step of Halley's rule, shape (cells,).
    pace
        Changes of ``v``, ``iv`` and ``ii`` a second in the last step, overwritten, zero at first, shape (3, cells).
    kelvin
        Warming if all the fat set as form V, w_f ΔH/c in K; 0 marks a cell without fat, shape (cells,).
    table, first_C, per_K
        Rates by temperature: rows from ``first_C`` on, ``per_K`` rows a kelvin, columns of ``COLUMNS``.
    """
    most = 0.0
    half = 0.5 * dt
    back = 1.0 / dt
    for i in range(T.size):
        hot = kelvin[i]
        if hot <= 0.0:
            continue
        a, b, c = half * pace[0, i], half * pace[1, i], half * pace[2, i]
        middle_v = max(v[i] + a, 0.5 * v[i])
        root[i] = _root(middle_v, root[i])
        a, b, c = _changes(
            T[i] + hot * (a + 0.82 * b + 0.54 * c), root[i], v[i], iv[i], ii[i], a, b, c, dt, table, first_C, per_K
        )
        a, b, c = max(a, -v[i]), max(b, -iv[i]), max(c, -ii[i])
        v[i] += a
        iv[i] += b
        ii[i] += c
        pace[0, i], pace[1, i], pace[2, i] = a * back, b * back, c * back
        rise = hot * (a + 0.82 * b + 0.54 * c)
        T[i] += rise
        most = max(most, abs(rise))
    return most


@kernel
def _root(v: float, near: float) -> float:
    """Cube root from a near guess (Halley's rule, relative error a tenth of the cube of the guess's)."""
    if v < 1e-15:
        return 0.0
    cube = near * near * near
    if cube < 0.2 * v or cube > 5.0 * v:
        return float(v ** (1.0 / 3.0))
    return near * (cube + 2.0 * v) / (2.0 * cube + v)


@kernel
def crystal_rates(
    X: Array, root: Array, kelvin: Array, which: NDArray[np.int64], table: Array, first_C: float, per_K: float,
    lively: bool, rate: Array,
) -> None:  # fmt: skip
    """Rates of V, IV and II in every cell, 1/s: the law that ``crystal_step`` takes in steps.

    Parameters
    ----------
    X
        Temperature and shares of the fat in V, IV and II, shape (4, cells).
    root
        Cube root of V nearby, shape (cells,).
    kelvin, first_C, per_K
        As for ``crystal_step``.
    which, table
        Which chocolate a cell holds, shape (cells,); rates of each by temperature, shape (chocolates, columns, rows).
    lively
        False if IV and II are neither there nor born.
    rate
        Written, shape (3, cells); rows 1 and 2 only if ``lively``.
    """
    T, v, iv, ii = X
    last = table.shape[2] - 2
    for i in range(T.size):
        x = (T[i] - first_C) * per_K
        m, k = which[i], min(max(int(x), 0), last)
        f = min(max(x - k, 0.0), 1.0)
        solid = v[i] + iv[i] + ii[i]
        free = table[m, 0, k] + f * (table[m, 0, k + 1] - table[m, 0, k]) - solid
        q = root[i] * root[i] * root[i]
        q = root[i] * (q + 2.0 * v[i]) / (2.0 * q + v[i] + 1e-300)
        growth = (table[m, 3, k] + f * (table[m, 3, k + 1] - table[m, 3, k])) * q * q * free
        to_v = growth if free > 0.0 else _MELT_V * max(free, -v[i])
        if lively:
            born4 = table[m, 4, k] + f * (table[m, 4, k + 1] - table[m, 4, k])
            born2 = table[m, 5, k] + f * (table[m, 5, k + 1] - table[m, 5, k])
            free4 = max(table[m, 1, k] + f * (table[m, 1, k + 1] - table[m, 1, k]) - solid, 0.0)
            free2 = max(table[m, 2, k] + f * (table[m, 2, k + 1] - table[m, 2, k]) - solid, 0.0)
            up2 = ii[i] * (table[m, 6, k] + f * (table[m, 6, k + 1] - table[m, 6, k]))
            up4 = iv[i] * (table[m, 7, k] + f * (table[m, 7, k + 1] - table[m, 7, k]))
            lost4 = iv[i] * (table[m, 8, k] + f * (table[m, 8, k + 1] - table[m, 8, k]))
            lost2 = ii[i] * (table[m, 9, k] + f * (table[m, 9, k + 1] - table[m, 9, k]))
            fat = 1.0 if kelvin[i] > 0.0 else 0.0
            rate[1, i] = fat * (born4 * free4 + up2 - up4 - lost4)
            rate[2, i] = fat * (born2 * free2 - up2 - lost2)
            to_v += up4
        rate[0, i] = to_v if kelvin[i] > 0.0 else 0.0


@kernel
def crystal_slopes(
    X: Array, root: Array, which: NDArray[np.int64], table: Array, first_C: float, per_K: float, lively: bool,
    per: float, damp: Array, cold: Array,
) -> None:  # fmt: skip
    """What of the rates' derivatives an implicit step holds; cube roots are brought up to date.

    Parameters
    ----------
    X, which, table, first_C, per_K, lively
        As for ``crystal_rates``.
    root
        Cube root of V, overwritten.
    per
        1/(γh) of the step, 1/s.
    damp
        Written: 1/(1/γh − d rate/d share) of V, IV and II, shape (3, cells).
    cold
        Written: d rate of V/dT, at most 0, shape (cells,).
    """
    T, v, iv, ii = X
    last = table.shape[2] - 2
    for i in range(T.size):
        x = (T[i] - first_C) * per_K
        m, k = which[i], min(max(int(x), 0), last)
        f = min(max(x - k, 0.0), 1.0)
        root[i] = _root(v[i], root[i])
        q = root[i]
        bend, steeper = (table[m, 0, k + 1] - table[m, 0, k]) * per_K, (table[m, 3, k + 1] - table[m, 3, k]) * per_K
        free = table[m, 0, k] + f * (table[m, 0, k + 1] - table[m, 0, k]) - v[i] - iv[i] - ii[i]
        growth = table[m, 3, k] + f * (table[m, 3, k + 1] - table[m, 3, k])
        to, own = _MELT_V * bend, -_MELT_V
        if free > 0.0:
            to = q * q * (steeper * free + growth * bend)
            own = growth * (2.0 / 3.0 * free / max(q, 1e-5) - q * q)
        cold[i] = min(to, 0.0)
        # Growth feeds on itself: no more of that than keeps the step well posed.
        damp[0, i] = 1.0 / (per - min(own, 0.5 * per))
        if lively:
            damp[1, i] = 1.0 / (per + table[m, 4, k] + table[m, 7, k] + table[m, 8, k])
            damp[2, i] = 1.0 / (per + table[m, 5, k] + table[m, 6, k] + table[m, 9, k])
