"""The bench itself as what works a bowl: events in, plain JSON out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from bloomless import __version__
from bloomless.assembly.craft import CraftMaker, Json
from bloomless.bench.replies import alert_json, band_json, estimate_json, reply
from bloomless.bench.session import Bench, BenchState
from bloomless.bench.story import window_of
from bloomless.estimation import events as ev
from bloomless.estimation.answers import Estimate
from bloomless.estimation.read import offset_of

__all__ = ["BenchCraft", "BenchMaker", "bench_maker"]

MEMBERS: Final = 1500
FORECAST_EVERY_S: Final = 30.0


def _believed(estimate: Estimate) -> Json:
    return estimate_json(estimate) | {
        "minutes_to_temper": band_json(estimate.minutes_to_temper, 1),
        "working_minutes_left": band_json(estimate.working_minutes_left, 1),
        "alerts": [alert_json(alert) for alert in estimate.alerts],
    }


class BenchCraft:
    """A ``Craft`` on ``bench.session.Bench``."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench

    @property
    def now_s(self) -> float:
        """See ``Craft``."""
        return float(self.bench.now_s)

    @property
    def finished(self) -> bool:
        """See ``Craft``."""
        return self.bench.finished

    def check(self, event: ev.Event) -> None:
        """See ``Craft``."""
        self.bench.check(event)

    def take(self, event: ev.Event, event_id: str) -> None:
        """See ``Craft``."""
        self.bench.take(event, event_id=event_id)

    def believed(self) -> Json:
        """See ``Craft``."""
        return _believed(self.bench.estimate())

    def advised(self) -> Json:
        """See ``Craft``."""
        advice = self.bench.advise()
        said = reply(0, self.bench.estimate(), advice, with_before=True)
        parts = ("plan", "alerts", "minutes_to_temper", "working_minutes_left")
        return {
            "next": {key: value for key, value in said["next"].items() if key != "instead"},
            "instead": said["next"]["instead"],
            "before": said.get("before"),
            **{part: said[part] for part in parts},
        }

    def window_C(self) -> tuple[float, float]:
        """See ``Craft``."""
        low_C, high_C = window_of(self.bench.belief.start)
        return round(low_C, 2), round(high_C, 2)

    def foreseen(self, actions: Sequence[ev.BowlEvent], minutes: float) -> Json:
        """See ``Craft``."""
        ahead = self.bench.forecast(actions, minutes, every_s=FORECAST_EVERY_S)
        series: dict[str, list[Any]] = {"at_s": [round(one.at_s, 1) for one in ahead]}
        for one in ahead:
            for name, value in estimate_json(one).items():
                series.setdefault(name, []).append(value)
        return series

    def offset_C(self) -> tuple[float, float]:
        """What was learned of the thermometer: mean and standard deviation of shown minus true [K]."""
        belief = self.bench.belief
        offset, weight = offset_of(belief, "1"), belief.weight
        mean = float(np.sum(weight * offset))
        return mean, float(np.sqrt(np.sum(weight * (offset - mean) ** 2)))

    def state(self) -> BenchState:
        """See ``Craft``."""
        return self.bench.state()


class BenchMaker:
    """Makes bowls of ``bench.session``."""

    form = f"bench {__version__} {MEMBERS}"

    def begin(self, start: ev.Start, event_id: str) -> BenchCraft:
        """See ``CraftMaker``."""
        return BenchCraft(Bench(start, event_id=event_id, members=MEMBERS))

    def resume(self, state: object) -> BenchCraft:
        """See ``CraftMaker``."""
        if not isinstance(state, BenchState):
            raise TypeError("not the state of a bench")
        return BenchCraft(Bench.resumed(state, members=MEMBERS))


def bench_maker() -> CraftMaker:
    """The maker of a served house."""
    return BenchMaker()
