"""What moves the cost: a price rise of one thing, and which line weighs most."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from bloomless.costing.cost import BatchCost, decimal_of
from bloomless.errors import ImpossibleInput
from bloomless.materials.ingredients import Ingredient
from bloomless.quantities import Money
from bloomless.recipes.compose import Pantry

__all__ = ["PriceRise", "cocoa_butter_share_of_price", "price_rise", "what_weighs"]


@dataclass(frozen=True, slots=True)
class PriceRise:
    """What a price rise does to a batch."""

    what: str
    rise_share: float
    before: Money
    after: Money
    cost_rise_share: float
    """Rise of the whole cost: the share of what got dearer, times its rise."""


def cocoa_butter_share_of_price(ingredient: Ingredient) -> float:
    """Share of an ingredient's price that moves with cocoa butter: its share of the mass [assumed]."""
    if ingredient.key == "cocoa_butter":
        return 1.0
    cocoa = ingredient.group.startswith("chocolate_") or ingredient.group in ("cocoa", "colour", "composite")
    return ingredient.composition.cocoa_butter_g / 100.0 if cocoa else 0.0


def price_rise(
    cost: BatchCost, pantry: Pantry, rise_share: float, *, of: Collection[str] = (), cocoa_butter: bool = False
) -> PriceRise:
    """What it does to the cost when ingredients get dearer.

    Parameters
    ----------
    rise_share
        0.3 for 30 % more, −0.1 for 10 % less.
    of
        Keys of the ingredients.
    cocoa_butter
        True: cocoa butter, and what holds it in proportion.
    """
    if not -1.0 <= rise_share <= 10.0:
        raise ImpossibleInput("rise_share", rise_share, "a share from −1 to 10")
    moved = cost.total * decimal_of(0.0)
    for line in cost.lines:
        if line.kind != "ingredient":
            continue
        ingredient = pantry.ingredients[line.key]
        part = cocoa_butter_share_of_price(ingredient) if cocoa_butter else float(line.key in of)
        moved += line.cost * decimal_of(part * rise_share)
    what = "cocoa butter" if cocoa_butter else ", ".join(sorted(of))
    after = cost.total + moved
    share = float(moved.amount / cost.total.amount) if cost.total.amount else 0.0
    return PriceRise(what, rise_share, cost.total, after, share)


def what_weighs(cost: BatchCost, change_share: float = 0.2) -> tuple[tuple[str, float], ...]:
    """Every line with the share by which the whole cost changes if it alone changes so much, largest first."""
    return tuple((line.name, line.share * change_share) for line in cost.lines)
