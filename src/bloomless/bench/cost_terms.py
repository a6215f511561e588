"""The workshop's terms of cost as documents of the book: wage, energy, roof, ways of selling, packaging."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from bloomless.bench.ports import Book, Entry
from bloomless.costing import Packaging, Terms
from bloomless.costing.price import USUAL_CHANNELS, Channel
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.quantities import Money, money

__all__ = [
    "DEFAULT_TERMS",
    "channels_of",
    "marked_up",
    "packaging_of",
    "save_packaging",
    "save_scale",
    "save_terms",
    "scale_of",
    "terms_of",
]

DEFAULT_TERMS: Final = Terms(money("18.00", "EUR"), overhead_per_hour=money("6.00", "EUR"))
"""Until the workshop enters its own."""
_SHARES: Final = ("on_cost_share", "overhead_share", "energy_kWh", "hands_exponent", "policy")
_SUMS: Final = ("overhead_per_hour", "energy_price")


def _document(book: Book, kind: str, key: str) -> Mapping[str, Any] | None:
    try:
        entry = book.get(kind, key)
    except UnknownName:
        return None
    return None if entry.withdrawn else entry.document


def terms_of(book: Book) -> Terms:
    """The workshop's terms of cost, or the default ones."""
    d = _document(book, "cost_terms", "workshop")
    if d is None:
        return DEFAULT_TERMS
    given: dict[str, Any] = {name: money(d[name], d["currency"]) for name in _SUMS if name in d}
    given |= {name: d[name] for name in _SHARES if name in d}
    return Terms(money(d["wage"], d["currency"]), **given)


def channels_of(book: Book) -> tuple[Channel, ...]:
    """The ways the workshop sells, or usual ones."""
    d = _document(book, "cost_terms", "workshop") or {}
    if "channels" not in d:
        return USUAL_CHANNELS
    return tuple(
        Channel(c["name"], Decimal(c["margin"]), Decimal(c.get("fee", "0")), Decimal(c.get("tax", "0")))
        for c in d["channels"]
    )


def marked_up(book: Book) -> frozenset[str]:
    """Names of the ways of selling whose price was said by a mark-up, not by a margin."""
    d = _document(book, "cost_terms", "workshop") or {}
    return frozenset(c["name"] for c in d.get("channels", ()) if c.get("by") == "mark_up")


def save_terms(
    book: Book, terms: Terms, channels: Sequence[Channel], *, at: datetime, by_markup: Collection[str] = ()
) -> Entry:
    """Write the workshop's terms and ways of selling; ``by_markup`` names those whose price was said by a mark-up."""
    document: dict[str, Any] = {"currency": terms.wage.currency, "wage": f"{terms.wage.amount:f}"}
    document |= {name: getattr(terms, name) for name in _SHARES}
    for name in _SUMS:
        value: Money | None = getattr(terms, name)
        if value is not None:
            if value.currency != terms.wage.currency:
                raise ImpossibleInput(name, str(value), f"a sum in {terms.wage.currency}, the currency of the wage")
            document[name] = f"{value.amount:f}"
    document["channels"] = [
        {"name": c.name, "margin": f"{c.margin:f}", "fee": f"{c.fee_share:f}", "tax": f"{c.tax_share:f}"}
        | ({"by": "mark_up"} if c.name in by_markup else {})
        for c in channels
    ]
    return book.put("cost_terms", "workshop", document, at=at)


def packaging_of(book: Book, recipe_key: str) -> tuple[Packaging, ...]:
    """What the book packs a recipe in."""
    d = _document(book, "packaging", recipe_key)
    if d is None:
        return ()
    return tuple(
        Packaging(
            p["name"], money(Decimal(p["cost"]), d["currency"]), p.get("per_piece", 1.0), p.get("spoil_share", 0.03)
        )
        for p in d["items"]
    )


def save_packaging(book: Book, recipe_key: str, items: Sequence[Packaging], *, at: datetime) -> Entry | None:
    """Write what a recipe is packed in; nothing takes it out of use."""
    if not items:
        known = _document(book, "packaging", recipe_key) is not None
        return book.withdraw("packaging", recipe_key, at=at) if known else None
    rows = [
        {"name": i.name, "cost": f"{i.cost.amount:f}", "per_piece": i.per_piece, "spoil_share": i.spoil_share}
        for i in items
    ]
    currency = items[0].cost.currency
    return book.put("packaging", recipe_key, {"currency": currency, "items": rows}, at=at)


def scale_of(book: Book) -> tuple[float, float | None]:
    """Steps [g] of the workshop's scale, and of a finer one for small amounts if there is one."""
    d = _document(book, "scale", "workshop")
    return (1.0, 0.1) if d is None else (d["step_g"], d.get("fine_step_g"))


def save_scale(book: Book, step_g: float, fine_step_g: float | None, *, at: datetime) -> Entry:
    """Write the steps of the workshop's scales."""
    if not 0.0 < step_g <= 1000.0:
        raise ImpossibleInput("step_g", step_g, "a step above 0 and up to 1000 g")
    if fine_step_g is not None and not 0.0 < fine_step_g <= step_g:
        raise ImpossibleInput("fine_step_g", fine_step_g, f"a step above 0 and up to {step_g:g} g")
    document = {"step_g": step_g} if fine_step_g is None else {"step_g": step_g, "fine_step_g": fine_step_g}
    return book.put("scale", "workshop", document, at=at)
