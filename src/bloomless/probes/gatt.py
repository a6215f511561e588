"""Bluetooth characteristics of the open GATT services, as bytes: pure functions, no radio.

Environmental Sensing (0x181A): Temperature 0x2A6E, Humidity 0x2A6F. Health Thermometer (0x1809): Temperature
Measurement 0x2A1C. Battery (0x180F): Battery Level 0x2A19 (``bluetooth_gss``).
"""

from __future__ import annotations

from typing import Final

from bloomless.bench.thermometers import Value
from bloomless.errors import ImpossibleInput
from bloomless.quantities import C_from_F

__all__ = [
    "BATTERY_LEVEL",
    "ENVIRONMENTAL_SENSING",
    "HEALTH_THERMOMETER",
    "HUMIDITY",
    "TEMPERATURE",
    "TEMPERATURE_MEASUREMENT",
    "battery_pct",
    "float_from_bytes",
    "gatt_values",
]


def _uuid(short: int) -> str:
    return f"{short:08x}-0000-1000-8000-00805f9b34fb"


ENVIRONMENTAL_SENSING: Final = _uuid(0x181A)
HEALTH_THERMOMETER: Final = _uuid(0x1809)
TEMPERATURE: Final = _uuid(0x2A6E)
HUMIDITY: Final = _uuid(0x2A6F)
TEMPERATURE_MEASUREMENT: Final = _uuid(0x2A1C)
BATTERY_LEVEL: Final = _uuid(0x2A19)

# Mantissas that stand for no number: NaN, not at this resolution, ±infinity, reserved (``ieee_11073_20601``).
_SPECIAL: Final = frozenset({0x7FFFFF, 0x800000, 0x7FFFFE, 0x800002, 0x800001})


def _unreadable(data: bytes, accepted: str, code: str = "unreadable") -> ImpossibleInput:
    return ImpossibleInput("message", data[:20].hex(" "), accepted, code=code)


def float_from_bytes(data: bytes) -> float:
    """Number of a 32-bit FLOAT of IEEE 11073-20601: 24-bit mantissa, then 8-bit exponent of ten, little-endian.

    Raises ``ImpossibleInput`` for another length or a special value.
    """
    if len(data) != 4:
        raise _unreadable(data, "four bytes")
    word = int.from_bytes(data, "little")
    mantissa, exponent = word & 0xFFFFFF, word >> 24
    if mantissa in _SPECIAL:
        raise _unreadable(data, "a number, not one of the special values", "no_value")
    mantissa -= (mantissa >> 23) << 24
    exponent -= (exponent >> 7) << 8
    # Division keeps 364·10⁻¹ the same number as 36.4; a negative power of ten would not.
    return mantissa * 10.0**exponent if exponent >= 0 else mantissa / 10.0**-exponent


def _health(data: bytes) -> tuple[Value, ...]:
    if len(data) < 5 or data[0] & 0b1111_1000:
        raise _unreadable(data, "flags and a FLOAT, as the Health Thermometer service sends")
    flags = data[0]
    length = 5 + 7 * bool(flags & 2) + bool(flags & 4)
    if len(data) != length:
        raise _unreadable(data, f"{length} bytes for these flags")
    number = float_from_bytes(data[1:5])
    celsius = C_from_F(number) if flags & 1 else number
    return (Value("temperature", celsius, f"{number:g} {'F' if flags & 1 else 'C'}"),)


def gatt_values(characteristic: str, data: bytes) -> tuple[Value, ...]:
    """Values of a characteristic's bytes.

    Parameters
    ----------
    characteristic
        Its UUID in the long form.
    data
        The bytes notified, indicated or read.

    Raises
    ------
    ImpossibleInput
        For another characteristic, another length, or the mark of an unknown value.
    """
    if characteristic == TEMPERATURE_MEASUREMENT:
        return _health(data)
    if characteristic not in (TEMPERATURE, HUMIDITY):
        raise ImpossibleInput("characteristic", characteristic, "temperature, humidity or temperature measurement")
    if len(data) != 2:
        raise _unreadable(data, "two bytes")
    if characteristic == TEMPERATURE:
        number = int.from_bytes(data, "little", signed=True)
        if number == -0x8000:
            raise _unreadable(data, "a known value", "no_value")
        return (Value("temperature", number / 100.0, f"{number / 100.0:.2f} C"),)
    number = int.from_bytes(data, "little")
    if number == 0xFFFF:
        raise _unreadable(data, "a known value", "no_value")
    return (Value("humidity", number / 100.0, f"{number / 100.0:.2f} %"),)


def battery_pct(data: bytes) -> float | None:
    """Charge [%] of a Battery Level, ``None`` for bytes that are none."""
    return float(data[0]) if len(data) == 1 and data[0] <= 100 else None
