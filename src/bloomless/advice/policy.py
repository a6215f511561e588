"""The heuristic under which each member is continued in a rollout: seed, warm, wait, sieve, thin, stop.

It stands for a sensible cook who sees what the member is; the planner compares first steps by how this cook fares after
them. Decisions fall each ``EPOCH_S``. The margins inside the limits of "in temper" keep a lane from counting as done
when it only touches a limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from bloomless.advice.orders import COOLED, HEATED
from bloomless.numerics.compiled import inlined

__all__ = ["AIM", "COOL", "DONE", "EPOCH_S", "SEED", "SIEVE", "THIN", "WAIT", "WARM", "Aim", "decide"]

Array = npt.NDArray[np.float64]

EPOCH_S: Final = 15.0

DIP_K: Final = 3.5
"""Without seed a bowl is cooled so far below its window that crystals come."""

WAIT: Final = 0
DONE: Final = 1
SEED: Final = 2
COOL: Final = 3
WARM: Final = 4
SIEVE: Final = 5
THIN: Final = 6

LOW, HIGH, LEAST_V, MOST_V, MOST_P, U_SHARE, LIVE, HAS_SEED, HAS_WARM, HAS_COOL, HAS_MELT, LATENT, SEED_C, SIZE_M = (
    range(14)
)
HAS_SIEVE: Final = 14
SEED_BELOW: Final = 15
SEED_MOST: Final = 16
AIM: Final = 17


@dataclass(frozen=True, slots=True)
class Aim:
    """Where a lane is to end, and what is at hand; °C, shares of the fat and of the bowl."""

    window_C: tuple[float, float]
    form_v: tuple[float, float]
    pieces_most: float
    unstable_of_form_v: float
    live_C: float
    """Above it seed does not live."""
    seed_kg: float
    """Seed still at hand."""
    means: frozenset[str]
    latent_K: float
    """How far one share of seed cools the bowl by melting, K."""
    seed_C: float
    """How warm seed goes in."""
    size_m: float
    """Of its pieces."""
    seed_above_K: float = 4.5
    """Seed goes in up to so far above where it lives: the first of it dies cooling the melt."""
    seed_most: float = 0.3
    """Largest portion, share of the bowl."""

    def packed(self) -> Array:
        """As the vector the compiled rule reads; with margins inside the limits."""
        aim = np.zeros(AIM)
        aim[LOW], aim[HIGH] = self.window_C
        aim[LEAST_V], aim[MOST_V] = 1.35 * self.form_v[0], 0.85 * self.form_v[1]
        aim[MOST_P] = 0.75 * self.pieces_most
        aim[U_SHARE] = 0.8 * self.unstable_of_form_v
        aim[LIVE] = self.live_C
        aim[HAS_SEED] = float(bool(self.means & {"seed", "cocoa_butter_crystals"}))
        aim[SEED_BELOW], aim[SEED_MOST] = self.live_C + self.seed_above_K, self.seed_most
        aim[HAS_WARM] = float(bool(self.means & HEATED))
        aim[HAS_COOL] = float(bool(self.means & COOLED))
        aim[HAS_SIEVE] = float(bool(self.means))
        aim[HAS_MELT] = float("melt" in self.means)
        aim[LATENT], aim[SEED_C], aim[SIZE_M] = self.latent_K, self.seed_C, self.size_m
        return aim


@inlined
def decide(t: float, v: float, u: float, p: float, batch_kg: float, seed_kg: float, aim: Array) -> tuple[int, float]:
    """What the cook of the rollouts does now.

    Parameters
    ----------
    t
        Temperature of the mixed bowl [°C].
    v, u, p
        Form V and unstable forms [share of fat], pieces [share of the bowl].
    batch_kg, seed_kg
        Bowl, and seed still at hand [kg].
    aim
        ``Aim.packed()``.

    Returns
    -------
    tuple
        Code, and an amount: seed [kg], a bath [K to gain or lose], melt [share of the bowl].
    """
    low, high = aim[LOW], aim[HIGH]
    centre = low + 0.55 * (high - low)
    enough = v >= aim[LEAST_V]
    calm = u <= aim[U_SHARE] * v
    clear = p <= aim[MOST_P]
    can_seed = aim[HAS_SEED] > 0.0 and seed_kg >= 0.005
    warm, cool = aim[HAS_WARM] > 0.0, aim[HAS_COOL] > 0.0
    code, amount = WAIT, 0.0
    if enough and v <= aim[MOST_V] and calm and clear and low + 0.2 <= t <= high - 0.2:
        code = DONE
    elif not enough:
        if p > 0.015:
            # Pieces are there and give off crystals: keep the bowl where they do.
            if t < low + 1.0 and warm:
                code, amount = WARM, centre + 0.5 - t
        elif t > aim[LIVE] + 3.5 and cool:
            code, amount = COOL, t - (aim[LIVE] + 2.0)
        elif can_seed and t < low and warm:
            code, amount = WARM, centre + 0.5 - t
        elif can_seed and t < aim[SEED_BELOW]:
            # Land a little above the middle of the window once the seed has melted.
            share = max((t - (high - 0.9)) / (aim[LATENT] + t - aim[SEED_C]), 0.04)
            code, amount = SEED, min(min(share, aim[SEED_MOST]) * batch_kg, seed_kg)
        elif not can_seed and cool and t > low - DIP_K and v + u < aim[LEAST_V]:
            # Without seed the crystals have to come of themselves: cold first, then warm what is unstable away.
            code, amount = COOL, t - (low - DIP_K - 0.7)
        elif not can_seed and t < low + 0.5 and v + u >= 2.0 * aim[LEAST_V] and warm:
            code, amount = WARM, centre - t
    elif not clear:
        if t < high - 0.7 and warm and (p < 0.12 or p > 0.15 or v < 0.025):
            code, amount = WARM, high - 0.25 - t
        elif aim[HAS_SIEVE] > 0.0 and (v > 0.7 * aim[MOST_V] or t < centre) and p < 0.15:
            code = SIEVE
    elif v > aim[MOST_V]:
        if aim[HAS_MELT] > 0.0:
            code, amount = THIN, 0.15
        elif warm and t < high + 0.3:
            code, amount = WARM, high + 0.8 - t
    elif warm and ((not calm and t < high - 0.5) or t < low + 0.2):
        code, amount = WARM, centre + 0.6 - t
    elif t > high + 1.0 and cool:
        code, amount = COOL, t - centre
    return code, amount
