"""Links that hang: every wait on a wire ends, the way is opened again, and a keeper stops when it is told to."""

import asyncio
import contextlib
import errno
import logging
import os
import socket
import threading

import pytest
import serial
from probe_worlds import ModbusWorld, SerialWorld, run

from bloomless.bench.thermometers import Facts
from bloomless.errors import DeviceFailure
from bloomless.probes import bluetooth, board, modbus, mqtt, serial_line
from bloomless.probes.board import Board
from bloomless.probes.files import Followed
from bloomless.probes.hub import Hub
from bloomless.probes.keeping import Backoff, Keeper, SparseLog
from bloomless.probes.kinds import thermometer_from

pytestmark = pytest.mark.xdist_group("thermometers")
SOON_S = 5.0


@contextlib.asynccontextmanager
async def kept(thermometer, **how):
    taken = []
    keeper = Keeper(
        "p", thermometer, taken.append, backoff=Backoff(0.01, 0.02), log=SparseLog("p"), interval_s=1.0, **how
    )
    task = asyncio.create_task(keeper.run())
    try:
        yield keeper, taken
    finally:
        task.cancel()
        done, _ = await asyncio.wait({task}, timeout=SOON_S)
        assert done, "the keeper does not stop"


@contextlib.asynccontextmanager
async def peer_at(port, behaves):
    """A server that behaves badly; gives its visitors, and its port."""
    visits = []

    async def visit(reader, writer):
        visits.append(writer)
        with contextlib.suppress(OSError, asyncio.CancelledError):
            await behaves(reader, writer)
        writer.transport.abort()

    server = await asyncio.start_server(visit, "127.0.0.1", port)
    try:
        yield visits, server.sockets[0].getsockname()[1]
    finally:
        server.close()
        for writer in visits:
            writer.transport.abort()
        await asyncio.sleep(0.02)  # their handlers end


async def until(happened):
    async with asyncio.timeout(SOON_S):
        while not happened():
            await asyncio.sleep(0.005)


# ---------------------------------------------------------------- Modbus: a peer that behaves badly


async def mute(reader, writer):
    while await reader.read(100):
        pass


async def drips(reader, writer):
    asked = await reader.read(100)
    for byte in asked[:2] + b"\0\0\0\7\1\4\4\0\0\0\0":
        writer.write(bytes([byte]))
        await asyncio.sleep(0.05)


async def undecodable(reader, writer):
    asked = await reader.read(100)
    writer.write(asked[:2] + b"\0\0\0\3\1\x63\x01")
    await reader.read(100)


async def miscounts(reader, writer):
    asked = await reader.read(100)
    writer.write(asked[:2] + b"\0\0\0\5\1\4\x09\0\0")
    await reader.read(100)


async def answers_another(reader, writer):
    await reader.read(100)
    writer.write(b"\xab\xcd\0\0\0\7\1\4\4\x41\xfa\0\0")
    await reader.read(100)


async def floods(reader, writer):
    with contextlib.suppress(OSError):
        while True:
            writer.write(b"\xff" * 400)
            await writer.drain()


async def slams(reader, writer):
    writer.transport.abort()


async def deaf(reader, writer):
    writer.transport.pause_reading()
    await asyncio.sleep(60)


@pytest.mark.parametrize(
    "peer", [mute, drips, undecodable, miscounts, answers_another, floods, slams, deaf], ids=lambda p: p.__name__
)
def test_a_bad_peer_is_left_and_asked_anew(peer, tmp_path, monkeypatch, caplog):
    monkeypatch.setattr(modbus, "_ANSWER_s", 0.15)

    async def play():
        world = ModbusWorld(tmp_path)
        await world.start()
        await world.unplug()
        async with kept(world.thermometer()) as (keeper, taken):
            async with peer_at(world.port, peer) as (visits, _):
                await until(lambda: len(visits) >= 2)
                assert not taken
                assert keeper.watch.trouble
            await world.plug()
            await until(lambda: taken)
            assert taken[-1].value == 31.0
        await world.stop()

    with caplog.at_level(logging.INFO):
        run(play())
    logged = [r.message for r in caplog.records if not r.name.startswith("pymodbus")]
    assert len(logged) <= 3, logged


def test_a_peer_that_never_accepts_is_asked_anew(monkeypatch):
    """The system shakes hands for a program that hangs: the link is open, the question is taken, nobody is there."""
    monkeypatch.setattr(modbus, "_ANSWER_s", 0.1)

    async def play():
        with socket.create_server(("127.0.0.1", 0)) as server:
            device = thermometer_from("modbus", {"host": "127.0.0.1", "tcp_port": server.getsockname()[1]})
            async with kept(device) as (keeper, taken):
                await until(lambda: "does not answer" in keeper.watch.trouble)
                assert not taken

    run(play())


# ---------------------------------------------------------------- stopping


class Swallows:
    """What ``wait_for`` did before Python 3.12: told to stop in the moment the answer is there, it gives the answer."""

    kind = "modbus"
    facts = Facts()

    async def frames(self):
        while True:
            with contextlib.suppress(asyncio.CancelledError):
                await asyncio.sleep(0.005)
            yield b""

    def values(self, frame):
        return ()


