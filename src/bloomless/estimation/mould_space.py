"""A cooling space learned from one logged mould: how well it takes heat, and how much of it.

The log is compared with the cooling model; film factor and power are moved from what was believed before to what fits,
growth of the crystals along with them because it is not known either. What the log cannot tell keeps its prior.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from bloomless.errors import ImpossibleInput
from bloomless.physics.mould_cooling import FRIDGE_POWER_W, CoolingSpace, Stack, cool
from bloomless.physics.mould_films import FAN_FACTOR, STILL_FACTOR
from bloomless.physics.mould_melt import GROWTH_COLD, GROWTH_HOLD, Rates

__all__ = ["LearnedSpace", "LoggedMould", "learn_space", "usual_space"]

Array = NDArray[np.float64]
Place: TypeAlias = Literal["chocolate", "back", "mould", "air"]
"""Where the thermometer is: amid the chocolate, under its open face, on the mould, in the air of the space."""

_READING_SD_K = 0.4  # a probe in a thin layer, and what the model leaves out [assumed]


@dataclass(frozen=True, slots=True)
class LoggedMould:
    """Readings of one filled mould while it cooled; raises ``ImpossibleInput`` for what no log can be."""

    place: Place
    time_s: Array
    """Since the mould went in, rising, at most a day; shape (readings,), five or more."""
    temperature_C: Array
    """What was shown, −30 to 60 °C; same shape."""

    def __post_init__(self) -> None:
        t, shown = self.time_s, self.temperature_C
        if t.shape != shown.shape or t.size < 5:
            raise ImpossibleInput("log", int(t.size), "at least five readings with their times")
        if not (t[0] >= 0 and np.all(np.diff(t) > 0) and t[-1] <= 86_400):
            raise ImpossibleInput("time_s", t.tolist(), "rising times from the moment the mould went in, at most a day")
        if not (np.all(np.isfinite(shown)) and shown.min() > -30 and shown.max() < 60):
            raise ImpossibleInput("temperature_C", shown.tolist(), "-30 to 60 °C")


@dataclass(frozen=True, slots=True)
class LearnedSpace:
    """What is believed of a place."""

    film_factor: float
    """On the heat transfer between air and mould."""
    film_spread: float
    """One sd as a factor."""
    power_W: float
    """How much heat the place can carry off."""
    power_spread: float
    """One sd as a factor."""
    logs: int = 0
    """How many moulds taught it."""
    misfit_K: float = 0.0
    """Root mean square of the last log against the model."""

    def applied(self, space: CoolingSpace) -> CoolingSpace:
        """The space with what was learned; power only where the space says it is limited."""
        return replace(space, factor=self.film_factor, power_W=None if space.power_W is None else self.power_W)


def usual_space(air_speed_m_s: float) -> LearnedSpace:
    """What is believed of a place nobody has logged."""
    film = FAN_FACTOR if air_speed_m_s > 0.1 else STILL_FACTOR
    return LearnedSpace(film.value, film.spread, FRIDGE_POWER_W.value, 1.35)


def learn_space(
    logged: tuple[LoggedMould, ...], stack: Stack, space: CoolingSpace, before: LearnedSpace
) -> LearnedSpace:
    """Move the belief of a place by the log of one mould.

    Parameters
    ----------
    logged
        One or several thermometers of the same mould.
    stack
        How it was filled.
    space
        The place; ``power_W`` ``None`` if its air keeps its temperature, else its power is learned too.
    before
        What was believed until now.

    Returns
    -------
    LearnedSpace
        With the spread of the Laplace approximation at the best fit.

    Raises
    ------
    ImpossibleInput
        Without a thermometer.
    """
    if not logged:
        raise ImpossibleInput("log", 0, "at least one thermometer")
    last = max(float(log.time_s[-1]) for log in logged)
    snapshots = max(61, min(721, int(last / 20) + 2))
    spread = np.array(
        [math.log(s) for s in (before.film_spread, before.power_spread, GROWTH_COLD.spread, GROWTH_HOLD.spread)]
    )

    def modelled(z: Array) -> Array:
        factor, power, cold, hold = np.exp(z * spread)
        here = replace(
            space,
            factor=before.film_factor * factor,
            power_W=None if space.power_W is None else before.power_W * power,
        )
        rates = Rates(GROWTH_COLD.value * cold, GROWTH_HOLD.value * hold)
        run = cool(stack, here, minutes=max(last / 60, 1.0), rates=rates, snapshots=snapshots)
        seen = {
            "chocolate": run.temperature_C[:, run.temperature_C.shape[1] // 2],
            "back": run.temperature_C[:, 0],
            "mould": run.mould_C,
            "air": run.air_C,
        }
        return np.concatenate([np.interp(log.time_s, run.time_s, seen[log.place]) for log in logged])

    shown = np.concatenate([log.temperature_C for log in logged])
    # Neighbouring readings say nearly the same: no log counts as more than one reading a minute.
    weight = np.concatenate([np.full(log.time_s.size, _weight(log)) for log in logged]) / _READING_SD_K

    def residual(z: Array) -> Array:
        return np.concatenate([(modelled(z) - shown) * weight, z])

    found = least_squares(residual, np.zeros(4), diff_step=[0.02] * 4, loss="soft_l1", max_nfev=60)
    jacobian = np.asarray(found.jac)
    covariance = np.linalg.inv(jacobian.T @ jacobian)
    sd = np.sqrt(np.diag(covariance))
    moved = np.exp(found.x * spread)
    return LearnedSpace(
        film_factor=float(before.film_factor * moved[0]),
        film_spread=float(math.exp(min(sd[0], 1.0) * spread[0])),
        power_W=float(before.power_W * moved[1]),
        power_spread=float(math.exp(min(sd[1], 1.0) * spread[1])),
        logs=before.logs + 1,
        misfit_K=float(np.sqrt(np.mean((modelled(found.x) - shown) ** 2))),
    )


def _weight(log: LoggedMould) -> float:
    minutes = max(float(log.time_s[-1] - log.time_s[0]) / 60, 1.0)
    return math.sqrt(min(1.0, minutes / log.time_s.size))
