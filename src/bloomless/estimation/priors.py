"""Priors of the estimation as sourced values, read once from the table beside this file."""

from __future__ import annotations

from functools import cache

from bloomless.sources.sourced import Grade, Sourced
from bloomless.sources.tables import read_toml

__all__ = ["prior", "prior_table"]


@cache
def prior_table() -> dict[str, Sourced]:
    """Every prior by name; spread as a factor or as a standard deviation, see ``Sourced``."""
    return {
        name: Sourced(
            float(row["value"]),
            row["unit"],
            float(row["spread"]),
            row["source"],
            Grade(row["grade"]),
            row.get("spread_is", "sd"),
            row.get("note", ""),
        )
        for name, row in read_toml("bloomless.estimation", "priors.toml").items()
    }


@cache
def prior(name: str) -> float:
    """Central value of a prior."""
    return prior_table()[name].value
