"""Decimal arithmetic of the law: exact comparison, half rounds up, and only what is printed is rounded."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Final

from bloomless.errors import ImpossibleInput

__all__ = ["HUNDRED", "ONE", "ZERO", "ceil_to", "dec", "floor_to", "plain", "round_to"]

ZERO: Final = Decimal(0)
ONE: Final = Decimal(1)
HUNDRED: Final = Decimal(100)
_NOISE: Final = Decimal("1e-12")


def dec(number: Decimal | int | float | str, field: str = "number") -> Decimal:
    """The decimal a person wrote; a binary float gives its shortest text, so that 3.39 stays 3.39."""
    value = number if isinstance(number, Decimal) else Decimal(repr(number) if isinstance(number, float) else number)
    if not value.is_finite():
        raise ImpossibleInput(field, number, "a finite number")
    return value


def _settled(value: Decimal, step: Decimal) -> Decimal:
    # 28 digits of Decimal leave dust after a division; a tie must not be decided by dust
    return (value / step).quantize(_NOISE)


def round_to(value: Decimal, step: Decimal) -> Decimal:
    """``value`` to the nearest multiple of ``step``, half rounds up (sheet rules-and-labels, section 0)."""
    return _settled(value, step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step


def floor_to(value: Decimal, step: Decimal) -> Decimal:
    """The largest multiple of ``step`` that is not above ``value``: for minima that are printed."""
    return _settled(value, step).quantize(Decimal(1), rounding=ROUND_FLOOR) * step


def ceil_to(value: Decimal, step: Decimal) -> Decimal:
    """The smallest multiple of ``step`` that is not below ``value``: for allowances given in tenths of a gram."""
    return _settled(value, step).quantize(Decimal(1), rounding=ROUND_CEILING) * step


def plain(value: Decimal) -> str:
    """Digits without exponent and without needless zeros: ``30``, ``4.5``."""
    text = f"{value:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text
