"""Prices: margin and mark-up kept apart, channels with their fees, break-even, what an hour earns.

``margin = (price − cost)/price``; ``markup = (price − cost)/cost``; ``margin = markup/(1 + markup)``.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from bloomless.costing.cost import BatchCost, decimal_of
from bloomless.errors import ImpossibleInput, Misuse
from bloomless.quantities import Money

__all__ = [
    "USUAL_CHANNELS",
    "Channel",
    "ChannelPrice",
    "break_even_batch_pieces",
    "earned_per_hour",
    "margin_of",
]


@dataclass(frozen=True, slots=True)
class Channel:
    """One way of selling, with what it takes."""

    name: str
    margin: Decimal
    """Of the net price, to be left after cost and fee."""
    fee_share: Decimal = Decimal(0)
    """What market, shop or platform keeps of the net price."""
    tax_share: Decimal = Decimal(0)
    """Sales tax on top of the net price."""

    def __post_init__(self) -> None:
        if not (self.fee_share >= 0 and self.margin >= 0 and self.margin + self.fee_share < 1):
            raise ImpossibleInput("fee_share", str(self.fee_share), "a share that leaves something beside the margin")
        if not 0 <= self.tax_share < 1:
            raise ImpossibleInput("tax_share", str(self.tax_share), "a share from 0 to below 1")

    @property
    def markup(self) -> Decimal:
        """What comes in on top of cost and fee, as a share of the cost: ``m/(1 − m − f)``."""
        return self.margin / (1 - self.margin - self.fee_share)

    def price(self, cost: Money) -> ChannelPrice:
        """Price of something that costs so much: ``p = c/(1 − m − f)``; the shelf price is ``p·(1 + t)``."""
        net = cost / (1 - self.margin - self.fee_share)
        return ChannelPrice(self.name, net, net * (1 + self.tax_share), net * self.fee_share, self.margin, self.markup)


def margin_of(markup: Decimal, fee_share: Decimal = Decimal(0)) -> Decimal:
    """The margin that is left of the net price where the cost is marked up so: ``m = (1 − f)·u/(1 + u)``.

    ``Channel.markup`` turned round: what comes in after the fee is ``c·(1 + u)``, so ``p = c·(1 + u)/(1 − f)``.
    """
    if markup < 0:
        raise ImpossibleInput("markup", str(markup), "a share of the cost of at least 0")
    return (1 - fee_share) * markup / (1 + markup)


@dataclass(frozen=True, slots=True)
class ChannelPrice:
    """Price of one unit in one channel."""

    channel: str
    net: Money
    """What comes in before tax and before the channel's fee."""
    shelf: Money
    """What the buyer pays, sales tax included."""
    fee: Money
    """What market, shop or platform keeps."""
    margin: Decimal
    """Of the net price, the fee taken off."""
    markup: Decimal
    """What comes in on top of cost and fee, as a share of the cost."""


USUAL_CHANNELS: Final = (
    Channel("Sold by yourself", Decimal("0.65")),
    Channel("To shops", Decimal("0.45")),
    Channel("At a market that keeps 20 %", Decimal("0.50"), Decimal("0.20")),
)
"""Until the workshop enters its own; the margins are usual ones [trade practice, no source]."""


def break_even_batch_pieces(cost: BatchCost, price: Money) -> Decimal:
    """Pieces of this batch that must be sold until its whole cost is back."""
    if cost.good_pieces is None:
        raise Misuse("A recipe that makes a mass has no pieces to break even with.")
    if price.amount <= 0:
        raise ImpossibleInput("price", str(price), "a price above 0")
    return cost.total.amount / price.amount


def earned_per_hour(cost: BatchCost, price: Money) -> Money:
    """What an hour of hands earns: ``(price − variable)·pieces/hour``, labour and overhead not counted as variable.

    The better ranking of products where hands are what is short.
    """
    if cost.good_pieces is None or cost.hands_min <= 0:
        raise Misuse("This needs a recipe with pieces, and steps with minutes of hands.")
    variable = cost.of("ingredient") + cost.of("packaging") + cost.of("energy")
    brought = price * decimal_of(cost.good_pieces) - variable
    return brought / decimal_of(cost.hands_min / 60.0)
