"""Saturated salts: what a water activity meter should show over their slurry, and how far it is off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from bloomless.errors import ImpossibleInput, OutsideValidity, UnknownName
from bloomless.sources import read_csv

__all__ = ["MeterCheck", "check_meter", "salt_names", "salt_water_activity"]


@dataclass(frozen=True, slots=True)
class MeterCheck:
    """What one or more slurries say of a meter."""

    offset: float
    """Mean of shown minus true; subtract it from what the meter shows."""
    sd: float
    """Scatter that is left, at least 0.005; use it as the instrument's standard deviation."""
    worst: float
    """Largest deviation after the offset is taken off."""


@cache
def _salts() -> Mapping[str, Mapping[str, str]]:
    return {row["key"]: row for row in read_csv("bloomless.recipes", "salts.csv")}


def salt_names() -> Mapping[str, str]:
    """Name of every salt by key."""
    return {key: row["name"] for key, row in _salts().items()}


def salt_water_activity(salt: str, temperature_C: float) -> float:
    """Water activity over a slurry of a saturated salt (Greenspan 1977, polynomials in °C).

    Parameters
    ----------
    salt
        Key of the salt, such as ``sodium_chloride``.
    temperature_C
        Within the range of the salt, 5 to 30 °C at least (potassium acetate from 10).
    """
    if salt not in _salts():
        raise UnknownName("salt", salt, _salts())
    row = _salts()[salt]
    if not float(row["from_C"]) <= temperature_C <= float(row["to_C"]):
        raise OutsideValidity(
            f"{row['name']} is tabled from {row['from_C']} to {row['to_C']} °C, not {temperature_C:g} °C."
        )
    coefficients = [float(row[name]) for name in "dcba"]
    return float(np.polyval(coefficients, temperature_C)) / 100.0


def check_meter(readings: Sequence[tuple[str, float, float]]) -> MeterCheck:
    """Offset and scatter of a meter from readings over slurries.

    Parameters
    ----------
    readings
        Salt, temperature in °C, and what the meter showed (0…1).
    """
    if not readings:
        raise ImpossibleInput("readings", 0, "at least one reading over a slurry")
    for number, (_, _, shown) in enumerate(readings):
        if not 0.0 < shown <= 1.0:
            raise ImpossibleInput(f"readings[{number}].shown", shown, "a water activity above 0 and at most 1")
    off = np.array([shown - salt_water_activity(salt, temperature_C) for salt, temperature_C, shown in readings])
    rest = off - off.mean()
    scatter = float(np.sqrt(np.sum(rest**2) / max(1, off.size - 1)))
    # One slurry says nothing of the scatter: keep what such meters usually have.
    sd = max(0.005, scatter) if off.size > 1 else 0.02
    return MeterCheck(float(off.mean()), sd, float(np.abs(rest).max()))
