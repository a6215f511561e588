"""What thermometers are there: ports, sensors of this computer, Bluetooth in reach, topics of a broker."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from bloomless.errors import BloomlessError, DeviceFailure
from bloomless.probes import gatt
from bloomless.probes.bluetooth import scanning
from bloomless.probes.board import board_sensors
from bloomless.probes.extras import need
from bloomless.probes.texts import line_value
from bloomless.probes.wiring import Wiring

__all__ = ["Found", "find_bluetooth", "find_board", "find_mqtt", "find_serial", "numbers_in"]


@dataclass(frozen=True, slots=True)
class Found:
    """Something that may be a thermometer: enough to try it."""

    kind: str
    name: str
    settings: Mapping[str, Any] = field(default_factory=dict)
    note: str = ""
    signal_dBm: float | None = None


def find_serial() -> list[Found]:
    """Serial ports of this machine."""
    ports = need("serial.tools.list_ports", "Looking for serial ports").comports()
    return [Found("serial", port.device, {"port": port.device}, str(port.description)) for port in ports]


def find_board(sysfs: str = "/sys") -> list[Found]:
    """Sensors of this machine that the kernel shows; those of its processor are among them."""
    usual = {} if sysfs == "/sys" else {"sysfs": sysfs}
    found = []
    for sensor in board_sensors(sysfs):
        settings = {name: sensor[name] for name in ("bus", "sensor", "quantity")}
        found.append(Found("board", sensor["sensor"], {**settings, **usual}, f"{sensor['bus']}: {sensor['name']}"))
    return found


async def find_bluetooth(seconds: float = 8.0, *, every: bool = False) -> list[Found]:
    """Bluetooth thermometers in reach.

    Parameters
    ----------
    seconds
        How long to listen [s].
    every
        Also devices that do not announce one of the two services; some offer it without saying so.
    """
    library = need("bleak", "Bluetooth")
    try:
        async with asyncio.timeout(2.0 * seconds + 15.0), scanning():
            seen = await library.BleakScanner.discover(timeout=seconds, return_adv=True)
    except (library.exc.BleakError, OSError, EOFError, TimeoutError) as error:
        raise DeviceFailure(f"Bluetooth of this machine does not work: “{error}”.") from error
    services = {gatt.ENVIRONMENTAL_SENSING: "Environmental Sensing", gatt.HEALTH_THERMOMETER: "Health Thermometer"}
    found = []
    for device, advertisement in seen.values():
        offers = [services[uuid] for uuid in advertisement.service_uuids if uuid in services]
        if offers or every:
            name = advertisement.local_name or device.name or device.address
            note = ", ".join(offers) or "announces no thermometer service"
            found.append(Found("bluetooth", name, {"address": device.address}, note, float(advertisement.rssi)))
    return sorted(found, key=lambda one: -(one.signal_dBm or -200.0))


def numbers_in(document: Any, path: str = "", depth: int = 6) -> Iterator[tuple[str, float]]:
    """Every number in a JSON document with its path, down to a depth."""
    if isinstance(document, bool) or depth == 0:
        return
    if isinstance(document, int | float):
        yield path, float(document)
    elif isinstance(document, dict):
        for name, part in document.items():
            if isinstance(name, str) and name and not set(name) & set(".[]"):
                yield from numbers_in(part, f"{path}.{name}".lstrip("."), depth - 1)
    elif isinstance(document, list):
        for index, part in enumerate(document[:20]):
            yield from numbers_in(part, f"{path}[{index}]", depth - 1)


def _candidates(payload: bytes) -> Iterator[tuple[str, str]]:
    """Path and shown value of whatever in a payload could be a kitchen's temperature."""
    try:
        yield "", line_value(payload, Wiring()).sent
        return
    except BloomlessError:
        pass
    try:
        document = json.loads(payload)
    except (ValueError, RecursionError):
        return
    for path, number in numbers_in(document):
        if path and -30.0 <= number <= 130.0:
            yield path, f"{number:g}"


async def find_mqtt(host: str, port: int = 1883, seconds: float = 8.0) -> list[Found]:
    """Topics of a broker whose payload holds a number that could be a temperature, with the path to it."""
    library = need("aiomqtt", "MQTT")
    found: dict[tuple[str, str], Found] = {}
    try:
        async with library.Client(host, port, timeout=5.0) as client:
            await client.subscribe("#")
            try:
                async with asyncio.timeout(seconds):
                    async for message in client.messages:
                        payload = message.payload if isinstance(message.payload, bytes) else b""
                        topic = str(message.topic)
                        for path, shown in _candidates(payload):
                            settings = {"host": host, "port": port, "topic": topic, **({"path": path} if path else {})}
                            note = f"{path or 'whole message'} = {shown}"
                            found[topic, path] = Found("mqtt", topic, settings, note)
            except TimeoutError:
                pass
    except library.MqttError as error:
        raise DeviceFailure(f"The broker “{host}:{port}” does not answer: “{error}”.") from error
    return [found[key] for key in sorted(found)]
