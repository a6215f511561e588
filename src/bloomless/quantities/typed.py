"""Numbers as people type them, decimal comma or point, spaces, a sign; and as they are said when little is known."""

from __future__ import annotations

import math
import re
from typing import Final

from bloomless.errors import ImpossibleInput

__all__ = ["number_from_text", "two_figures"]

_NUMBER: Final = re.compile(r"[+\-−]?\d{1,12}(?:[.,]\d{1,15})?")


def number_from_text(text: str, *, field: str, at_least: float = -math.inf, at_most: float = math.inf) -> float:
    """Read one typed number.

    A comma or a point is the decimal sign; thousands separators are not accepted, because ``1,234`` is one and a
    quarter to one cook and twelve hundred to another.

    Parameters
    ----------
    text
        What was typed, such as ``31,4`` or ``−2.5``.
    field
        Name of the field, for the error.
    at_least, at_most
        Accepted range, both ends included.

    Returns
    -------
    float
        The number.

    Raises
    ------
    ImpossibleInput
        If it is no number or outside the range.
    """
    accepted = "a number such as 31.4 or 31,4"
    if math.isfinite(at_least) or math.isfinite(at_most):
        accepted += f" from {at_least:g} to {at_most:g}"
    squeezed = text.strip().replace("\u00a0", "").replace("\u202f", "").replace(" ", "")
    if not _NUMBER.fullmatch(squeezed):
        raise ImpossibleInput(field, text, accepted, code="not_a_number")
    number = float(squeezed.replace("−", "-").replace(",", "."))
    if not at_least <= number <= at_most:
        raise ImpossibleInput(field, text, accepted, code="out_of_range")
    return number


def two_figures(value: float) -> float:
    """A number rounded to two significant figures, for what is known to a factor: 332 is said as 330."""
    return float(f"{value:.2g}")
