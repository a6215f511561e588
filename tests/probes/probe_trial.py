"""A keeper on trial in a world: what it took, what was lost, doubled or invented."""

import asyncio
import logging
import time
from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise

from probe_world import living

from bloomless.probes.keeping import Backoff, Keeper, SparseLog

MARK_C = 20.0  # sent while the way is being found back; not one of the counted values


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
