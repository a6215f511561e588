"""Small worlds of thermometers: one for each kind of way in, with a device that can be killed and brought back.

Shared by the contract test and by ``benchmarks/thermometers.py``.
"""

import asyncio
import contextlib
import json
import logging
import os
import shutil
import socket
import struct
import subprocess
import sys
import tempfile
import time
import tty
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.client import BaseBleakClient
from bleak.backends.device import BLEDevice
from bleak.backends.service import BleakGATTService, BleakGATTServiceCollection
from bleak.exc import BleakError

from bloomless.errors import DeviceFailure
from bloomless.probes import gatt
from bloomless.probes.keeping import Backoff, Keeper, SparseLog
from bloomless.probes.kinds import thermometer_from
from bloomless.probes.texts import crc8


def run(coroutine):
    """Run a coroutine in a thread of its own: a browser of another test may keep a loop running in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, coroutine).result()


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class World:
    """A device and its surroundings. ``polled`` kinds are asked; the others speak by themselves."""

    kind = ""
    name = ""  # of the world, where a kind has several
    polled = False
    joins_halves = False
    answers = True  # False for a world in which no reading can arrive at first
    tells_unplugged = True
    counted = None  # polled worlds that give the next value at each question: after how many they begin anew
    garbage = (b"\xff\xfe\x00garbage", b"", b"NaN", b"99999")

    def __init__(self, folder: Path):
        self.folder = folder

    async def start(self): ...

    async def stop(self): ...

    def thermometer(self):
        raise NotImplementedError

    async def send(self, celsius):
        raise NotImplementedError

    async def send_raw(self, message):
        raise NotImplementedError

    async def send_half(self, celsius):
        """The first half of a good message; where a transport keeps messages whole, a message cut short."""
        raise NotImplementedError

    async def silence(self):
        """Alive, but no reading comes."""

    async def unplug(self):
        raise NotImplementedError

    async def plug(self):
        raise NotImplementedError


class TypedWorld(World):
    kind = "typed"

    async def start(self):
        self.device = thermometer_from("typed", {})

    def thermometer(self):
        return self.device

    async def send(self, celsius):
        self.device.deliver(f"{celsius:.2f}".replace(".", ",").encode())

    async def send_raw(self, message):
        self.device.deliver(message)

    async def send_half(self, celsius):
        self.device.deliver(b"T = ")

    async def unplug(self):
        self.device.leave()

    async def plug(self): ...


class PostedWorld(TypedWorld):
    """A program that posts; when it dies, nobody says so."""

    kind = "http"
    tells_unplugged = False

    async def unplug(self): ...

    async def start(self):
        self.device = thermometer_from("http", {})

    async def send(self, celsius):
        self.device.deliver(json.dumps({"temperature_C": celsius}).encode())

    async def send_half(self, celsius):
        self.device.deliver(json.dumps({"temperature_C": celsius}).encode()[:-4])


class FileWorld(World):
    kind = "file"
    joins_halves = True
    garbage = (b"\xff\xfe\x00garbage", b"one;two;three", b"{", b"99999")

    async def start(self):
        self.path = self.folder / "record.csv"
        self.path.write_bytes(b"time;temperature\n0;25.00\n")

    def thermometer(self):
        return thermometer_from("file", {"path": str(self.path), "poll_s": 0.005, "separator": "semicolon"})

    def _append(self, data):
        with self.path.open("ab") as file:
            file.write(data)

    async def send(self, celsius):
        self._append(f"12:00;{celsius:.2f}\n".encode())

    async def send_raw(self, message):
        self._append(message + b"\n")

    async def send_half(self, celsius):
        self._append(f"12:00;{celsius:.2f}".encode()[:-3])
        self.rest = f"{celsius:.2f}"[-3:].encode() + b"\n"

    async def send_rest(self):
        self._append(self.rest)

    async def unplug(self):
        self.path.unlink()

    async def plug(self):
        self.path.write_bytes(b"time;temperature\n")


class ReplayWorld(World):
    """An old log that is still being written would be a file; a replay is given whole, so this one is refilled."""

    kind = "replay"
    garbage = (b"\xff\xfe\x00garbage", b"{", b'{"what": "reading", "at": 1, "temperature_C": "hot"}')

    async def start(self):
        self.path = self.folder / "old.jsonl"
        self.path.write_bytes(b"")
        self.device = thermometer_from("replay", {"path": str(self.path), "speed": 0})
        self.inner = self.device.frames
        self.device.frames = self._frames
        self.here = True

    async def _frames(self):
        # Played again and again from where it stopped, so that the world can add lines.
        while True:
            async for frame in self.inner():
                yield frame
            await asyncio.sleep(0.02)

    def thermometer(self):
        return self.device

    def _append(self, data):
        with self.path.open("ab") as file:
            file.write(data)

    async def send(self, celsius):
        self._append(json.dumps({"what": "reading", "at": 1.0, "temperature_C": celsius}).encode() + b"\n")

    async def send_raw(self, message):
        self._append(message + b"\n")

    async def send_half(self, celsius):
        self._append(json.dumps({"what": "reading", "at": 1.0, "temperature_C": celsius}).encode()[:-4] + b"\n")

    async def unplug(self):
        self.path.rename(self.path.with_suffix(".away"))

    async def plug(self):
        self.path.with_suffix(".away").rename(self.path)


class SimulatedWorld(World):
    kind = "simulated"
    polled = True
    garbage = (b"-",)

    async def start(self):
        self.device = thermometer_from(
            "simulated",
            {"interval_s": 0.002, "points": [[0, 31.0]], "lag_s": 0.0, "noise_K": 0.0, "resolution_K": 0.01},
        )
        self.faults = self.device._faults

    def thermometer(self):
        return self.device

    def _fault(self, what):
        from bloomless.probes.simulated import Fault

        self.device._faults = (Fault(0.0, 1e9, what),) if what else ()

    async def send(self, celsius):
        self._fault(None)
        self.device._points = [(0.0, celsius)]

    async def send_raw(self, message):
        self._fault("garbage")

    async def send_half(self, celsius):
        self._fault("half")

    async def silence(self):
        self._fault("silent")

    async def unplug(self):
        self._fault("unplugged")

    async def plug(self):
        self._fault(None)


class SerialWorld(World):
    kind = "serial"
    joins_halves = True
    garbage = (b"\xff\xfe\x00garbage", b"NaN", b"99999", b"31.2.5 C", b"x" * 500)

    async def start(self):
        self.link = self.folder / "probe-port"
        await self.plug()

    async def stop(self):
        await self.unplug()

    def thermometer(self):
        return thermometer_from("serial", {"port": str(self.link)})

    async def plug(self):
        self.master, slave = os.openpty()
        tty.setraw(slave)
        self.slave = slave
        self.link.symlink_to(os.ttyname(slave))

    async def unplug(self):
        if self.link.is_symlink():
            self.link.unlink()
            os.close(self.slave)
            os.close(self.master)

    async def send(self, celsius):
        os.write(self.master, f"T={celsius:.2f}°C\r\n".encode())

    async def send_raw(self, message):
        os.write(self.master, message + b"\n")

    async def send_half(self, celsius):
        line = f"{celsius:.2f}"
        os.write(self.master, line[:-3].encode())
        self.rest = line[-3:].encode() + b"\n"

    async def send_rest(self):
        os.write(self.master, self.rest)


class Broker:
    """A real mosquitto process."""

    def __init__(self, folder):
        self.port = free_port()
        self.config = folder / "mosquitto.conf"
        self.config.write_text(f"listener {self.port} 127.0.0.1\nallow_anonymous true\nmax_queued_messages 0\n")
        self.process = None

    async def start(self):
        program = shutil.which("mosquitto", path=f"{os.environ['PATH']}:/usr/sbin:/usr/local/sbin")
        self.process = subprocess.Popen(
            [program, "-c", str(self.config)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        for _ in range(200):
            with contextlib.suppress(OSError):
                socket.create_connection(("127.0.0.1", self.port), 0.2).close()
                return
            await asyncio.sleep(0.02)
        raise RuntimeError("mosquitto did not start")

    async def kill(self):
        self.process.kill()
        self.process.wait()


class MqttWorld(World):
    kind = "mqtt"
    garbage = (b"\xff\xfe\x00garbage", b"{}", b"[]", b'{"bowl": {"t": NaN}}', b'{"bowl": {"t": true}}', b"[" * 2000)

    async def start(self):
        self.broker = Broker(self.folder)
        self.publisher = None
        await self.plug()

    async def stop(self):
        await self._leave()
        await self.broker.kill()

    async def _leave(self):
        if self.publisher is not None:
            with contextlib.suppress(Exception):
                await self.publisher.__aexit__(None, None, None)
            self.publisher = None

    def thermometer(self):
        return thermometer_from(
            "mqtt", {"host": "127.0.0.1", "port": self.broker.port, "topic": "kitchen/1", "path": "bowl.t"}
        )

    async def plug(self):
        import aiomqtt

        await self.broker.start()
        self.publisher = aiomqtt.Client("127.0.0.1", self.broker.port)
        await self.publisher.__aenter__()

    async def unplug(self):
        await self.broker.kill()
        await self._leave()

    async def send(self, celsius):
        await self.publisher.publish("kitchen/1", json.dumps({"bowl": {"t": celsius}}), qos=1)

    async def send_raw(self, message):
        await self.publisher.publish("kitchen/1", message, qos=1)

    async def send_half(self, celsius):
        await self.publisher.publish("kitchen/1", json.dumps({"bowl": {"t": celsius}})[:-4], qos=1)


class ModbusWorld(World):
    """The library's own simulator over TCP; the value is a float in two registers."""

    kind = "modbus"
    name = "modbus tcp"
    polled = True
    garbage = (float("nan"), 1e30, -400.0)
    counted = 2000
    counting = False

    async def start(self):
        self.port = free_port()
        self.server = None
        self.celsius = 31.0
        self.hole = None
        await self.plug()

    async def stop(self):
        await self.unplug()

    def thermometer(self):
        return thermometer_from(
            "modbus", {"host": "127.0.0.1", "tcp_port": self.port, "number": "float32", "interval_s": 0.002}
        )

    def _device(self):
        from pymodbus.simulator import DataType, SimData, SimDevice

        async def answer(function, start, address, count, registers, values):
            # The values of now, in the registers that are read out after this.
            if self.counting:
                self.celsius = round(25.0 + (round((self.celsius - 25.0) * 100) + 1) % self.counted * 0.01, 2)
            registers[:2] = struct.unpack(">HH", struct.pack(">f", self.celsius))

        bits = SimData(0, values=False, datatype=DataType.BITS)
        return SimDevice(
            1,
            simdata=(
                [bits],
                [bits],
                [SimData(0, values=[0, 0, 0, 0], datatype=DataType.REGISTERS)],
                [SimData(0, values=[0, 0, 0, 0], datatype=DataType.REGISTERS)],
            ),
            action=answer,
        )

    def _server(self):
        from pymodbus.server import ModbusTcpServer

        return ModbusTcpServer(self._device(), address=("127.0.0.1", self.port))

    async def plug(self):
        await self._close_hole()
        self.server = self._server()
        await self.server.serve_forever(background=True)

    async def unplug(self):
        await self._close_hole()
        if self.server is not None:
            await self.server.shutdown()
            self.server = None

    async def _close_hole(self):
        if self.hole is not None:
            self.hole.close()
            self.hole = None

    async def silence(self):
        """A device that takes the question and never answers."""
        await self.unplug()

        async def swallow(reader, writer):
            while await reader.read(100):
                pass
            writer.close()

        self.hole = await asyncio.start_server(swallow, "127.0.0.1", self.port)

    async def send(self, celsius):
        self.celsius = celsius
        self.counting = False
        if self.server is None:
            await self.plug()

    async def send_raw(self, message):
        self.celsius = message

    async def send_half(self, celsius):
        self.celsius = struct.unpack(">f", struct.pack(">HH", 0x7FC0, 0))[0]  # the second register is not there yet


