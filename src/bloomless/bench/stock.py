"""The stock as documents of the book: one a kind of goods, with every lot that came; received, counted, used."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from bloomless.bench.ports import Book, Entry
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.lots import Drawn, Lot, draw, left_g
from bloomless.materials.ingredients import Price
from bloomless.quantities import Money, money

__all__ = ["count_lot", "draw_from_stock", "every_lot", "lots_of", "prices_in_stock", "receive", "stock_of"]

KIND = "stock"


def _lot(values: Mapping[str, Any]) -> Lot:
    cost = values.get("cost")
    return Lot(**{**values, "cost": None if cost is None else money(cost["amount"], cost["currency"])})


def _values(lot: Lot) -> dict[str, Any]:
    plain: dict[str, Any] = {"code": lot.code, "on": lot.on, "pack_g": lot.pack_g, "left_g": lot.left_g}
    if lot.cost is not None:
        plain["cost"] = {"amount": f"{lot.cost.amount:f}", "currency": lot.cost.currency}
    more = {"supplier": lot.supplier, "best_before": lot.best_before}
    plain |= {name: text for name, text in more.items() if text}
    return plain if lot.usable_share == 1.0 else {**plain, "usable_share": lot.usable_share}


def _lots(document: Mapping[str, Any]) -> tuple[Lot, ...]:
    return tuple(_lot(values) for values in document["lots"])


def every_lot(book: Book) -> dict[str, tuple[Lot, ...]]:
    """Every lot that is in the book, by ingredient."""
    return {entry.key: _lots(entry.document) for entry in book.latest(KIND)}


def lots_of(book: Book, key: str) -> tuple[Lot, ...]:
    """Lots of one ingredient; none if none ever came."""
    try:
        entry = book.get(KIND, key)
    except UnknownName:
        return ()
    return () if entry.withdrawn else _lots(entry.document)


def stock_of(book: Book) -> dict[str, float]:
    """Mass [g] that is there, by ingredient."""
    return {key: left_g(lots) for key, lots in every_lot(book).items()}


def prices_in_stock(book: Book) -> dict[str, list[Price]]:
    """What the lots cost, by ingredient: the history of prices, used up ones included."""
    return {key: [p for lot in lots if (p := lot.price) is not None] for key, lots in every_lot(book).items()}


def _write(book: Book, key: str, lots: tuple[Lot, ...], at: datetime) -> Entry:
    return book.put(KIND, key, {"lots": [_values(lot) for lot in lots]}, at=at)


def receive(book: Book, key: str, lot: Lot, *, at: datetime) -> Entry:
    """Put a lot on the shelf; its code must be new for this ingredient."""
    known = lots_of(book, key)
    if any(one.code == lot.code for one in known):
        raise ImpossibleInput("code", lot.code, "a code that no lot of this ingredient has yet", code="taken")
    return _write(book, key, (*known, lot), at)


def count_lot(book: Book, key: str, code: str, left_now_g: float, *, at: datetime) -> Entry:
    """Write down what is really left of a lot, after counting."""
    known = lots_of(book, key)
    if code not in {lot.code for lot in known}:
        raise UnknownName("lot", code, [lot.code for lot in known])
    counted = tuple(replace(lot, left_g=left_now_g) if lot.code == code else lot for lot in known)
    return _write(book, key, counted, at)


def draw_from_stock(book: Book, needed_g: Mapping[str, float], *, at: datetime) -> dict[str, Drawn]:
    """Take what a batch used out of the stock, the shortest dates first; goods without a stock are passed over."""
    found = {}
    for key, mass_g in needed_g.items():
        lots = lots_of(book, key)
        if lots and mass_g > 0.0:
            found[key] = draw(lots, mass_g)
            _write(book, key, found[key].lots, at)
    return found


def cost_of(amount: str, currency: str) -> Money:
    """A cost as it was typed, comma or point."""
    return money(amount.strip().replace(",", "."), currency)
