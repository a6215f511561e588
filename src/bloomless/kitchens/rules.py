"""Cooks who follow a rule, as it is taught and as a practised hand does it: the yardsticks of a study.

Each works in the same kitchens as the advised cook, with the same hands.
"""

from __future__ import annotations

from dataclasses import dataclass

from bloomless.kitchens.bowl import Truth
from bloomless.kitchens.hands import Hands

__all__ = ["LIMIT_s", "Outcome", "outcome", "practised_hand", "taught_rule"]

LIMIT_s = 3600.0
"""Who has not used the bowl within an hour has failed."""
# Working temperatures the trade teaches (crystal-physics sheet 3.2): what the thermometer should say.
TARGET_C = {"dark": 31.5, "milk": 30.0, "white": 29.0, "cocoa_butter": 31.5}
SEED_FROM_C = {"dark": 41.5, "milk": 39.5, "white": 38.5, "cocoa_butter": 40.0}


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a bowl ended."""

    used: bool
    in_temper: bool
    wrong: tuple[str, ...]
    minutes: float
    """From the first pour, seed or cold bath."""
    seed_share: float
    """Seed ÷ melt at the start."""
    actions: int
    truth: Truth

    @property
    def success(self) -> bool:
        """Used, and in temper when it was."""
        return self.used and self.in_temper


def outcome(hands: Hands, used: bool) -> Outcome:
    """Close the bowl: truth at this moment."""
    world, now = hands.world, hands.world.truth()
    hands.finish(used)
    began = hands.clock_s if hands.clock_s is not None else world.now_s
    return Outcome(
        used=used,
        in_temper=now.in_temper,
        wrong=now.wrong,
        minutes=(world.now_s - began) / 60.0,
        seed_share=hands.seeded_g / (1000.0 * world.kitchen.mass_kg),
        actions=hands.actions,
        truth=now,
    )


def _shown(hands: Hands, wait_s: float = 15.0) -> float:
    hands.wait(wait_s)
    hands.read()
    return hands.shown_C


def _pour_over(hands: Hands) -> float:
    """Into a room-cool bowl: the chocolate falls by some degrees at once."""
    _shown(hands, 5.0)
    hands.wait(hands.late())
    hands.pour()
    return _shown(hands, 20.0)


def taught_rule(hands: Hands) -> Outcome:
    """A fifth to a third of seed while it cools the melt, stir down, pour when the thermometer says so.

    Even a beginner stirs on while many lumps are to be seen, and fishes out the last.
    """
    world = hands.world
    target, melt_g = TARGET_C[world.kitchen.kind], float(world.kitchen.said["mass_g"])
    hands.begin()
    hands.stir("steady")
    shown = _pour_over(hands)
    while shown > SEED_FROM_C[world.kitchen.kind] and world.now_s < LIMIT_s:
        shown = _shown(hands)
    hands.seed(melt_g / 5.0)
    shown = _shown(hands, 50.0)
    while hands.seeded_g < melt_g / 3.0 - 1.0 and shown > target + 2.0:
        hands.seed(melt_g / 15.0)
        shown = _shown(hands, 45.0)
    while world.now_s < LIMIT_s:
        if shown <= target:
            lumps = hands.look()["lumps"]
            if lumps == "few" or (lumps == "many" and shown < target - 1.0):
                hands.sieve()
            if lumps != "many":
                return outcome(hands, used=True)
        shown = _shown(hands)
    return outcome(hands, used=False)


def practised_hand(hands: Hands) -> Outcome:
    """Adds in parts and looks between, warms lumps out, fishes out the last of them, and trusts the smear."""
    world, kitchen = hands.world, hands.world.kitchen
    melt_g, target = float(kitchen.said["mass_g"]), TARGET_C[kitchen.kind]
    hands.begin()
    hands.stir("steady")
    shown = _pour_over(hands)
    while shown > SEED_FROM_C[kitchen.kind] and world.now_s < LIMIT_s:
        if "cool_bath" in kitchen.means:
            hands.bath("cool_bath", 18.0, 20.0)
        shown = _shown(hands, 25.0)
    hands.seed(melt_g * 0.15)
    shown = _shown(hands, 45.0)
    warmings = 0
    while world.now_s < LIMIT_s:
        seen = hands.look()
        if shown > target + 1.0:
            wants_seed = seen["lumps"] == "none" or (seen["lumps"] == "few" and shown > target + 2.5)
            if wants_seed and seen["thickness"] == "thin" and hands.seeded_g < 0.45 * melt_g:
                hands.seed(melt_g * 0.07)
            shown = _shown(hands, 35.0)
        elif seen["lumps"] == "many" or shown < target - 1.5:
            warmings += 1
            if warmings > 3 and seen["lumps"] == "many":
                hands.sieve()
            shown = _warm(hands)
        elif seen["thickness"] == "paste" and "melt" in kitchen.means:
            hands.melt(100.0 * world.mass_kg, 40.0)
            shown = _shown(hands, 40.0)
        elif _smear_and_judge(hands):
            return outcome(hands, used=True)
        else:
            hands.seed(melt_g * 0.06)
            shown = _shown(hands, 60.0)
    return outcome(hands, used=False)


def _warm(hands: Hands) -> float:
    """A little warmth by what is at hand; else patience, or the sieve."""
    means = hands.means
    if "warm_bath" in means:
        hands.bath("warm_bath", 45.0, 30.0)
        return _shown(hands, 60.0)
    if "hot_air" in means:
        hands.burst("hot_air", 1500.0, 20.0)
        return _shown(hands, 50.0)
    if "microwave" in means:
        hands.burst("microwave", 700.0, 5.0 + 3.0 * hands.world.mass_kg)
        return _shown(hands, 40.0)
    if "melt" in means:
        hands.melt(70.0 * hands.world.mass_kg, 40.0)
        return _shown(hands, 40.0)
    hands.sieve()
    return _shown(hands, 30.0)


def _smear_and_judge(hands: Hands) -> bool:
    """Dip, keep stirring, and say whether the film set in good time and clean; the bowl is kept warm meanwhile."""
    hands.smear("steel")
    world, target = hands.world, TARGET_C[hands.world.kitchen.kind]
    begun = world.now_s
    while world.now_s - begun < 480.0:
        for line in hands.wait(15.0):
            if "set_after_s" in line:
                return bool(line["finish"] != "dull" and line["set_after_s"] <= 420.0)
        hands.read()
        if hands.shown_C < target - 1.2 and not world.busy and "warm_bath" in world.kitchen.means:
            hands.bath("warm_bath", 42.0, 20.0)
    return False
