"""What the parts of a piece do to each other in time: oil into the shell, water into what is crisp; and what grains."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from bloomless.physics.bloom import Climate, oil_bloom_risk
from bloomless.recipes.balance import Balance
from bloomless.recipes.compose import Composed
from bloomless.recipes.keeping import Limit
from bloomless.recipes.moisture import MoistPart, hours_until
from bloomless.recipes.sorption import MOST_AW, isotherms
from bloomless.recipes.water_activity import WaterActivity
from bloomless.sources import Grade, Sourced

__all__ = ["graining_limit", "limits_between"]

OILY_g: Final = Sourced(8.0, "g/100 g", 3.0, "assumed", Grade.ASSUMED, note="liquid oil from which a filling gives off")
USUAL_SHELL_MM: Final = 1.5
CRISP_AW: Final = Sourced(0.25, "1", 0.05, "common_practice", Grade.TRADE_PRACTICE, note="fresh crisp goods 0.2-0.3")
_GRAINING: Final = ((0.30, 90.0, 240.0), (0.20, 30.0, 120.0), (0.0, 7.0, 45.0))
"""Least share of syrup and invert in the sugars → days; the shares are trade practice, the days are assumed."""


def graining_limit(figures: Balance, *, cooked: bool) -> Limit | None:
    """How long cooked sugar beyond saturation may stay smooth; None where nothing is to grain.

    Glucose syrup of 25–35 % of the sugars holds a soft caramel smooth [trade practice]; the days are a guess.
    """
    over = figures.sucrose_saturation
    if not cooked or over is None or over <= 1.0 or figures.sweet_g <= 0.0:
        return None
    sugars = figures.sugars_g
    doctor = sum(g for key, g in sugars.items() if key.startswith("syrup_") or key in ("glucose", "fructose"))
    share = doctor / figures.sweet_g
    _, least_d, most_d = next(row for row in _GRAINING if share >= row[0])
    why = f"{over:.1f} times the sucrose its water can hold, {100 * share:.0f} % of the sugars hinder crystals"
    return Limit("graining", least_d, most_d, why, "assumed")


def limits_between(
    parts: Sequence[tuple[str, Composed, WaterActivity]], *, pieces: float, shell_mm: float = USUAL_SHELL_MM
) -> tuple[Limit, ...]:
    """Limits that come from parts touching each other.

    Parameters
    ----------
    parts
        Part of the piece, what it is made of, its water activity.
    pieces
        How many pieces these are together.
    shell_mm
        Thinnest wall of the shell.
    """
    found = []
    fillings = [(made, aw) for name, made, aw in parts if name == "filling"]
    wet_ones = [one for one in fillings if one[1].basis != "sorption only"]
    if any(name in ("shell", "cap") for name, _, _ in parts):
        oily = [made for made, _ in fillings if made.per_100g.liquid_oil_g > OILY_g.value]
        if oily:
            risk = oil_bloom_risk(shell_mm, Climate())
            low, _, high = risk.days
            found.append(Limit("bloom by oil from the filling", low, high, risk.reason, "assumed", _oiliest(oily)))
    moist = max(wet_ones, key=lambda one: one[1].high, default=None)
    for _, made, _ in parts:
        crisp = next((leaf.ingredient.key for leaf in made.leaves if leaf.ingredient.crisp), None)
        if moist is None or crisp is None or made is moist[0]:
            continue
        wet = MoistPart(_dry_g(moist[0], pieces), isotherms()["dried_fruit"], min(moist[1].high, MOST_AW))
        low_h, high_h = hours_until(wet, MoistPart(_dry_g(made, pieces), isotherms()["cereal"], CRISP_AW.value))
        if math.isfinite(high_h):
            why = "water goes over from the moist part where they touch without a coat of fat"
            found.append(Limit("loss of crunch", low_h / 24.0, high_h / 24.0, why, "assumed", crisp))
    return tuple(found)


def _oiliest(made: Sequence[Composed]) -> str:
    whole = max(made, key=lambda one: one.per_100g.liquid_oil_g)
    leaf = max(whole.leaves, key=lambda leaf: leaf.mass_g * leaf.ingredient.composition.liquid_oil_g)
    return leaf.ingredient.key


def _dry_g(made: Composed, pieces: float) -> float:
    return made.mass_g * made.per_100g.dry_matter_g / 100.0 / pieces
