"""Conduction with a change of phase in a row of cells, by the enthalpy method.

Heat travels by enthalpy and temperature follows from it, so that a latent heat given off at one sharp temperature, over
a range, or along any rising curve needs no special care and no heat can be lost. Steps are implicit (backward Euler,
Newton's method on the enthalpies with one tridiagonal system an iteration), stable and free of overshoot for any step,
or explicit: many short ones at a fraction of the cost, the better choice where all cells are alike and slow.

References
----------
Voller, V.; Cross, M.: Accurate solutions of moving boundary problems using the enthalpy method, Int. J. Heat Mass
Transfer 24 (1981) 545-556 [recalled].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput, NumericalFailure
from bloomless.numerics.compiled import kernel
from bloomless.numerics.tridiagonal import eliminate, substitute

__all__ = ["EnthalpyCurve", "March", "Row", "march", "planar_row"]

Array = NDArray[np.float64]

_ITERATIONS = 60
_TOLERANCE = 1e-9  # of the sensible heat of one kelvin


@dataclass(frozen=True, slots=True)
class EnthalpyCurve:
    """Enthalpy of a material against temperature, piecewise linear, continued straight beyond its ends.

    Two knots at one temperature are a sharp change of phase.
    """

    temperature_C: Array
    """Knots, never falling, shape (knots,), at least two."""
    enthalpy_J_m3: Array
    """Enthalpy at the knots, rising, shape (knots,)."""

    def __post_init__(self) -> None:
        if self.temperature_C.size < 2 or self.temperature_C.shape != self.enthalpy_J_m3.shape:
            raise ImpossibleInput("temperature_C", self.temperature_C, "at least two knots, as many as enthalpies")
        if np.any(np.diff(self.temperature_C) < 0) or np.any(np.diff(self.enthalpy_J_m3) <= 0):
            raise ImpossibleInput(
                "enthalpy_J_m3", self.enthalpy_J_m3, "rising enthalpies at temperatures never falling"
            )

    @classmethod
    def sharp(cls, volumetric_J_m3K: tuple[float, float], latent_J_m3: float, melting_C: float) -> EnthalpyCurve:
        """Curve of a pure substance: heat capacities of the solid and the liquid, one melting point."""
        solid, liquid = volumetric_J_m3K
        return cls(
            np.array([melting_C - 1.0, melting_C, melting_C, melting_C + 1.0]),
            np.array([-solid, 0.0, latent_J_m3, latent_J_m3 + liquid]),
        )

    @classmethod
    def sensible(cls, volumetric_J_m3K: float) -> EnthalpyCurve:
        """Curve of a material that does not change phase."""
        return cls(np.array([0.0, 1.0]), np.array([0.0, volumetric_J_m3K]))

    def at(self, temperature_C: Array | float) -> Array:
        """Enthalpy [J/m³] at temperatures; at a sharp change, that of the liquid."""
        t, h = self.temperature_C, self.enthalpy_J_m3
        asked = np.atleast_1d(np.asarray(temperature_C, dtype=float))
        k = np.clip(np.searchsorted(t, asked, side="right") - 1, 0, t.size - 2)
        k = np.where(t[k + 1] > t[k], k, np.where(k > 0, k - 1, k + 1))
        return np.asarray(h[k] + (asked - t[k]) * (h[k + 1] - h[k]) / (t[k + 1] - t[k]))


@dataclass(frozen=True, slots=True)
class Row:
    """A row of cells with the conductances between them, for each m² of face (planar) or whole (curved)."""

    volume: Array
    """Volume of the cells, m³ for each m² or m³, shape (n,)."""
    conductance: Array
    """Between neighbours, W/K for each m² or W/K, shape (n-1,)."""
    end: tuple[float, float]
    """From the centre of the first and last cell to its outer face, same unit."""
    material: NDArray[np.int64]
    """Index of each cell's material, shape (n,)."""
    centre_m: Array
    """Distance of the centres from the first face, m, shape (n,)."""


def planar_row(thickness_m: tuple[float, ...], cells: tuple[int, ...], conductivity_W_mK: tuple[float, ...]) -> Row:
    """Row of a flat stack of layers.

    Parameters
    ----------
    thickness_m, cells, conductivity_W_mK
        Of each layer, from the first face on; thicknesses and conductivities above 0, at least one cell a layer.
    """
    for name, values, least in (
        ("thickness_m", thickness_m, 0.0),
        ("conductivity_W_mK", conductivity_W_mK, 0.0),
        ("cells", cells, 0),
    ):
        for value in values:
            if not value > least:
                raise ImpossibleInput(name, value, "above 0")
    width = np.concatenate([np.full(n, d / n) for d, n in zip(thickness_m, cells, strict=True)])
    k = np.concatenate([np.full(n, value) for value, n in zip(conductivity_W_mK, cells, strict=True)])
    half = 0.5 * width / k
    return Row(
        volume=width,
        conductance=1.0 / (half[:-1] + half[1:]),
        end=(1.0 / half[0], 1.0 / half[-1]),
        material=np.concatenate([np.full(n, i) for i, n in enumerate(cells)]),
        centre_m=np.cumsum(width) - 0.5 * width,
    )


