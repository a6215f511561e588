"""Numbers of a plain document."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from bloomless.errors import ImpossibleInput

__all__ = ["number"]


def number(
    document: Mapping[str, Any], name: str, low: float, high: float, unit: str = "", default: float | None = None
) -> float | None:
    """A number of a document, or its default; text, booleans and what is out of range are refused."""
    value = document.get(name)
    if value is None:
        return default
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ImpossibleInput(name, value, f"a number from {low:g} to {high:g} {unit}".rstrip())
    if not low <= value <= high:
        raise ImpossibleInput(name, value, f"{low:g} to {high:g} {unit}".rstrip())
    return float(value)
