"""A thermometer tried before it is saved: some readings, or what is wrong."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from bloomless.bench.thermometers import ProbeReading, Watch
from bloomless.probes.keeping import Clock, Keeper, SparseLog, SystemClock
from bloomless.probes.kinds import kind_named, thermometer_from

__all__ = ["Trial", "try_probe"]

_GIVE_UP_s: Final = 1.0


@dataclass(frozen=True, slots=True)
class Trial:
    """What was heard of a thermometer that is not saved yet."""

    readings: tuple[ProbeReading, ...]
    watch: Watch
    signal_dBm: float | None
    battery_pct: float | None
    note: str


async def try_probe(
    kind: str, settings: Mapping[str, Any], seconds: float, *, enough: int = 5, clock: Clock | None = None
) -> Trial:
    """Listen to a thermometer that is not saved, for some seconds or until it has shown enough.

    Raises
    ------
    ImpossibleInput
        For settings that cannot be.
    """
    clock = clock or SystemClock()
    thermometer = thermometer_from(kind, settings)
    heard: list[ProbeReading] = []
    silent = SparseLog("trial", freely=0)  # what is wrong is answered, not logged
    keeper = Keeper("trial", thermometer, heard.append, interval_s=kind_named(kind).interval_s, clock=clock, log=silent)
    task = asyncio.create_task(keeper.run())
    began_s = time.monotonic()
    try:
        while len(heard) < enough and not task.done() and (waited_s := time.monotonic() - began_s) < seconds:
            if keeper.watch.trouble and not heard and waited_s > _GIVE_UP_s:
                break  # it said what is wrong; waiting longer would not open a port that is not there
            await asyncio.sleep(0.05)
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
    facts = thermometer.facts
    return Trial(tuple(heard[:enough]), keeper.watch, facts.signal_dBm, facts.battery_pct, facts.note)