@dataclass(frozen=True, slots=True)
class March:
    """Snapshots of a run."""

    time_s: Array
    temperature_C: Array
    """Shape (times, n)."""
    enthalpy_J_m3: Array
    """Shape (times, n)."""
    heat_out_J: Array
    """Heat that has left through the first and the last face since the start, shape (times, 2)."""


def march(
    row: Row,
    curves: tuple[EnthalpyCurve, ...],
    start_C: Array | float,
    *,
    film_W_m2K: tuple[float, float],
    outside_C: tuple[float, float],
    until_s: Array,
    step_s: float,
    first_step_s: float | None = None,
    scheme: Literal["implicit", "explicit"] = "implicit",
) -> March:
    """Cool or warm a row of cells; both ends stand against a film and a constant temperature.

    Parameters
    ----------
    row
        Cells and conductances.
    curves
        Enthalpy curve of each material.
    start_C
        Temperature at the start, one for all or shape (n,).
    film_W_m2K
        Film coefficients of the first and last face; 0 insulates, ``inf`` holds the face at ``outside_C``.
    outside_C
        Temperatures beyond the films.
    until_s
        Times of the snapshots, rising, above 0.
    step_s
        Longest time step; the error is proportional to it.
    first_step_s
        Length of the first step, from which steps grow by a tenth each; as ``step_s`` unless given. A short one
        resolves the jump at the start.
    scheme
        ``explicit`` takes four fifths of the longest stable step, or ``step_s`` if that is shorter.

    Raises
    ------
    NumericalFailure
        If Newton's method does not converge.
    """
    if not (step_s > 0 and until_s.size and until_s[0] > 0 and np.all(np.diff(until_s) > 0)):
        raise ImpossibleInput("until_s", until_s, "rising times above 0, and a step above 0")
    temperature = np.broadcast_to(np.asarray(start_C, dtype=float), row.volume.shape)
    enthalpy = np.array([curves[m].at(t)[0] for m, t in zip(row.material, temperature, strict=True)])
    most = max(c.temperature_C.size for c in curves)
    knots_T = np.empty((len(curves), most))
    knots_H = np.empty((len(curves), most))
    for i, curve in enumerate(curves):
        extra = np.arange(1.0, most - curve.temperature_C.size + 1.0)
        slope = (curve.temperature_C[-1] - curve.temperature_C[-2]) / np.diff(curve.enthalpy_J_m3)[-1]
        knots_H[i] = np.concatenate([curve.enthalpy_J_m3, curve.enthalpy_J_m3[-1] + extra])
        knots_T[i] = np.concatenate([curve.temperature_C, curve.temperature_C[-1] + slope * extra])
    ends = np.array([g if np.isinf(h) else g * h / (g + h) for g, h in zip(row.end, film_W_m2K, strict=True)])
    out_T = np.empty((until_s.size, enthalpy.size))
    out_H = np.empty_like(out_T)
    heat = np.empty((until_s.size, 2))
    if scheme == "explicit":
        stable = 0.8 * _longest_stable_s(row, ends, knots_T, knots_H)
        _march_explicit(
            enthalpy, 1.0 / row.volume, row.conductance, ends, np.asarray(outside_C, dtype=float), row.material,
            knots_T, knots_H, until_s.astype(float), min(step_s, stable), out_T, out_H, heat,
        )  # fmt: skip
        return March(until_s.astype(float), out_T, out_H, heat)
    converged = _march(
        enthalpy, row.volume, row.conductance, ends, np.asarray(outside_C, dtype=float), row.material,
        knots_T, knots_H, until_s.astype(float), step_s, first_step_s or step_s, out_T, out_H, heat,
    )  # fmt: skip
    if not converged:
        raise NumericalFailure("The enthalpy method did not converge; a shorter time step would.")
    return March(until_s.astype(float), out_T, out_H, heat)


def _longest_stable_s(row: Row, ends: Array, knots_T: Array, knots_H: Array) -> float:
    """Longest step in which no cell can give more heat than brings it to its neighbours' temperature."""
    rising = np.diff(knots_T, axis=1) > 0
    capacity = np.where(rising, np.diff(knots_H, axis=1) / np.where(rising, np.diff(knots_T, axis=1), 1.0), np.inf)
    least = capacity.min(axis=1)[row.material]
    out = np.zeros_like(row.volume)
    out[:-1] += row.conductance
    out[1:] += row.conductance
    out[0] += ends[0]
    out[-1] += ends[1]
    return float((row.volume * least / np.maximum(out, 1e-300)).min())


