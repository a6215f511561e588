"""Worlds without a link: typed, posted, a file, an old log, the simulated one, a board of this computer."""

import asyncio
import json

from probe_world import World

from bloomless.probes.kinds import thermometer_from
from bloomless.probes.simulated import Fault
from bloomless.probes.texts import crc8


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
