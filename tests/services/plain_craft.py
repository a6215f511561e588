"""A bowl that knows nothing of crystals: cools by itself, counts seed, advises by a simple rule.

The tests of storage, streams and screens need something that answers at once and always the same.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from bloomless.errors import ImpossibleInput, Misuse
from bloomless.estimation import events as ev


def band(middle: float, half: float) -> dict[str, float]:
    return {"p05": round(middle - half, 3), "p50": round(middle, 3), "p95": round(middle + half, 3)}


FAHRENHEIT = {
    "code": "fahrenheit_as_celsius",
    "severity": "check",
    "text": "This number looks like degrees Fahrenheit.",
    "do": "Say which unit the thermometer shows.",
}


@dataclass
class PlainCraft:
    start: ev.Start
    now_s: float = 0.0
    temperature_C: float = 45.0
    seed_g: float = 0.0
    form_v: float = 0.0
    orders: int = 0
    done: str = ""
    finished: bool = False
    last_reading_s: float = 0.0
    told: dict[str, ev.Event] = field(default_factory=dict)
    answers: int = 0

    def check(self, event: ev.Event) -> None:
        if isinstance(event, ev.Start):
            raise Misuse("This session was started already; a new bowl is a new session.", code="already_started")
        if isinstance(event, ev.Correct):
            if event.of not in self.told:
                raise ImpossibleInput("of", event.of, "the id of an event")
            return
        if self.finished:
            raise Misuse("This bowl is finished; only a correction can follow.", code="finished")
        if isinstance(event, ev.Reading) and event.at_s < self.last_reading_s:
            raise ImpossibleInput("at", event.at_s, f"at least {self.last_reading_s:g}", code="goes_back")

    def take(self, event: ev.Event, event_id: str) -> None:
        self.check(event)
        self.told[event_id] = event
        passed_s = max(0.0, event.at_s - self.now_s)
        self.now_s = max(self.now_s, event.at_s)
        room_C = self.start.room_C
        self.temperature_C = room_C + (self.temperature_C - room_C) * math.exp(-passed_s / 2400)
        if self.seed_g > 0:
            melted_g = min(self.seed_g, passed_s * 0.4)
            self.seed_g -= melted_g
            self.form_v += melted_g * 0.012
        if isinstance(event, ev.Reading):
            self.temperature_C, self.last_reading_s = event.temperature_C, event.at_s
        if isinstance(event, ev.Correct) and isinstance(event.event, ev.Reading):
            self.temperature_C = event.event.temperature_C
        if isinstance(event, ev.Seed):
            self.temperature_C -= 30 * event.mass_g / (self.start.mass_g + event.mass_g)
            self.seed_g += event.mass_g
            self.done = "seed"
        if isinstance(event, ev.Correct) and isinstance(self.told[event.of], ev.Seed):
            self.seed_g, self.done = 0.0, ""
        if isinstance(event, ev.Finish):
            self.finished = True

    def believed(self) -> dict[str, Any]:
        inside = 29.5 <= self.temperature_C <= 32.8 and self.form_v > 0.4 and self.seed_g < 20
        return {
            "chance_in_temper": 0.91 if inside else 0.07 + 0.02 * min(self.form_v, 3),
            "temperature_C": band(self.temperature_C, 0.5),
            "form_v_pct_of_fat": band(self.form_v, 0.2),
            "unstable_pct_of_fat": band(0.08, 0.05),
            "seed_left_g": band(self.seed_g, 3),
            "batch_g": band(self.start.mass_g + self.seed_g, 5),
            "alerts": [FAHRENHEIT] if self.temperature_C > 70 else [],
        }

    def advised(self) -> dict[str, Any]:
        self.answers += 1
        believed = self.believed()
        step: dict[str, Any] = {"do": "stir", "vigour": "steady", "seconds": 60}
        if believed["chance_in_temper"] > 0.9:
            step = {"do": "use_it"}
        elif self.done != "seed" and self.temperature_C < 38:
            step = {"do": "add_seed", "mass_g": 130.0, "size_mm": 3.0}
        elif self.temperature_C >= 38:
            step = {"do": "cool_bath", "bath_C": 18.0, "seconds": 40.0}
        order = step | {
            "id": f"n-{step['do']}",
            "then_wait_s": 60,
            "chance_after": 0.9,
            "minutes_after": 4.5,
            "why": f"{self.temperature_C:.1f} °C, {self.seed_g:.0f} g",
        }
        other = {"do": "look", "then_wait_s": 0, "chance_after": 0.6, "minutes_after": 6.0, "why": ""}
        seed_g = round(0.18 * self.start.mass_g)
        return {
            "next": order,
            "plan": [other | {"do": "smear", "surface": "paper", "then_wait_s": 180}],
            "instead": [other],
            "before": {
                "melt_g": self.start.mass_g,
                "seed_now_g": seed_g,
                "seed_reserve_g": seed_g // 2,
                "size_mm": 3.0,
                "minutes": band(12, 4),
            },
            "alerts": [],
            "minutes_to_temper": band(4.5, 2),
            "working_minutes_left": band(18, 6) if believed["chance_in_temper"] > 0.9 else None,
        }

    def foreseen(self, actions: Any, minutes: float) -> dict[str, Any]:
        at = [self.now_s + 30.0 * i for i in range(int(minutes * 2) + 1)]
        room_C = self.start.room_C
        cooled = [room_C + (self.temperature_C - room_C) * math.exp(-(t - self.now_s) / 2400) for t in at]
        return {
            "at_s": at,
            "temperature_C": [band(t, 0.4 + 0.002 * (s - self.now_s)) for t, s in zip(cooled, at, strict=True)],
            "chance_in_temper": [0.5 for _ in at],
        }

    def answer_at(self, at_s: float) -> tuple[dict[str, Any], dict[str, Any]]:
        return self.believed(), self.advised()

    def ahead(self, minutes: float, *, from_s: float) -> dict[str, Any]:
        idle = self.foreseen([], minutes)
        warm = [{key: value + 0.6 for key, value in one.items()} for one in idle["temperature_C"]]
        return idle | {"obeyed": idle | {"temperature_C": warm}}

    def hindsight(self) -> dict[str, Any]:
        return {"rows": [[0.0, None, 44.0, 45.0, 46.0] + [None] * 10], "offset_C": None}

    def window_C(self) -> tuple[float, float]:
        return 29.3, 33.0

    def state(self) -> dict[str, Any]:
        return dict(self.__dict__) | {"told": dict(self.told)}


@dataclass
class PlainMaker:
    form: str = "plain 1"
    begun: list[str] = field(default_factory=list)
    resumed: int = 0

    def begin(self, start: ev.Start, event_id: str) -> PlainCraft:
        self.begun.append(event_id)
        craft = PlainCraft(start, temperature_C=start.temperature_C or 45.0)
        craft.told[event_id] = start
        return craft

    def resume(self, state: Any, earlier: Any) -> PlainCraft:
        self.resumed += 1
        craft = PlainCraft(state["start"])
        for name, value in state.items():
            setattr(craft, name, value)
        return craft
