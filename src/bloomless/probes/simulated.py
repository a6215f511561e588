"""A simulated thermometer: a temperature over time seen through lag, offset, noise and a display, with faults."""

from __future__ import annotations

import asyncio
import math
import random
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from bloomless.bench.thermometers import Facts, Value
from bloomless.errors import DeviceFailure, ImpossibleInput
from bloomless.probes.texts import line_value
from bloomless.probes.wiring import Wiring

__all__ = ["Fault", "Simulated", "curve_C"]

_COOLING: Final = ((0.0, 45.0), (600.0, 31.5), (3600.0, 30.0))


@dataclass(frozen=True, slots=True)
class Fault:
    """What goes wrong from ``from_s`` to ``to_s`` after the start."""

    from_s: float
    to_s: float
    what: Literal["silent", "unplugged", "garbage", "half"]


def curve_C(points: Sequence[tuple[float, float]], at_s: float) -> float:
    """Temperature [°C] at a time [s] on straight lines between points, level before and after them."""
    if at_s <= points[0][0]:
        return points[0][1]
    for (t1, c1), (t2, c2) in pairwise(points):
        if at_s <= t2:
            return c1 + (c2 - c1) * (at_s - t1) / (t2 - t1)
    return points[-1][1]


class Simulated:
    """A thermometer that needs no device.

    Parameters
    ----------
    points
        Seconds and °C of the bowl, times rising.
    interval_s
        Between readings [s].
    lag_s, offset_C, noise_K, resolution_K
        The thermometer itself.
    seed
        Of its noise.
    faults
        When it fails, and how.
    """

    kind = "simulated"

    def __init__(
        self,
        points: Sequence[tuple[float, float]] = _COOLING,
        interval_s: float = 1.0,
        lag_s: float = 5.0,
        offset_C: float = 0.0,
        noise_K: float = 0.03,
        resolution_K: float = 0.1,
        seed: int = 1,
        faults: Sequence[Fault] = (),
    ) -> None:
        if not points or any(not b[0] > a[0] for a, b in pairwise(points)):
            raise ImpossibleInput("points", points, "pairs of seconds and °C whose times rise")
        if interval_s <= 0.0 or resolution_K <= 0.0 or lag_s < 0.0 or noise_K < 0.0:
            raise ImpossibleInput("interval_s", interval_s, "an interval and a resolution above zero, a lag from zero")
        self.facts = Facts(note="simulated")
        self._points = [(float(t), float(c)) for t, c in points]
        self._interval_s = interval_s
        self._lag_s = lag_s
        self._offset_C = offset_C
        self._noise_K = noise_K
        self._resolution_K = resolution_K
        self._faults = tuple(faults)
        self._chance = random.Random(seed)
        self._probe_C = self._points[0][1]
        self._at_s = 0.0
        self._began_s: float | None = None

    def _show(self, now_s: float) -> bytes:
        """What the display shows at a time [s]: the bowl through the lag, in steps of a tenth of a second."""
        while self._at_s < now_s:
            step_s = min(0.1, now_s - self._at_s)
            self._at_s += step_s
            share = 1.0 - math.exp(-step_s / self._lag_s) if self._lag_s else 1.0
            self._probe_C += (curve_C(self._points, self._at_s) - self._probe_C) * share
        shown = self._probe_C + self._offset_C + self._chance.gauss(0.0, self._noise_K)
        return f"{round(shown / self._resolution_K) * self._resolution_K:.3f} C".encode()

    async def frames(self) -> AsyncIterator[bytes]:
        """See ``Thermometer.frames``."""
        loop = asyncio.get_running_loop()
        self._began_s = loop.time() if self._began_s is None else self._began_s
        while True:
            now_s = loop.time() - self._began_s
            line = self._show(now_s)
            match next((f.what for f in self._faults if f.from_s <= now_s < f.to_s), None):
                case "unplugged":
                    raise DeviceFailure("The simulated thermometer is unplugged.")
                case "garbage":
                    yield b"\xff\x00 7q!?"
                case "half":
                    yield line[:1] + b"."
                case None:
                    yield line
            await asyncio.sleep(self._interval_s)

    def values(self, frame: bytes) -> Sequence[Value]:
        """See ``Thermometer.values``."""
        return (line_value(frame, Wiring("C")),)
