"""One contract for every kind of probe: good bytes, half a message, garbage, silence, unplugged, back.

What each kind did is written to the table in ``docs/thermometers.md``; ``BLOOMLESS_WRITE_DOCS=1`` renews it.
"""

import asyncio
import logging
import os
import time
from pathlib import Path

import pytest
from probe_worlds import WORLDS, Trial, endure, living, run

from bloomless.bench.thermometers import Condition
from bloomless.probes import gatt, modbus
from bloomless.probes.kinds import KINDS, thermometer_from

pytestmark = pytest.mark.xdist_group("thermometers")  # one worker, so that the table sees every kind

DOCS = Path(__file__).parents[2] / "docs/thermometers.md"
BEGIN, END = "<!-- made by tests/probes/test_contract.py -->", "<!-- end -->"
CAN = ("humidity", "own time", "bare sensors", "battery, signal", "needs")
COLUMNS = ("half a message", "garbage", "silence", "unplugged", "back")
OUTCOMES: dict[str, dict[str, str]] = {}


async def good(trial):
    for celsius in (31.25, 45.5, 27.75, -2.5):
        assert await trial.arrives(celsius), trial.keeper.watch
    if not trial.world.polled:
        assert [round(r.value, 2) for r in trial.taken] == trial.sent
    assert trial.condition() is Condition.LIVE
    assert trial.shown().value == pytest.approx(-2.5, abs=0.006)


async def half(trial):
    before, refused = len(trial.taken), trial.keeper.watch.refused
    await trial.world.send_half(33.75)
    await asyncio.sleep(0.15)
    if not trial.world.polled:
        assert len(trial.taken) == before
    outcome = "refused" if trial.keeper.watch.refused > refused else "waits for the rest"
    if trial.world.joins_halves:
        trial.sent.append(33.75)
        await trial.world.send_rest()
        assert await trial.until(lambda: trial.value() == 33.75)
        outcome = "joined with the rest"
    assert await trial.arrives(30.25)
    return outcome


async def garbage(trial):
    refused = trial.keeper.watch.refused
    for message in trial.world.garbage:
        await trial.world.send_raw(message)
        await asyncio.sleep(0.12 if trial.world.polled else 0.01)
    assert await trial.until(lambda: trial.keeper.watch.refused > refused)
    assert trial.keeper.watch.last_refused
    assert await trial.arrives(29.75)
    return "refused, shown as refused"


async def silence(trial):
    patience = trial.keeper.watch.patience_s
    await trial.world.silence()
    noticed = await trial.until(lambda: not trial.keeper.watch.linked, 2.5 if trial.world.kind == "modbus" else 0.1)
    taken = len(trial.taken)
    await asyncio.sleep(0.05)
    assert len(trial.taken) <= taken + 1
    assert trial.condition(patience + 1.0) is Condition.LOST
    assert trial.shown(patience + 1.0) is None
    assert trial.keeper.watch.why(time.monotonic() + patience + 1.0)
    assert await trial.arrives(28.25, again=trial.world.polled)
    assert trial.condition() is Condition.LIVE
    return "lost after one unanswered question" if noticed else "lost after 3 intervals"


async def unplugged(trial):
    await trial.world.unplug()
    at_once = await trial.until(lambda: not trial.keeper.watch.linked, 6.0 if trial.world.tells_unplugged else 0.2)
    after_s = 0.0 if at_once else trial.keeper.watch.patience_s + 1.0
    assert at_once == trial.world.tells_unplugged
    assert trial.condition(after_s) is Condition.LOST
    assert trial.shown(after_s) is None
    assert trial.keeper.watch.why(time.monotonic() + after_s)
    return "lost at once" if at_once else "lost after 3 intervals"


async def back(trial):
    await trial.world.plug()
    assert await trial.arrives(32.75, again=True), trial.keeper.watch
    assert trial.condition() is Condition.LIVE
    assert trial.keeper.watch.losses >= trial.world.tells_unplugged
    return "by itself"


