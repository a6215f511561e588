"""Thermometers: a day of readings by every way in, a hundred kills, delay, thirty probes at once, spoilt messages.

A day is 86,400 readings for a way whose device speaks by itself and 8,640 answers for one that is asked, as fast as the
way carries them. Devices are the small worlds of ``tests/probes``: a real broker, the Modbus library's own simulator,
pseudo-terminals, a Bluetooth backend without a radio.
"""

from __future__ import annotations

import asyncio
import gc
import logging
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from report import Figure, at_least, at_most, main

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "tests" / "probes"), str(ROOT / "tests")]

from probe_fuzz import TARGETS, fuzz  # noqa: E402
from probe_worlds import WORLDS, Broker, Trial, endure, living  # noqa: E402

from bloomless.probes.hub import Hub  # noqa: E402

PUBLISHER = """
import asyncio, sys, time, aiomqtt
async def run(port, probes, seconds):
    async with aiomqtt.Client("127.0.0.1", port) as client:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            began = time.monotonic()
            for n in range(probes):
                await client.publish(f"kitchen/{n}", '{"t": 31.25}', qos=1)
            await asyncio.sleep(max(0.0, 1.0 - (time.monotonic() - began)))
asyncio.run(run(int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3])))
"""


def rss_MB() -> float:
    """Memory of this process that is in use [MB]."""
    gc.collect()
    with Path("/proc/self/statm").open() as file:
        return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


def open_files() -> int:
    """Files and sockets this process holds open."""
    return len(list(Path("/proc/self/fd").iterdir()))


def quantile(values: list[float], share: float) -> float:
    """A quantile of a list, nearest rank."""
    ordered = sorted(values) or [0.0]
    return ordered[min(int(share * len(ordered)), len(ordered) - 1)]


def a_day(world: type, quick: bool) -> Iterator[Figure]:
    """A day of readings and a hundred kills by one way."""
    name = world.name or world.kind
    readings, kills = (300, 2) if quick else (8_640 if world.polled else 86_400, 100)
    memory: dict[int, float] = {}
    files = open_files()
    began = time.monotonic()
    done = asyncio.run(endure(world, readings, kills, lambda part: memory.__setitem__(part, rss_MB())))
    early = memory[min(len(memory) - 1, 10)]
    print(f"  {name}: {time.monotonic() - began:.0f} s", file=sys.stderr)
    yield at_most(f"{name}: readings lost, doubled or invented", done.missing + done.doubled + done.invented, "", 0)
    yield at_least(f"{name}: readings that arrived", done.arrived, "", done.sent)
    yield at_least(f"{name}: came back after a kill", done.came_back, "", kills)
    yield at_most(f"{name}: memory gained after the tenth kill", memory[max(memory)] - early, "MB", 5.0)
    yield at_most(f"{name}: files left open", open_files() - files, "", 0)
    yield at_most(f"{name}: lines in the log", done.log_lines, "", 20)


async def _delays(world_type: type, count: int) -> list[float]:
    """Delay from sending to taking [s], one reading at a time."""
    chance = random.Random(1)
    async with living(world_type) as world, Trial(world) as trial:
        for n in range(count):
            value = round(25.0 + (n + chance.random()) % 20, 2)
            await trial.send(value)
            if not await trial.until(lambda value=value: abs(trial.value() - value) < 0.006):
                break
            await asyncio.sleep(0.01)
        return [delay for delay in trial.delays_s if delay > 0]


def delay(world: type, quick: bool) -> Figure:
    """Added delay of one way."""
    found = asyncio.run(_delays(world, 20 if quick else 500))
    return at_most(f"{world.name or world.kind}: delay, 99 %", quantile(found, 0.99) * 1e3, "ms", 200.0)


def posted_delay(quick: bool) -> Figure:
    """Round trip of a reading posted to the real server: taken before it is answered."""
    import httpx

    from bloomless.assembly import open_house, places
    from bloomless.bench.probe_register import Registration, save_probe
    from services.web import serving

    with tempfile.TemporaryDirectory() as folder:
        house = open_house(places(Path(folder), {}))
        save_probe(house.book, Registration("tablet", "http"), at=house.clock())
        found = []
        with serving(house) as url, httpx.Client(base_url=url) as client:
            for n in range(50 if quick else 1000):
                began = time.perf_counter()
                client.post("/api/v1/probes/tablet/readings", json={"temperature_C": 31.0 + n % 10}).raise_for_status()
                found.append(time.perf_counter() - began)
        house.close()
    return at_most("http through the server: round trip, 99 %", quantile(found, 0.99) * 1e3, "ms", 200.0)


async def _thirty(seconds: float) -> tuple[float, int]:
    with tempfile.TemporaryDirectory() as folder:
        broker = Broker(Path(folder))
        await broker.start()
        taken: list[object] = []
        hub = Hub(taken.append)
        for n in range(30):
            hub.add(
                f"probe {n}", "mqtt", {"host": "127.0.0.1", "port": broker.port, "topic": f"kitchen/{n}", "path": "t"}
            )
        await asyncio.sleep(1.5)
        command = [sys.executable, "-c", PUBLISHER, str(broker.port), "30", str(seconds + 4.0)]
        sender = subprocess.Popen(command)
        await asyncio.sleep(2.0)
        began_s, began_cpu, before = time.monotonic(), time.process_time(), len(taken)
        await asyncio.sleep(seconds)
        share = (time.process_time() - began_cpu) / (time.monotonic() - began_s)
        heard = len(taken) - before
        await hub.close()
        sender.wait()
        await broker.kill()
    return share, heard


def thirty(quick: bool) -> Iterator[Figure]:
    """Thirty MQTT probes, one reading a second each."""
    seconds = 5.0 if quick else 60.0
    share, heard = asyncio.run(_thirty(seconds))
    yield at_most("30 MQTT probes at once, one reading a second: share of one core", share * 100, "%", 5.0)
    yield at_least("30 MQTT probes at once: readings a second that arrived", heard / seconds, "1/s", 29.0)


def spoilt(quick: bool) -> Iterator[Figure]:
    """Spoilt messages into every parser."""
    for name in TARGETS:
        result = fuzz(name, 5_000 if quick else 100_000, seed=11)
        yield at_most(f"spoilt messages, {name}: crashes", len(result.crashes), f"of {result.inputs}", 0)
        yield at_most(f"spoilt messages, {name}: nonsense accepted", len(result.nonsense), f"of {result.inputs}", 0)


def measure(quick: bool) -> Iterator[Figure]:
    """Every figure of the issue."""
    logging.getLogger("bloomless.probes").addHandler(logging.NullHandler())
    logging.getLogger("bloomless.probes").propagate = False
    yield from spoilt(quick)
    for world in WORLDS:
        yield delay(world, quick)
    yield posted_delay(quick)
    yield from thirty(quick)
    for world in WORLDS:
        yield from a_day(world, quick)


if __name__ == "__main__":
    main(measure, __doc__)
