"""The thermometer's law: lag, offset, where the tip sits, heavy tails, and readings that say nothing of the bowl.

A reading is ``y = T_probe + offset + placement + noise``. The lag is a state of the bowl's physics; the offset belongs
to each member. The placement (tip in a warmer or cooler layer) is an Ornstein–Uhlenbeck error that lasts about a
minute: leaving it out would let ten readings in a minute count as ten independent ones. It is linear and Gaussian, so
each member carries its mean and all share one variance (a Rao–Blackwell step): nothing is drawn for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import stdtr

from bloomless.estimation.events import ProbeSpec
from bloomless.estimation.priors import prior
from bloomless.physics.calibration import WORKING_C

__all__ = [
    "FINE_STEP_K",
    "Placement",
    "as_at_working",
    "display_step_K",
    "placement_ahead",
    "placement_of",
    "reading_log_likelihood",
]

Array = npt.NDArray[np.float64]

FINE_STEP_K = 0.1
"""Step of a usual display; its rounding is part of the noise."""
_WIDE_C = 60.0
"""Range over which a reading that says nothing may lie."""


def as_at_working(shown_C: float, probe: ProbeSpec) -> tuple[float, float]:
    """What a thermometer would show [°C] if its error were everywhere that at 31 °C, and the doubt of that [K].

    Checks tell shown − true = offset + slope·(true − 31 °C). The slope is taken off here, at the border; what is left
    of the error is the offset, which every member carries. ``doubt_K`` is what the slope's own doubt makes of it there.
    """
    away_K = (shown_C - probe.offset_C - WORKING_C) / (1.0 + probe.slope)
    return shown_C - probe.slope * away_K, probe.slope_sd * abs(away_K)


def display_step_K(shown_C: Iterable[float]) -> float:
    """The step in which a thermometer shows [K]: the coarsest that every reading so far is a multiple of.

    Tried are a degree, a degree Fahrenheit and half a degree; 0.1 K if none fits, or before two different numbers.
    """
    values = set(shown_C)
    if len(values) < 2:
        return FINE_STEP_K
    for step, zero in ((1.0, 0.0), (5.0 / 9.0, 32.0 * 5.0 / 9.0), (0.5, 0.0)):
        if all(abs((value + zero) / step - round((value + zero) / step)) < 1e-6 for value in values):
            return step
    return FINE_STEP_K


@dataclass(frozen=True)
class Placement:
    """What is believed of the tip's place error: a mean for each member, one variance for all (K²)."""

    mean_C: Array
    variance_K2: float


def placement_of(members: int, stirred: float) -> Placement:
    """The placement before any reading: mean 0, stationary variance."""
    return Placement(np.zeros(members), _stationary_sd(stirred) ** 2)


def _stationary_sd(stirred: float) -> float:
    """Sd of the placement [K] by how well the bowl is stirred, 0 none to 1 steadily."""
    still, steady = prior("placement_still_C"), prior("placement_stirred_C")
    return still + (steady - still) * min(max(stirred, 0.0), 1.0)


def placement_ahead(placement: Placement, seconds: float, stirred: float, pace_K_min: float = 0.0) -> Placement:
    """Let the placement forget: exact solution of its Ornstein–Uhlenbeck process over ``seconds``.

    ``pace_K_min`` is how fast the bowl changes: layers and the model's own error in a transient add to the place error.
    """
    keep = math.exp(-seconds / prior("placement_s"))
    target = _stationary_sd(stirred) ** 2 + (prior("transient_min") * pace_K_min) ** 2
    return Placement(placement.mean_C * keep, target + (placement.variance_K2 - target) * keep * keep)


def reading_log_likelihood(
    reading_C: float,
    expected_C: Array,
    placement: Placement,
    *,
    noise_C: float,
    nothing_share: float,
    heavy_tails: bool = True,
    step_K: float = FINE_STEP_K,
) -> tuple[Array, Placement]:
    """Log-likelihood of one reading for every member, and the placement after it.

    Parameters
    ----------
    reading_C
        As shown.
    expected_C
        Probe temperature plus offset, one a member.
    placement
        Before the reading.
    noise_C
        White noise of a reading, K.
    nothing_share
        Prior chance that this reading says nothing of the bowl.
    heavy_tails
        Student's t (ν of the priors); without it the exact Gaussian, as a Kalman filter has it.
    step_K
        Of the display. In a coarse one all that is known is that the number lies within half a step: the chance of that
        is taken, so that the same number again and again does not pretend to be its middle.
    """
    variance = placement.variance_K2 + noise_C * noise_C
    miss = reading_C - expected_C - placement.mean_C
    z2 = miss * miss / variance
    gain = placement.variance_K2 / variance
    if not heavy_tails:
        after = replace(placement, mean_C=placement.mean_C + gain * miss)
        after = replace(after, variance_K2=placement.variance_K2 * (1.0 - gain))
        return -0.5 * z2 - 0.5 * math.log(2.0 * math.pi * variance), after
    nu = prior("tail_freedom")
    if step_K > 2.0 * FINE_STEP_K:
        half, sd = 0.5 * step_K, math.sqrt(variance)
        away = np.abs(miss)
        inside = np.maximum(stdtr(nu, (half - away) / sd) - stdtr(nu, (-half - away) / sd), 1e-30)
        total = np.logaddexp(math.log1p(-nothing_share) + np.log(inside), math.log(nothing_share * step_K / _WIDE_C))
        beyond = np.sign(miss) * np.maximum(away - half, 0.0)
        trust = np.minimum((nu + 1.0) / (nu + beyond * beyond / variance), 1.0)
        spared = 0.5 * gain * step_K * step_K / (step_K * step_K + 12.0 * variance)
        kept = placement.variance_K2 * (1.0 - gain + spared)
        return total, Placement(placement.mean_C + gain * trust * beyond, kept)
    norm = math.lgamma((nu + 1.0) / 2.0) - math.lgamma(nu / 2.0) - 0.5 * math.log(nu * math.pi * variance)
    says = norm - 0.5 * (nu + 1.0) * np.log1p(z2 / nu)
    total = np.logaddexp(math.log1p(-nothing_share) + says, math.log(nothing_share / _WIDE_C))
    # A reading far off moves the placement little: the weight of the t in its Gaussian scale mixture, at most 1.
    trust = np.minimum((nu + 1.0) / (nu + z2), 1.0)
    after = Placement(placement.mean_C + gain * trust * miss, placement.variance_K2 * (1.0 - gain))
    return total, after