class ModbusRtuWorld(ModbusWorld):
    """The same over a pair of pseudo-terminals held by socat."""

    name = "modbus rtu"

    async def start(self):
        self.ours, self.theirs = self.folder / "rtu-a", self.folder / "rtu-b"
        self.socat = None
        self.server = None
        self.hole = None
        self.celsius = 31.0
        await self.plug()

    def thermometer(self):
        return thermometer_from("modbus", {"serial_port": str(self.ours), "number": "float32", "interval_s": 0.002})

    def _server(self):
        from pymodbus.framer import FramerType
        from pymodbus.server import ModbusSerialServer

        return ModbusSerialServer(self._device(), framer=FramerType.RTU, port=str(self.theirs), baudrate=9600)

    async def plug(self):
        if self.socat is None:
            self.socat = subprocess.Popen(
                ["socat", f"pty,raw,echo=0,link={self.ours}", f"pty,raw,echo=0,link={self.theirs}"],
                stderr=subprocess.DEVNULL,
            )
            while not (self.ours.exists() and self.theirs.exists()):
                await asyncio.sleep(0.01)
        await super().plug()

    async def silence(self):
        await super().unplug()

    async def unplug(self):
        await super().unplug()
        if self.socat is not None:
            self.socat.terminate()
            self.socat.wait()
            self.socat = None


