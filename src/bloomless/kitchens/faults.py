"""Faults of the world: what goes wrong at a bench without anybody saying so."""

from __future__ import annotations

from dataclasses import dataclass

from numpy.random import Generator

from bloomless.errors import UnknownName

__all__ = ["FAULTS", "Fault", "draw_fault"]

FAULTS = {
    "probe_lifted": "the thermometer hangs in the air for a while",
    "probe_on_wall": "the thermometer leans on the wall of the bowl",
    "not_stirred": "nobody stirs although stirring was tapped",
    "probe_stuck": "the display stands still",
    "probe_jumping": "the display jumps",
    "fahrenheit": "°F are typed where °C are expected",
    "probe_off": "the thermometer is off by about 2 °C",
    "seed_not_logged": "seed goes in and nobody logs it",
    "seed_not_added": "seed is logged and does not go in",
    "water_in": "a little water gets in",
    "room_warmer": "the room is much warmer than was said",
    "power_cut": "no readings for minutes",
}
"""Faults by name, with what happens."""

LASTING = {"probe_off", "room_warmer", "fahrenheit"}


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: when it begins, how long it lasts unless somebody notices, how large it is."""

    kind: str
    begins_s: float
    lasts_s: float
    size: float

    @property
    def ends_s(self) -> float:
        """When it ends by itself."""
        return self.begins_s + self.lasts_s

    def acts(self, now_s: float) -> bool:
        """Whether it goes on at this time."""
        return self.begins_s <= now_s < self.ends_s


def draw_fault(chance: Generator, kind: str) -> Fault:
    """Draw when, how long and how much [assumed: spans that happen in kitchens]."""
    if kind not in FAULTS:
        raise UnknownName("fault", kind, FAULTS)
    begins = float(chance.uniform(60.0, 420.0))
    lasts = float(chance.uniform(60.0, 300.0))
    sign = 1.0 if chance.random() < 0.5 else -1.0
    size = {
        "probe_off": sign * chance.uniform(1.6, 2.3),
        "seed_not_logged": chance.uniform(0.04, 0.12),
        "water_in": chance.uniform(0.001, 0.004),
        "room_warmer": chance.uniform(4.0, 8.0),
        "probe_on_wall": chance.uniform(0.6, 1.0),
        "probe_lifted": chance.uniform(0.6, 1.0),
        "probe_jumping": chance.uniform(2.0, 9.0),
    }.get(kind, 1.0)
    if kind in LASTING:
        begins, lasts = 0.0, 1e9
    elif kind == "power_cut":
        lasts = float(chance.uniform(240.0, 900.0))
    elif kind == "seed_not_added":
        begins, lasts = 0.0, 1e9  # the first seed is the one that stays on the board
    elif kind in {"seed_not_logged", "water_in"}:
        lasts = 1e9
    return Fault(kind, begins, lasts, float(size))
