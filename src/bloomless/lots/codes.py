"""Lot codes: L, the day, and a letter for the batch of the day."""

from __future__ import annotations

from datetime import date
from typing import Final

from bloomless.errors import ImpossibleInput

__all__ = [
    "lot_code",
]

_MONTHS: Final = "ABCDEFGHIJKL"


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
