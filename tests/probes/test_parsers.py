"""Parsers: what they take, what they refuse, and thousands of spoilt messages each."""

import random
import struct

import pytest
from probe_fuzz import TARGETS, agrees, fuzz, line_oracle, spoil

from bloomless.bench.thermometers import Value
from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.probes import gatt
from bloomless.probes.registers import Registers, register_value
from bloomless.probes.texts import (
    at_path,
    crc8,
    json_values,
    line_value,
    line_values,
    milli_value,
    one_wire_value,
    posted_values,
)
from bloomless.probes.wiring import Wiring

C, F = Wiring("C"), Wiring("F")


@pytest.mark.parametrize("name", TARGETS)
def test_spoilt_messages_neither_crash_nor_are_believed(name):
    result = fuzz(name, 4000)
    assert result.crashes == []
    assert result.nonsense == []
    assert result.accepted > 0, "the fuzzing must also reach the part that accepts"


def test_the_fuzzing_would_see_a_careless_parser():
    """Sabotage: a parser that reads the first number it finds accepts nonsense, and the judge says so."""
    import re

    chance = random.Random(1)
    nonsense = 0
    for _ in range(500):
        data = spoil(b"31.25", chance)
        found = re.search(rb"-?\d+(?:\.\d+)?", data)
        if found and -30 <= float(found[0]) <= 130:
            nonsense += not agrees(Value("temperature", float(found[0]), ""), line_oracle(data))
    assert nonsense > 20


@pytest.mark.parametrize(
    ("line", "wiring", "celsius"),
    [
        (b"31.25", C, 31.25),
        (b"88.3 F", C, 31.2778),
        (b"31,4 C", F, 31.4),
        ("T=30.9°C".encode(), C, 30.9),
        (b"T: 30.9 \xb0C\r", C, 30.9),
        (b"88.3", F, 31.2778),
        (b"304.4", Wiring("K"), 31.25),
        (b"112.060", Wiring("ohm", sensor="pt100"), 31.0),
        (b"1.2440", Wiring("mV", sensor="thermocouple_K", cold_junction_C=0.0), 31.0),
        (b"0.2438", Wiring("mV", sensor="thermocouple_K", cold_junction_C=25.0), 31.0),
        (b"7700", Wiring("ohm", sensor="thermistor", r25_ohm=10_000.0, beta_K=3950.0), 31.0),
        (b"0.435", Wiring("share", sensor="thermistor", r25_ohm=1e4, beta_K=3950.0, series_ohm=1e4), 31.0),
        (b"3125", Wiring("C", scale=0.01), 31.25),
    ],
)
def test_lines(line, wiring, celsius):
    assert line_value(line, wiring).value == pytest.approx(celsius, abs=0.02)


@pytest.mark.parametrize(
    "line", [b"", b"12345.", b"31.2.5", b"nan", b"1e2", b"31 25", b"C", b"T", b"0x1f", b"31.25 K", b"-"]
)
def test_lines_refused(line):
    with pytest.raises(ImpossibleInput) as caught:
        line_value(line, C)
    assert caught.value.code == "unreadable"


@pytest.mark.parametrize("line", [b"131", b"-31", b"300 F", b"999"])
def test_lines_out_of_range(line):
    with pytest.raises(ImpossibleInput) as caught:
        line_value(line, C)
    assert caught.value.code == "out_of_range"


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"unit": "R"}, "unit"),
        ({"scale": 0.0}, "scale"),
        ({"unit": "ohm"}, "sensor"),
        ({"unit": "ohm", "sensor": "thermocouple_K"}, "sensor"),
        ({"unit": "C", "sensor": "pt100"}, "sensor"),
        ({"sensor": "pt50"}, "sensor"),
        ({"unit": "mV", "sensor": "thermocouple_K"}, "cold_junction_C"),
        ({"unit": "share", "sensor": "thermistor", "r25_ohm": 1e4, "beta_K": 3950.0}, "series_ohm"),
        ({"unit": "ohm", "sensor": "thermistor"}, "thermistor"),
    ],
)
def test_wiring_that_cannot_be(arguments, field):
    with pytest.raises(ImpossibleInput) as caught:
        Wiring(**arguments)
    assert caught.value.field == field


@pytest.mark.parametrize(
    ("wiring", "number"),
    [
        (Wiring("ohm", sensor="pt100"), 5.0),
        (Wiring("mV", sensor="thermocouple_K", cold_junction_C=22.0), 500.0),
        (Wiring("ohm", sensor="thermistor", points=((0, 32650.0), (25, 10000.0), (50, 3603.0))), -1.0),
        (Wiring("share", sensor="thermistor", r25_ohm=1e4, beta_K=3950.0, series_ohm=1e4), 1.0),
        (C, float("inf")),
    ],
)
def test_a_broken_wire_gives_no_reading(wiring, number):
    with pytest.raises(ImpossibleInput):
        wiring.celsius(number)


def test_wiring_of_a_document():
    document = {"unit": "ohm", "sensor": "thermistor", "points": [[0, 32650.0], [25, 10000.0], [50, 3603.0]]}
    assert Wiring.from_document(document).celsius(10_000.0) == pytest.approx(25.0)


# ---------------------------------------------------------------- JSON


@pytest.mark.parametrize(
    ("line", "shown"),
    [
        (b"21.5 C 45 %", [21.5, 45.0]),
        (b"T=70F; H=45,2%\r", [21.1111, 45.2]),
        (b"21,5, 45,2 %RH", [21.5, 45.2]),
        (b"45 %", [45.0]),
        (b"21.5", [21.5]),
    ],
)
def test_lines_of_the_room(line, shown):
    values = line_values(line, C)
    assert [v.value for v in values] == pytest.approx(shown, abs=1e-4)
    assert [v.quantity for v in values][-1] == ("humidity" if b"%" in line else "temperature")


