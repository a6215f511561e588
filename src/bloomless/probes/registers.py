"""Modbus registers as numbers: a pure function, because word order and scale are each maker's whim."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from bloomless.bench.thermometers import Quantity, Value
from bloomless.errors import ImpossibleInput
from bloomless.probes.wiring import Wiring

__all__ = ["NumberType", "Registers", "register_value"]

NumberType: TypeAlias = Literal["int16", "uint16", "int32", "uint32", "float32"]
_FORMATS: Final = {"int16": ">h", "uint16": ">H", "int32": ">i", "uint32": ">I", "float32": ">f"}


@dataclass(frozen=True, slots=True)
class Registers:
    """Where a value stands in a device and how it is written."""

    address: int = 0
    number: NumberType = "int16"
    low_word_first: bool = False
    holding: bool = False
    """Function 3 (holding registers) instead of 4 (input registers)."""

    def __post_init__(self) -> None:
        if not 0 <= self.address <= 65_534:
            raise ImpossibleInput("address", self.address, "0 to 65534")
        if self.number not in _FORMATS:
            raise ImpossibleInput("number", self.number, f"one of {', '.join(_FORMATS)}")

    @property
    def count(self) -> int:
        """How many registers of 16 bits it takes."""
        return struct.calcsize(_FORMATS[self.number]) // 2


def register_value(frame: bytes, registers: Registers, wiring: Wiring, quantity: Quantity = "temperature") -> Value:
    """Value of the registers' bytes, high byte first as on the wire.

    Raises
    ------
    ImpossibleInput
        For another length, a NaN, or a value out of range.
    """
    if len(frame) != 2 * registers.count:
        raise ImpossibleInput("message", frame[:20].hex(" "), f"{2 * registers.count} bytes", code="unreadable")
    words = [frame[i : i + 2] for i in range(0, len(frame), 2)]
    (number,) = struct.unpack(_FORMATS[registers.number], b"".join(words[::-1] if registers.low_word_first else words))
    if quantity == "humidity":
        share = number * wiring.scale + wiring.shift
        return Value("humidity", share, f"{number:g}")
    return Value("temperature", wiring.celsius(float(number)), f"{number:g} × {wiring.scale:g} {wiring.unit}")