@pytest.mark.parametrize("world_type", WORLDS, ids=lambda w: w.name or w.kind)
def test_every_kind_keeps_the_contract(world_type, caplog, monkeypatch):
    monkeypatch.setattr(modbus, "_ANSWER_s", 0.4)

    async def play():
        async with living(world_type) as world, Trial(world) as trial:
            await good(trial)
            outcome = {
                "half a message": await half(trial),
                "garbage": await garbage(trial),
                "silence": await silence(trial),
                "unplugged": await unplugged(trial),
                "back": await back(trial),
            }
            assert trial.invented() == []
            return outcome

    with caplog.at_level(logging.INFO, "bloomless.probes"):
        outcome = run(play())
    ours = [r for r in caplog.records if r.name == "bloomless.probes"]
    assert len(ours) <= 8, "the log is flooded"
    OUTCOMES[world_type.name or world_type.kind] = outcome


@pytest.mark.parametrize("world_type", WORLDS, ids=lambda w: w.name or w.kind)
def test_ten_minutes_and_three_kills(world_type):
    """Every reading sent while connected arrives once, in order, and none is invented."""
    done = run(endure(world_type, readings=600, kills=3))
    assert done.invented == 0
    assert done.doubled == 0
    assert done.missing == 0
    assert done.arrived >= 600
    assert done.came_back == 3


HUMID = {
    "typed": ({}, b"20 C 45,5 %"),
    "serial": ({"port": "p"}, b"T=20; H=45.5%"),
    "bluetooth": ({"address": "AA"}, gatt.HUMIDITY.encode() + b"\xc6\x11"),
    "mqtt": ({"host": "h", "topic": "t", "path": "t", "humidity_path": "h"}, b'{"t": 20, "h": 45.5}'),
    "modbus": ({"host": "h", "quantity": "humidity", "scale": 0.1}, b"\x01\xc7"),
    "board": ({"bus": "iio", "sensor": "iio:device0", "quantity": "humidity"}, b"45500"),
    "http": ({}, b'{"humidity_pct": 45.5}'),
}
TIMED = {
    "mqtt": (
        {"host": "h", "topic": "t", "path": "t", "time_path": "at"},
        b'{"t": 20, "at": "2031-05-01T12:00:00Z"}',
    ),
    "http": ({}, b'{"temperature_C": 20, "when": "2031-05-01T12:00:00Z"}'),
}


def can(kind):
    """What a kind can, tried with a message of each sort; no kind may claim or hide it."""
    humid = timed = "–"
    if kind.name in HUMID:
        settings, frame = HUMID[kind.name]
        values = thermometer_from(kind.name, settings).values(frame)
        assert ("humidity", 45.5) in [(v.quantity, v.value) for v in values]
        humid = "yes"
    if kind.name in TIMED:
        settings, frame = TIMED[kind.name]
        assert thermometer_from(kind.name, settings).values(frame)[0].taken_at.year == 2031
        timed = "yes"
    names = {setting.name for setting in kind.settings()}
    assert ("humidity_path" in names or "quantity" in names) <= (kind.name in HUMID)
    assert ("time_path" in names) <= (kind.name in TIMED)
    bare = "yes" if kind.takes_wiring else "–"
    told = "yes" if kind.name == "bluetooth" else "–"  # tests/probes/test_bluetooth.py reads both
    return humid, timed, bare, told, f"`{kind.library}`" if kind.library else "–"


def table():
    heads = (*COLUMNS, *CAN)
    lines = [f"| kind | {' | '.join(heads)} |", "|---" * (len(heads) + 1) + "|"]
    for world in WORLDS:
        name = world.name or world.kind
        title = KINDS[world.kind].title + (f" ({name.split()[-1].upper()})" if " " in name else "")
        cells = (*(OUTCOMES[name][c] for c in COLUMNS), *can(KINDS[world.kind]))
        lines.append(f"| {title} | {' | '.join(cells)} |")
    return "\n".join(lines)


def test_the_table_in_the_docs_says_what_happened():
    if len(OUTCOMES) < len(WORLDS):
        pytest.skip("the contract ran in another process or was not run whole")
    text = DOCS.read_text(encoding="utf-8")
    begin, end = text.index(BEGIN) + len(BEGIN), text.index(END)
    if os.environ.get("BLOOMLESS_WRITE_DOCS"):
        DOCS.write_text(f"{text[:begin]}\n{table()}\n{text[end:]}", encoding="utf-8")
        return
    assert text[begin:end].strip() == table()


def test_every_kind_stands_in_the_contract():
    assert {world.kind for world in WORLDS} == set(KINDS)
