"""What may be asked of a cook, as frozen data: one order, the advice around it, and what the planner remembers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from bloomless.estimation.answers import Alert, Band
from bloomless.estimation.events import BowlEvent

__all__ = [
    "COOLED",
    "HEATED",
    "WAITING",
    "Advice",
    "Alternative",
    "Before",
    "Do",
    "Given",
    "Order",
    "Standing",
    "is_action",
]

Do: TypeAlias = Literal[
    "heat_on",
    "pour_over",
    "add_seed",
    "add_melt",
    "warm_bath",
    "cool_bath",
    "microwave",
    "hot_air",
    "table",
    "stir",
    "look",
    "smear",
    "sieve",
    "check_thermometer",
    "use_it",
    "melt_again",
    "stop",
]

WAITING: frozenset[str] = frozenset({"stir", "look", "use_it", "stop"})
"""Orders that ask no effort worth counting."""
HEATED: frozenset[str] = frozenset({"warm_bath", "microwave", "hot_air"})
COOLED: frozenset[str] = frozenset({"cool_bath", "table"})
"""Means, orders and events by which a bowl is warmed and cooled."""


@dataclass(frozen=True, slots=True)
class Order:
    """One thing to do, with the fields its kind has; the others are ``None``."""

    do: Do
    id: str = ""
    """Names one order; the cook carries it out once."""
    mass_g: float | None = None
    size_mm: float | None = None
    form: str | None = None
    """Of the seed, if it is not tempered pieces of the same chocolate."""
    temperature_C: float | None = None
    bath_C: float | None = None
    seconds: float | None = None
    watts: float | None = None
    share: float | None = None
    """Part of the bowl that goes onto the stone; of ``stir``: that lies there and is worked there."""
    vigour: str | None = None
    surface: str | None = None
    method: str | None = None
    to_C: float | None = None
    by: str | None = None
    vessel: str | None = None
    then_wait_s: float = 0.0
    """Stir and wait so long after it before anything else is asked."""
    chance_after: float | None = None
    """Chance of being in temper when the plan says use it."""
    minutes_after: float | None = None
    """Expected minutes until then."""
    why: str = ""

    def same_step(self, other: Order) -> bool:
        """Whether two orders ask for the same kind of step, whatever the amount."""
        return self.do == other.do


def is_action(order: Order) -> bool:
    """Whether an order costs the cook an action; looking, stirring and using do not count."""
    return order.do not in WAITING


@dataclass(frozen=True, slots=True)
class Alternative:
    """A next-best order and what speaks for it."""

    order: Order
    chance_after: float
    minutes_after: float


@dataclass(frozen=True, slots=True)
class Before:
    """What to melt and chop before the start."""

    melt_g: float
    seed_now_g: float
    seed_reserve_g: float
    size_mm: float
    minutes: Band


@dataclass(frozen=True, slots=True)
class Advice:
    """The next order, what would follow, and what else could be done."""

    next: Order
    instead: tuple[Alternative, ...] = ()
    plan: tuple[Order, ...] = ()
    before: Before | None = None
    alerts: tuple[Alert, ...] = ()
    minutes_to_temper: Band | None = None
    working_minutes_left: Band | None = None


@dataclass(frozen=True, slots=True)
class Given:
    """An order as it was given: a fact that no later telling changes."""

    order: Order
    at_s: float
    acts: tuple[BowlEvent, ...]
    """What was known by then to have been done and seen, ``Belief.acts``; what is not among these is news."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What the planner remembers between two answers; made anew by ``Standing()``.

    What was said to the cook is kept. What became of it is told late, or corrected, and so is derived anew from
    ``given`` and ``left`` by each ``settle``: ``order``, ``carried_out_at_s``, ``wait_until_s``, ``asked``, ``undone``.
    """

    orders_given: int = 0
    given: Given | None = None
    """The last order, until it is left undone."""
    asked_at_s: float | None = None
    """When it was last asked whether that was done."""
    left: tuple[Given, ...] = ()
    """Orders that were asked about, and no event came; ``acts`` is what was known when they were left."""
    order: Order | None = None
    """The order that stands: given and not yet carried out, or being carried out; ``None`` if it is over."""
    carried_out_at_s: float | None = None
    """When its event came."""
    wait_until_s: float = 0.0
    """Until then only stirring is asked."""
    asked: bool = False
    """Whether the question if it was done is open."""
    undone: tuple[Do, ...] = ()
    """What was asked for and has not been done since, in order."""
    planned_at_s: float | None = None
    """When the last full plan was made."""
    last: Advice | None = None
    smear_ordered_at_s: float | None = None
    look_ordered_at_s: float | None = None
    check_ordered: bool = False
    working: Band | None = None
    worked_at_s: float | None = None

    @property
    def given_at_s(self) -> float:
        """Session time of the last order; before all time if there is none."""
        return -math.inf if self.given is None else self.given.at_s
