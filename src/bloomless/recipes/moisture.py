"""Water that moves between two parts of a piece: where it ends, and how long a crisp part stays crisp."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from scipy.optimize import brentq

from bloomless.errors import ImpossibleInput
from bloomless.recipes.sorption import MOST_AW, Isotherm
from bloomless.sources import Grade, Sourced

__all__ = ["CRISP_LIMIT_AW", "MoistPart", "equilibrium_aw", "hours_until"]

CRISP_LIMIT_AW: Final = Sourced(
    0.45, "1", 0.03, "common_practice", Grade.FROM_MEMORY, note="crunch is lost at 0.45–0.5"
)
TRANSFER_g_h: Final = Sourced(
    0.02, "g/h", 3.0, "assumed", Grade.ASSUMED, spread_is="factor", note="per 10 cm² of touching face and unit of aw"
)


@dataclass(frozen=True, slots=True)
class MoistPart:
    """One part that takes up water: its dry mass and its isotherm."""

    dry_g: float
    isotherm: Isotherm
    water_activity: float

    def __post_init__(self) -> None:
        if not self.dry_g > 0.0:
            raise ImpossibleInput("dry_g", self.dry_g, "a dry mass above 0 g")
        if not 0.0 < self.water_activity <= MOST_AW:
            raise ImpossibleInput("water_activity", self.water_activity, f"a number above 0 and at most {MOST_AW}")

    def water_g(self, water_activity: float) -> float:
        """Water held at a water activity, g."""
        return self.dry_g * self.isotherm.moisture_pct(water_activity) / 100.0


def equilibrium_aw(first: MoistPart, second: MoistPart) -> float:
    """Water activity at which both parts end: solves Σ water = Σ dryᵢ·Mᵢ(aw)."""
    held_g = first.water_g(first.water_activity) + second.water_g(second.water_activity)
    low, high = sorted((first.water_activity, second.water_activity))
    if high - low < 1e-9:
        return low
    return float(brentq(lambda aw: first.water_g(aw) + second.water_g(aw) - held_g, low, high, xtol=1e-9))


def hours_until(
    moist: MoistPart,
    crisp: MoistPart,
    *,
    limit_aw: float = CRISP_LIMIT_AW.value,
    transfer_g_h: float = TRANSFER_g_h.value,
) -> tuple[float, float]:
    """Hours until the crisp part reaches ``limit_aw``: a range, as the transfer is known to a factor of three.

    ``dW/dt = k·(aw_moist − aw_crisp)``, integrated over the crisp part's isotherm while the moist one gives water off.

    Returns
    -------
    tuple
        Shortest and longest; infinite if the two never get there.
    """
    if crisp.water_activity >= limit_aw:
        return 0.0, 0.0
    if equilibrium_aw(moist, crisp) <= limit_aw:
        return math.inf, math.inf
    steps = 200
    start_g, end_g = crisp.water_g(crisp.water_activity), crisp.water_g(limit_aw)
    held_g = start_g + moist.water_g(moist.water_activity)
    hours, step_g = 0.0, (end_g - start_g) / steps
    for number in range(steps):
        water_g = start_g + (number + 0.5) * step_g
        aw_crisp = crisp.isotherm.water_activity(100.0 * water_g / crisp.dry_g)
        aw_moist = moist.isotherm.water_activity(100.0 * (held_g - water_g) / moist.dry_g)
        hours += step_g / (transfer_g_h * (aw_moist - aw_crisp))
    return hours / TRANSFER_g_h.spread, hours * TRANSFER_g_h.spread
