"""Fuzzing of every parser: random bytes and spoilt good messages, judged by a second reading of the same bytes.

Nonsense is: a value out of range or not finite, or one that an independently written reader of the same bytes does not
agree with. Shared by the suite (some thousands) and ``benchmarks/thermometers.py`` (100,000 for each parser).
"""

import json
import math
import random
import struct
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from probe_worlds import one_wire_file

from bloomless.errors import ImpossibleInput
from bloomless.probes import gatt
from bloomless.probes.files import file_value
from bloomless.probes.registers import Registers, register_value
from bloomless.probes.texts import json_values, line_value, line_values, milli_value, one_wire_value, posted_values
from bloomless.probes.wiring import Wiring

C = Wiring("C")


def by_hand(text):
    """A temperature line read letter by letter, without a regular expression; ``None`` if it is none."""
    text = text.replace("°", "").strip(" \t\r\n\x0b\x0c\x1c\x1d\x1e\x1f")
    if text[:1] == "T":
        rest = text[1:].lstrip()
        if rest[:1] not in (":", "="):
            return None
        text = rest[1:].lstrip()
    fahrenheit = text[-1:] in ("F", "f")
    if text[-1:] in ("C", "c", "F", "f"):
        text = text[:-1].rstrip()
    sign = -1 if text[:1] == "-" else 1
    text = text[1:] if text[:1] in ("-", "+") else text
    if not text or text[0] in ",." or text[-1] in ",.":
        return None
    digits = text.replace(",", ".")
    if digits.count(".") > 1 or any(ch not in "0123456789." for ch in digits):
        return None
    number = sign * Decimal(digits)
    return float((number - 32) * 5 / 9) if fahrenheit else float(number)


def line_oracle(data):
    try:
        return by_hand(data.decode("utf-8"))
    except UnicodeDecodeError:
        return by_hand(data.decode("latin-1"))


def room_oracle(data):
    """Temperature and humidity of a line, from its end."""
    try:
        text = data.decode("utf-8").strip()
    except UnicodeDecodeError:
        text = data.decode("latin-1").strip()
    text = text[:-2].rstrip() if text[-2:].upper() == "RH" else text
    if not text.endswith("%"):
        return {"temperature": by_hand(text)}
    text = text[:-1].rstrip()
    before = text.rstrip("0123456789.,")
    said = {"humidity": float(Decimal(text[len(before) :].replace(",", ".")))}
    before = before.rstrip()
    if before[-1:] in ("=", ":"):
        before = before[:-1].rstrip().rstrip("HhRr").rstrip()
    before = before.rstrip(";|,").rstrip()
    return said | ({"temperature": by_hand(before)} if before else {})


def health_oracle(data):
    """IEEE 11073 FLOAT in exact fractions."""
    mantissa = int.from_bytes(data[1:4], "little", signed=True)
    exponent = struct.unpack("b", data[4:5])[0]
    number = Fraction(mantissa) * Fraction(10) ** exponent
    return float((number - 32) * Fraction(5, 9)) if data[0] & 1 else float(number)


def json_oracle(data):
    part = json.loads(data)["bowl"]["t"]
    return by_hand(part) if isinstance(part, str) else float(part)


def posted_oracle(data):
    body = json.loads(data)
    if "temperature_C" in body:
        return float(body["temperature_C"])
    if "temperature_F" in body:
        return (body["temperature_F"] - 32) / 1.8
    return float(body["humidity_pct"])


def one_wire_oracle(data):
    first, second = data.decode().rstrip("\n").split("\n")
    return int(second.split("t=")[1]) / 1000 if first.endswith("YES") else None


def event_oracle(data):
    event = json.loads(data)
    return event["temperature_C"] if "temperature_C" in event else (event["temperature_F"] - 32) / 1.8


def row_oracle(data):
    return event_oracle(data) if data.strip().startswith(b"{") else line_oracle(data.strip().split(b";")[-1])


@dataclass(frozen=True)
class Target:
    parse: object
    seeds: tuple
    oracle: object


def _registers(number):
    return lambda data: register_value(data, Registers(number=number), Wiring("C", scale=0.01))


