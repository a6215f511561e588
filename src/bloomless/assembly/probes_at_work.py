"""The kitchen's thermometers at work in this process: saved ones are listened to, and their readings reach the bowl."""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from collections.abc import Mapping
from concurrent.futures import Future
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final, Protocol

from bloomless.bench.ports import Book
from bloomless.bench.probe_register import (
    Due,
    Registration,
    calibration_of,
    due,
    free_number,
    probe_of,
    probes_of,
    save_probe,
    spec_of,
)
from bloomless.bench.thermometers import Condition, ProbeReading, Quantity, Watch, reading_event
from bloomless.errors import BloomlessError, ImpossibleInput, Misuse, UnknownName
from bloomless.estimation.events import ProbeSpec
from bloomless.physics.calibration import Calibration
from bloomless.physics.probe_lag import Lag, find_dip, lag_from_dip
from bloomless.probes.hub import Hub
from bloomless.probes.keeping import Clock, Keeper, SparseLog, SystemClock
from bloomless.probes.kinds import thermometer_from

__all__ = ["Claim", "ProbesAtWork", "Told"]

_LOG: Final = logging.getLogger("bloomless.probes")
_QUANTITIES: Final[tuple[Quantity, ...]] = ("temperature", "humidity")
_RECENT: Final = 1200
_BROUGHT: Final = frozenset({"http", "typed"})
"""Kinds whose readings somebody brings, to whichever process he meets."""
_LOOK_UP_S: Final = 2.0
_MOST_WAITING: Final = 1800
_LAST_MAIL_S: Final = 5.0
_CHECKED_LASTS: Final = timedelta(seconds=10)
_LEAST_GAP_S: Final = 1.0
"""The bench log takes at most one reading a second of a probe; the screen shows every one."""


class Told(Protocol):
    """Where a bowl's events go."""

    def __call__(self, bowl: str, event: Mapping[str, Any], event_id: str) -> Future[Any]:
        """Tell an event; a named error, raised or in the future, if the bowl is not there or is finished."""


class Claim(Protocol):
    """What one process has at a time."""

    def hold(self) -> bool:
        """Whether it is ours now; takes it if it is free."""

    def let_go(self) -> None:
        """Give it up."""


@dataclass(frozen=True, slots=True)
class Checked:
    """What the checks say of a thermometer, reckoned a moment ago."""

    probe: Registration
    spec: ProbeSpec
    calibration: Calibration
    due: Due
    until: datetime
    """When it is to be reckoned again."""


