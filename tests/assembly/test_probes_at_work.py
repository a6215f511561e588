"""Thermometers at work in a process: readings are brought to the bowl whatever one of them meets."""

import asyncio
import json
import logging
from datetime import UTC, datetime

import pytest

from bloomless.assembly.probes_at_work import ProbesAtWork
from bloomless.bench.ports import MemoryBook
from bloomless.bench.probe_register import Registration, probe_of, save_probe
from bloomless.errors import StorageFailure, UnknownName

NOW = datetime(2031, 5, 1, 12, tzinfo=UTC)


class Clock:
    s = 0.0

    def now(self):
        return NOW

    def monotonic_s(self):
        return self.s


@pytest.fixture
def book():
    book = MemoryBook()
    save_probe(book, Registration("tablet", "http", bowl="b1"), at=NOW)
    return book


def at_work(book, tell, play, **how):
    async def run():
        work = ProbesAtWork(book, tell, Clock(), **how)
        await work.open()
        try:
            return await play(work)
        finally:
            async with asyncio.timeout(10):
                await work.close()

    return asyncio.run(run())


async def post(work, celsius):
    work.clock.s += 2.0
    return work.deliver("tablet", json.dumps({"temperature_C": celsius}).encode())


@pytest.mark.parametrize("trouble", [RuntimeError("a fault of ours"), StorageFailure("locked", code="not_saved")])
def test_the_next_reading_is_brought_after_any_fault(book, caplog, trouble):
    told = []

    def tell(bowl, event, event_id):
        told.append(event["temperature_C"])
        if len(told) <= 20:
            raise trouble

    async def play(work):
        for n in range(21):
            await post(work, 31.0 + n / 10)

    with caplog.at_level(logging.INFO, "bloomless.probes"):
        at_work(book, tell, play)  # closing brings what waits
    assert told == [31.0 + n / 10 for n in range(21)]
    assert 1 <= len([r for r in caplog.records if "not taken by b1" in r.message]) <= 6


def test_a_bowl_that_is_gone_lets_its_thermometer_go(book):
    def tell(bowl, event, event_id):
        raise UnknownName("bench", bowl, [])

    async def play(work):
        await post(work, 31.0)
        await asyncio.wait_for(work._mail.join(), 5)

    at_work(book, tell, play)
    assert probe_of(book, "tablet").bowl == ""
