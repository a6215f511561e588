"""Bluetooth above the bytes: the real client library on a stand-in for BlueZ, an independent stack as peripheral."""

import asyncio
import contextlib
import shutil
import sys
import tempfile
from pathlib import Path
from types import SimpleNamespace

import pytest
from bluez_mock import BluezMock
from probe_worlds import BluetoothWorld, FakeBackend, Trial, living
from probe_worlds import run as in_loop

from bloomless.bench.thermometers import Condition
from bloomless.errors import DeviceFailure
from bloomless.probes import gatt
from bloomless.probes.bluetooth import Bluetooth, SystemRadio
from bloomless.probes.finding import find_bluetooth

ADDRESS = "AA:BB:CC:DD:EE:01"
BATTERY = "0000180f-0000-1000-8000-00805f9b34fb"
linux = pytest.mark.skipif(
    sys.platform != "linux" or shutil.which("dbus-daemon") is None, reason="BlueZ is the Bluetooth of Linux"
)


class Bluez(BluetoothWorld):
    """The same world as in the contract, with the library's own BlueZ backend."""

    characteristics = (
        (gatt.ENVIRONMENTAL_SENSING, gatt.TEMPERATURE, ["read", "notify"], b"\x35\x0c"),
        (BATTERY, gatt.BATTERY_LEVEL, ["read"], b"\x5a"),
    )
    notified = gatt.TEMPERATURE

    async def start(self):
        self.mock = BluezMock(ADDRESS, "needle", self.characteristics)
        await self.mock.start(self.folder)

    async def stop(self):
        await self.mock.stop()

    def thermometer(self):
        return Bluetooth(ADDRESS, radio=SystemRadio(seconds=1.0))

    async def send_raw(self, message):
        async with asyncio.timeout(10):
            while not self.mock.characteristics[self.notified].notifying:
                await asyncio.sleep(0.01)
        self.mock.characteristics[self.notified].notify(message)

    async def unplug(self):
        self.mock.characteristics[self.notified].notifying = False
        self.mock.leave()

    async def plug(self):
        self.mock.in_reach = True


class Fever(Bluez):
    characteristics = ((gatt.HEALTH_THERMOMETER, gatt.TEMPERATURE_MEASUREMENT, ["indicate"], b""),)
    notified = gatt.TEMPERATURE_MEASUREMENT

    async def send(self, celsius):
        await self.send_raw(b"\x00" + round(celsius * 100).to_bytes(3, "little", signed=True) + b"\xfe")


def play(world_type, story):
    async def run():
        async with living(world_type) as world, Trial(world) as trial:
            await story(world, trial)

    in_loop(run())


@linux
@pytest.mark.parametrize("world_type", [Bluez, Fever])
def test_the_real_library_connects_reads_loses_and_comes_back(world_type):
    async def story(world, trial):
        for celsius in (31.25, 45.5, -2.5):
            assert await trial.arrives(celsius), trial.keeper.watch
        assert [r.value for r in trial.taken] == [31.25, 45.5, -2.5]
        facts = trial.keeper.thermometer.facts
        assert facts.signal_dBm in (-60, -61)
        assert facts.battery_pct == (90.0 if world_type is Bluez else None)
        await world.unplug()
        assert await trial.until(lambda: trial.condition() is Condition.LOST)
        assert trial.shown() is None
        await world.plug()
        assert await trial.until(lambda: world.mock.characteristics[world.notified].notifying, 15.0)
        assert await trial.arrives(32.75)
        assert trial.condition() is Condition.LIVE

    play(world_type, story)


