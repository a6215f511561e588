"""Drawing the numbers of a kitchen from the table of what kitchens may be like."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from numpy.random import Generator

from bloomless.errors import UnknownName
from bloomless.sources import read_csv

__all__ = ["KINDS", "Law", "draw_numbers", "laws"]

KINDS = ("dark", "milk", "white", "cocoa_butter")


@dataclass(frozen=True, slots=True)
class Law:
    """How one number of a kitchen is spread; `one` and `two` mean what the law needs, `low` and `high` cut it."""

    name: str
    law: str
    one: float
    two: float
    low: float
    high: float
    unit: str
    source: str
    mark: str
    note: str

    def draw(self, chance: Generator) -> float:
        """Draw the number."""
        match self.law:
            case "normal":
                value = chance.normal(self.one, self.two)
            case "lognormal":
                value = self.one * math.exp(chance.normal(0.0, math.log(self.two)))
            case "uniform":
                value = chance.uniform(self.one, self.two)
            case "loguniform":
                value = math.exp(chance.uniform(math.log(self.one), math.log(self.two)))
            case _:
                raise UnknownName("law", self.law, ("normal", "lognormal", "uniform", "loguniform"))
        return float(min(max(value, self.low), self.high))


@cache
def laws(kind: str) -> tuple[Law, ...]:
    """The laws of a kind of chocolate, in the order of the table; a row of the kind stands before a row for all."""
    if kind not in KINDS:
        raise UnknownName("chocolate", kind, KINDS)
    chosen: dict[str, Law] = {}
    for row in read_csv("bloomless.kitchens", "physics.csv"):
        special = row["kind"] == kind
        if special or (row["kind"] == "all" and row["name"] not in chosen):
            one, two, low, high = (float(row[column]) for column in ("one", "two", "low", "high"))
            unit, source, mark, note = (row[column] for column in ("unit", "source", "mark", "note"))
            chosen[row["name"]] = Law(row["name"], row["law"], one, two, low, high, unit, source, mark, note)
    return tuple(chosen.values())


def draw_numbers(chance: Generator, kind: str) -> dict[str, float]:
    """Every number of one kitchen by name, drawn in the order of the table."""
    return {law.name: law.draw(chance) for law in laws(kind)}
