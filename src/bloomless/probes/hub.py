"""All probes of a kitchen at once: one keeper each, started and stopped while the program runs."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from typing import Any

from bloomless.bench.thermometers import ProbeReading, Thermometer, Watch
from bloomless.errors import Misuse, UnknownName
from bloomless.probes.inbox import Posted, Typed
from bloomless.probes.keeping import Clock, Keeper, SystemClock
from bloomless.probes.kinds import kind_named, thermometer_from

__all__ = ["Hub"]


class Hub:
    """Keeps every probe that was added, until it is dropped or the hub is closed.

    Parameters
    ----------
    take
        Called with each reading of each probe.
    clock
        Where the time comes from.
    lasting
        Whether it comes back after an end of the program, one at a time: then a broker keeps what was sent with a
        time meanwhile for it.
    """

    def __init__(
        self, take: Callable[[ProbeReading], None], clock: Clock | None = None, *, lasting: bool = False
    ) -> None:
        self._take = take
        self._lasting = lasting
        self.clock = clock or SystemClock()
        self._kept: dict[str, tuple[Keeper, asyncio.Task[None]]] = {}

    def add(self, probe: str, kind: str, settings: Mapping[str, Any], interval_s: float | None = None) -> Keeper:
        """Begin to listen to a probe; raises ``ImpossibleInput`` for settings that cannot be."""
        return self.keep(probe, thermometer_from(kind, self._named(probe, kind, settings)), interval_s)

    def _named(self, probe: str, kind: str, settings: Mapping[str, Any]) -> Mapping[str, Any]:
        """A lasting listener's name at the broker stays the same, unless the user chose one."""
        if self._lasting and kind == "mqtt" and settings.get("time_path") and not settings.get("name"):
            return {**settings, "name": f"bloomless-{probe}"}
        return settings

    def keep(self, probe: str, thermometer: Thermometer, interval_s: float | None = None) -> Keeper:
        """Begin to listen to a thermometer that was made already."""
        if probe in self._kept:
            raise Misuse(f"The probe {probe} is listened to already.")
        kind = kind_named(thermometer.kind)
        keeper = Keeper(
            probe,
            thermometer,
            self._take,
            interval_s=interval_s or kind.interval_s,
            reopen_after_s=kind.reopen_after_s,
            clock=self.clock,
        )
        self._kept[probe] = (keeper, asyncio.get_running_loop().create_task(keeper.run(), name=f"probe {probe}"))
        return keeper

    async def drop(self, probe: str) -> None:
        """Stop listening; nothing happens if it is not kept."""
        if probe in self._kept:
            _, task = self._kept.pop(probe)
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    async def close(self) -> None:
        """Stop listening to all."""
        await asyncio.gather(*(self.drop(probe) for probe in list(self._kept)))

    def keeps(self, probe: str) -> bool:
        """Whether it is listened to."""
        return probe in self._kept

    def keeper(self, probe: str) -> Keeper:
        """Keeper of a probe; raises ``UnknownName``."""
        if probe not in self._kept:
            raise UnknownName("probe", probe, self._kept)
        return self._kept[probe][0]

    def ended(self, probe: str) -> bool:
        """Whether its thermometer has ended by itself, such as a replayed file."""
        return probe not in self._kept or self._kept[probe][1].done()

    def watches(self) -> dict[str, Watch]:
        """What is known of each probe now."""
        return {probe: keeper.watch for probe, (keeper, _) in self._kept.items()}

    def deliver(self, probe: str, body: bytes) -> tuple[ProbeReading, ...]:
        """Bring a posted or typed message and say what became of it, so that its sender can be answered.

        Raises
        ------
        ImpossibleInput
            For a message that is no reading; it is counted as refused.
        Misuse
            For a probe that readings cannot be brought to.
        """
        keeper = self.keeper(probe)
        if not isinstance(keeper.thermometer, Posted | Typed):
            raise Misuse(f"Readings of {probe} come by {keeper.thermometer.kind}; they cannot be posted.")
        return keeper.hear(body)