TARGETS = {
    "line": Target(
        lambda data: line_value(data, C),
        (b"31.25", b" 88.3 F", b"31,4 C", "T=30.9°C".encode(), b"-2.5\r", b"T: 7"),
        line_oracle,
    ),
    "room line": Target(
        lambda data: line_values(data, C),
        (b"21.5 C 45 %", b"T=21.5;H=45.2%", b"21,5 C, 45,2 %RH", b"45 %", b"70 F | 40%"),
        room_oracle,
    ),
    "file row": Target(
        lambda data: file_value(data, C, "semicolon"),
        (b"12:00;31.25", b"1;2;31,25", b"a;88F", b'{"what":"reading","at":1,"temperature_C":31.2}'),
        row_oracle,
    ),
    "mqtt json": Target(
        lambda data: json_values(data, C, path="bowl.t"),
        (b'{"bowl": {"t": 31.25}}', b'{"bowl": {"t": "88.3 F"}, "x": [1, 2]}', b'{"bowl": {"t": 31}}'),
        json_oracle,
    ),
    "posted json": Target(
        posted_values,
        (b'{"temperature_C": 31.2}', b'{"temperature_F": 88, "id": "a"}', b'{"humidity_pct": 45.5}'),
        posted_oracle,
    ),
    "health thermometer": Target(
        lambda data: gatt.gatt_values(gatt.TEMPERATURE_MEASUREMENT, data),
        (b"\x00\x6c\x01\x00\xff", b"\x01\xb9\x03\x00\xff", b"\x06\x35\x0c\x00\xfe\xe8\x07\x01\x02\x03\x04\x05\x02"),
        health_oracle,
    ),
    "environmental sensing": Target(
        lambda data: gatt.gatt_values(gatt.TEMPERATURE, data),
        (b"\x35\x0c", b"\x00\x00", b"\xff\xff"),
        lambda data: struct.unpack("<h", data)[0] / 100,
    ),
    "humidity": Target(
        lambda data: gatt.gatt_values(gatt.HUMIDITY, data),
        (b"\x35\x0c", b"\x00\x00", b"\x10\x27"),
        lambda data: struct.unpack("<H", data)[0] / 100,
    ),
    "modbus int16": Target(_registers("int16"), (b"\x0c\x35", b"\xff\xc9"), lambda d: struct.unpack(">h", d)[0] / 100),
    "modbus float32": Target(
        _registers("float32"),
        (struct.pack(">f", 3125.0), struct.pack(">f", -5.5)),
        lambda d: struct.unpack(">f", d)[0] / 100,
    ),
    "1-wire": Target(one_wire_value, (one_wire_file(31.25), one_wire_file(-2.5)), one_wire_oracle),
    "iio, hwmon": Target(
        lambda data: milli_value(data, scale=1.0), (b"31250\n", b"-2500", b"312.5\n"), lambda d: float(d) / 1000
    ),
}


@dataclass
class Fuzzed:
    inputs: int = 0
    accepted: int = 0
    crashes: list = field(default_factory=list)
    nonsense: list = field(default_factory=list)


def spoil(good, chance):
    """One of: random bytes, bytes flipped, cut, doubled, inserted, swapped for a telling one."""
    data = bytearray(good)
    match chance.randrange(7):
        case 0:
            return chance.randbytes(chance.randrange(0, 2 * len(good) + 2))
        case 1:
            for _ in range(chance.randrange(1, 4)):
                data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        case 2:
            del data[chance.randrange(len(data)) :]
        case 3:
            data += good
        case 4:
            at = chance.randrange(len(data) + 1)
            data[at:at] = chance.randbytes(chance.randrange(1, 5))
        case 5:
            data[chance.randrange(len(data))] = chance.choice(b'0123456789.,-+eENaInf{}[]":; \n\x00\xff\xb0')
        case _:
            at = chance.randrange(len(data))
            data[at : at + 1] = chance.choice(
                (b"1e9", b"NaN", b"Infinity", b"\xc2\xb0", b"--", b"..", b"null", b"9" * 30)
            )
    return bytes(data)


def agrees(value, oracle):
    least, most = (0.0, 100.0) if value.quantity == "humidity" else (-30.0, 130.0)
    if not (math.isfinite(value.value) and least <= value.value <= most):
        return False
    oracle = oracle.get(value.quantity) if isinstance(oracle, dict) else oracle
    return oracle is not None and math.isclose(value.value, oracle, rel_tol=1e-9, abs_tol=1e-9)


def fuzz(name, count, seed=1):
    target, chance, result = TARGETS[name], random.Random(seed), Fuzzed()
    for _ in range(count):
        data = spoil(chance.choice(target.seeds), chance)
        result.inputs += 1
        try:
            values = target.parse(data)
        except ImpossibleInput:
            continue
        except Exception as error:
            result.crashes.append((data, repr(error)))
            continue
        result.accepted += 1
        try:
            oracle = target.oracle(data)
        except Exception as error:
            result.nonsense.append((data, repr(error)))
            continue
        for value in values if isinstance(values, tuple) else (values,):
            if not agrees(value, oracle):
                result.nonsense.append((data, value.value, oracle))
    return result