@linux
def test_thermometers_in_reach_are_found():
    async def run():
        with tempfile.TemporaryDirectory() as folder:
            mock = BluezMock(ADDRESS, "needle", Bluez.characteristics)
            await mock.start(Path(folder))
            found = await find_bluetooth(0.5)
            mock.device.uuids = []
            mock.device.emit_properties_changed({"UUIDs": []})
            await asyncio.sleep(0.05)
            silent, every = await find_bluetooth(0.5), await find_bluetooth(0.5, every=True)
            await mock.stop()
            return found, silent, every

    found, silent, every = in_loop(run())
    assert [(one.name, one.settings, one.note) for one in found] == [
        ("needle", {"address": ADDRESS}, "Environmental Sensing")
    ]
    assert found[0].signal_dBm in (-60.0, -61.0)
    assert silent == []
    assert every[0].note == "announces no thermometer service"


@linux
def test_two_probes_are_looked_for_one_after_the_other():
    async def run():
        with tempfile.TemporaryDirectory() as folder:
            mock = BluezMock(ADDRESS, "needle", Bluez.characteristics)
            await mock.start(Path(folder))
            radio = SystemRadio(2.0)
            found = await asyncio.gather(*(radio.find(ADDRESS) for _ in range(3)))
            with pytest.raises(DeviceFailure, match="not in reach"):
                await SystemRadio(0.2).find("00:00:00:00:00:00")
            await mock.stop()
            return [device.address for device, _ in found]

    assert in_loop(run()) == [ADDRESS] * 3


@linux
def test_a_machine_without_bluetooth_says_so(monkeypatch):
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", "unix:path=/nowhere")

    async def run():
        with pytest.raises(DeviceFailure, match="Bluetooth of this machine"):
            await find_bluetooth(0.1)
        with pytest.raises(DeviceFailure, match="Bluetooth of this machine"):
            await SystemRadio(0.1).find(ADDRESS)

    in_loop(run())


# ---------------------------------------------------------------- the fake backend


class Foreign(BluetoothWorld):
    answers = False
    offers = ((BATTERY, gatt.BATTERY_LEVEL, ["read"]),)


class Polled(BluetoothWorld):
    answers = False
    offers = (
        (gatt.ENVIRONMENTAL_SENSING, gatt.TEMPERATURE, ["read"]),
        (gatt.ENVIRONMENTAL_SENSING, gatt.HUMIDITY, ["read", "notify"]),
    )


def test_a_device_with_a_language_of_its_own_is_named_so():
    async def story(world, trial):
        assert await trial.until(lambda: "language of its own" in trial.keeper.watch.trouble)

    play(Foreign, story)


def test_a_characteristic_that_cannot_notify_is_asked(monkeypatch):
    monkeypatch.setattr("bloomless.probes.bluetooth._POLL_s", 0.02)

    async def story(world, trial):
        world.readable[gatt.TEMPERATURE] = (3125).to_bytes(2, "little")
        assert await trial.until(lambda: len(trial.taken) > 3)
        assert {r.value for r in trial.taken} <= {31.25}
        world.listeners[gatt.HUMIDITY](bytearray((4550).to_bytes(2, "little")))
        assert trial.keeper.watch.last.keys() <= {"temperature", "humidity"}
        assert await trial.until(lambda: "humidity" in trial.keeper.watch.last)
        world.readable.clear()  # the next question fails
        assert await trial.until(lambda: not trial.keeper.watch.linked)

    play(Polled, story)


# ---------------------------------------------------------------- an independent stack


def bumble_pair():
    """A peripheral and a central of the package bumble on one simulated radio link."""
    from bumble.controller import Controller
    from bumble.device import Device
    from bumble.hci import Address
    from bumble.host import Host
    from bumble.link import LocalLink
    from bumble.transport.common import AsyncPipeSink

    link = LocalLink()
    devices = []
    for number in (1, 2):
        address = f"F0:F1:F2:F3:F4:F{number}"
        controller = Controller(f"C{number}", link=link, public_address=address)
        devices.append(Device(address=Address(address), host=Host(controller, AsyncPipeSink(controller))))
    return devices


