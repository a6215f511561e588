"""The program's laws of crystals at one held temperature: melt in a jacketed cup, as in experiments on cocoa butter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import OutsideValidity
from bloomless.numerics.compiled import kernel
from bloomless.numerics.exponential import phi
from bloomless.physics import block
from bloomless.physics.laws import crystal_rates, form_v_growth, solid_share, unstable_nucleation
from bloomless.physics.priors import USUAL, BowlPriors

Array: TypeAlias = NDArray[np.float64]
STEADY_SHEAR_1_s: Final = 30.0
"""Shear that stirring 1 stands for: spatula 0.1–0.5 m/s over 5–20 mm [crystal sheet 2.3, derived]."""


@dataclass(frozen=True, slots=True)
class Held:
    """Shares of the fat against time [s]."""

    time_s: Array
    form_v: Array
    unstable: Array
    first_crop: Array

    @property
    def solid(self) -> Array:
        """All crystals."""
        return self.form_v + self.unstable + self.first_crop


@kernel
def _hold(theta: float, stir: float, rates: Array, start: Array, h: float, every: int, out: Array) -> None:
    v, u, s = start[0], start[1], start[2]
    hold, cold, melt, grow_u, new_u, new_v, convert = rates
    growth, solid = form_v_growth(theta, hold, cold), solid_share(theta)
    nuclei = new_u * unstable_nucleation(theta, stir)
    for i in range(out.shape[1]):
        out[0, i], out[1, i], out[2, i] = v, u, s
        for _ in range(every):
            dv, slope_v, du, slope_u, ds, slope_s = crystal_rates(
                theta, v, u, s, solid, 0.0, stir, 1.0, growth, melt, grow_u, nuclei, new_v, convert
            )
            # Half a step for the midpoint, then the step: the scheme of the bowl with a midpoint of its own.
            v_mid, u_mid = v + 0.5 * h * phi(0.5 * h * slope_v) * dv, u + 0.5 * h * phi(0.5 * h * slope_u) * du
            s_mid = s + 0.5 * h * phi(0.5 * h * slope_s) * ds
            dv, slope_v, du, slope_u, ds, slope_s = crystal_rates(
                theta, v_mid, u_mid, s_mid, solid, 0.0, stir, 1.0, growth, melt, grow_u, nuclei, new_v, convert
            )
            v = max(v + h * phi(h * slope_v) * (dv + slope_v * (v - v_mid)), 0.0)
            u = max(u + h * phi(h * slope_u) * (du + slope_u * (u - u_mid)), 0.0)
            s = max(s + h * phi(h * slope_s) * (ds + slope_s * (s - s_mid)), 0.0)


def hold(
    temperature_C: float,
    minutes: float,
    *,
    shear_1_s: float = 0.0,
    form_v: float = 0.0,
    unstable: float = 0.0,
    first_crop: float = 0.0,
    priors: BowlPriors = USUAL,
    points: int = 400,
) -> Held:
    """Crystals of cocoa butter held at one temperature.

    Parameters
    ----------
    temperature_C
        −20…60 °C, of dark chocolate; other chocolates: less their melting shift.
    minutes
        How long, up to 60 days.
    shear_1_s
        Shear rate, 0…100 1/s; 30 counts as steady stirring.
    form_v, unstable, first_crop
        At the start, shares of the fat.
    priors
        The central values are used.
    points
        How many times are returned.

    Raises
    ------
    OutsideValidity
        Outside those ranges.
    """
    if not (-20.0 <= temperature_C <= 60.0 and 0.0 < minutes <= 86_400.0 and 0.0 <= shear_1_s <= 100.0):
        raise OutsideValidity("Holds from −20 to 60 °C, up to 60 days, shear 0 to 100 1/s.")
    seconds = 60.0 * minutes
    every = max(1, round(seconds / points))
    h = seconds / (points * every)
    rates = np.array(
        [
            priors.growth_hold.value,
            priors.growth_cold.value,
            block.MELT_RATE * priors.melt_factor.value,
            block.GROW_U_RATE * priors.unstable_factor.value,
            priors.unstable_factor.value,
            block.NEW_V_RATE * priors.nucleation_factor.value,
            block.CONVERT_RATE * priors.conversion_factor.value,
        ]
    )
    out = np.empty((3, points + 1))
    start = np.array([form_v, unstable, first_crop])
    _hold(temperature_C, shear_1_s / STEADY_SHEAR_1_s, rates, start, h, every, out)
    return Held(np.linspace(0.0, seconds, points + 1), out[0], out[1], out[2])


def induction_s(temperature_C: float, *, shear_1_s: float, until: float = 0.01, priors: BowlPriors = USUAL) -> float:
    """Time until form V and unstable forms reach a share of the fat in clean melt [s]; infinite if not within a day.

    The first crop is left out, as torque rises with the main step. Parameters as ``hold``.
    """
    held = hold(temperature_C, 1440.0, shear_1_s=shear_1_s, priors=priors, points=43_200)
    reached = np.flatnonzero(held.form_v + held.unstable >= until)
    return float(held.time_s[reached[0]]) if reached.size else float("inf")
