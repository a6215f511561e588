"""What every small world of a thermometer can do, and how it is lived in."""

import asyncio
import contextlib
import socket
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path


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


@contextlib.asynccontextmanager
async def living(world_type):
    with tempfile.TemporaryDirectory() as folder:
        world = world_type(Path(folder))
        await world.start()
        try:
            yield world
        finally:
            await world.stop()