def one_wire_file(celsius):
    """What the kernel shows of a 12-bit sensor."""
    scratchpad = round(celsius * 16).to_bytes(2, "little", signed=True) + bytes.fromhex("4b467fff0c10")
    crc = crc8(scratchpad)
    line = " ".join(f"{byte:02x}" for byte in (*scratchpad, crc))
    return f"{line} : crc={crc:02x} YES\n{line} t={round(celsius * 1000)}\n".encode()


class BoardWorld(World):
    """A 1-Wire sensor under a temporary root of sysfs."""

    kind = "board"
    polled = True
    garbage = (b"", b"garbage", b"50 05 4b 46 7f ff 0c 10 1c : crc=1c NO\n50 05 4b 46 7f ff 0c 10 1c t=85000\n")

    async def start(self):
        self.device = self.folder / "bus/w1/devices/28-00000abcdef0"
        self.device.mkdir(parents=True)
        await self.send(31.0)

    def thermometer(self):
        return thermometer_from(
            "board",
            {"bus": "1-wire", "sensor": "28-00000abcdef0", "sysfs": str(self.folder), "interval_s": 0.002},
        )

    def _write(self, data):
        # Replaced in one step: the kernel never shows half of this file.
        new = self.device / "new"
        new.write_bytes(data)
        new.rename(self.device / "w1_slave")

    async def send(self, celsius):
        self._write(one_wire_file(celsius))

    async def send_raw(self, message):
        self._write(message)

    async def send_half(self, celsius):
        self._write(one_wire_file(celsius).splitlines(keepends=True)[0])

    async def silence(self):
        self._write(b"")

    async def unplug(self):
        self.device.rename(self.folder / "away")

    async def plug(self):
        (self.folder / "away").rename(self.device)


