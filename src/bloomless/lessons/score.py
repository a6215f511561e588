"""The score of a practice bowl: temper first, then minutes, seed and steps. Points of a game, not of physics."""

from __future__ import annotations

from dataclasses import dataclass

from bloomless.lessons.practice import Glimpse, PracticeBowl

__all__ = ["Score", "score"]

TEMPER_POINTS, MINUTES_POINTS, SEED_POINTS, STEPS_POINTS = 60, 15, 10, 15
MINUTES = (8.0, 30.0)
SEED_SHARE = (0.30, 0.50)
STEPS = (5.0, 14.0)
NEAR_POINTS = 25
"""For a bowl that misses one part of the definition only."""


@dataclass(frozen=True, slots=True)
class Score:
    """Points of a practice bowl, 100 at most, and what they rest on."""

    total: int
    temper: int
    minutes: int
    seed: int
    steps: int
    in_temper: bool
    used: bool
    wrong: tuple[str, ...]
    """Which parts of the definition failed."""
    minutes_taken: float
    seed_share: float
    steps_taken: int


def _falling(value: float, span: tuple[float, float], points: int) -> int:
    """All points up to the first number, none from the second on."""
    low, high = span
    return round(points * min(max((high - value) / (high - low), 0.0), 1.0))


def score(bowl: PracticeBowl) -> Score:
    """Score a finished bowl.

    Points for speed, seed and steps are earned only with a bowl in temper: a fast bad bowl is not half good.

    Raises
    ------
    Misuse
        Before the end.
    """
    last: Glimpse = bowl.truth()[-1]
    minutes = (last.at_s - (bowl.hands.clock_s or 0.0)) / 60.0
    share = bowl.hands.seeded_g / (1000.0 * bowl.kitchen.mass_kg)
    good = bowl.used and last.truth.in_temper
    near = bowl.used and len(last.truth.wrong) == 1
    temper = TEMPER_POINTS if good else NEAR_POINTS if near else 0
    rest = (
        _falling(minutes, MINUTES, MINUTES_POINTS),
        _falling(share, SEED_SHARE, SEED_POINTS),
        _falling(bowl.hands.actions, STEPS, STEPS_POINTS),
    )
    earned = rest if good else (0, 0, 0)
    return Score(
        total=temper + sum(earned),
        temper=temper,
        minutes=earned[0],
        seed=earned[1],
        steps=earned[2],
        in_temper=last.truth.in_temper,
        used=bowl.used,
        wrong=last.truth.wrong,
        minutes_taken=minutes,
        seed_share=share,
        steps_taken=bowl.hands.actions,
    )
