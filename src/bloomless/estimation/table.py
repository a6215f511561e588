"""Priors of a bowl's parameters as arrays: where each row is centred, how wide it is, whether in ln."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from bloomless.physics.priors import LIMITS, BowlPriors
from bloomless.sources.sourced import Sourced

__all__ = ["PriorTable", "table_of"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PriorTable:
    """One entry a parameter row; centre and sd are those of the ln where ``is_log``."""

    centre: Array
    sd: Array
    is_log: npt.NDArray[np.bool_]
    low: Array
    high: Array

    def free(self, parameters: Array) -> Array:
        """Parameters on the scale on which they are spread evenly."""
        free = parameters.copy()
        free[self.is_log] = np.log(free[self.is_log])
        return free

    def bound(self, free: Array) -> Array:
        """Back from the free scale, inside the hard limits."""
        parameters = free.copy()
        parameters[self.is_log] = np.exp(parameters[self.is_log])
        return np.clip(parameters, self.low[:, None], self.high[:, None])


def table_of(priors: BowlPriors) -> PriorTable:
    """The table of a set of priors."""
    centre, sd, is_log, low, high = [], [], [], [], []
    for field in fields(priors):
        prior: Sourced = getattr(priors, field.name)
        log = prior.spread_is == "factor"
        centre.append(math.log(prior.value) if log else prior.value)
        sd.append(math.log(prior.spread) if log else prior.spread)
        is_log.append(log)
        least, most = LIMITS.get(field.name, (1e-9 if log else -np.inf, np.inf))
        low.append(least)
        high.append(most)
    return PriorTable(np.array(centre), np.array(sd), np.array(is_log), np.array(low), np.array(high))