class FakeBackend(BaseBleakClient):
    """A client backend without a radio, written against the library's own abstract class."""

    world = None

    def __init__(self, address_or_ble_device, services=None, **kwargs):
        super().__init__(address_or_ble_device, services=services, **kwargs)
        self._connected = False

    @property
    def mtu_size(self):
        return 23

    @property
    def is_connected(self):
        return self._connected

    async def connect(self, pair, **kwargs):
        if not self.world.here:
            raise BleakError("not in reach")
        self._connected = True
        self.world.client = self
        self.services = self.world.services()

    async def disconnect(self):
        self._connected = False

    def drop(self):
        self._connected = False
        if self._disconnected_callback is not None:
            self._disconnected_callback()

    async def start_notify(self, characteristic, callback, **kwargs):
        self.world.listeners[characteristic.uuid] = callback

    async def stop_notify(self, characteristic):
        self.world.listeners.pop(characteristic.uuid, None)

    async def read_gatt_char(self, characteristic, **kwargs):
        return bytearray(self.world.readable[characteristic.uuid])

    async def pair(self, *args, **kwargs): ...

    async def unpair(self): ...

    async def read_gatt_descriptor(self, descriptor, **kwargs):
        raise NotImplementedError

    async def write_gatt_char(self, characteristic, data, response):
        raise NotImplementedError

    async def write_gatt_descriptor(self, descriptor, data):
        raise NotImplementedError


