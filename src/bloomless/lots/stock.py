"""Goods in stock, lot by lot: what was received, what is left, and which lot goes first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from bloomless.errors import ImpossibleInput
from bloomless.materials.ingredients import Price
from bloomless.quantities import Money

__all__ = ["Drawn", "Lot", "draw", "left_g", "oldest_first"]

_NO_DATE: Final = "9999-12-31"


def _day(field: str, text: str) -> None:
    try:
        date.fromisoformat(text)
    except ValueError:
        raise ImpossibleInput(field, text, "a day such as 2026-03-31") from None


@dataclass(frozen=True, slots=True)
class Lot:
    """One delivery of one ingredient."""

    code: str
    """As the supplier or the shop calls it; unique for one ingredient."""
    on: str
    """Day it came, ISO 8601."""
    pack_g: float
    """What came."""
    left_g: float
    """What is still there."""
    cost: Money | None = None
    """Of what came, without recoverable tax; None if nobody wrote it down."""
    supplier: str = ""
    best_before: str = ""
    """ISO 8601; empty if the goods carry none."""
    usable_share: float = 1.0
    """Share of it that can be used; what is peeled off or stays in the bag is paid for too."""

    def __post_init__(self) -> None:
        if not self.code.strip():
            raise ImpossibleInput("code", self.code, "a code for the lot")
        _day("on", self.on)
        if self.best_before:
            _day("best_before", self.best_before)
        if not 0.0 < self.pack_g < 1e9:
            raise ImpossibleInput("pack_g", self.pack_g, "a mass above 0 g")
        if not 0.0 <= self.left_g < 1e9:
            raise ImpossibleInput("left_g", self.left_g, "a mass of 0 g or more")
        if self.cost is not None and self.cost.amount < 0:
            raise ImpossibleInput("cost", str(self.cost), "a cost of 0 or more")
        if not 0.0 < self.usable_share <= 1.0:
            raise ImpossibleInput("usable_share", self.usable_share, "a share above 0 and at most 1")

    @property
    def price(self) -> Price | None:
        """What it cost, as the ingredient's history of prices keeps it."""
        if self.cost is None:
            return None
        return Price(self.on, self.pack_g, self.cost, self.supplier, self.code, self.usable_share, self.left_g)


@dataclass(frozen=True, slots=True)
class Drawn:
    """What taking from the stock leaves, and from which lots it came."""

    lots: tuple[Lot, ...]
    taken: tuple[tuple[str, float], ...]
    """Code and mass [g] of every lot that was touched, in the order of use."""
    missing_g: float
    """What no lot could give."""


def left_g(lots: Sequence[Lot]) -> float:
    """Mass [g] that is there."""
    return sum(lot.left_g for lot in lots)


def oldest_first(lots: Sequence[Lot]) -> tuple[Lot, ...]:
    """Lots in the order of use: the shortest date first, then the first that came."""
    return tuple(sorted(lots, key=lambda lot: (lot.best_before or _NO_DATE, lot.on, lot.code)))


def draw(lots: Sequence[Lot], mass_g: float) -> Drawn:
    """Take a mass [g] out of the stock, the shortest date first.

    A stock that is smaller than what was used was counted wrongly: it ends at nothing, and what is missing is told.
    """
    if not mass_g >= 0.0:
        raise ImpossibleInput("mass_g", mass_g, "a mass of 0 g or more")
    wanted_g, after, taken = mass_g, {lot.code: lot for lot in lots}, []
    for lot in oldest_first(lots):
        from_here_g = min(lot.left_g, wanted_g)
        if from_here_g > 0.0:
            after[lot.code] = replace(lot, left_g=lot.left_g - from_here_g)
            taken.append((lot.code, from_here_g))
            wanted_g -= from_here_g
    return Drawn(tuple(after.values()), tuple(taken), max(0.0, wanted_g))
