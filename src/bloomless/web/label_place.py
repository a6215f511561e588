"""Where and when a label is looked at: market, day of the law, what it is printed on; read from the query."""

from __future__ import annotations

from datetime import date
from typing import Final

from fastapi import Request

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules.common.markets import MARKETS

__all__ = ["day_of", "market_of", "markets", "stock_of"]

_STOCK_OF: Final = {"us": "letter_2x2"}
_DEFAULT_STOCK: Final = "a4_2x3"


def day_of(request: Request) -> date:
    """The day whose law is asked, today unless given."""
    given = request.query_params.get("day", "")
    try:
        return date.fromisoformat(given) if given else request.app.state.house.clock().date()
    except ValueError:
        raise ImpossibleInput("day", given, "a day such as 2026-11-25") from None


def market_of(request: Request) -> str:
    """The market asked, that of the house's country unless given."""
    country = request.app.state.settings.current().get("country", "EU")
    usual = {"US": "us", "GB": "uk"}.get(str(country), "eu")
    chosen = request.query_params.get("market", usual)
    if chosen not in MARKETS:
        raise UnknownName("market", chosen, MARKETS)
    return str(chosen)


def markets(request: Request) -> list[tuple[str, str]]:
    """Markets to choose from, in the language of the device."""
    return [(code, request.state.gettext(one.name)) for code, one in MARKETS.items()]


def stock_of(request: Request, market: str) -> str:
    """Key of the sheet or roll asked, the market's usual one unless given."""
    return str(request.query_params.get("on", _STOCK_OF.get(market, _DEFAULT_STOCK)))
