"""Worlds on a wire: a serial line on a pseudo-terminal, a real broker, Modbus over TCP and over a pair of lines."""

import asyncio
import contextlib
import json
import os
import shutil
import socket
import struct
import subprocess
import tty

from probe_world import World, free_port

from bloomless.probes.kinds import thermometer_from


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
