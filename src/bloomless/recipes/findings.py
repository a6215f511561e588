"""A finding: what a check noticed, returned and not raised."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

__all__ = ["Finding", "Severity"]

Severity: TypeAlias = Literal["note", "care", "stop"]
"""``note`` is good to know, ``care`` may go wrong, ``stop`` must not go on without a person's decision."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing noticed, with the number behind it."""

    code: str
    """Stable short name for programs."""
    severity: Severity
    text: str
    """One plain sentence: what, why, what to do."""
    value: float | None = None
    limit: float | None = None
    source: str = "common_practice"
    """Key of the bibliography of the limit."""
    of: str = ""
    """Key of the ingredient or recipe it speaks of, if it is one alone."""
