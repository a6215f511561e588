"""How slow a thermometer is: its first-order lag, from a dip or from the stream of its readings.

A probe follows dT_p/dt = (T − T_p)/τ. Dipped into a stirred bath it approaches the bath along an exponential; the
bath itself may drift, so the curve fitted is T_p = a + r·t + A·exp(−t/τ). The three linear unknowns are solved for
each τ of a fine grid and the best τ is taken, which never diverges and needs no first guess.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from bloomless.errors import ImpossibleInput
from bloomless.sources import Grade, Sourced

__all__ = ["USUAL_LAG", "Lag", "find_dip", "lag_from_dip", "settling_s"]

USUAL_LAG: Final = {
    "needle": Sourced(5.0, "s", 1.6, "assumed", Grade.ASSUMED, "factor", "thin needle 3–8 s in stirred chocolate"),
    "stick": Sourced(14.0, "s", 1.4, "assumed", Grade.ASSUMED, "factor", "thick stick 10–20 s"),
    "glass": Sourced(28.0, "s", 1.4, "assumed", Grade.ASSUMED, "factor", "20–40 s"),
    "infrared": Sourced(0.5, "s", 2.0, "assumed", Grade.ASSUMED, "factor", "the optics; the surface has its own"),
}
"""First-order lag of a kind of probe in stirred chocolate."""

_FEWEST: Final = 8
_LEAST_STEP_K: Final = 5.0
_GRID_s: Final = np.geomspace(0.3, 120.0, 600)


@dataclass(frozen=True, slots=True)
class Lag:
    """A lag found: ``lag_s`` with its standard deviation, and how well the curve fits."""

    lag_s: float
    sd_s: float
    bath_C: float
    """Where the readings were heading when the dip began."""
    residual_K: float
    """Root mean square of what the curve leaves over."""
    readings: int


def _squares(
    times_s: npt.NDArray[np.float64], shown_C: npt.NDArray[np.float64], lag_s: float, drifts: bool
) -> tuple[float, npt.NDArray[np.float64]]:
    columns = [np.ones_like(times_s), np.exp(-times_s / lag_s)]
    if drifts:
        columns.append(times_s)
    design = np.column_stack(columns)
    solved, *_ = np.linalg.lstsq(design, shown_C, rcond=None)
    left = shown_C - design @ solved
    return float(left @ left), solved


def lag_from_dip(times_s: Sequence[float], shown_C: Sequence[float], *, resolution_K: float = 0.1) -> Lag:
    """First-order lag from readings after a dip into a stirred bath.

    Parameters
    ----------
    times_s
        Times of the readings [s], rising, the first one right after the dip.
    shown_C
        What was shown [°C]; the whole change must be at least 5 K.
    resolution_K
        Step of the display [K].

    Returns
    -------
    Lag
        Lag and its doubt (half the interval in which the sum of squares is within one variance of the least).

    Raises
    ------
    ImpossibleInput
        For fewer than 8 readings, a change under 5 K, times that do not rise, or a dip watched for less than two lags.
    """
    times = np.asarray(times_s, dtype=float)
    shown = np.asarray(shown_C, dtype=float)
    if times.size != shown.size or times.size < _FEWEST:
        raise ImpossibleInput("readings", times.size, f"at least {_FEWEST} readings with as many times")
    if not np.all(np.diff(times) > 0.0):
        raise ImpossibleInput("times_s", times.size, "times that rise")
    if abs(float(shown[-1] - shown[0])) < _LEAST_STEP_K:
        raise ImpossibleInput("shown_C", float(shown[-1] - shown[0]), f"a change of at least {_LEAST_STEP_K:g} K")
    times = times - times[0]
    # A drift of the bath can only be told from the tail of the lag when the readings go on well after it.
    drifts = times.size >= 2 * _FEWEST
    squares = np.array([_squares(times, shown, float(lag), drifts)[0] for lag in _GRID_s])
    best = int(np.argmin(squares))
    lag = float(_GRID_s[best])
    degrees = max(times.size - (4 if drifts else 3), 1)
    variance = max(squares[best] / degrees, (resolution_K / math.sqrt(12.0)) ** 2)
    inside = _GRID_s[squares <= squares[best] + variance]
    # A ramp fits a drifting bath with any lag at all: then the best one is rounding.
    anything = inside[0] == _GRID_s[0] or inside[-1] == _GRID_s[-1]
    if anything or times[-1] < 2.0 * lag:
        raise ImpossibleInput("times_s", float(times[-1]), "a dip watched for at least two lags, read once a second")
    _, solved = _squares(times, shown, lag, drifts)
    return Lag(
        lag_s=lag,
        sd_s=float(max((inside[-1] - inside[0]) / 2.0, lag * 0.01)),
        bath_C=float(solved[0]),
        residual_K=math.sqrt(squares[best] / times.size),
        readings=int(times.size),
    )


def find_dip(times_s: Sequence[float], shown_C: Sequence[float], *, still_K: float = 0.5) -> slice | None:
    """The last dip in a stream of readings: a still stretch, then a way of at least 5 K that only goes one way.

    Parameters
    ----------
    times_s, shown_C
        A stream of readings [s], [°C].
    still_K
        Steps below this count as still [K].

    Returns
    -------
    slice or None
        The readings from the dip to the end of its approach, for ``lag_from_dip``; nothing if there is no dip.
    """
    times = np.asarray(times_s, dtype=float)
    shown = np.asarray(shown_C, dtype=float)
    if times.size != shown.size or times.size < _FEWEST:
        return None
    steps = np.diff(shown)
    leaps = np.flatnonzero(np.abs(steps) >= still_K)
    for start in leaps[::-1]:
        if start > 0 and abs(steps[start - 1]) >= still_K:
            continue  # in the middle of a way, not at its beginning
        towards = math.copysign(1.0, steps[start])
        back = np.flatnonzero(steps[start:] * towards < -still_K)
        end = int(start + back[0] + 1) if back.size else shown.size
        if end - start > _FEWEST and abs(shown[end - 1] - shown[start]) >= _LEAST_STEP_K:
            return slice(int(start) + 1, end)
    return None


def settling_s(lag_s: float, step_K: float, within_K: float = 0.1) -> float:
    """Seconds until a probe of a lag [s] is within ``within_K`` [K] of the truth after a step [K].

    τ·ln(step/within), zero for a step that is small already (derived from the first-order law).
    """
    return lag_s * max(math.log(max(abs(step_K), 1e-9) / within_K), 0.0)
