"""Tables of bands: a rule of rounding that changes with the size of the number."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from bloomless.errors import OutsideValidity
from bloomless.rules.decimals import round_to
from bloomless.rules.law import Law
from bloomless.rules.rule import Row

__all__ = ["band", "rounded"]


def band(table: str, value: Decimal, law: Law, line: str = "") -> Row:
    """The row of a table of bands that a number falls into.

    Raises
    ------
    OutsideValidity
        If the number lies beyond the last row.
    """
    for row in law.rows(table):
        if line and row["line"] != line:
            continue
        if value < row["limit"] or (row["closed"] and value == row["limit"]):
            return row
    raise OutsideValidity(f"{table}: {value} lies beyond the last row of the table.")


def rounded(table: str, value: Decimal, law: Law, line: str) -> tuple[Decimal, str]:
    """Rounded number and the words the law puts instead of it (empty where it is a number)."""
    row: Any = band(table, value, law, line)
    if row["text"]:
        return Decimal(0), row["text"]
    return round_to(value, row["step"]), ""
