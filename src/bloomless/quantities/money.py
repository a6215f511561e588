"""Money: a ``Decimal`` with a currency, so that sums are exact and currencies cannot mix."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation

from bloomless.errors import ImpossibleInput, Misuse

__all__ = ["Money", "money"]


@dataclass(frozen=True, order=True)
class Money:
    """An amount in one currency (ISO 4217 code); sums of two currencies are refused."""

    currency: str
    amount: Decimal

    def _same(self, other: Money) -> None:
        if self.currency != other.currency:
            raise Misuse(f"{self.currency} and {other.currency} cannot be added; convert one of them first.")

    def __add__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.currency, self.amount + other.amount)

    def __sub__(self, other: Money) -> Money:
        self._same(other)
        return Money(self.currency, self.amount - other.amount)

    def __mul__(self, factor: Decimal | int) -> Money:
        return Money(self.currency, self.amount * factor)

    def __truediv__(self, divisor: Decimal | int) -> Money:
        return Money(self.currency, self.amount / divisor)

    def rounded(self, places: int = 2) -> Money:
        """Round half to even at ``places`` decimals; only for showing, never inside a sum."""
        return Money(self.currency, self.amount.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN))

    def __str__(self) -> str:
        return f"{self.rounded().amount} {self.currency}"


def money(amount: str | int | Decimal, currency: str) -> Money:
    """Make money from text or a whole number; a binary float is refused because it already lost the cents."""
    if len(currency) != 3 or not currency.isascii() or not currency.isupper():
        raise ImpossibleInput("currency", currency, "a three-letter code such as EUR or USD")
    try:
        exact = Decimal(amount)
    except InvalidOperation:
        raise ImpossibleInput("amount", amount, "an amount such as 12.50") from None
    if not exact.is_finite():
        raise ImpossibleInput("amount", amount, "a finite amount such as 12.50")
    return Money(currency, exact)