class BumbleClient:
    """What ``Bluetooth`` needs of a client, on bumble: its bytes come from another author's protocol stack."""

    def __init__(self, central, address, gone):
        self.central, self.address, self.gone = central, address, gone

    async def connect(self):
        from bumble.device import Peer

        self.connection = await self.central.connect(self.address)
        self.connection.on("disconnection", lambda _reason: self.gone(self))
        peer = Peer(self.connection)
        await peer.discover_services()
        await peer.discover_characteristics()
        self.proxies = {}
        found = []
        for service in peer.services:
            characteristics = []
            for proxy in service.characteristics:
                uuid = f"{proxy.uuid.to_hex_str().lower():0>8}-0000-1000-8000-00805f9b34fb"
                names = {"NOTIFY": "notify", "INDICATE": "indicate", "READ": "read"}
                properties = [word for flag, word in names.items() if flag in str(proxy.properties)]
                self.proxies[uuid] = proxy
                characteristics.append(SimpleNamespace(uuid=uuid, properties=properties))
            found.append(SimpleNamespace(characteristics=characteristics))
        self.services = Services(found)

    async def start_notify(self, characteristic, callback):
        await self.proxies[characteristic.uuid].subscribe(lambda value: callback(characteristic, bytearray(value)))

    async def read_gatt_char(self, characteristic):
        return await self.proxies[characteristic.uuid].read_value()

    async def disconnect(self):
        from bumble.core import BaseBumbleError

        with contextlib.suppress(BaseBumbleError, TimeoutError):
            await asyncio.wait_for(self.connection.disconnect(), 1.0)


class Services(list):
    def get_characteristic(self, uuid):
        return next((c for service in self for c in service.characteristics if c.uuid == uuid), None)


@pytest.mark.parametrize("service", ["health", "environment"])
def test_against_an_independent_stack(service):
    """Values written by bumble's GATT server arrive through our adapter, all of them, in order."""
    from bumble.gatt import Characteristic, Service

    properties = Characteristic.Properties
    values = [round(25.0 + 0.25 * i, 2) for i in range(40)]

    async def run():
        peripheral, central = bumble_pair()
        if service == "health":
            uuid, of, how = "2A1C", "1809", properties.INDICATE
        else:
            uuid, of, how = "2A6E", "181A", properties.READ | properties.NOTIFY
        measured = Characteristic(uuid, how, Characteristic.READABLE, b"\x00" * 5)
        battery = Characteristic("2A19", properties.READ, Characteristic.READABLE, b"\x42")
        peripheral.add_services([Service(of, [measured]), Service("180F", [battery])])
        await peripheral.power_on()
        await central.power_on()
        await peripheral.start_advertising(auto_restart=True)

        class Radio:
            async def find(self, address):
                return address, -50.0

            def client(self, device, gone):
                return BumbleClient(central, peripheral.random_address, gone)

        probe = Bluetooth("F0:F1:F2:F3:F4:F1", radio=Radio())
        frames = probe.frames()
        first = asyncio.ensure_future(anext(frames))
        got = []
        for value in values:
            if service == "health":
                data = b"\x00" + round(value * 100).to_bytes(3, "little") + b"\xfe"
            else:
                data = round(value * 100).to_bytes(2, "little")
            while True:  # the first ones, until our side has subscribed
                if service == "health":
                    await peripheral.indicate_subscribers(measured, data)
                else:
                    await peripheral.notify_subscribers(measured, data)
                try:
                    frame = await asyncio.wait_for(asyncio.shield(first), 0.05 if not got else 5.0)
                    break
                except TimeoutError:
                    continue
            got.append(probe.values(frame)[0].value)
            first = asyncio.ensure_future(anext(frames))
        await asyncio.sleep(0.01)
        for connection in list(peripheral.connections.values()):
            await connection.disconnect()
        with pytest.raises(DeviceFailure, match="gone out of reach"):
            await asyncio.wait_for(first, 5.0)
        return got, probe.facts

    got, facts = in_loop(run())
    assert got == values
    assert facts.battery_pct == 66.0
    assert facts.signal_dBm == -50.0


def test_the_fake_is_a_whole_backend():
    assert FakeBackend.__abstractmethods__ == frozenset()