@kernel
def _march_explicit(
    H: Array, per_volume: Array, between: Array, ends: Array, outside: Array, material: NDArray[np.int64],
    knots_T: Array, knots_H: Array, until: Array, longest: float, out_T: Array, out_H: Array, heat: Array,
) -> None:  # fmt: skip
    """Advance ``H`` through every snapshot by equal explicit steps.

    Temperature is a sum of ramps, T = a + b H + Σ c (H − h)⁺, so that every loop runs over the cells without a branch.
    """
    n, ramps = H.size, knots_H.shape[1] - 2
    T, passing = np.empty(n), np.zeros(n + 1)
    base, steep, bend, knot = np.empty(n), np.empty(n), np.empty((ramps, n)), np.empty((ramps, n))
    for i in range(n):
        t, h = knots_T[material[i]], knots_H[material[i]]
        steep[i] = (t[1] - t[0]) / (h[1] - h[0])
        base[i] = t[0] - steep[i] * h[0]
        for k in range(ramps):
            before = (t[k + 1] - t[k]) / (h[k + 1] - h[k])
            bend[k, i] = (t[k + 2] - t[k + 1]) / (h[k + 2] - h[k + 1]) - before
            knot[k, i] = h[k + 1]
    now, gone0, gone1 = 0.0, 0.0, 0.0
    for s in range(until.size):
        steps = max(1, int(np.ceil((until[s] - now) / longest - 1e-9)))
        dt = (until[s] - now) / steps
        done = 0
        while True:
            for i in range(n):
                T[i] = base[i] + steep[i] * H[i]
            for k in range(ramps):
                for i in range(n):
                    T[i] += bend[k, i] * max(H[i] - knot[k, i], 0.0)
            if done == steps:
                break
            done += 1
            for i in range(n - 1):
                passing[i + 1] = between[i] * (T[i] - T[i + 1])
            passing[0], passing[n] = ends[0] * (outside[0] - T[0]), ends[1] * (T[n - 1] - outside[1])
            for i in range(n):
                H[i] += dt * per_volume[i] * (passing[i] - passing[i + 1])
            gone0 -= dt * passing[0]
            gone1 += dt * passing[n]
        now = until[s]
        out_T[s], out_H[s] = T, H
        heat[s, 0], heat[s, 1] = gone0, gone1


@kernel
def _temperature(h: float, knots_T: Array, knots_H: Array) -> tuple[float, float]:
    """Temperature of an enthalpy, and its slope."""
    k = 0
    while k < knots_H.size - 2 and h >= knots_H[k + 1]:
        k += 1
    slope = (knots_T[k + 1] - knots_T[k]) / (knots_H[k + 1] - knots_H[k])
    return knots_T[k] + (h - knots_H[k]) * slope, slope


@kernel
def _march(
    H: Array, volume: Array, between: Array, ends: Array, outside: Array, material: NDArray[np.int64],
    knots_T: Array, knots_H: Array, until: Array, longest: float, first: float,
    out_T: Array, out_H: Array, heat: Array,
) -> bool:  # fmt: skip
    """Advance ``H`` through every snapshot; True if every step converged."""
    n = H.size
    T, slope, old = np.empty(n), np.empty(n), np.empty(n)
    lower, diagonal, upper = np.zeros(n), np.empty(n), np.zeros(n)
    ratio, inverse, change = np.zeros(n), np.empty(n), np.empty(n)
    now, step, gone_first, gone_last = 0.0, first, 0.0, 0.0
    for s in range(until.size):
        while now < until[s] - 1e-9 * until[s]:
            dt = min(step, until[s] - now)
            old[:] = H
            good = False
            for _ in range(_ITERATIONS):
                for i in range(n):
                    T[i], slope[i] = _temperature(H[i], knots_T[material[i]], knots_H[material[i]])
                for i in range(n):
                    flow = 0.0
                    out = 0.0
                    if i > 0:
                        flow += between[i - 1] * (T[i - 1] - T[i])
                        out += between[i - 1]
                        lower[i] = -dt * between[i - 1] * slope[i - 1]
                    else:
                        flow += ends[0] * (outside[0] - T[i])
                        out += ends[0]
                    if i < n - 1:
                        flow += between[i] * (T[i + 1] - T[i])
                        out += between[i]
                        upper[i] = -dt * between[i] * slope[i + 1]
                    else:
                        flow += ends[1] * (outside[1] - T[i])
                        out += ends[1]
                    diagonal[i] = volume[i] + dt * out * slope[i]
                    change[i] = dt * flow - volume[i] * (H[i] - old[i])
                eliminate(lower, diagonal, upper, ratio, inverse)
                substitute(lower, upper, ratio, inverse, change)
                worst = 0.0
                for i in range(n):
                    H[i] += change[i]
                    capacity = (knots_H[material[i], 1] - knots_H[material[i], 0]) / max(
                        knots_T[material[i], 1] - knots_T[material[i], 0], 1e-12
                    )
                    worst = max(worst, abs(change[i]) / capacity)
                if worst < _TOLERANCE:
                    good = True
                    break
            if not good:
                return False
            first_T, _ = _temperature(H[0], knots_T[material[0]], knots_H[material[0]])
            last_T, _ = _temperature(H[n - 1], knots_T[material[n - 1]], knots_H[material[n - 1]])
            gone_first += dt * ends[0] * (first_T - outside[0])
            gone_last += dt * ends[1] * (last_T - outside[1])
            now += dt
            step = min(longest, step * 1.1)
        for i in range(n):
            out_T[s, i], _ = _temperature(H[i], knots_T[material[i]], knots_H[material[i]])
        out_H[s] = H
        heat[s, 0], heat[s, 1] = gone_first, gone_last
    return True
