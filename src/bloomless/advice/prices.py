"""What things cost, in minutes: the planner adds them up and asks for the cheapest step.

A price is a judgement, not physics: a batch that is used and is not in temper costs the remelt and the tray (job map,
section 1: 35 to 60 minutes and 5 to 8 % of the couverture), so a chance of 0.95 is worth three minutes of trying on.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["PRICES", "Prices"]


@dataclass(frozen=True, slots=True)
class Prices:
    """Minutes a thing is worth; frozen so that a study can put another set in its place."""

    failed: float = 90.0
    """A batch used that is not in temper."""
    never: float = 40.0
    """A rollout that does not come into temper within the horizon, on top of the horizon."""
    act: float = 1.0
    """One thing asked of the cook."""
    later_act: float = 2.0
    """One more act in a rollout: the cook there sees what is needed, a real one has to find out first."""
    sieve: float = 2.5
    """Sieving: work, a warm sieve, and what sticks to it."""
    sieved_per_pct: float = 0.3
    """Lumps taken out, for each per cent of the bowl."""
    seed_per_pct: float = 0.12
    """Seed, for each per cent of the melt."""
    look: float = 0.35
    smear: float = 4.0
    """A smear: the minutes until it speaks, less what is waited for anyway, and the act."""
    check: float = 3.5
    settle: float = 3.0
    """What every way but use-it has still to pay at its end: a last look, and what it may have overlooked."""
    melt_again: float = 55.0
    clear: float = 32.0
    """Warming just past where crystals live and seeding again."""


PRICES = Prices()
