"""What a screen shows of a bowl's past: rows for the chart, marks of what was done, readings and their trend."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from bloomless.assembly.craft import Json
from bloomless.bench.ports import StoredEvent
from bloomless.errors import BloomlessError
from bloomless.estimation import events as ev

__all__ = ["COLUMNS", "Trail", "thinned"]

COLUMNS: Final = (
    "at", "shown_C", "t05", "t50", "t95", "chance", "v05", "v50", "v95", "u05", "u50", "u95", "s05", "s50", "s95",
)  # fmt: skip
"""Of a row: time, reading, temperature, chance, form V and unstable forms in % of the fat, seed left in g."""
TREND_OVER_S: Final = 90.0
_SILENT: Final = {"reading", "ask"}


def _band(believed: Json, name: str, digits: int) -> list[float | None]:
    band = believed.get(name)
    return [None] * 3 if band is None else [round(band[p], digits) for p in ("p05", "p50", "p95")]


class Trail:
    """The past of one bowl."""

    def __init__(self) -> None:
        self.rows: list[list[float | None]] = []
        self.told: list[Json] = []
        self.reading: Json | None = None
        self.start: Json = {}
        self.used: bool | None = None

    @staticmethod
    def tells(event: Mapping[str, Any]) -> bool:
        """Whether an event is shown as told: readings and questions are not."""
        return event.get("what") not in _SILENT

    def note(
        self, stored: StoredEvent, event: ev.Event | None, error: BloomlessError | None, believed: Json | None
    ) -> None:
        """Keep what an event leaves behind."""
        raw = dict(stored.event)
        if self.tells(raw):
            told = {"number": stored.number, "id": stored.id, "stored_at": stored.stored_at.isoformat(), "event": raw}
            self.told.append(told | ({"error": str(error)} if error else {}))
        if isinstance(event, ev.Reading):
            self.reading = {"at": event.at_s, "temperature_C": round(event.temperature_C, 2), "probe": event.probe}
            self.reading["id"] = stored.id
        if isinstance(event, ev.Correct) and self.reading is not None and event.of == self.reading.get("id"):
            self._correct_reading(event.event)
        start = event.event if isinstance(event, ev.Correct) else event
        if isinstance(start, ev.Start):
            self._note_start(start)
        if isinstance(event, ev.Finish):
            self.used = event.used
        if event is not None and believed is not None:
            shown = round(event.temperature_C, 2) if isinstance(event, ev.Reading) else None
            self._note_row(event.at_s, shown, believed)

    def _correct_reading(self, really: ev.Start | ev.BowlEvent | None) -> None:
        """The newest reading was another number, or none: what is shown is put right, in the curve as well."""
        assert self.reading is not None
        at_s, wrong_C = round(self.reading["at"], 1), self.reading["temperature_C"]
        shown_C = round(really.temperature_C, 2) if isinstance(really, ev.Reading) else None
        self.reading = None if shown_C is None else self.reading | {"temperature_C": shown_C}
        for row in self.rows:
            if row[0] == at_s and row[1] == wrong_C:
                row[1] = shown_C

    def note_silence(self, at_s: float, believed: Json) -> None:
        """Keep what is believed after a while in which nothing was told."""
        self._note_row(at_s, None, believed)

    def _note_start(self, start: ev.Start) -> None:
        self.start = {
            "chocolate": start.chocolate.kind,
            "mass_g": start.mass_g,
            "state": start.state,
            "material": start.vessel.material,
            "room_C": start.room_C,
            "probe": start.probe.kind,
            "means": list(start.means),
        }
        if start.temperature_C is not None:
            self.reading = {"at": start.at_s, "temperature_C": round(start.temperature_C, 2), "probe": "1"}

    def _note_row(self, at_s: float, shown_C: float | None, believed: Json) -> None:
        chance = believed.get("chance_in_temper")
        row: list[float | None] = [round(at_s, 1), shown_C, *_band(believed, "temperature_C", 2)]
        row += [None if chance is None else round(chance, 3)]
        row += _band(believed, "form_v_pct_of_fat", 3) + _band(believed, "unstable_pct_of_fat", 3)
        row += _band(believed, "seed_left_g", 1)
        if self.rows and (self.rows[-1][0] or 0.0) > (row[0] or 0.0):
            return  # a late event: the belief is of now, not of then
        self.rows.append(row)

    def trend_C_min(self) -> float | None:
        """Slope of the believed temperature over the last minute and a half, by least squares [°C/min]."""
        if not self.rows:
            return None
        latest_s = self.rows[-1][0] or 0.0
        points: list[tuple[float, float]] = []
        for row in reversed(self.rows):
            at_s, temperature_C = row[0] or 0.0, row[3]
            if latest_s - at_s > TREND_OVER_S:
                break
            if temperature_C is not None:
                points.append(((at_s - latest_s) / 60.0, temperature_C))
        if len(points) < 2 or points[0][0] - points[-1][0] < 0.1:
            return None
        mean_t = sum(t for t, _ in points) / len(points)
        mean_y = sum(y for _, y in points) / len(points)
        spread = sum((t - mean_t) ** 2 for t, _ in points)
        return round(sum((t - mean_t) * (y - mean_y) for t, y in points) / spread, 2) if spread > 0 else None

    def state(self, believed: Json, *, finished: bool) -> Json:
        """What the screen needs to draw the present."""
        return {
            "row": self.rows[-1] if self.rows else None,
            "reading": self.reading,
            "trend_C_min": self.trend_C_min(),
            "estimate": believed,
            "finished": finished,
            "used": self.used,
        }

    def state_to_keep(self) -> Json:
        """Everything, in plain types and an array."""
        return {
            "rows": np.array(self.rows, dtype=np.float64),  # None becomes NaN
            "told": tuple(self.told),
            "reading": self.reading,
            "start": self.start,
            "used": self.used,
        }

    @classmethod
    def kept(cls, state: Json) -> Trail:
        """A trail from what was kept."""
        trail = cls()
        trail.rows = [[None if math.isnan(value) else value for value in row] for row in state["rows"].tolist()]
        trail.told, trail.reading = list(state["told"]), state["reading"]
        trail.start, trail.used = state["start"], state["used"]
        return trail


def thinned(rows: list[list[float | None]], most: int = 900) -> list[list[float | None]]:
    """At most about ``most`` rows, evenly over time; the newest minutes stay whole."""
    if len(rows) <= most:
        return rows
    fresh = rows[-most // 3 :]
    old = rows[: -most // 3]
    step = -(-len(old) // (most - len(fresh)))
    return old[::step] + fresh
