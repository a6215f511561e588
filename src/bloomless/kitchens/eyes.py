"""What a cook sees: lumps, thickness, draining, streaks, and the smear that sets or does not."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from numpy.random import Generator

from bloomless.kitchens.bowl import Bowl, stiffness, truth
from bloomless.kitchens.kitchen import Kitchen

__all__ = ["Smeared", "dip", "glance"]

# Lumps by their share of the bowl, as cooks name them [assumed]: under 1 % none, to 5 % few.
LUMPS = ((0.01, "none"), (0.05, "few"), (math.inf, "many"))
THICKNESS = ((0.55, "thin"), (1.75, "flowing"), (2.7, "thick"), (math.inf, "paste"))
DRAIN = ((0.95, "quick"), (1.9, "good"), (math.inf, "slow"))
# Minutes that a good film needs beyond its cooling; milk and white slower (crystal-physics sheet 7, common practice).
SLOWER_min = {"dark": 0.0, "milk": 1.3, "white": 2.2, "cocoa_butter": -0.5}
SURFACE_min = {"paper": 4.2, "plastic": 4.0, "glass": 3.4, "stone": 3.0, "steel": 2.8}
MISTAKE = 0.04
"""Share of looks and smears that are simply wrong by one step [assumed]."""


def _word(scale: tuple[tuple[float, str], ...], value: float, slip: int) -> str:
    place = next(i for i, (limit, _) in enumerate(scale) if value < limit)
    return scale[min(max(place + slip, 0), len(scale) - 1)][1]


def _slip(chance: Generator) -> int:
    return 0 if chance.random() >= MISTAKE else (1 if chance.random() < 0.5 else -1)


def glance(bowl: Bowl, kitchen: Kitchen, chance: Generator) -> dict[str, Any]:
    """The fields of a `look`: each with this cook's own bias and scatter, now and then simply wrong."""
    now, cook = truth(bowl, kitchen), kitchen.cook
    share = now.seed_left_g / now.batch_g * cook.eye_factor * math.exp(chance.normal(0.0, cook.eye_scatter))
    stiff = stiffness(bowl, kitchen) + cook.flow_shift
    unstable = now.unstable_pct_of_fat > 0.5 * max(now.form_v_pct_of_fat, 0.4)
    seen: dict[str, Any] = {"lumps": _word(LUMPS, share, _slip(chance))}
    seen["thickness"] = _word(THICKNESS, stiff + chance.normal(0.0, 0.2), _slip(chance))
    if chance.random() < 0.7:
        seen["drain"] = _word(DRAIN, stiff + chance.normal(0.0, 0.25), _slip(chance))
    if chance.random() < 0.5:
        seen["streaks"] = bool(chance.random() < (0.4 if unstable else 0.03))
    return seen


@dataclass(frozen=True, slots=True)
class Smeared:
    """A film on a knife or paper: dipped at a time, and how it will turn out if one waits."""

    taken_at_s: float
    surface: str
    sets_after_s: float
    finish: str


def dip(bowl: Bowl, kitchen: Kitchen, chance: Generator, now_s: float, surface: str) -> Smeared:
    """Take a smear: heat sets the pace where there are crystals, their scarcity where there are few."""
    now = truth(bowl, kitchen)
    v, u = now.form_v_pct_of_fat, now.unstable_pct_of_fat
    room = max(0.4, 1.0 + 0.11 * (kitchen.room_C - 20.0))
    few = 2.2 * math.log1p((0.35 / max(v, 0.005)) ** 1.3) + 0.6 * min(u / max(v, 0.05), 4.0)
    hot = 0.35 * max(0.0, now.temperature_C - kitchen.window_C[1])
    minutes = (SURFACE_min[surface] + SLOWER_min[kitchen.kind]) * room + (few + hot) * room
    minutes *= math.exp(chance.normal(0.0, 0.15))
    grade = 2 - (v < 0.33) - (v < 0.12) - (u > 0.4 * v) - (now.seed_left_g > 0.12 * now.batch_g)
    finish = ("dull", "streaked", "glossy")[min(max(grade + _slip(chance), 0), 2)]
    return Smeared(now_s, surface, 60.0 * minutes, finish)
