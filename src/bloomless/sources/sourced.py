"""The sourced value: a number that cannot exist without unit, spread, source and grade of evidence."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import StrEnum
from typing import Literal

from bloomless.errors import ImpossibleInput

__all__ = ["Grade", "Sourced", "sourced_values"]


class Grade(StrEnum):
    """How a number is known, best first."""

    MEASURED = "measured"
    """Measured by us, with the script or log named."""
    PUBLISHED = "published"
    """Read in the source named."""
    DERIVED = "derived"
    """Computed from numbers that have a grade of their own."""
    TRADE_PRACTICE = "trade practice"
    """Common practice; nobody could name a source."""
    FROM_MEMORY = "from memory"
    """Recalled from the literature and not read again."""
    ASSUMED = "assumed"
    """A starting guess, to be learned."""


@dataclass(frozen=True, slots=True)
class Sourced:
    """A number with unit, spread, source and grade.

    Parameters
    ----------
    value
        The number, in ``unit``.
    unit
        Unit symbol as in SI, ``1`` for a pure number or share.
    spread
        How uncertain it is: one standard deviation in ``unit``, or, with ``spread_is="factor"``, the factor by which
        one standard deviation of its logarithm multiplies it. Zero only for what is exact by definition.
    source
        Key of the bibliography.
    grade
        How it is known.
    spread_is
        ``sd`` or ``factor``.
    note
        Equation or table number, departure from the source, range of validity.
    """

    value: float
    unit: str
    spread: float
    source: str
    grade: Grade
    spread_is: Literal["sd", "factor"] = "sd"
    note: str = ""

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ImpossibleInput("value", self.value, "a finite number")
        if not self.unit:
            raise ImpossibleInput("unit", self.unit, "a unit symbol, or 1 for a pure number")
        if not self.source:
            raise ImpossibleInput("source", self.source, "a key of the bibliography")
        least = 1.0 if self.spread_is == "factor" else 0.0
        if not (math.isfinite(self.spread) and self.spread >= least):
            raise ImpossibleInput("spread", self.spread, f"a finite number of at least {least:g}")

    def __float__(self) -> float:
        return self.value


def sourced_values(thing: object, name: str = "") -> Iterator[tuple[str, Sourced]]:
    """Walk frozen data and yield every sourced value in it with its dotted name: what a run rests on.

    Parameters
    ----------
    thing
        A sourced value, a dataclass, a mapping or a sequence of such; anything else holds none.
    name
        Dotted name of ``thing`` itself.
    """
    if isinstance(thing, Sourced):
        yield name, thing
    elif is_dataclass(thing) and not isinstance(thing, type):
        for field in fields(thing):
            yield from sourced_values(getattr(thing, field.name), f"{name}.{field.name}".lstrip("."))
    elif isinstance(thing, Mapping):
        for key, value in thing.items():
            yield from sourced_values(value, f"{name}.{key}".lstrip("."))
    elif isinstance(thing, tuple | list):
        for index, value in enumerate(thing):
            yield from sourced_values(value, f"{name}.{index}".lstrip("."))
