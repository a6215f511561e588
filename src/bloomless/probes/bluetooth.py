"""Bluetooth Low Energy by the standard GATT services: Environmental Sensing and Health Thermometer."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import Any, Final, Protocol
from weakref import WeakKeyDictionary

from bloomless.bench.thermometers import Facts, Value
from bloomless.errors import DeviceFailure
from bloomless.probes import gatt
from bloomless.probes.extras import need

__all__ = ["Bluetooth", "Radio", "SystemRadio", "scanning"]

_WANTED: Final = (gatt.TEMPERATURE_MEASUREMENT, gatt.TEMPERATURE, gatt.HUMIDITY)
_POLL_s: Final = 2.0
_GOODBYE_s: Final = 10.0
_MOST_WAITING: Final = 10_000


_LOCKS: Final[WeakKeyDictionary[asyncio.AbstractEventLoop, asyncio.Lock]] = WeakKeyDictionary()


def scanning() -> asyncio.Lock:
    """A radio can look for devices for one asker at a time; BlueZ refuses the second."""
    return _LOCKS.setdefault(asyncio.get_running_loop(), asyncio.Lock())


class Radio(Protocol):
    """What is needed of a Bluetooth library."""

    async def find(self, address: str) -> tuple[Any, float | None]:
        """Device of an address and its signal [dBm]; raises ``DeviceFailure`` if it is not in reach."""

    def client(self, device: Any, gone: Any) -> Any:
        """A client of a found device; ``gone`` is called when it goes away."""


class SystemRadio:
    """The radio of this machine by way of the package bleak.

    Parameters
    ----------
    seconds
        How long to look for a device [s].
    """

    def __init__(self, seconds: float = 10.0) -> None:
        self._seconds = seconds

    async def find(self, address: str) -> tuple[Any, float | None]:
        """See ``Radio.find``."""
        library = need("bleak", "Bluetooth")
        signal: dict[str, float] = {}

        def is_it(device: Any, advertisement: Any) -> bool:
            signal["dBm"] = advertisement.rssi
            return bool(device.address.casefold() == address.casefold())

        try:
            async with scanning():
                device = await library.BleakScanner.find_device_by_filter(is_it, timeout=self._seconds)
        except (library.exc.BleakError, OSError) as error:
            raise DeviceFailure(f"Bluetooth of this machine does not work: “{error}”.") from error
        if device is None:
            raise DeviceFailure(f"“{address}” is not in reach, or is switched off.")
        return device, signal.get("dBm")

    def client(self, device: Any, gone: Any) -> Any:
        """See ``Radio.client``."""
        return need("bleak", "Bluetooth").BleakClient(device, disconnected_callback=gone, timeout=15.0)


class Bluetooth:
    """Readings of one Bluetooth thermometer.

    Parameters
    ----------
    address
        Its address, as ``probe find`` shows it.
    sensor
        Which of several sensors of the same kind in one device, counted from 0.
    radio
        The radio; that of the machine unless given.
    """

    kind = "bluetooth"

    def __init__(self, address: str, sensor: int = 0, radio: Radio | None = None) -> None:
        self.facts = Facts(note=address)
        self._address = address
        self._sensor = sensor
        self._radio = radio or SystemRadio()

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``. A frame is the characteristic's UUID in 36 characters, then its bytes."""
        library = need("bleak", "Bluetooth")
        device, signal_dBm = await self._radio.find(self._address)
        self.facts = replace(self.facts, signal_dBm=signal_dBm)
        heard: asyncio.Queue[bytes | None] = asyncio.Queue(_MOST_WAITING)
        client = self._radio.client(device, lambda _client: heard.put_nowait(None))
        polls: list[asyncio.Task[None]] = []
        try:
            await client.connect()
            await self._battery(client)
            for characteristic in self._characteristics(client):
                polls.extend(await _listen(client, characteristic, heard))
            while (frame := await heard.get()) is not None:
                yield frame
            raise DeviceFailure(f"“{self._address}” has gone out of reach or was switched off.")
        except (library.exc.BleakError, TimeoutError, EOFError) as error:
            raise DeviceFailure(f"“{self._address}” does not answer{_said(error)}.") from error
        finally:
            for poll in polls:
                poll.cancel()
            with suppress(library.exc.BleakError, OSError, EOFError, TimeoutError):
                async with asyncio.timeout(_GOODBYE_s):
                    await client.disconnect()

    def _characteristics(self, client: Any) -> list[Any]:
        """One characteristic of each quantity; the measurement of a Health Thermometer goes first."""
        found = {
            wanted: [c for service in client.services for c in service.characteristics if c.uuid == wanted]
            for wanted in _WANTED
        }
        temperature = found[gatt.TEMPERATURE_MEASUREMENT] or found[gatt.TEMPERATURE]
        chosen = [*temperature[self._sensor : self._sensor + 1], *found[gatt.HUMIDITY][:1]]
        if not chosen:
            raise DeviceFailure(
                f"“{self._address}” offers neither Environmental Sensing nor Health Thermometer: it speaks a language "
                "of its own, which is not read here."
            )
        return chosen

    async def _battery(self, client: Any) -> None:
        library = need("bleak", "Bluetooth")
        with suppress(library.exc.BleakError, OSError):
            level = client.services.get_characteristic(gatt.BATTERY_LEVEL)
            if level is not None:
                charge = gatt.battery_pct(bytes(await client.read_gatt_char(level)))
                self.facts = replace(self.facts, battery_pct=charge)

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return gatt.gatt_values(frame[:36].decode("ascii", "replace"), frame[36:])


def _said(error: Exception) -> str:
    return f": “{error}”" if str(error) else " in time"


async def _listen(client: Any, characteristic: Any, heard: asyncio.Queue[bytes | None]) -> list[asyncio.Task[None]]:
    """Have a characteristic notify or indicate, or ask it every two seconds if it cannot."""
    name = characteristic.uuid.encode()
    if {"notify", "indicate"} & set(characteristic.properties):
        await client.start_notify(characteristic, lambda _c, data: heard.put_nowait(name + bytes(data)))
        return []

    async def ask() -> None:
        try:
            while True:
                heard.put_nowait(name + bytes(await client.read_gatt_char(characteristic)))
                await asyncio.sleep(_POLL_s)
        except Exception:  # whatever it is, the device is gone; the reason is that it does not answer
            heard.put_nowait(None)

    return [asyncio.create_task(ask())]
