"""Messages made of text: a line, a JSON document, the files of a single-board computer. Pure functions of bytes."""

from __future__ import annotations

import json
import math
import re
from datetime import UTC, datetime
from typing import Any, Final

from bloomless.bench.thermometers import Value
from bloomless.errors import ImpossibleInput
from bloomless.probes.wiring import Wiring

__all__ = [
    "at_path",
    "crc8",
    "json_values",
    "line_value",
    "line_values",
    "milli_value",
    "one_wire_value",
    "posted_values",
]

MOST_BYTES: Final = 4096
# At most three digits before the point: 12345 is not a temperature that lost its point, it is garbage.
_LINE: Final = re.compile(
    rb"\s*(?:T\s*[=:]\s*)?([-+]?\d{1,3}(?:[.,]\d{1,4})?)\s*(?:\xc2?\xb0)?\s*([CFcf])?\s*", re.DOTALL
)
_HUMID: Final = re.compile(
    rb"(?:\A|[\s;|]|,\s)\s*(?:R?H\s*[=:]\s*)?(\d{1,3}(?:[.,]\d{1,2})?)\s*%(?:\s*RH)?\s*\Z", re.IGNORECASE
)
_NUMBER: Final = re.compile(rb"\s*([-+]?\d{1,9}(?:[.,]\d{1,9})?)\s*")
_STEP: Final = re.compile(r"([^.\[\]]+)|\[(\d{1,4})\]")


def _shown(frame: bytes) -> str:
    return frame[:60].decode("utf-8", "backslashreplace").strip()


def _unreadable(frame: bytes, accepted: str) -> ImpossibleInput:
    return ImpossibleInput("message", _shown(frame), accepted, code="unreadable")


def _number(text: bytes) -> float:
    return float(text.replace(b",", b"."))


def line_value(frame: bytes, wiring: Wiring) -> Value:
    """Value of one line such as ``31.25``, ``88.3 F``, ``31,4 C``, ``T=30.9°C``.

    A unit in the line wins over the configured one; without either nothing is guessed, the configured one holds. For a
    bare sensor (ohm, millivolt) the line is a plain number.

    Parameters
    ----------
    frame
        The line, with or without its end.
    wiring
        How a number becomes a temperature.

    Raises
    ------
    ImpossibleInput
        For anything else, codes ``unreadable``, ``out_of_range``, ``no_value``.
    """
    if wiring.sensor or wiring.unit == "K" or wiring.scale != 1.0 or wiring.shift != 0.0:
        bare = _NUMBER.fullmatch(frame)
        if bare is None:
            raise _unreadable(frame, f"a line with one number in {wiring.unit}")
        return Value("temperature", wiring.celsius(_number(bare[1])), f"{bare[1].decode()} {wiring.unit}")
    found = _LINE.fullmatch(frame)
    if found is None:
        raise _unreadable(frame, "a line such as 31.25, 88.3 F or T=30.9°C")
    unit = found[2].decode().upper() if found[2] else wiring.unit
    return Value("temperature", Wiring(unit).celsius(_number(found[1])), f"{found[1].decode()} {unit}")


def line_values(frame: bytes, wiring: Wiring) -> tuple[Value, ...]:
    """Values of one line that may also say the humidity: ``21.5 C 45 %``, ``T=21.5; H=45.2%``, ``45 %RH``.

    Humidity is what carries a percent sign and stands last; the rest is read as by ``line_value``, its errors too.
    """
    humid = _HUMID.search(frame)
    if humid is None:
        return (line_value(frame, wiring),)
    humidity = Value("humidity", _number(humid[1]), f"{humid[1].decode()} %")
    rest = frame[: humid.start()]
    return (line_value(rest, wiring), humidity) if rest.strip() else (humidity,)


def at_path(document: Any, path: str) -> Any:
    """Part of a JSON document at a path such as ``sensors[0].temperature``; the whole for an empty path.

    Raises ``ImpossibleInput`` if there is no such part.
    """
    part = document
    if not re.fullmatch(r"(?:[^.\[\]]+|\[\d{1,4}\])?(?:\.[^.\[\]]+|\[\d{1,4}\])*", path):
        raise ImpossibleInput("path", path, "a path such as temperature or sensors[0].temperature")
    for name, index in _STEP.findall(path):
        if index and isinstance(part, list) and int(index) < len(part):
            part = part[int(index)]
        elif name and isinstance(part, dict) and name in part:
            part = part[name]
        else:
            raise ImpossibleInput("path", path, "a path that this message has", code="unreadable")
    return part


def _document(frame: bytes) -> Any:
    if len(frame) > MOST_BYTES:
        raise _unreadable(frame, f"at most {MOST_BYTES} bytes")
    try:
        return json.loads(frame)
    except (ValueError, RecursionError) as error:
        raise _unreadable(frame, "a JSON document") from error


def _json_value(part: Any, wiring: Wiring, taken_at: datetime | None) -> Value:
    if isinstance(part, str):
        value = line_value(part.encode(), wiring)
        return Value("temperature", value.value, value.sent, taken_at)
    return Value("temperature", wiring.celsius(_real(part, "temperature")), f"{part} {wiring.unit}", taken_at)


def _real(part: Any, field: str) -> float:
    if isinstance(part, bool) or not isinstance(part, int | float):
        raise ImpossibleInput(field, part if part is None else str(part)[:60], "a number", code="unreadable")
    try:
        number = float(part)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise ImpossibleInput(field, str(part)[:60], "a finite number", code="no_value")
    return number