def test_a_swallowed_cancellation_still_stops_the_keeper():
    async def play():
        hub = Hub(print)
        hub.keep("p", Swallows())
        await asyncio.sleep(0.02)
        async with asyncio.timeout(SOON_S):
            await hub.close()

    run(play())


class Breaks:
    kind = "mqtt"
    facts = Facts()
    opened = 0

    async def frames(self):
        self.opened += 1
        yield b""
        raise AttributeError("a library's own fault")

    def values(self, frame):
        return ()


def test_a_fault_of_a_library_is_a_loss_and_not_the_end():
    async def play():
        device = Breaks()
        async with kept(device) as (keeper, _):
            await until(lambda: device.opened >= 3)
            assert "AttributeError: a library's own fault" in keeper.watch.trouble

    run(play())


# ---------------------------------------------------------------- MQTT


@pytest.mark.parametrize("greets", [False, True], ids=["never greets", "greets, then hangs"])
def test_a_broker_that_hangs_is_left(greets, monkeypatch):
    monkeypatch.setattr(mqtt, "_ANSWER_s", 0.3)
    monkeypatch.setattr(mqtt, "_KEEP_ALIVE_s", 1)

    async def play():
        async def hangs(reader, writer):
            await reader.read(200)
            if greets:
                writer.write(b"\x20\x02\x00\x00")  # CONNACK
                asked = await reader.read(200)
                writer.write(b"\x90\x03" + asked[2:4] + b"\x01")  # SUBACK
            await mute(reader, writer)

        async with peer_at(0, hangs) as (visits, port):
            device = thermometer_from("mqtt", {"host": "127.0.0.1", "port": port, "topic": "t"})
            async with kept(device) as (keeper, _):
                await until(lambda: len(visits) >= 2)
                assert "does not answer" in keeper.watch.trouble

    run(play())


# ---------------------------------------------------------------- Bluetooth, board, file


class HangingClient:
    services = ()

    async def connect(self):
        await asyncio.sleep(60)

    disconnect = connect


def test_a_radio_that_hangs_is_left(monkeypatch):
    monkeypatch.setattr(bluetooth, "_GOODBYE_s", 0.05)
    asked = []

    class Radio:
        async def find(self, address):
            asked.append(address)
            return address, None

        def client(self, device, gone):
            return HangingClient()

    async def play():
        async with kept(bluetooth.Bluetooth("AA", radio=Radio()), reopen_after_s=0.05) as (keeper, _):
            await until(lambda: len(asked) >= 3)
            assert "Silent" in keeper.watch.trouble

    run(play())


def test_a_sensor_that_hangs_in_the_kernel_holds_one_thread(tmp_path, monkeypatch):
    monkeypatch.setattr(board, "_PATIENCE_s", 0.03)
    device = tmp_path / "class/hwmon/hwmon1"
    device.mkdir(parents=True)
    let_go, reads = threading.Event(), []

    def hangs(self):
        reads.append(1)
        let_go.wait(SOON_S)
        return b"31000\n"

    monkeypatch.setattr(Board, "_read", hangs)

    async def play():
        async with kept(Board("hwmon", "hwmon1", sysfs=str(tmp_path), interval_s=0.01)) as (keeper, taken):
            await until(lambda: keeper.watch.trouble)
            await asyncio.sleep(0.2)
            assert len(reads) == 1
            let_go.set()
            await until(lambda: taken)

    run(play())


def test_a_port_that_hangs_while_it_is_opened_holds_one_thread(monkeypatch):
    let_go, opened = threading.Event(), []

    def hangs(*_, **__):
        opened.append(1)
        let_go.wait(SOON_S)
        raise OSError(errno.EIO, "pulled out")

    monkeypatch.setattr(serial_line, "_OPENS_s", 0.05)
    monkeypatch.setattr(serial, "Serial", hangs)

    async def play():
        async with kept(thermometer_from("serial", {"port": "/dev/ttyUSB0"})) as (keeper, _):
            await until(lambda: "does not answer" in keeper.watch.trouble)
            assert len(opened) == 1
            let_go.set()
            await until(lambda: "Input/output" in keeper.watch.trouble)

    run(play())


def test_two_readers_of_one_port_would_tear_its_lines(tmp_path):
    async def play():
        world = SerialWorld(tmp_path)
        await world.start()
        async with kept(world.thermometer()) as (_, taken):
            await asyncio.sleep(0.1)
            async with kept(world.thermometer()) as (second, none):
                await until(lambda: "in use by another program" in second.watch.trouble)
                for n in range(50):
                    await world.send(25.0 + n / 10)
                await until(lambda: len(taken) == 50)
                assert none == []
        await world.stop()

    run(play())


def test_a_pipe_is_not_a_file(tmp_path):
    os.mkfifo(tmp_path / "pipe")

    async def play():
        return await anext(Followed(str(tmp_path / "pipe")).frames())

    with pytest.raises(DeviceFailure, match="is not a file"):
        run(play())