def _way(probe: Registration) -> tuple[str, Mapping[str, Any], float | None]:
    return probe.kind, probe.settings, probe.interval_s


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
    claim
        Of several processes on one book the one that holds it listens; ``None`` for the only one.
    """

    def __init__(self, book: Book, tell: Told, clock: Clock | None = None, claim: Claim | None = None) -> None:
        self._book = book
        self._tell = tell
        self.clock = clock or SystemClock()
        self._claim = claim
        self.ours = False
        """Whether this process is the one that listens; readings that are brought are taken by every one."""
        self.hub = Hub(self._take, self.clock, lasting=True)
        self.cannot: dict[str, str] = {}
        """Saved thermometers that cannot be listened to, and why."""
        self._known: dict[str, Registration] = {}
        self._told_s: dict[str, float] = {}
        self._recent: dict[str, deque[tuple[float, float]]] = {}
        self._mail: dict[str, deque[tuple[dict[str, Any], str, str]]] = {}
        self._postmen: dict[str, asyncio.Task[None]] = {}
        self._complaints: dict[str, SparseLog] = {}
        self._checked: dict[str, Checked] = {}
        self._looking = asyncio.Lock()
        self._closing = asyncio.Event()
        self._tending: asyncio.Task[None] | None = None

    async def open(self) -> None:
        """Begin to listen to every saved thermometer; to be called in the loop that the program lives in."""
        await self.look_up()
        self._tending = asyncio.create_task(self._tend())

    async def close(self) -> None:
        """Stop listening, and bring what was heard to the bowls before it ends."""
        if self._tending is None:
            return
        self._closing.set()
        await self._tending
        await self.hub.close()
        if self._claim is not None:
            await asyncio.to_thread(self._claim.let_go)
        if self._postmen:
            _, late = await asyncio.wait(self._postmen.values(), timeout=_LAST_MAIL_S)
            for postman in late:
                postman.cancel()
            await asyncio.gather(*late, return_exceptions=True)

    # ------------------------------------------------------------------ the register
    async def look_up(self) -> None:
        """Listen as the register says now: another process, or a command, may have written to it."""
        async with self._looking:
            self.ours = self._claim is None or await asyncio.to_thread(self._claim.hold)
            saved = {probe.name: probe for probe in await asyncio.to_thread(probes_of, self._book)}
            for name in self._known.keys() - saved.keys():
                self._known.pop(name)
                await self._stop(name)
            for probe in saved.values():
                await self._listen(probe)

    async def _tend(self) -> None:
        """Look up the register now and then, and take over when the process that listens has died."""
        while not self._closing.is_set():
            try:
                async with asyncio.timeout(_LOOK_UP_S):
                    await self._closing.wait()
            except TimeoutError:
                try:
                    await self.look_up()
                except Exception as error:
                    self._complain("register", str(error))

    async def _listen(self, probe: Registration) -> None:
        """Listen to a thermometer if it is for us to do, anew if the way to it has changed."""
        before = self._known.get(probe.name)
        self._known[probe.name] = probe
        known_way = before is not None and _way(before) == _way(probe)
        if known_way and probe.name in self.cannot:
            return
        wanted = self.ours or probe.kind in _BROUGHT
        if known_way and wanted == self.hub.keeps(probe.name):
            return
        await self._stop(probe.name)
        if wanted:
            try:
                self.hub.add(probe.name, probe.kind, probe.settings, probe.interval_s)
            except BloomlessError as error:
                self.cannot[probe.name] = str(error)

    async def _stop(self, name: str) -> None:
        self._recent.pop(name, None)
        self.cannot.pop(name, None)
        await self.hub.drop(name)

    async def save(self, probe: Registration, *, at: datetime) -> None:
        """Write a thermometer down and listen to it anew if the way to it has changed."""
        if probe.name not in self._known or self._known[probe.name].settings != probe.settings:
            thermometer_from(probe.kind, probe.settings)  # what cannot be made is not saved
        await asyncio.to_thread(save_probe, self._book, probe, at=at)
        await self.look_up()

    async def forget(self, name: str, *, at: datetime) -> None:
        """Take a thermometer out of use; its record stays."""
        await asyncio.to_thread(self._book.withdraw, "probe", name, at=at)
        await self.look_up()

    async def give(self, name: str, bowl: str, *, at: datetime) -> Registration:
        """Say to which bowl a thermometer belongs from now on; an empty text for none."""
        probe = await asyncio.to_thread(probe_of, self._book, name)
        number = free_number(list(self._known.values()), bowl, name) if bowl else "1"
        probe = replace(probe, bowl=bowl, as_probe=number)
        await self.save(probe, at=at)
        return probe

    def known(self) -> list[Registration]:
        """Thermometers in use, by name."""
        return [self._known[name] for name in sorted(self._known)]

    # ------------------------------------------------------------------ readings
    def keeper(self, name: str) -> Keeper | None:
        """Keeper of a thermometer, ``None`` if it is not listened to here."""
        return self.hub.keeper(name) if self.hub.keeps(name) else None

    def deliver(self, name: str, body: bytes) -> tuple[ProbeReading, ...]:
        """Bring a posted reading; see ``Hub.deliver``."""
        if name not in self._known:
            raise UnknownName("probe", name, self._known)
        if name in self.cannot:
            raise Misuse(self.cannot[name])
        if not self.hub.keeps(name):
            raise Misuse(f"Readings of {name} come by {self._known[name].kind}; they cannot be posted.")
        return self.hub.deliver(name, body)

    def state(self, probe: Registration) -> dict[str, Any]:
        """A thermometer as the screen, the API and the command show it; nothing of a lost one's last value."""
        state = _state_of(probe, self.keeper(probe.name), self.cannot.get(probe.name, ""), self.clock.monotonic_s())
        if not self.hub.keeps(probe.name) and probe.name not in self.cannot:
            state |= {"condition": Condition.WAITING.value, "why": "Another server of this kitchen listens to it."}
        return state

    def checked(self, probe: Registration, now: datetime) -> Checked:
        """What its checks say; asked for by every screen every second, so it is not reckoned each time."""
        known = self._checked.get(probe.name)
        if known is None or known.probe != probe or now >= known.until:
            spec, calibration = spec_of(self._book, probe, now), calibration_of(self._book, probe, now)
            known = Checked(probe, spec, calibration, due(self._book, probe, now), now + _CHECKED_LASTS)
            self._checked[probe.name] = known
        return known

    def check_made(self, name: str) -> None:
        """A check was recorded, or does not count any more."""
        self._checked.pop(name, None)

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
        waiting = self._mail.setdefault(probe.bowl, deque())
        if len(waiting) >= _MOST_WAITING:
            self._complain(probe.name, f"{probe.bowl} takes no readings; this one is dropped")
            return
        waiting.append((event, event_id, probe.name))
        if probe.bowl not in self._postmen:
            self._postmen[probe.bowl] = asyncio.create_task(self._carry(probe.bowl, waiting))

    async def _carry(self, bowl: str, waiting: deque[tuple[dict[str, Any], str, str]]) -> None:
        """Bring a bowl its readings, one after the other; whatever one of them meets, the next is brought."""
        while waiting:
            event, event_id, name = waiting.popleft()
            try:
                await self._bring(bowl, event, event_id, name)
            except Exception as error:
                self._complain(name, f"not taken by {bowl}: {error}")
        del self._mail[bowl], self._postmen[bowl]

    async def _bring(self, bowl: str, event: Mapping[str, Any], event_id: str, name: str) -> None:
        """Bring a reading to its bowl; a bowl that ended lets its thermometer go."""
        try:
            await asyncio.wrap_future(await asyncio.to_thread(self._tell, bowl, event, event_id))
        except (UnknownName, Misuse) as error:
            _LOG.warning("probe %s: %s is over (%s); it belongs to no bowl now", name, bowl, error)
            if name in self._known and self._known[name].bowl == bowl:
                await self.give(name, "", at=self.clock.now())

    def _complain(self, name: str, text: str) -> None:
        self._complaints.setdefault(name, SparseLog(name)).say(self.clock.monotonic_s(), text)


def _state_of(probe: Registration, keeper: Keeper | None, cannot: str, now_s: float) -> dict[str, Any]:
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
