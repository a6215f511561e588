"""Ways in that wait for someone to bring a reading: typed by hand, posted over HTTP or by a browser's own device."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Sequence
from contextlib import suppress
from typing import Final

from bloomless.bench.thermometers import Facts, Value
from bloomless.errors import DeviceFailure
from bloomless.probes.texts import line_values, posted_values
from bloomless.probes.wiring import Wiring

__all__ = ["Posted", "Typed"]

_MOST_WAITING: Final = 10_000


class _Inbox:
    def __init__(self) -> None:
        self.facts = Facts()
        self._frames: asyncio.Queue[bytes | None] = asyncio.Queue(_MOST_WAITING)

    def deliver(self, frame: bytes) -> None:
        """Bring one message; raises ``DeviceFailure`` if nobody has taken the last ten thousand."""
        try:
            self._frames.put_nowait(frame)
        except asyncio.QueueFull as error:
            raise DeviceFailure("Nobody takes the readings of this probe.") from error

    @property
    def waiting(self) -> int:
        """Messages brought that nobody has taken yet."""
        return self._frames.qsize()

    def leave(self) -> None:
        """Whoever brings the readings says goodbye: the terminal was closed, the browser lost its device."""
        with suppress(asyncio.QueueFull):  # nobody is listening who could be told
            self._frames.put_nowait(None)

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``."""
        while (frame := await self._frames.get()) is not None:
            yield frame
        raise DeviceFailure("The sender said that its thermometer is gone.")


class Typed(_Inbox):
    """Readings typed by hand, one a line, in the unit the person uses unless the line says another."""

    kind = "typed"

    def __init__(self, unit: str = "C") -> None:
        super().__init__()
        self._wiring = Wiring(unit)

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return line_values(frame.replace("−".encode(), b"-"), self._wiring)


class Posted(_Inbox):
    """Readings posted as JSON by any program, or by a page that holds a Bluetooth or serial probe of its own."""

    kind = "http"

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return posted_values(frame)