class BluetoothWorld(World):
    """The real client class of bleak on a backend without a radio."""

    kind = "bluetooth"
    address = "00:11:22:33:44:55"
    garbage = (b"", b"\x01", b"\x00\x80", b"\xff\x7f", b"\x00\x01\x02\x03")
    offers = (
        (gatt.ENVIRONMENTAL_SENSING, gatt.TEMPERATURE, ["read", "notify"]),
        ("0000180f-0000-1000-8000-00805f9b34fb", gatt.BATTERY_LEVEL, ["read"]),
    )

    async def start(self):
        self.here = True
        self.client = None
        self.listeners = {}
        self.readable = {gatt.BATTERY_LEVEL: b"\x5a", gatt.TEMPERATURE: b"\x35\x0c"}

    def services(self):
        collection = BleakGATTServiceCollection()
        for handle, (service_uuid, uuid, properties) in enumerate(self.offers):
            service = BleakGATTService(None, 10 * handle + 1, service_uuid)
            collection.add_service(service)
            characteristic = BleakGATTCharacteristic(None, 10 * handle + 2, uuid, properties, lambda: 20, service)
            collection.add_characteristic(characteristic)
        return collection

    async def find(self, address):
        if not self.here:
            raise DeviceFailure(f"{address} is not in reach, or is switched off.")
        return BLEDevice(address, "probe", None), -61.0

    def client_of(self, device, gone):
        from bleak import BleakClient

        backend = type("Backend", (FakeBackend,), {"world": self})
        return BleakClient(device, disconnected_callback=gone, backend=backend)

    def thermometer(self):
        from bloomless.probes.bluetooth import Bluetooth

        world = self

        class Radio:
            find = staticmethod(world.find)
            client = staticmethod(world.client_of)

        return Bluetooth(self.address, radio=Radio())

    async def send_raw(self, message):
        async with asyncio.timeout(10):
            while gatt.TEMPERATURE not in self.listeners:
                await asyncio.sleep(0.01)
        self.listeners[gatt.TEMPERATURE](bytearray(message))

    async def send(self, celsius):
        await self.send_raw(round(celsius * 100).to_bytes(2, "little", signed=True))

    async def send_half(self, celsius):
        await self.send_raw(round(celsius * 100).to_bytes(2, "little", signed=True)[:1])

    async def unplug(self):
        self.here = False
        self.listeners.clear()
        if self.client is not None:
            self.client.drop()

    async def plug(self):
        self.here = True


WORLDS = (
    TypedWorld,
    PostedWorld,
    FileWorld,
    ReplayWorld,
    SimulatedWorld,
    SerialWorld,
    MqttWorld,
    ModbusWorld,
    ModbusRtuWorld,
    BoardWorld,
    BluetoothWorld,
)


@contextlib.asynccontextmanager
async def living(world_type):
    with tempfile.TemporaryDirectory() as folder:
        world = world_type(Path(folder))
        await world.start()
        try:
            yield world
        finally:
            await world.stop()


class Trial:
    """A keeper in a world, with what it took and what it logged."""

    def __init__(self, world):
        self.world = world
        self.taken = []
        self.sent = []
        self.delays_s = []
        self.sent_s = {}
        self.keeper = Keeper(
            "bowl-1",
            world.thermometer(),
            self.take,
            interval_s=1.0,
            backoff=Backoff(first_s=0.02, longest_s=0.1),
            log=SparseLog("bowl-1"),
        )

    def take(self, reading):
        self.taken.append(reading)
        sent_s = self.sent_s.pop(round(reading.value, 2), None)
        if sent_s is not None:
            self.delays_s.append(reading.arrived_s - sent_s)

    async def __aenter__(self):
        self.task = asyncio.create_task(self.keeper.run())
        await asyncio.sleep(0.1)  # a serial line is known to be idle
        if self.world.answers:
            assert await self.arrives(MARK_C, again=True), self.keeper.watch
            await asyncio.sleep(0.05)
            for kept in (self.taken, self.sent, self.delays_s, self.sent_s):
                kept.clear()
        return self

    async def __aexit__(self, *_):
        self.task.cancel()
        await asyncio.gather(self.task, return_exceptions=True)

    async def send(self, celsius):
        self.sent.append(celsius)
        self.sent_s[round(celsius, 2)] = time.monotonic()
        await self.world.send(celsius)

    async def until(self, happened, seconds=6.0):
        limit = time.monotonic() + seconds
        while not happened():
            assert not self.task.done() or self.task.exception() is None, self.task.exception()
            if time.monotonic() > limit:
                return False
            await asyncio.sleep(0.005)
        return True

    async def arrives(self, celsius, *, again=False):
        """Send until it is shown: once, or again and again while the way is being found back."""
        for _ in range(200 if again else 1):
            await self.send(celsius)
            if await self.until(lambda: abs(self.value() - celsius) < 0.006, 0.1 if again else 6.0):
                return True
        return False

    def value(self):
        return self.taken[-1].value if self.taken else -99.0

    def invented(self):
        known = {round(value, 2) for value in (*self.sent, 31.0, MARK_C)}
        return [r.value for r in self.taken if round(r.value, 2) not in known]

    def condition(self, after_s=0.0):
        return self.keeper.watch.condition(time.monotonic() + after_s)

    def shown(self, after_s=0.0):
        return self.keeper.watch.shown(time.monotonic() + after_s)


