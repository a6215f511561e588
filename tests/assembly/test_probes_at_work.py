"""Thermometers at work in a process: readings are brought to the bowl whatever one of them meets."""

import asyncio
import json
import logging
from concurrent.futures import Future
from datetime import UTC, datetime

import pytest

from bloomless.assembly import probes_at_work
from bloomless.assembly.probes_at_work import ProbesAtWork
from bloomless.bench.ports import MemoryBook
from bloomless.bench.probe_register import Registration, probe_of, save_probe
from bloomless.errors import Misuse, StorageFailure, UnknownName

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


def taken():
    """What a bowl answers that has taken an event."""
    future = Future()
    future.set_result(None)
    return future


async def until(happened):
    async with asyncio.timeout(10):
        while not happened():
            await asyncio.sleep(0.01)


async def post(work, celsius, name="tablet"):
    work.clock.s += 2.0
    return work.deliver(name, json.dumps({"temperature_C": celsius}).encode())


@pytest.mark.parametrize("trouble", [RuntimeError("a fault of ours"), StorageFailure("locked", code="not_saved")])
def test_the_next_reading_is_brought_after_any_fault(book, caplog, trouble):
    told = []

    def tell(bowl, event, event_id):
        told.append(event["temperature_C"])
        if len(told) <= 20:
            raise trouble
        return taken()

    async def play(work):
        for n in range(21):
            await post(work, 31.0 + n / 10)

    with caplog.at_level(logging.INFO, "bloomless.probes"):
        at_work(book, tell, play)  # closing brings what waits
    assert told == [31.0 + n / 10 for n in range(21)]
    assert 1 <= len([r for r in caplog.records if "not taken by b1" in r.message]) <= 6


def test_a_slow_bowl_keeps_no_other_waiting(book):
    save_probe(book, Registration("other", "http", bowl="b2"), at=NOW)
    slow, told = Future(), []

    def tell(bowl, event, event_id):
        told.append((bowl, event["temperature_C"]))
        return slow if bowl == "b1" else taken()

    async def play(work):
        for celsius in (31.0, 31.1, 31.2):
            await post(work, celsius)
            await post(work, celsius, "other")
        await until(lambda: len(told) >= 4)
        assert told.count(("b1", 31.0)) == 1
        assert [celsius for bowl, celsius in told if bowl == "b2"] == [31.0, 31.1, 31.2]
        slow.set_result(None)

    at_work(book, tell, play)
    assert [celsius for bowl, celsius in told if bowl == "b1"] == [31.0, 31.1, 31.2]


def test_a_bowl_that_takes_nothing_is_complained_of_once(book, caplog, monkeypatch):
    monkeypatch.setattr(probes_at_work, "_MOST_WAITING", 3)
    monkeypatch.setattr(probes_at_work, "_LAST_MAIL_S", 0.05)

    async def play(work):
        for n in range(30):
            await post(work, 31.0 + n / 100)

    at_work(book, lambda *_: Future(), play)
    assert 1 <= len([r for r in caplog.records if "dropped" in r.message]) <= 6


def test_a_bowl_that_is_gone_lets_its_thermometer_go(book):
    def tell(bowl, event, event_id):
        raise UnknownName("bench", bowl, [])

    async def play(work):
        await post(work, 31.0)
        await until(lambda: probe_of(book, "tablet").bowl == "")

    at_work(book, tell, play)
    assert probe_of(book, "tablet").bowl == ""


# ---------------------------------------------------------------- several processes on one book


class Shared:
    """A claim as several processes share one."""

    holder = None

    def __init__(self, name):
        self.name = name

    def hold(self):
        Shared.holder = Shared.holder or self.name
        return Shared.holder == self.name

    def let_go(self):
        if Shared.holder == self.name:
            Shared.holder = None


@pytest.fixture
def quick(monkeypatch):
    monkeypatch.setattr(probes_at_work, "_LOOK_UP_S", 0.03)
    Shared.holder = None


def test_one_process_listens_and_the_next_takes_over(book, quick):
    save_probe(book, Registration("sim", "simulated", {"interval_s": 0.02}), at=NOW)

    async def play():
        first, second = (ProbesAtWork(book, print, claim=Shared(name)) for name in ("a", "b"))
        await first.open()
        await second.open()
        sim = probe_of(book, "sim")
        await until(lambda: first.state(sim)["condition"] == "live")
        elsewhere = second.state(sim)
        assert (elsewhere["condition"], elsewhere["temperature_C"]) == ("waiting", None)
        assert "Another server" in elsewhere["why"]
        with pytest.raises(Misuse, match="cannot be posted"):
            second.deliver("sim", b"{}")
        assert second.deliver("tablet", b'{"temperature_C": 31}'), "what is brought is taken by any of them"
        await first.close()
        await until(lambda: second.state(sim)["condition"] == "live")
        await second.close()

    asyncio.run(play())


def test_what_another_process_or_a_command_writes_is_looked_up(book, quick):
    async def play():
        work = ProbesAtWork(book, print)
        await work.open()
        save_probe(book, Registration("sim", "simulated", {"interval_s": 0.02}), at=NOW)
        await until(lambda: work.keeper("sim") is not None)
        before = work.keeper("sim")
        save_probe(book, Registration("sim", "simulated", {"interval_s": 0.02}, bowl="b2"), at=NOW)
        await until(lambda: work.known()[0].bowl == "b2")
        assert work.keeper("sim") is before, "the way to it is the same"
        save_probe(book, Registration("sim", "simulated", {"interval_s": 0.05}), at=NOW)
        await until(lambda: work.keeper("sim") is not before)
        book.withdraw("probe", "sim", at=NOW)
        await until(lambda: work.keeper("sim") is None)
        await work.close()

    asyncio.run(play())


def test_a_book_that_cannot_be_read_for_a_while_changes_nothing(book, quick, caplog):
    class Flaky(MemoryBook):
        broken = False

        def latest(self, kind):
            if self.broken:
                raise StorageFailure("locked", code="not_saved")
            return super().latest(kind)

    flaky = Flaky(book.entries)

    async def play():
        work = ProbesAtWork(flaky, print)
        await work.open()
        flaky.broken = True
        await until(lambda: any("locked" in r.message for r in caplog.records))
        assert work.keeper("tablet") is not None
        flaky.broken = False
        save_probe(flaky, Registration("new", "http"), at=NOW)
        await until(lambda: work.keeper("new") is not None)
        await work.close()

    asyncio.run(play())
    assert len(caplog.records) <= 6
