"""The kitchen's thermometers at work in this process: saved ones are listened to, and their readings reach the bowl."""

from __future__ import annotations

import asyncio
import logging
import time
from collections import deque
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final, Protocol

from bloomless.bench.ports import Book
from bloomless.bench.probe_register import (
    Registration,
    free_number,
    probe_of,
    probes_of,
    save_probe,
)
from bloomless.bench.thermometers import Condition, ProbeReading, Quantity, Watch, reading_event
from bloomless.errors import BloomlessError, ImpossibleInput, Misuse, UnknownName
from bloomless.physics.probe_lag import Lag, find_dip, lag_from_dip
from bloomless.probes.hub import Hub
from bloomless.probes.keeping import Clock, Keeper, SparseLog, SystemClock
from bloomless.probes.kinds import kind_named, thermometer_from

__all__ = ["ProbesAtWork", "Told", "Trial", "state_of", "try_probe"]

_LOG: Final = logging.getLogger("bloomless.probes")
_QUANTITIES: Final[tuple[Quantity, ...]] = ("temperature", "humidity")
_RECENT: Final = 1200
_GIVE_UP_s: Final = 1.0
_MOST_WAITING: Final = 10_000
_LAST_MAIL_S: Final = 5.0
_LEAST_GAP_S: Final = 1.0
"""The bench log takes at most one reading a second of a probe; the screen shows every one."""


class Told(Protocol):
    """Where a bowl's events go."""

    def __call__(self, bowl: str, event: Mapping[str, Any], event_id: str) -> None:
        """Tell an event; raises a named error if the bowl is not there or is finished."""


@dataclass(frozen=True, slots=True)
class Trial:
    """What was heard of a thermometer that is not saved yet."""

    readings: tuple[ProbeReading, ...]
    watch: Watch
    signal_dBm: float | None
    battery_pct: float | None
    note: str