@dataclass
class Endured:
    """What became of the readings of a long run."""

    sent: int = 0
    arrived: int = 0
    missing: int = 0
    doubled: int = 0
    invented: int = 0
    came_back: int = 0
    log_lines: int = 0
    delays_s: list = field(default_factory=list)


class CountingLog(logging.Handler):
    def __init__(self):
        super().__init__()
        self.lines = 0

    def emit(self, record):
        self.lines += 1


MARK_C = 20.0  # sent while the way is being found back; not one of the counted values


async def endure(world_type, readings, kills, watch_memory=None):
    """Send readings as fast as the way carries them, kill the device between, and account for every one."""
    counter = CountingLog()
    logger = logging.getLogger("bloomless.probes")
    logger.addHandler(counter)
    done = Endured()
    try:
        async with living(world_type) as world, Trial(world) as trial:
            await _account(world, trial, done, readings, kills, watch_memory)
            done.delays_s = trial.delays_s
    finally:
        logger.removeHandler(counter)
    done.log_lines = counter.lines
    return done


async def _account(world, trial, done, readings, kills, watch_memory):
    parts = [readings // (kills + 1)] * (kills + 1)
    for part, wanted in enumerate(parts):
        if part:
            await world.unplug()
            if world.tells_unplugged:
                assert await trial.until(lambda: not trial.keeper.watch.linked, 10.0)
            await world.plug()
            assert await trial.arrives(MARK_C, again=True), trial.keeper.watch
            done.came_back += 1
        if world.polled:
            await _polled(world, trial, done, wanted)
        else:
            await _spoken(trial, done, wanted)
        if watch_memory is not None:
            watch_memory(part)
        trial.taken.clear()


async def _polled(world, trial, done, wanted):
    trial.taken.clear()
    if world.counted is None:
        await trial.send(33.0)
        assert await trial.until(lambda: trial.value() == 33.0)
        trial.taken.clear()
    if world.counted is not None:
        world.celsius, world.counting = 25.0, True
    assert await trial.until(lambda: sum(r.value != MARK_C for r in trial.taken) >= wanted, 60.0 + wanted)
    values = [round(r.value, 2) for r in trial.taken if r.value != MARK_C]
    done.arrived += len(values)
    done.sent += wanted
    if world.counted is None:
        done.invented += sum(value != 33.0 for value in values)
        return
    steps = [round((b - a) * 100) % world.counted for a, b in pairwise(values)]
    done.doubled += sum(step == 0 for step in steps)
    done.missing += sum(step > 1 for step in steps)


async def _spoken(trial, done, wanted):
    await asyncio.sleep(0.12)  # marks that are still on their way
    trial.taken.clear()
    values = [round(25.0 + (i % 2000) * 0.01, 2) for i in range(wanted)]
    for begin in range(0, wanted, 50):
        for value in values[begin : begin + 50]:
            await trial.send(value)
        limit = min(begin + 50, wanted)
        if not await trial.until(lambda limit=limit: len(trial.taken) >= limit, 10.0):
            break
    await asyncio.sleep(0.02)
    got = [round(r.value, 2) for r in trial.taken]
    done.sent += wanted
    done.arrived += len(got)
    sent_of, got_of = Counter(values), Counter(got)
    done.missing += sum((sent_of - got_of).values())
    done.doubled += sum(n for v, n in (got_of - sent_of).items() if v in sent_of)
    done.invented += sum(n for v, n in got_of.items() if v not in sent_of)
    trial.sent.clear()


if sys.platform == "win32":  # pty and socat
    WORLDS = tuple(w for w in WORLDS if w not in (SerialWorld, ModbusRtuWorld))
