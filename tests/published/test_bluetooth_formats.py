"""Bluetooth values against published examples.

FLOAT examples: HL7 guide on personal health devices, page "Mder FLOATs and SFLOATs" (after ISO/IEEE 11073-20601).
Temperature 0x2A6E: Bluetooth SIG GATT Specification Supplement: sint16, 0.01 °C, 0x8000 is "value is not known".
UUIDs: Bluetooth SIG Assigned Numbers, here against the table that the package bleak carries.
"""

import pytest
from bleak.uuids import uuid16_dict

from bloomless.errors import ImpossibleInput
from bloomless.probes import gatt

FLOATS = {
    0x00000002: 2.0,
    0xFF000014: 2.0,
    0xFE0000C8: 2.0,
    0x01000002: 20.0,
    0x02000002: 200.0,
    0x000000C8: 200.0,
    0x000004D2: 1234.0,
    0x00FFFB2E: -1234.0,
    0xFF00016C: 36.4,  # the body temperature of the Personal Health Devices Transcoding White Paper (recalled)
}


@pytest.mark.parametrize(("word", "number"), FLOATS.items())
def test_float_examples(word, number):
    assert gatt.float_from_bytes(word.to_bytes(4, "little")) == number


@pytest.mark.parametrize("mantissa", [0x7FFFFF, 0x800000, 0x7FFFFE, 0x800002, 0x800001])
def test_special_values_are_no_temperatures(mantissa):
    with pytest.raises(ImpossibleInput) as caught:
        gatt.float_from_bytes(mantissa.to_bytes(3, "little") + b"\x00")
    assert caught.value.code == "no_value"


def test_health_thermometer_message():
    # flags: bit 0 Fahrenheit, bit 1 time, bit 2 type
    assert gatt.gatt_values(gatt.TEMPERATURE_MEASUREMENT, b"\x00\x6c\x01\x00\xff")[0].value == 36.4
    fahrenheit = gatt.gatt_values(gatt.TEMPERATURE_MEASUREMENT, b"\x01\xb9\x03\x00\xff")[0]
    assert fahrenheit.value == pytest.approx(35.167, abs=1e-3)  # 95.3 °F
    with_time = b"\x06\x6c\x01\x00\xff\xea\x07\x03\x0e\x09\x1e\x00\x02"
    assert gatt.gatt_values(gatt.TEMPERATURE_MEASUREMENT, with_time)[0].value == 36.4
    for cut in range(len(with_time)):
        with pytest.raises(ImpossibleInput):
            gatt.gatt_values(gatt.TEMPERATURE_MEASUREMENT, with_time[:cut])


def test_environmental_sensing():
    assert gatt.gatt_values(gatt.TEMPERATURE, (3125).to_bytes(2, "little"))[0].value == 31.25
    assert gatt.gatt_values(gatt.TEMPERATURE, (-55).to_bytes(2, "little", signed=True))[0].value == -0.55
    assert gatt.gatt_values(gatt.HUMIDITY, (4550).to_bytes(2, "little"))[0].value == 45.5
    for uuid, unknown in ((gatt.TEMPERATURE, b"\x00\x80"), (gatt.HUMIDITY, b"\xff\xff")):
        with pytest.raises(ImpossibleInput) as caught:
            gatt.gatt_values(uuid, unknown)
        assert caught.value.code == "no_value"


@pytest.mark.parametrize(
    ("uuid", "name"),
    [
        (gatt.ENVIRONMENTAL_SENSING, "Environmental Sensing"),
        (gatt.HEALTH_THERMOMETER, "Health Thermometer"),
        (gatt.TEMPERATURE, "Temperature"),
        (gatt.HUMIDITY, "Humidity"),
        (gatt.TEMPERATURE_MEASUREMENT, "Temperature Measurement"),
        (gatt.BATTERY_LEVEL, "Battery Level"),
    ],
)
def test_assigned_numbers(uuid, name):
    assert uuid16_dict[int(uuid[:8], 16)] == name