@pytest.mark.parametrize("line", [b"21,5,45 %", b"21.5 45", b"121 %", b"% 45", b"hot 45 %", b"21.5%45"])
def test_lines_of_the_room_refused(line):
    with pytest.raises(ImpossibleInput):
        line_values(line, C)


def test_json_paths():
    document = {"a": [{"b": 1}, {"b": {"c": 31.0}}], "t": 2}
    assert at_path(document, "a[1].b.c") == 31.0
    assert at_path(document, "") is document
    assert at_path([5], "[0]") == 5
    for path in ("a[2].b", "x", "a.b", "t.x", "a[", "..", "a[-1]"):
        with pytest.raises(ImpossibleInput):
            at_path(document, path)


def test_json_with_humidity_and_time():
    frame = b'{"t": 31.5, "h": 44, "at": "2026-03-14T09:30:00+01:00"}'
    values = json_values(frame, C, path="t", humidity_path="h", time_path="at")
    assert [(v.quantity, v.value) for v in values] == [("temperature", 31.5), ("humidity", 44.0)]
    assert values[0].taken_at is not None
    assert values[0].taken_at.isoformat() == "2026-03-14T09:30:00+01:00"
    for at in ("1773477000", "1773477000123"):
        taken = json_values(b'{"t": 31.5, "at": ' + at.encode() + b"}", C, path="t", time_path="at")[0].taken_at
        assert taken is not None
        assert taken.year == 2026
    for at in ('"soon"', '"2026-03-14T09:30:00"', "1e300", "null", "[]"):
        with pytest.raises(ImpossibleInput) as caught:
            json_values(b'{"t": 31.5, "at": ' + at.encode() + b"}", C, path="t", time_path="at")
        assert caught.value.field == "time"


def test_half_of_a_message_is_not_taken():
    with pytest.raises(ImpossibleInput):
        json_values(b'{"t": 31.5, "h": 144}', C, path="t", humidity_path="h")


def test_posted_bodies():
    assert posted_values(b'{"temperature_F": 88.0}')[0].value == pytest.approx(31.111, abs=1e-3)
    both = posted_values(b'{"temperature_C": 21.5, "humidity_pct": 55, "when": "2026-03-14T09:30:00Z", "id": "a1"}')
    assert [(v.quantity, v.id) for v in both] == [("temperature", "a1"), ("humidity", "a1")]
    for body in (
        b"[]",
        b"{}",
        b'{"temperature": 31}',
        b'{"temperature_C": 31, "temperature_F": 88}',
        b'{"temperature_C": "31"}',
        b'{"temperature_C": true}',
        b'{"temperature_C": 31, "id": 5}',
        b'{"id": "x"}',
        b'{"temperature_C": 1' + b"0" * 400 + b"}",
        b"x" * 5000,
    ):
        with pytest.raises(ImpossibleInput):
            posted_values(body)


# ---------------------------------------------------------------- bytes


def test_an_unknown_characteristic_is_refused():
    with pytest.raises(ImpossibleInput):
        gatt.gatt_values(gatt.BATTERY_LEVEL, b"\x5a")


def test_battery():
    assert gatt.battery_pct(b"\x5a") == 90.0
    assert gatt.battery_pct(b"\xff") is None
    assert gatt.battery_pct(b"") is None


@pytest.mark.parametrize(
    ("number", "low_first", "data", "celsius"),
    [
        ("int16", False, struct.pack(">h", -55), -0.55),
        ("uint16", False, struct.pack(">H", 3125), 31.25),
        ("int32", False, struct.pack(">i", 3125), 31.25),
        ("uint32", True, struct.pack(">HH", 3125, 0), 31.25),
        ("float32", True, struct.pack(">f", 3125.0)[2:] + struct.pack(">f", 3125.0)[:2], 31.25),
    ],
)
def test_registers(number, low_first, data, celsius):
    registers = Registers(number=number, low_word_first=low_first)
    assert register_value(data, registers, Wiring(scale=0.01)).value == pytest.approx(celsius)
    with pytest.raises(ImpossibleInput):
        register_value(data[:-1], registers, C)


def test_register_humidity_and_refusals():
    assert register_value(b"\x01\xc2", Registers(), Wiring(scale=0.1), "humidity").value == pytest.approx(45.0)
    with pytest.raises(ImpossibleInput):
        Registers(address=-1)
    with pytest.raises(ImpossibleInput):
        Registers(number="int8")


# ---------------------------------------------------------------- files of the kernel


def test_one_wire_power_on_value():
    frame = b"50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000\n"
    for last in (None, 30.0):
        with pytest.raises(ImpossibleInput) as caught:
            one_wire_value(frame, last)
        assert caught.value.code == "no_value"
    assert one_wire_value(frame, 83.0).value == 85.0
    with pytest.raises(ImpossibleInput):
        one_wire_value(frame.replace(b"YES", b"NO"), 83.0)
    with pytest.raises(ImpossibleInput, match="checksum"):
        one_wire_value(frame.replace(b"50 05", b"51 05"), 83.0)


def test_crc_of_the_sheet():
    assert crc8(bytes.fromhex("50054b467fff0c10")) == 0x1C


def test_iio():
    # (raw + offset) · scale is in m°C (kernel: sysfs-bus-iio)
    assert milli_value(b"3125\n", raw_offset=0.0, scale=10.0).value == 31.25
    assert milli_value(b"100", raw_offset=525.0, scale=50.0).value == 31.25
    assert milli_value(b"45500", quantity="humidity").quantity == "humidity"


def test_sensor_errors_are_of_the_tree():
    assert issubclass(OutsideValidity, ValueError)
