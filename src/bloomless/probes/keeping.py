"""The keeper of one probe: listens, times, doubts, comes back, and does not flood the log."""

from __future__ import annotations

import asyncio
import logging
import random
import time
from collections import deque
from collections.abc import Callable
from contextlib import aclosing
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Final, Protocol

from bloomless.bench.thermometers import ProbeReading, Thermometer, Value, Watch
from bloomless.errors import BloomlessError, DeviceFailure, ImpossibleInput

__all__ = ["Backoff", "Clock", "Keeper", "SparseLog", "SystemClock"]

_LOG: Final = logging.getLogger("bloomless.probes")
_OLDEST: Final = timedelta(minutes=30)  # late events are accepted for as long
_AHEAD: Final = timedelta(seconds=5)


class Clock(Protocol):
    """Where a keeper has its time from."""

    def now(self) -> datetime:
        """Wall time, aware."""

    def monotonic_s(self) -> float:
        """Time that never goes back [s]."""


class SystemClock:
    """The clock of the machine."""

    def now(self) -> datetime:
        """See ``Clock.now``."""
        return datetime.now(UTC)

    def monotonic_s(self) -> float:
        """See ``Clock.monotonic_s``."""
        return time.monotonic()


@dataclass(slots=True)
class Backoff:
    """Waiting times before the next try [s]: doubling, with jitter, so that many probes do not knock at once."""

    first_s: float = 0.2
    longest_s: float = 30.0
    chance: random.Random = field(default_factory=random.Random)
    tries: int = 0

    def next_s(self) -> float:
        """The next wait [s]: between half and all of 0.2, 0.4, … 30."""
        wait_s = min(self.first_s * 2.0 ** min(self.tries, 30), self.longest_s)
        self.tries += 1
        return wait_s * self.chance.uniform(0.5, 1.0)

    def reset(self) -> None:
        """A reading came: start from the beginning next time."""
        self.tries = 0


@dataclass(slots=True)
class SparseLog:
    """A log of one probe: some lines freely, then one in ten minutes that says how many were left out."""

    name: str
    freely: int = 6
    every_s: float = 600.0
    spent: float = 0.0
    silent: int = 0
    last_s: float = 0.0
    logger: logging.Logger = _LOG

    def say(self, now_s: float, text: str, *, level: int = logging.WARNING) -> None:
        """Write a line if there is room for it at a monotonic time [s]."""
        self.spent = max(0.0, self.spent - (now_s - self.last_s) / self.every_s)
        self.last_s = now_s
        if self.spent > self.freely - 1.0:
            self.silent += 1
            return
        self.spent += 1.0
        more = f" ({self.silent} lines left out)" if self.silent else ""
        self.silent = 0
        self.logger.log(level, "probe %s: %s%s", self.name, text, more)


class Keeper:
    """Keeps one probe: its readings go to ``take``, its condition is in ``watch``.

    Parameters
    ----------
    probe
        Name of the probe.
    thermometer
        The way to it.
    take
        Called with each reading, once, in the order of arrival.
    interval_s
        What its kind usually takes between readings [s].
    reopen_after_s
        Close and open again after so long a silence [s]; ``None`` for ways that notice a dead link themselves.
    """

    def __init__(
        self,
        probe: str,
        thermometer: Thermometer,
        take: Callable[[ProbeReading], None],
        *,
        interval_s: float = 10.0,
        reopen_after_s: float | None = None,
        clock: Clock | None = None,
        backoff: Backoff | None = None,
        log: SparseLog | None = None,
    ) -> None:
        self.probe = probe
        self.thermometer = thermometer
        self.watch = Watch(interval_s=interval_s)
        self._take = take
        self._reopen_after_s = reopen_after_s
        self._clock = clock or SystemClock()
        self._backoff = backoff or Backoff()
        self._log = log or SparseLog(probe)
        self._seen: deque[tuple[str, str, datetime | None]] = deque(maxlen=512)

    async def run(self) -> None:
        """Listen until cancelled, or until the thermometer ends by itself, such as a replayed file.

        Whatever goes wrong on the way is a loss and the way is opened again: a probe must come back from a fault of
        a library, too.
        """
        while True:
            _stop_if_told()
            try:
                await self._listen()
            except BloomlessError as error:
                why = str(error)
            except Exception as error:
                why = f"Something broke on the way: “{type(error).__name__}: {error}”."
            else:
                self.watch = self.watch.lose("It has ended.")
                return
            if not self.watch.trouble:
                self._log.say(self._clock.monotonic_s(), f"lost: {why}")
            self.watch = self.watch.lose(why)
            await asyncio.sleep(self._backoff.next_s())

    async def _listen(self) -> None:
        async with aclosing(self.thermometer.frames()) as frames:  # type: ignore[type-var]
            while True:
                try:
                    async with asyncio.timeout(self._reopen_after_s):
                        frame = await anext(frames)
                except StopAsyncIteration:
                    return
                except TimeoutError as error:
                    raise DeviceFailure(f"Silent for {self._reopen_after_s:g} s.") from error
                _stop_if_told()
                self._hear(frame)

    def _hear(self, frame: bytes) -> None:
        try:
            self.hear(frame)
        except ImpossibleInput as error:
            self._log.say(self._clock.monotonic_s(), f"refused: {error}")

    def hear(self, frame: bytes) -> tuple[ProbeReading, ...]:
        """Take one message: its readings go to ``take`` and come back; raises ``ImpossibleInput`` for nonsense."""
        now_s = self._clock.monotonic_s()
        try:
            values = self.thermometer.values(frame)
            readings = tuple(self._reading(value, now_s) for value in values if not self._is_repeat(value))
        except ImpossibleInput as error:
            self.watch = self.watch.refuse(str(error))
            raise
        for reading in readings:
            if not self.watch.linked and self.watch.trouble:
                self._log.say(now_s, "back.", level=logging.INFO)
            self._backoff.reset()
            self.watch = self.watch.heard(reading)
            self._take(reading)
        return readings

    def lose(self, why: str) -> None:
        """Whoever brings the readings knows that the device is gone."""
        if self.watch.linked:
            self._log.say(self._clock.monotonic_s(), f"lost: {why}")
        self.watch = self.watch.lose(why)

    def _is_repeat(self, value: Value) -> bool:
        """Whether the sender sent this very value before: same id, or same time of its own."""
        if not value.id and value.taken_at is None:
            return False
        mark = (value.quantity, value.id, None if value.id else value.taken_at)
        if mark in self._seen:
            return True
        self._seen.append(mark)
        return False

    def _reading(self, value: Value, now_s: float) -> ProbeReading:
        now = self._clock.now()
        at = value.taken_at or now
        if not now - _OLDEST <= at <= now + _AHEAD:
            raise ImpossibleInput(
                "time",
                at.isoformat(timespec="seconds"),
                "a time of the last 30 minutes; the sender's clock is wrong or the message is old",
                code="out_of_range",
            )
        return ProbeReading(self.probe, value.quantity, value.value, value.sent, min(at, now), now_s, value.id)


def _stop_if_told() -> None:
    """Stop if this task was told to: before Python 3.12 a library's ``wait_for`` swallows one cancellation in fifty."""
    task = asyncio.current_task()
    if task is not None and task.cancelling():
        raise asyncio.CancelledError
