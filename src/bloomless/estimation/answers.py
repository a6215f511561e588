"""What the estimation answers: bands of every hidden quantity, the chance, alerts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

__all__ = ["Alert", "Band", "Estimate", "OrderName", "Severity"]

Severity: TypeAlias = Literal["say", "check", "stop"]
"""``say``: worth knowing; ``check``: look at this before anything else; ``stop``: someone or the batch is in danger."""


@dataclass(frozen=True, slots=True)
class Band:
    """The 5 %, 50 % and 95 % points of what is believed."""

    p05: float
    p50: float
    p95: float


@dataclass(frozen=True, slots=True)
class OrderName:
    """Which order of the advice is meant."""

    id: str
    """As the order was given."""
    do: str
    """What it asked for."""


@dataclass(frozen=True, slots=True)
class Alert:
    """Something the cook should know; programs read ``code`` and ``order``, people read ``text``."""

    code: str
    severity: Severity
    text: str
    do: str = ""
    """What to do about it."""
    order: OrderName | None = None
    """The order it speaks of, where it speaks of one (``was_it_done``)."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """The bowl as it is believed to be at one moment; ``None`` where nothing can be said."""

    at_s: float
    chance_in_temper: float | None
    temperature_C: Band | None
    form_v_pct_of_fat: Band | None
    """Form V with VI outside pieces, over all fat."""
    unstable_pct_of_fat: Band | None
    seed_left_g: Band | None
    """Pieces larger than 0.5 mm."""
    batch_g: Band | None
    alerts: tuple[Alert, ...] = ()
