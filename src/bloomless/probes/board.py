"""Sensors of a single-board computer: 1-Wire, IIO and hwmon, as files of the kernel."""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator, Sequence
from pathlib import Path
from typing import Final

from bloomless.bench.thermometers import Facts, Quantity, Value
from bloomless.errors import DeviceFailure, ImpossibleInput
from bloomless.probes.daemon import in_daemon
from bloomless.probes.texts import MOST_BYTES, milli_value, one_wire_value

__all__ = ["Board", "board_sensors"]

_PLACES: Final = {
    "1-wire": ("bus/w1/devices", r"(10|22|28|3b|42)-[0-9a-f]{12}"),
    "iio": ("bus/iio/devices", r"iio:device\d{1,3}"),
    "hwmon": ("class/hwmon", r"hwmon\d{1,3}"),
}

_PATIENCE_s: Final = 10.0


class Board:
    """One sensor of the machine this program runs on.

    Parameters
    ----------
    bus
        ``1-wire``, ``iio`` or ``hwmon``.
    sensor
        Its name there, such as ``28-00000abcdef0``, ``iio:device0`` or ``hwmon1``.
    quantity
        ``temperature``, or ``humidity`` (IIO).
    interval_s
        How often to read [s]; a 1-Wire sensor takes most of a second for each.
    channel
        Number of the input of ``hwmon``.
    sysfs
        Where the kernel shows its devices.
    """

    kind = "board"

    def __init__(
        self,
        bus: str,
        sensor: str,
        quantity: Quantity = "temperature",
        interval_s: float = 1.0,
        channel: int = 1,
        sysfs: str = "/sys",
    ) -> None:
        if bus not in _PLACES:
            raise ImpossibleInput("bus", bus, f"one of {', '.join(_PLACES)}")
        place, pattern = _PLACES[bus]
        if not re.fullmatch(pattern, sensor):
            raise ImpossibleInput("sensor", sensor, f"the name of a sensor under {place}")
        if quantity == "humidity" and bus != "iio":
            raise ImpossibleInput("quantity", quantity, "humidity only from iio")
        if not 0.001 <= interval_s <= 3600.0:
            raise ImpossibleInput("interval_s", interval_s, "0.001 to 3600 s")
        self.facts = Facts(note=f"{sensor} ({bus})")
        self._bus, self._sensor, self._quantity = bus, sensor, quantity
        self._folder = Path(sysfs) / place / sensor
        self._interval_s = interval_s
        self._channel = channel
        self._last_C: float | None = None
        self._raw_offset, self._scale = 0.0, 1.0
        self._asking: asyncio.Future[bytes] | None = None

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``. A thread reads: the kernel answers a 1-Wire read after up to 750 ms."""
        loop = asyncio.get_running_loop()
        while True:
            asked_s = loop.time()
            yield await self._answer()
            await asyncio.sleep(max(self._interval_s - (loop.time() - asked_s), 0.0))

    async def _answer(self) -> bytes:
        """What the kernel says; a read that hangs is waited for again, not begun anew, or each would hold a thread."""
        if self._asking is None:
            self._asking = in_daemon(self._read, f"sensor {self._sensor}")
        done, _ = await asyncio.wait({self._asking}, timeout=_PATIENCE_s)
        if not done:
            raise DeviceFailure(f"“{self._sensor}” does not answer.")
        asked, self._asking = self._asking, None
        try:
            return asked.result()
        except DeviceFailure:
            raise
        except OSError as error:
            raise DeviceFailure(f"“{self._sensor}” does not answer.") from error

    def _read(self) -> bytes:
        if self._bus == "1-wire":
            return _content(self._folder / "w1_slave")
        if self._bus == "hwmon":
            return _content(self._folder / f"temp{self._channel}_input")
        name = "in_humidityrelative" if self._quantity == "humidity" else "in_temp"
        ready = self._folder / f"{name}_input"
        if ready.exists():
            self._raw_offset, self._scale = 0.0, 1.0
            return _content(ready)
        self._raw_offset = _number(self._folder / f"{name}_offset", 0.0)
        self._scale = _number(self._folder / f"{name}_scale", 1.0)
        return _content(self._folder / f"{name}_raw")

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        if self._bus == "1-wire":
            value = one_wire_value(frame, self._last_C)
            self._last_C = value.value
        else:
            value = milli_value(frame, raw_offset=self._raw_offset, scale=self._scale, quantity=self._quantity)
        return (value,)


def _content(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(MOST_BYTES)


def _number(path: Path, otherwise: float) -> float:
    try:
        return float(path.read_text())
    except FileNotFoundError:
        return otherwise
    except ValueError as error:
        raise DeviceFailure(f"“{path.parent.name}/{path.name}” is no number.") from error


def board_sensors(sysfs: str = "/sys") -> list[dict[str, str]]:
    """Sensors this machine has: settings for ``Board`` with what the kernel calls them."""
    found = []
    for bus, (place, pattern) in _PLACES.items():
        folder = Path(sysfs) / place
        for device in sorted(folder.iterdir()) if folder.is_dir() else ():
            if not re.fullmatch(pattern, device.name):
                continue
            name = (device / "name").read_text().strip() if (device / "name").is_file() else device.name
            for quantity, files in (
                ("temperature", ("w1_slave", "in_temp_input", "in_temp_raw", "temp1_input")),
                ("humidity", ("in_humidityrelative_input", "in_humidityrelative_raw")),
            ):
                if any((device / file).exists() for file in files):
                    found.append({"bus": bus, "sensor": device.name, "quantity": quantity, "name": name})
    return found
