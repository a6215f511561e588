"""Readings out of a file: one being written by another program, or an old record played again."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Final, Literal, TypeAlias

from bloomless.bench.thermometers import Facts, Value
from bloomless.errors import DeviceFailure, ImpossibleInput
from bloomless.probes.daemon import in_daemon
from bloomless.probes.texts import MOST_BYTES, line_value
from bloomless.probes.wiring import Wiring

__all__ = ["Followed", "Replayed", "file_value"]

Separator: TypeAlias = Literal["none", "semicolon", "comma", "tab"]
_MARKS: Final = {"semicolon": b";", "comma": b",", "tab": b"\t"}
_CUT: Final = b"\x00"  # stands before the rest of a line whose beginning was not seen


def file_value(frame: bytes, wiring: Wiring, separator: Separator = "none", column: int = -1) -> Value:
    """Value of one line of a file: a bench event, a cell of a row, or the whole line.

    A comma is a decimal sign to one writer and a separator to another, so the separator is said and never guessed.
    Raises ``ImpossibleInput`` for a line without a temperature.
    """
    text = frame.strip()
    if text.startswith(b"{"):
        return _event_value(text)
    if separator == "none":
        return line_value(text, wiring)
    cells = text.split(_MARKS[separator])
    if not -len(cells) <= column < len(cells):
        raise ImpossibleInput("message", _start(text), f"a row with a column {column}", code="unreadable")
    return line_value(cells[column], wiring)


def _event_value(text: bytes) -> Value:
    try:
        event = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise ImpossibleInput("message", _start(text), "a JSON object", code="unreadable") from error
    for name, unit in (("temperature_C", "C"), ("temperature_F", "F")):
        number = event.get(name)
        if isinstance(number, int | float) and not isinstance(number, bool):
            return Value("temperature", Wiring(unit).celsius(float(number)), f"{number} {unit}")
    raise ImpossibleInput("message", _start(text), "an event with temperature_C", code="unreadable")


def _start(text: bytes) -> str:
    return text[:60].decode("utf-8", "replace")


class Followed:
    """Lines that another program appends to a file; what stood in it before is not taken.

    Parameters
    ----------
    path
        The file.
    unit
        Unit of numbers that do not say theirs.
    separator
        What stands between the cells of a row; ``none`` if the line is the reading.
    column
        Which cell, counted from 0, negative from the end.
    poll_s
        How often to look [s].
    """

    kind = "file"

    def __init__(
        self, path: str, unit: str = "C", separator: Separator = "none", column: int = -1, poll_s: float = 0.1
    ) -> None:
        if not 0.001 <= poll_s <= 3600.0:
            raise ImpossibleInput("poll_s", poll_s, "0.001 to 3600 s")
        self.facts = Facts()
        self._path = Path(path)
        self._wiring = Wiring(unit)
        self._separator: Separator = separator
        self._column = column
        self._poll_s = poll_s

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``."""
        position, kept = await in_daemon(self._end, "file")
        while True:
            try:
                begun_anew, piece = await in_daemon(partial(self._since, position), "file")
            except OSError as error:
                raise DeviceFailure(f"“{self._path.name}” is gone.") from error
            if begun_anew:
                position, kept = 0, b""
            position += len(piece)
            kept += piece
            *lines, kept = kept.split(b"\n")
            kept = kept if len(kept) <= MOST_BYTES else _CUT
            for line in lines:
                if line.strip() and not line.startswith(_CUT):
                    yield line
            await asyncio.sleep(self._poll_s)

    def _since(self, position: int) -> tuple[bool, bytes]:
        """Whether the file was begun anew, and what was written after a position; in a thread, for slow networks."""
        size = self._path.stat().st_size
        if size == position:
            return False, b""
        with self._path.open("rb") as file:
            file.seek(position if size > position else 0)
            return size < position, file.read(65_536)

    def _end(self) -> tuple[int, bytes]:
        """Where the file ends now; the rest of a line that was being written then is not a whole line."""
        if self._path.exists() and not self._path.is_file():
            raise DeviceFailure(f"“{self._path.name}” is not a file.")  # a pipe would be waited for without end
        try:
            with self._path.open("rb") as file:
                size = file.seek(0, 2)
                file.seek(max(size - 1, 0))
                return size, b"" if file.read(1) in (b"", b"\n") else _CUT
        except OSError as error:
            raise DeviceFailure(f"“{self._path.name}” cannot be read: “{error.strerror}”.") from error

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return (file_value(frame, self._wiring, self._separator, self._column),)


class Replayed:
    """The readings of an old bench log, played at their own pace or faster; it ends with the log.

    Parameters
    ----------
    path
        A bench log, JSON Lines.
    speed
        How much faster than it was; 0 for as fast as possible.
    probe
        Which probe of the log; empty for the first one that has a reading.
    """

    kind = "replay"

    def __init__(self, path: str, speed: float = 1.0, probe: str = "") -> None:
        if not 0.0 <= speed <= 1e6:
            raise ImpossibleInput("speed", speed, "0 to 1000000")
        self.facts = Facts(note=f"replay of {Path(path).name}")
        self._path = Path(path)
        self._speed = speed
        self._probe = probe
        self._position = 0

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``."""
        last_s: float | None = None
        try:
            with self._path.open("rb") as file:
                file.seek(self._position)
                for line in file:
                    self._position += len(line)  # before the yield: what was given is not given again after a break
                    at_s = self._time_s(line)
                    if at_s is None:
                        continue
                    if self._speed and last_s is not None and at_s > last_s:
                        await asyncio.sleep((at_s - last_s) / self._speed)
                    last_s = at_s
                    yield line
        except OSError as error:
            raise DeviceFailure(f"“{self._path.name}” cannot be read: “{error.strerror}”.") from error

    def _time_s(self, line: bytes) -> float | None:
        """Time of a reading of the probe played, ``None`` for every other line; a broken line goes on as it is."""
        try:
            event = json.loads(line)
        except (ValueError, RecursionError):
            return 0.0 if line.strip() else None
        if not isinstance(event, dict) or event.get("what") != "reading":
            return None
        probe = str(event.get("probe", "1"))
        self._probe = self._probe or probe
        if probe != self._probe:
            return None
        if isinstance(event.get("at"), int | float):
            return float(event["at"])
        try:
            return datetime.fromisoformat(str(event.get("when"))).timestamp()
        except (ValueError, OverflowError):
            return 0.0

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return (file_value(frame, Wiring("C")),)