class ProbesAtWork:
    """Keeps every saved thermometer, and tells its bowl what it shows.

    Parameters
    ----------
    book
        Where thermometers are written down.
    tell
        Brings an event to a bowl; called in a thread.
    clock
        Where the time comes from.
    """

    def __init__(self, book: Book, tell: Told, clock: Clock | None = None) -> None:
        self._book = book
        self._tell = tell
        self.clock = clock or SystemClock()
        self.hub: Hub | None = None
        self.cannot: dict[str, str] = {}
        """Saved thermometers that cannot be listened to, and why."""
        self._known: dict[str, Registration] = {}
        self._told_s: dict[str, float] = {}
        self._recent: dict[str, deque[tuple[float, float]]] = {}
        self._mail: asyncio.Queue[tuple[str, dict[str, Any], str, str]] = asyncio.Queue(_MOST_WAITING)
        self._complaints: dict[str, SparseLog] = {}
        self._postman: asyncio.Task[None] | None = None

    async def open(self) -> None:
        """Begin to listen to every saved thermometer; to be called in the loop that the program lives in."""
        self.hub = Hub(self._take, self.clock)
        self._postman = asyncio.create_task(self._carry())
        for probe in await asyncio.to_thread(probes_of, self._book):
            self._listen(probe)

    async def close(self) -> None:
        """Stop listening, and bring what was heard to the bowls before it ends."""
        if self.hub is not None:
            await self.hub.close()
        if self._postman is not None:
            with suppress(TimeoutError):
                async with asyncio.timeout(_LAST_MAIL_S):
                    await self._mail.join()
            self._postman.cancel()
            await asyncio.gather(self._postman, return_exceptions=True)

    def _listen(self, probe: Registration) -> None:
        self._known[probe.name] = probe
        self.cannot.pop(probe.name, None)
        if self.hub is None:
            return
        try:
            self.hub.add(probe.name, probe.kind, probe.settings, probe.interval_s)
        except BloomlessError as error:
            self.cannot[probe.name] = str(error)

    # ------------------------------------------------------------------ the register
    async def save(self, probe: Registration, *, at: datetime) -> None:
        """Write a thermometer down and listen to it anew if the way to it has changed."""
        if probe.name not in self._known or self._known[probe.name].settings != probe.settings:
            thermometer_from(probe.kind, probe.settings)  # what cannot be made is not saved
        before = self._known.get(probe.name)
        await asyncio.to_thread(save_probe, self._book, probe, at=at)
        unchanged = before is not None and (before.kind, before.settings, before.interval_s) == (
            probe.kind,
            probe.settings,
            probe.interval_s,
        )
        if unchanged and probe.name not in self.cannot:
            self._known[probe.name] = probe
            return
        await self._drop(probe.name)
        self._listen(probe)

    async def forget(self, name: str, *, at: datetime) -> None:
        """Take a thermometer out of use; its record stays."""
        await asyncio.to_thread(self._book.withdraw, "probe", name, at=at)
        await self._drop(name)

    async def give(self, name: str, bowl: str, *, at: datetime) -> Registration:
        """Say to which bowl a thermometer belongs from now on; an empty text for none."""
        probe = await asyncio.to_thread(probe_of, self._book, name)
        number = free_number(list(self._known.values()), bowl, name) if bowl else "1"
        probe = replace(probe, bowl=bowl, as_probe=number)
        await self.save(probe, at=at)
        return probe

    async def _drop(self, name: str) -> None:
        self._known.pop(name, None)
        self._recent.pop(name, None)
        self.cannot.pop(name, None)
        if self.hub is not None:
            await self.hub.drop(name)

    def known(self) -> list[Registration]:
        """Thermometers in use, by name."""
        return [self._known[name] for name in sorted(self._known)]

    # ------------------------------------------------------------------ readings
    def keeper(self, name: str) -> Keeper | None:
        """Keeper of a thermometer, ``None`` if it cannot be listened to."""
        if self.hub is None or name in self.cannot or name not in self._known:
            return None
        return self.hub.keeper(name)

    def deliver(self, name: str, body: bytes) -> tuple[ProbeReading, ...]:
        """Bring a posted reading; see ``Hub.deliver``."""
        if self.hub is None or name not in self._known:
            raise UnknownName("probe", name, self._known)
        if name in self.cannot:
            raise Misuse(self.cannot[name])
        return self.hub.deliver(name, body)

    def room(self) -> tuple[float | None, float | None]:
        """Temperature [°C] and relative humidity [%] of the room, from live room thermometers."""
        now_s = self.clock.monotonic_s()
        found: dict[str, float] = {}
        for probe in self.known():
            keeper = self.keeper(probe.name)
            if probe.place == "room" and keeper is not None:
                for quantity in _QUANTITIES:
                    shown = keeper.watch.shown(now_s, quantity)
                    if shown is not None:
                        found.setdefault(quantity, shown.value)
        return found.get("temperature"), found.get("humidity")

    def lag_seen(self, name: str) -> Lag | None:
        """Lag of a thermometer out of its last readings, if it was dipped into something warmer or cooler of late."""
        probe, recent = self._known.get(name), list(self._recent.get(name, ()))
        times, shown = [at_s for at_s, _ in recent], [value for _, value in recent]
        where = find_dip(times, shown)
        if probe is None or where is None:
            return None
        try:
            return lag_from_dip(times[where], shown[where], resolution_K=probe.resolution_K)
        except ImpossibleInput:
            return None

    def _take(self, reading: ProbeReading) -> None:
        if reading.quantity == "temperature":
            recent = self._recent.setdefault(reading.probe, deque(maxlen=_RECENT))
            recent.append((reading.arrived_s, reading.value))
        probe = self._known.get(reading.probe)
        if probe is None or not probe.bowl or probe.place != "bowl" or reading.quantity != "temperature":
            return
        if reading.arrived_s - self._told_s.get(probe.name, -1e9) < _LEAST_GAP_S:
            return
        self._told_s[probe.name] = reading.arrived_s
        event = reading_event(reading, probe=probe.as_probe)
        event_id = event.pop("id", "") or f"{probe.name} {event['when']}"
        try:
            self._mail.put_nowait((probe.bowl, event, event_id, probe.name))
        except asyncio.QueueFull:
            self._complain(probe.name, f"{probe.bowl} takes no readings; this one is dropped")

    async def _carry(self) -> None:
        """Bring readings to their bowls, one after the other; whatever one of them meets, the next is brought."""
        while True:
            bowl, event, event_id, name = await self._mail.get()
            try:
                await self._bring(bowl, event, event_id, name)
            except Exception as error:
                self._complain(name, f"not taken by {bowl}: {error}")
            finally:
                self._mail.task_done()

    async def _bring(self, bowl: str, event: Mapping[str, Any], event_id: str, name: str) -> None:
        """Bring a reading to its bowl; a bowl that ended lets its thermometer go."""
        try:
            await asyncio.to_thread(self._tell, bowl, event, event_id)
        except (UnknownName, Misuse) as error:
            _LOG.warning("probe %s: %s is over (%s); it belongs to no bowl now", name, bowl, error)
            if name in self._known and self._known[name].bowl == bowl:
                await self.give(name, "", at=self.clock.now())

    def _complain(self, name: str, text: str) -> None:
        self._complaints.setdefault(name, SparseLog(name)).say(self.clock.monotonic_s(), text)


