"""The cooling-curve test of temper: a small sample in a cold bath, and what the bend of its curve tells.

Few crystals grow late and in a burst, so the temperature rises at the bend; many give their heat early and evenly, so
it only falls more slowly. ``dT/dt = −(T − T_bath)/τ + (w_f ΔH/c)·dX/dt``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import OutsideValidity
from bloomless.numerics.exponential import two_thirds_power
from bloomless.physics.laws import form_v_growth, solid_share
from bloomless.physics.priors import USUAL, BowlPriors

__all__ = ["CoolingCurve", "cooling_curve", "plateau_rate_1_s"]

Verdict: TypeAlias = Literal["under", "well", "over"]


@dataclass(frozen=True, slots=True)
class CoolingCurve:
    """A simulated curve and its bend."""

    time_s: NDArray[np.float64]
    temperature_C: NDArray[np.float64]
    solid: NDArray[np.float64]
    bend_C: float
    """Temperature where the heat of crystallisation peaks."""
    slope_K_min: float
    """Slope there."""
    ratio: float
    """Slope over the free-cooling rate at that temperature: the form that needs no instrument of its own."""

    @property
    def verdict(self) -> Verdict:
        """Above +0.15 under-, within ±0.10 well, below −0.10 over-tempered; between, the nearer [prior]."""
        if self.ratio > 0.125:
            return "under"
        return "well" if self.ratio >= -0.10 else "over"


def plateau_rate_1_s(temperature_C: float, bath_C: float, *, tau_s: float = 300.0, latent_K: float = 30.94) -> float:
    """Rate of crystallisation that holds the temperature [share of fat/s]: ``(T − T_bath)/(τ·w_f ΔH/c)``."""
    return (temperature_C - bath_C) / (tau_s * latent_K)


def cooling_curve(
    form_v: float,
    *,
    start_C: float = 32.0,
    bath_C: float = 0.0,
    tau_s: float = 300.0,
    latent_K: float = 30.94,
    minutes: float = 12.0,
    priors: BowlPriors = USUAL,
) -> CoolingCurve:
    """Simulate the test for a sample with so much form V.

    Parameters
    ----------
    form_v
        Share of the fat, 1e-4…0.3.
    start_C, bath_C
        Temperatures of sample and bath.
    tau_s
        Time constant of the tube without crystallisation.
    latent_K
        ``w_f ΔH/c``: 0.33·150e3/1600.
    minutes
        How long.
    priors
        Growth constants; their central values are used.

    Raises
    ------
    OutsideValidity
        If the share is outside that range.

    Notes
    -----
    The order and the sign are what may be relied on; temperatures of the bend are recipe-specific.
    """
    if not 1e-4 <= form_v <= 0.3:
        raise OutsideValidity(f"The test is simulated for form V from 0.01 to 30 % of the fat, not {100 * form_v:g} %.")
    h = 0.25
    steps = round(minutes * 60.0 / h)
    warm, solid, rate = np.empty(steps + 1), np.empty(steps + 1), np.empty(steps + 1)
    t, x = start_C, form_v

    def growth(at_C: float, share: float) -> float:
        k = form_v_growth(at_C, priors.growth_hold.value, priors.growth_cold.value)
        return k * two_thirds_power(share) * max(solid_share(at_C) - share, 0.0)

    for i in range(steps + 1):
        warm[i], solid[i], rate[i] = t, x, growth(t, x)
        dt = (bath_C - t) / tau_s + latent_K * rate[i]
        middle_C, middle = t + 0.5 * h * dt, x + 0.5 * h * rate[i]
        grown = growth(middle_C, middle)
        t += h * ((bath_C - middle_C) / tau_s + latent_K * grown)
        x += h * grown
    peak = int(np.argmax(rate))
    free = (warm[peak] - bath_C) / tau_s
    slope = latent_K * rate[peak] - free
    return CoolingCurve(
        np.linspace(0.0, h * steps, steps + 1), warm, solid, float(warm[peak]), float(60.0 * slope), float(slope / free)
    )
