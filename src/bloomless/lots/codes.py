"""Lot codes: L, the day, and a letter for the batch of the day."""

from __future__ import annotations

import re
from datetime import date
from typing import Final

from bloomless.errors import ImpossibleInput

__all__ = ["lot_code", "read_lot_code"]

_MONTHS: Final = "ABCDEFGHIJKL"
_CODE: Final = re.compile(r"L(\d{2})([A-L])(\d{2})([A-Z]{1,2})")


def _letters(number: int) -> str:
    if not 1 <= number <= 26 * 27:
        raise ImpossibleInput("batch", number, "the first to the 702nd batch of a day")
    first, last = divmod(number - 1, 26)
    return (chr(64 + first) if first else "") + chr(65 + last)


def lot_code(made_on: date, batch: int) -> str:
    """Code of a batch, such as ``L26K25A``: prefix L, year, month A–L, day, batch of the day.

    A letter for the month keeps the code apart from every date that stands on the same label.

    Parameters
    ----------
    made_on
        Day it was made.
    batch
        1 for the first batch of the day.
    """
    return f"L{made_on:%y}{_MONTHS[made_on.month - 1]}{made_on:%d}{_letters(batch)}"


def read_lot_code(code: str, *, century: int = 2000) -> tuple[date, int]:
    """Day and batch of a code; raises ``ImpossibleInput`` for anything else."""
    found = _CODE.fullmatch(code.strip().upper())
    if not found:
        raise ImpossibleInput("lot", code, "a code such as L26K25A")
    year, month, day, letters = found.groups()
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    try:
        return date(century + int(year), _MONTHS.index(month) + 1, int(day)), number
    except ValueError:
        raise ImpossibleInput("lot", code, "a code whose day exists") from None
