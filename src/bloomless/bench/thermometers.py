"""Thermometers of a kitchen: the port they come in by, what they are, whether they are live, and their checks.

A reading is kept as it was shown. What the checks say about a probe goes to the estimation as its offset and doubt, so
that an old batch can be looked at again when the probe is checked later.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from typing import Any, Final, Literal, Protocol, TypeAlias

from bloomless.errors import ImpossibleInput

__all__ = [
    "ACCEPTED_C",
    "Condition",
    "Facts",
    "ProbeReading",
    "Quantity",
    "Thermometer",
    "Value",
    "Watch",
]

Quantity: TypeAlias = Literal["temperature", "humidity"]
ACCEPTED_C: Final = (-30.0, 130.0)
"""Readings outside are an error, as in the bench log."""
_FEWEST_INTERVALS: Final = 3.0
_LONGEST_INTERVAL_s: Final = 300.0
_LEAST_PATIENCE_s: Final = 3.0


@dataclass(frozen=True, slots=True)
class Value:
    """What one message said, unit converted but nothing corrected."""

    quantity: Quantity
    value: float
    """°C, or % relative humidity."""
    sent: str
    """As it was sent, unit included."""
    taken_at: datetime | None = None
    """The sender's own time, where it sends one."""
    id: str = ""
    """The sender's own name of this value; a repeated one is dropped."""

    def __post_init__(self) -> None:
        least, most = ACCEPTED_C if self.quantity == "temperature" else (0.0, 100.0)
        if not least <= self.value <= most:
            raise ImpossibleInput(
                self.quantity,
                self.sent,
                f"{least:g} to {most:g} {'°C' if self.quantity == 'temperature' else '%'}",
                code="out_of_range",
            )


@dataclass(frozen=True, slots=True)
class ProbeReading:
    """A value with its probe and its times."""

    probe: str
    quantity: Quantity
    value: float
    sent: str
    at: datetime
    """When it was taken: the sender's time if it sends a believable one, else when it arrived."""
    arrived_s: float
    """Monotonic time of arrival [s]."""
    id: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """What a probe tells about itself; ``None`` where it does not."""

    signal_dBm: float | None = None
    battery_pct: float | None = None
    note: str = ""


class Thermometer(Protocol):
    """One way to one probe. It only moves bytes; when, how often and whether to believe is the keeper's business."""

    @property
    def kind(self) -> str:
        """Name of the kind, such as ``mqtt``."""

    @property
    def facts(self) -> Facts:
        """What is known of the device now."""

    def frames(self) -> AsyncIterator[bytes]:
        """Open, yield whole messages as they arrive, close; raises ``DeviceFailure`` when the device is gone."""

    def values(self, frame: bytes) -> Sequence[Value]:
        """Values of one message: a pure function of its bytes; raises ``ImpossibleInput`` for nonsense."""


class Condition(StrEnum):
    """How a probe is."""

    WAITING = "waiting"
    """Never heard since the program started."""
    LIVE = "live"
    LOST = "lost"
    """Its link is gone, or it has been silent for three of its intervals."""


@dataclass(frozen=True, slots=True)
class Watch:
    """What is known of one probe that is being listened to; every change makes a new one.

    Times are monotonic seconds. ``interval_s`` is what its kind usually takes, until its own gaps are known.
    """

    interval_s: float = 10.0
    last: Mapping[Quantity, ProbeReading] = field(default_factory=dict)
    linked: bool = False
    trouble: str = ""
    """Why it is not live, in one sentence."""
    gaps_s: tuple[float, ...] = ()
    accepted: int = 0
    refused: int = 0
    losses: int = 0
    last_refused: str = ""

    def heard(self, reading: ProbeReading) -> Watch:
        """A reading arrived."""
        last = max((old.arrived_s for old in self.last.values()), default=None)
        gaps = self.gaps_s
        if last is not None and self.linked and reading.quantity in self.last:
            gap = reading.arrived_s - self.last[reading.quantity].arrived_s
            gaps = (*gaps[-7:], min(max(gap, 0.0), _LONGEST_INTERVAL_s))
        return replace(
            self,
            last={**self.last, reading.quantity: reading},
            linked=True,
            trouble="",
            gaps_s=gaps,
            accepted=self.accepted + 1,
        )

    def refuse(self, why: str) -> Watch:
        """A message was no reading."""
        return replace(self, refused=self.refused + 1, last_refused=why)

    def lose(self, why: str) -> Watch:
        """The link is gone, or could not be made."""
        return replace(self, linked=False, trouble=why, losses=self.losses + self.linked)

    @property
    def usual_interval_s(self) -> float:
        """Longest of its last gaps [s]: a burst after a break does not make it look hurried."""
        return max(self.gaps_s) if self.gaps_s else self.interval_s

    @property
    def patience_s(self) -> float:
        """Silence after which it counts as lost [s]."""
        return max(_FEWEST_INTERVALS * self.usual_interval_s, _LEAST_PATIENCE_s)

    def silent_s(self, now_s: float) -> float | None:
        """Seconds since its last reading, ``None`` if there was none."""
        arrivals = [old.arrived_s for old in self.last.values()]
        return now_s - max(arrivals) if arrivals else None

    def condition(self, now_s: float) -> Condition:
        """How it is at a monotonic time [s]."""
        silent = self.silent_s(now_s)
        if silent is None:
            return Condition.LOST if self.trouble else Condition.WAITING
        return Condition.LIVE if self.linked and silent <= self.patience_s else Condition.LOST

    def shown(self, now_s: float, quantity: Quantity = "temperature") -> ProbeReading | None:
        """The reading to show, and nothing unless the probe is live."""
        reading = self.last.get(quantity)
        if reading is None or not self.linked or now_s - reading.arrived_s > self.patience_s:
            return None
        return reading

    def why(self, now_s: float) -> str:
        """Why it is not live, in words; empty if it is."""
        condition = self.condition(now_s)
        if condition is Condition.LIVE:
            return ""
        if self.trouble:
            return self.trouble
        silent = self.silent_s(now_s)
        return "Nothing heard yet." if silent is None else f"Silent for {silent:.0f} s."


def reading_event(reading: ProbeReading, *, probe: str) -> dict[str, Any]:
    """Bench event of a temperature reading, in the form of the bench log; ``probe`` is its name in the session."""
    event: dict[str, Any] = {
        "what": "reading",
        "when": reading.at.isoformat(timespec="milliseconds"),
        "temperature_C": round(reading.value, 4),
        "probe": probe,
    }
    if reading.id:
        event["id"] = reading.id
    return event
