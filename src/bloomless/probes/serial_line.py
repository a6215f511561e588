"""Plain lines over a serial port, such as of a small board with a sensor on it."""

from __future__ import annotations

import asyncio
import errno
import os
import threading
from collections.abc import AsyncIterator, Callable, Sequence
from contextlib import suppress
from functools import partial
from typing import Any, Final

from bloomless.bench.thermometers import Facts, Value
from bloomless.errors import DeviceFailure, ImpossibleInput
from bloomless.probes.extras import need
from bloomless.probes.texts import line_values
from bloomless.probes.wiring import Wiring

__all__ = ["LineJoiner", "SerialLine"]

_LONGEST: Final = 200
_QUIET_s: Final = 0.05  # longer than a gap within a line at 1200 baud
_STALE_s: Final = 2.0
_OPENS_s: Final = 10.0


class LineJoiner:
    """Joins pieces of bytes to whole lines; a line whose beginning was not seen is never given out.

    ``3`` and ``1.25`` are both fine numbers, and both are halves of ``31.25``: a port opened in the middle of a line,
    or a device that was pulled out and put back, must not make a reading of one.
    """

    def __init__(self, opened_s: float) -> None:
        self._kept = b""
        self._last_s = opened_s
        self._whole = False
        self._first = True

    def feed(self, piece: bytes, now_s: float) -> list[bytes]:
        """Lines completed by a piece that came at a monotonic time [s]."""
        gap_s = now_s - self._last_s
        if self._first:
            self._whole, self._first = gap_s >= _QUIET_s, False
        elif self._kept and gap_s > _STALE_s:
            # The rest of the old line never came; what comes now may be its tail or a new beginning.
            self._kept, self._whole = b"", False
        self._last_s = now_s
        *lines, self._kept = (self._kept + piece).replace(b"\r", b"\n").split(b"\n")
        given = []
        for line in lines:
            if self._whole and line.strip():
                given.append(line)
            self._whole = True
        if len(self._kept) > _LONGEST:
            self._kept, self._whole = b"", False
        return given


class SerialLine:
    """Lines such as ``31.25``, ``T=88.3F`` or ``21.5 C 45 %`` from a serial port.

    Parameters
    ----------
    port
        Name of the port, such as ``/dev/ttyUSB0`` or ``COM3``.
    baud
        Speed.
    wiring
        How its number becomes a temperature.
    """

    kind = "serial"

    def __init__(self, port: str, baud: int = 9600, wiring: Wiring | None = None) -> None:
        if not 50 <= baud <= 4_000_000:
            raise ImpossibleInput("baud", baud, "a speed of 50 to 4000000")
        self.facts = Facts(note=f"{port}, {baud} baud")
        self._port = port
        self._baud = baud
        self._wiring = wiring or Wiring()
        self._reader: threading.Thread | None = None

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``. A thread reads, because ports cannot be awaited on every system."""
        library = need("serial", "A serial port")
        if self._reader is not None and self._reader.is_alive():
            raise DeviceFailure(
                f"“{self._port}” does not answer."
            )  # the system still hangs on it; one thread is enough
        loop = asyncio.get_running_loop()
        pieces: asyncio.Queue[bytes | BaseException] = asyncio.Queue()
        stop = threading.Event()
        opens = partial(library.Serial, self._port, self._baud, timeout=0.2, exclusive=True)
        # A daemon: a port that hangs while it is opened must not keep the program from ending.
        self._reader = threading.Thread(
            target=_read, args=(opens, stop, loop, pieces), name=f"serial {self._port}", daemon=True
        )
        self._reader.start()
        try:
            await self._opened(pieces)
            joiner = LineJoiner(loop.time())
            while True:
                piece = await pieces.get()
                if isinstance(piece, BaseException):
                    raise DeviceFailure(f"“{self._port}” is gone: “{piece}”.") from piece
                for line in joiner.feed(piece, loop.time()):
                    yield line
        finally:
            stop.set()
            await asyncio.shield(asyncio.to_thread(self._reader.join, 2.0))

    async def _opened(self, pieces: asyncio.Queue[bytes | BaseException]) -> None:
        """Wait until the port is open: the first, empty piece."""
        try:
            async with asyncio.timeout(_OPENS_s):
                first = await pieces.get()
        except TimeoutError as error:
            raise DeviceFailure(f"“{self._port}” does not answer.") from error
        if isinstance(first, BaseException):
            number = getattr(first, "errno", None)
            if number == errno.EWOULDBLOCK:  # two readers of one port would each get a part of a line
                raise DeviceFailure(f"“{self._port}” is in use by another program.") from first
            reason = os.strerror(number) if number else first
            raise DeviceFailure(f"“{self._port}” cannot be opened: “{reason}”.") from first

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return line_values(frame, self._wiring)


def _read(
    opens: Callable[[], Any], stop: threading.Event, loop: asyncio.AbstractEventLoop, pieces: asyncio.Queue[Any]
) -> None:
    """Open the port, read until told to stop or the port is gone, and close it: only this thread touches it."""

    def bring(what: bytes | BaseException) -> None:
        with suppress(RuntimeError):  # the loop has ended while this thread hung
            loop.call_soon_threadsafe(pieces.put_nowait, what)

    try:
        with opens() as port:
            port.reset_input_buffer()
            bring(b"")
            while not stop.is_set():
                piece = port.read(max(1, port.in_waiting))
                if piece:
                    bring(piece)
    except (OSError, TypeError, ValueError) as error:  # pyserial's own error is an OSError
        if not stop.is_set():
            bring(error)
