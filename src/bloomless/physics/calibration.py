"""What checks of a thermometer say about its error where chocolate is worked, and how sure that is.

The error is taken as a straight line, shown − true = offset + slope·(true − 31 °C), with a prior on both: a kitchen
thermometer is off by some tenths, and its slope by some tenths of a percent. Checks are combined by the linear Gaussian
rule, so that one ice check, two fixed points or ten comparisons go through the same few lines, and the doubt that is
left is stated. Old checks lose weight, because instruments drift.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from bloomless.errors import ImpossibleInput
from bloomless.sources import Grade, Sourced

__all__ = [
    "WORKING_C",
    "Calibration",
    "Check",
    "CheckMethod",
    "Priors",
    "calibrate",
    "reference_doubt_K",
]

WORKING_C: Final = 31.0
"""Where the error matters: the middle of the working window of dark chocolate [°C]."""


class CheckMethod(StrEnum):
    """Ways to check a thermometer in a kitchen."""

    ICE = "ice"
    BOILING = "boiling"
    SECOND_PROBE = "second_probe"
    SKIN_WARM = "skin_warm"
    """Skin-warm water beside a digital fever thermometer; the water, never the mouth."""


_PRACTICE: Final = "common_practice"
REFERENCE_DOUBT: Final = {
    CheckMethod.ICE: Sourced(
        0.1, "K", 0.05, _PRACTICE, Grade.TRADE_PRACTICE, note="crushed ice, drained slush, stirred"
    ),
    CheckMethod.BOILING: Sourced(0.3, "K", 0.1, "derived", Grade.DERIVED, note="pressure known; bubbles and superheat"),
    CheckMethod.SECOND_PROBE: Sourced(
        0.1,
        "K",
        0.05,
        "assumed",
        Grade.ASSUMED,
        note="unevenness of one stirred bath; the other's own doubt comes on top",
    ),
    CheckMethod.SKIN_WARM: Sourced(
        0.12, "K", 0.05, "assumed", Grade.FROM_MEMORY, note="fever thermometer ±0.1 K as limit, bath 0.1 K"
    ),
}
WEATHER_K: Final = Sourced(
    0.3, "K", 0.1, "derived", Grade.DERIVED, note="±0.6 K as two sd: pressure only from altitude"
)


OFFSET_SD: Final = Sourced(0.7, "K", 1.5, "assumed", Grade.ASSUMED, "factor", "kitchen thermometers, unchecked")
SLOPE_SD: Final = Sourced(0.004, "1", 1.5, "assumed", Grade.ASSUMED, "factor", "0.4 K between ice and boiling point")
DRIFT: Final = Sourced(0.2, "K/√year", 2.0, "assumed", Grade.ASSUMED, "factor", "a diary tells of a year's drift")
FALL: Final = Sourced(0.4, "K", 2.0, "assumed", Grade.ASSUMED, "factor", "extra doubt after a knock or a fall")


@dataclass(frozen=True, slots=True)
class Priors:
    """What is believed of a thermometer before any check."""

    offset_sd_K: Sourced = OFFSET_SD
    slope_sd: Sourced = SLOPE_SD
    drift_K_per_sqrt_year: Sourced = DRIFT
    fall_K: Sourced = FALL


@dataclass(frozen=True, slots=True)
class Check:
    """One comparison: what the thermometer showed where the truth was known.

    ``reference_C`` is true to ``doubt_K`` (one standard deviation); ``age_days`` says how long ago it was.
    """

    method: CheckMethod
    shown_C: float
    reference_C: float
    doubt_K: float
    age_days: float = 0.0
    before_fall: bool = False

    def __post_init__(self) -> None:
        for field in ("shown_C", "reference_C"):
            if not -30.0 <= getattr(self, field) <= 130.0:
                raise ImpossibleInput(field, getattr(self, field), "a temperature of −30 to 130 °C")
        if not 0.0 < self.doubt_K <= 10.0:
            raise ImpossibleInput("doubt_K", self.doubt_K, "a doubt above 0 and up to 10 K")
        if not 0.0 <= self.age_days < math.inf:
            raise ImpossibleInput("age_days", self.age_days, "a number of days from 0")


@dataclass(frozen=True, slots=True)
class Calibration:
    """Error of a thermometer: offset at ``WORKING_C`` and slope, with their covariance."""

    offset_C: float
    """Shown minus true at 31 °C."""
    slope: float
    """How much the error grows for each kelvin of temperature."""
    variance_offset: float
    covariance: float
    variance_slope: float
    checks: int

    def error_at(self, true_C: float) -> tuple[float, float]:
        """Shown minus true [K] at a true temperature [°C], and its standard deviation [K]."""
        away = true_C - WORKING_C
        variance = self.variance_offset + 2.0 * away * self.covariance + away * away * self.variance_slope
        return self.offset_C + self.slope * away, math.sqrt(max(variance, 0.0))

    def true_C(self, shown_C: float) -> tuple[float, float]:
        """Temperature [°C] behind a shown one [°C], and its standard deviation [K]; lag and placement not counted."""
        true_C = WORKING_C + (shown_C - self.offset_C - WORKING_C) / (1.0 + self.slope)
        return true_C, self.error_at(true_C)[1] / (1.0 + self.slope)

    @property
    def offset_sd_C(self) -> float:
        """Standard deviation of the offset at 31 °C [K]."""
        return math.sqrt(self.variance_offset)


def reference_doubt_K(
    method: CheckMethod, *, shown_resolution_K: float = 0.1, pressure_known: bool = True, other_sd_K: float = 0.0
) -> float:
    """Standard deviation [K] of one check: reference, last digit of the display, pressure, the other thermometer.

    Parameters
    ----------
    method
        How the check was made.
    shown_resolution_K
        Step of the display [K]; a step counts as its width over √12.
    pressure_known
        Boiling only: whether the station pressure was read, or only the altitude is known.
    other_sd_K
        Comparison only: standard deviation of the other thermometer's own error at that temperature [K].
    """
    parts = [REFERENCE_DOUBT[method].value, shown_resolution_K / math.sqrt(12.0), other_sd_K]
    if method is CheckMethod.BOILING and not pressure_known:
        parts.append(WEATHER_K.value)
    return math.hypot(*parts)


def calibrate(checks: Sequence[Check], priors: Priors | None = None) -> Calibration:
    """Offset and slope of a thermometer from its checks.

    Parameters
    ----------
    checks
        Any number, also none: then the prior comes back.
    priors
        What is believed before.

    Returns
    -------
    Calibration
        Posterior mean and covariance.

    Notes
    -----
    Bayesian linear regression (normal equations of two unknowns). With a wide prior and an ice and a boiling check it
    is the interpolation of the two: u² = (0.69·u_ice)² + (0.31·u_boil)² at 31 °C. A check ``a`` years old counts with
    the extra variance ``drift²·a``; the drift of two old checks is taken as independent, which is slightly too hopeful.
    """
    believed = priors or Priors()
    precision = np.diag([believed.offset_sd_K.value**-2, believed.slope_sd.value**-2])
    pull = np.zeros(2)
    for check in checks:
        variance = check.doubt_K**2 + believed.drift_K_per_sqrt_year.value**2 * check.age_days / 365.25
        if check.before_fall:
            variance += believed.fall_K.value**2
        row = np.array([1.0, check.reference_C - WORKING_C])
        precision += np.outer(row, row) / variance
        pull += row * (check.shown_C - check.reference_C) / variance
    covariance = np.linalg.inv(precision)
    offset, slope = covariance @ pull
    return Calibration(
        offset_C=float(offset),
        slope=float(slope),
        variance_offset=float(covariance[0, 0]),
        covariance=float(covariance[0, 1]),
        variance_slope=float(covariance[1, 1]),
        checks=len(checks),
    )
