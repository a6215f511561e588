"""One who sees the crystals and tries each next step on a copy of the bowl: what knowing everything would be worth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bloomless.kitchens.hands import Hands
from bloomless.kitchens.rules import LIMIT_s, Outcome, outcome
from bloomless.kitchens.world import World

__all__ = ["full_knowledge"]

SEED_SHARES = (0.03, 0.06, 0.1, 0.15, 0.2, 0.26)
SEED_MOST = 0.6


@dataclass(frozen=True, slots=True)
class _Step:
    """A step one could take: what it costs in seconds of effort, how it is tried on a copy, how hands do it."""

    price_s: float
    attempt: Callable[[World], object]
    act: Callable[[Hands], object]


def full_knowledge(hands: Hands) -> Outcome:
    """Take the step after which the bowl is soonest in temper, until it is and will be in twenty seconds too."""
    world = hands.world
    hands.begin()
    hands.stir("steady")
    hands.wait(5.0)
    while world.now_s < LIMIT_s:
        if world.truth().in_temper and _lasts(world):
            return outcome(hands, used=True)
        best = min(_steps(hands), key=lambda step: step.price_s + _seconds_to_temper(world, step))
        best.act(hands)
        hands.wait(20.0)
    return outcome(hands, used=False)


def _lasts(world: World) -> bool:
    return world.after_stirring(20.0).in_temper


def _seed(kg: float, size_mm: float, price_s: float) -> _Step:
    return _Step(price_s, lambda world: world.seed(kg, size_mm), lambda hands: hands.seed(kg * 1000.0))


def _bath(what: str, bath_C: float, seconds: float) -> _Step:
    return _Step(55.0, lambda world: world.bath(bath_C, seconds), lambda hands: hands.bath(what, bath_C, seconds))


def _steps(hands: Hands) -> list[_Step]:
    """Each next step that the means at hand allow."""
    world, means = hands.world, hands.world.kitchen.means
    mass_kg, second = world.mass_kg, world.kitchen.second_vessel
    steps = [_Step(0.0, lambda _: None, lambda _: None)]
    if hands.seeded_g < 1000.0 * SEED_MOST * world.kitchen.mass_kg:
        steps += [
            _seed(max(0.005, round(share * mass_kg * 200.0) / 200.0), world.kitchen.seed_size_mm, 40.0 + 600.0 * share)
            for share in SEED_SHARES
        ]
    if "cool_bath" in means:
        steps.append(_bath("cool_bath", 18.0, 40.0))
    if "warm_bath" in means:
        steps += [_bath("warm_bath", 45.0, seconds) for seconds in (20.0, 45.0)]
    if "hot_air" in means:
        steps.append(
            _Step(50.0, lambda world: world.hot_air(1500.0, 20.0), lambda hands: hands.burst("hot_air", 1500.0, 20.0))
        )
    if "melt" in means:
        steps.append(
            _Step(50.0, lambda world: world.melt(0.1 * mass_kg, 42.0), lambda hands: hands.melt(100.0 * mass_kg, 42.0))
        )
    if hands.clock_s is None:
        steps.append(_Step(30.0, lambda world: world.pour(second), lambda hands: hands.pour()))
    return steps


def _seconds_to_temper(world: World, step: _Step) -> float:
    """Seconds until the copy is in temper; where it never is in twenty minutes, a penalty that leads towards it."""
    copy = world.trial()
    step.attempt(copy)
    for passed in range(20, 1200, 20):
        copy.pass_time(20.0)
        now = copy.truth()
        if now.in_temper:
            return float(passed)
    low, high = world.kitchen.window_C
    miss_K = max(0.0, now.temperature_C - high, low - now.temperature_C)
    few, many = max(0.0, 0.4 - now.form_v_pct_of_fat), max(0.0, now.form_v_pct_of_fat - 6.0)
    return 1500.0 + 120.0 * miss_K + 300.0 * few + 20.0 * many