async def try_probe(
    kind: str, settings: Mapping[str, Any], seconds: float, *, enough: int = 5, clock: Clock | None = None
) -> Trial:
    """Listen to a thermometer that is not saved, for some seconds or until it has shown enough.

    Raises
    ------
    ImpossibleInput
        For settings that cannot be.
    """
    clock = clock or SystemClock()
    thermometer = thermometer_from(kind, settings)
    heard: list[ProbeReading] = []
    silent = SparseLog("trial", freely=0)  # what is wrong is answered, not logged
    keeper = Keeper("trial", thermometer, heard.append, interval_s=kind_named(kind).interval_s, clock=clock, log=silent)
    task = asyncio.create_task(keeper.run())
    began_s = time.monotonic()
    try:
        while len(heard) < enough and not task.done() and (waited_s := time.monotonic() - began_s) < seconds:
            if keeper.watch.trouble and not heard and waited_s > _GIVE_UP_s:
                break  # it said what is wrong; waiting longer would not open a port that is not there
            await asyncio.sleep(0.05)
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
    facts = thermometer.facts
    return Trial(tuple(heard[:enough]), keeper.watch, facts.signal_dBm, facts.battery_pct, facts.note)


def state_of(probe: Registration, keeper: Keeper | None, cannot: str, now_s: float) -> dict[str, Any]:
    """A thermometer as the screen, the API and the command show it; nothing of a lost one's last value."""
    watch = keeper.watch if keeper is not None else Watch().lose(cannot or "Not listened to.")
    temperature, humidity = watch.shown(now_s), watch.shown(now_s, "humidity")
    facts = keeper.thermometer.facts if keeper is not None else None
    live = watch.condition(now_s) is Condition.LIVE
    return {
        "name": probe.name,
        "kind": probe.kind,
        "sort": probe.sort,
        "place": probe.place,
        "bowl": probe.bowl,
        "condition": watch.condition(now_s).value,
        "why": watch.why(now_s),
        "temperature_C": temperature.value if temperature else None,
        "humidity_pct": humidity.value if humidity else None,
        "sent": temperature.sent if temperature else None,
        "silent_s": _rounded(watch.silent_s(now_s)),
        "interval_s": round(watch.usual_interval_s, 2),
        "signal_dBm": facts.signal_dBm if facts and live else None,
        "battery_pct": facts.battery_pct if facts else None,
        "accepted": watch.accepted,
        "refused": watch.refused,
        "last_refused": watch.last_refused,
        "losses": watch.losses,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 1)