def _time(part: Any) -> datetime:
    """Time as ISO 8601 with its zone, or as seconds since 1970 (milliseconds if it is that large)."""
    try:
        if isinstance(part, str):
            found = datetime.fromisoformat(part)
        else:
            number = _real(part, "time")
            found = datetime.fromtimestamp(number / 1000.0 if abs(number) > 1e11 else number, UTC)
    except (ValueError, OverflowError, OSError) as error:
        raise ImpossibleInput("time", str(part)[:60], "ISO 8601 or seconds since 1970", code="unreadable") from error
    if found.tzinfo is None:
        raise ImpossibleInput("time", str(part)[:60], "a time with its zone, such as 09:30:00+00:00", code="unreadable")
    return found


def json_values(
    frame: bytes, wiring: Wiring, *, path: str = "", humidity_path: str = "", time_path: str = ""
) -> tuple[Value, ...]:
    """Values of a payload: a plain number or line if no path is given, else the part of a JSON document at the path.

    Parameters
    ----------
    frame
        The payload.
    wiring
        How its number becomes a temperature.
    path, humidity_path, time_path
        Where temperature, relative humidity [%] and the sender's time stand; empty for not there.

    Raises
    ------
    ImpossibleInput
        For a payload that is not so. Nothing of a message is taken when a part of it is nonsense.
    """
    if not path and not humidity_path:
        return (line_value(frame, wiring),)
    document = _document(frame)
    taken_at = _time(at_path(document, time_path)) if time_path else None
    found = []
    if path:
        found.append(_json_value(at_path(document, path), wiring, taken_at))
    if humidity_path:
        part = at_path(document, humidity_path)
        found.append(Value("humidity", _real(part, "humidity"), f"{part} %", taken_at))
    return tuple(found)


_POSTED: Final = frozenset({"temperature_C", "temperature_F", "humidity_pct", "when", "id"})


def posted_values(frame: bytes) -> tuple[Value, ...]:
    """Values of a posted body: ``{"temperature_C": 31.2}``, also ``temperature_F``, ``humidity_pct``, ``when``, ``id``.

    Raises ``ImpossibleInput`` for other fields, both units at once, or none of them.
    """
    document = _document(frame)
    if not isinstance(document, dict) or not document:
        raise _unreadable(frame, 'an object such as {"temperature_C": 31.2}')
    unknown = sorted(set(document) - _POSTED)
    if unknown or {"temperature_C", "temperature_F"} <= set(document):
        raise _unreadable(frame, f"one temperature and of the fields {', '.join(sorted(_POSTED))}")
    taken_at = _time(document["when"]) if document.get("when") is not None else None
    name = document.get("id", "")
    if not isinstance(name, str) or len(name) > 100:
        raise ImpossibleInput("id", str(name)[:60], "a text of at most 100 characters", code="unreadable")
    found = []
    for field, unit in (("temperature_C", "C"), ("temperature_F", "F")):
        if field in document:
            number = _real(document[field], field)
            found.append(Value("temperature", Wiring(unit).celsius(number), f"{number} {unit}", taken_at, name))
    if "humidity_pct" in document:
        number = _real(document["humidity_pct"], "humidity_pct")
        found.append(Value("humidity", number, f"{number} %", taken_at, name))
    if not found:
        raise _unreadable(frame, "temperature_C, temperature_F or humidity_pct")
    return tuple(found)


def crc8(data: bytes) -> int:
    """Checksum of 1-Wire: CRC-8, reflected polynomial 0x8C, start value 0 (``kernel_sysfs``)."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0x8C if crc & 1 else crc >> 1
    return crc


def one_wire_value(frame: bytes, last_C: float | None = None) -> Value:
    """Value of a ``w1_slave`` file: the first line ends in YES and its checksum holds, the second says ``t=`` in m°C.

    85.000 °C is what the sensor holds after it lost power (recalled), so it is refused unless the last value was near.
    Raises ``ImpossibleInput`` for anything else.
    """
    found = re.fullmatch(
        rb"((?:[0-9a-f]{2} ){8})([0-9a-f]{2}) : crc=([0-9a-f]{2}) (YES|NO)\n((?:[0-9a-f]{2} ){9})t=(-?\d{1,6})\n?",
        frame,
    )
    if found is None:
        raise _unreadable(frame, "the two lines of a 1-Wire thermometer")
    whole = found[4] == b"YES" and found[2] == found[3] and found[5] == found[1] + found[2] + b" "
    if not whole or crc8(bytes.fromhex(found[1].decode())) != int(found[3], 16):
        raise _unreadable(frame, "a message whose checksum holds")
    milli = int(found[6])
    if milli == 85000 and (last_C is None or abs(last_C - 85.0) > 5.0):
        raise ImpossibleInput("temperature", "85.000", "a value, not the one the sensor starts with", code="no_value")
    return Value("temperature", milli / 1000.0, f"{milli} m°C")


def milli_value(frame: bytes, *, raw_offset: float = 0.0, scale: float = 1.0, quantity: str = "temperature") -> Value:
    """Value of a sysfs file of IIO or hwmon: (number + offset)·scale is in m°C, or in ‰ of relative humidity.

    Raises ``ImpossibleInput`` for what is no such number.
    """
    found = re.fullmatch(rb"(-?\d{1,9}(?:\.\d{1,9})?)\n?", frame)
    if found is None:
        raise _unreadable(frame, "one number")
    milli = (float(found[1]) + raw_offset) * scale
    unit = "m%" if quantity == "humidity" else "m°C"
    return Value("humidity" if quantity == "humidity" else "temperature", milli / 1000.0, f"{milli:g} {unit}")
