"""The bench itself as what works a bowl: events in, plain JSON out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cache, partial
from typing import Final

from bloomless.advice.orders import Advice
from bloomless.assembly.craft import CraftMaker, Json
from bloomless.bench.obeyed import obeyed
from bloomless.bench.replies import alert_json, estimate_json, reply
from bloomless.bench.session import Bench, BenchState
from bloomless.bench.story import window_of
from bloomless.estimation import events as ev
from bloomless.estimation.answers import Band, Estimate
from bloomless.estimation.smooth import Past
from bloomless.sources.tables import fingerprint

__all__ = ["STATE_ROOMS", "BenchCraft", "BenchMaker", "bench_maker"]

MEMBERS: Final = 1500
STATE_ROOMS: Final = ("sources", "numerics", "materials", "physics", "estimation", "advice", "bench")
FORECAST_EVERY_S: Final = 30.0
AHEAD_MEMBERS: Final = 256
"""Of the ensemble, so many draw the curve ahead."""
MOST_SILENT_S: Final = 3600.0
"""Longer silences are not bridged for a curve."""
OBEYED_AFTER_S: Final = 15.0
"""So soon the next step is taken to be done."""


def _believed(estimate: Estimate) -> Json:
    return estimate_json(estimate) | {"alerts": [alert_json(alert) for alert in estimate.alerts]}


def _advised(estimate: Estimate, advice: Advice) -> Json:
    said = reply(0, estimate, advice, with_before=True)
    parts = ("plan", "alerts", "minutes_to_temper", "working_minutes_left")
    return {
        "next": {key: value for key, value in said["next"].items() if key != "instead"},
        "instead": said["next"]["instead"],
        "before": said.get("before"),
        **{part: said[part] for part in parts},
    }


def _series(ahead: Sequence[Estimate]) -> Json:
    series: Json = {"at_s": [round(one.at_s, 1) for one in ahead]}
    for one in ahead:
        for name, value in estimate_json(one).items():
            series.setdefault(name, []).append(value)
    return series


def _curve(ahead: Sequence[Estimate], from_s: float) -> Json:
    series = _series([one for one in ahead if one.at_s > from_s - FORECAST_EVERY_S])
    return {name: series[name] for name in ("at_s", "temperature_C", "chance_in_temper")}


def _past_row(past: Past) -> list[float | None]:
    def of(band: Band | None, digits: int) -> list[float | None]:
        return [None] * 3 if band is None else [round(value, digits) for value in (band.p05, band.p50, band.p95)]

    bands = of(past.form_v_pct_of_fat, 3) + of(past.unstable_pct_of_fat, 3) + [None] * 3
    return [round(past.at_s, 1), None, *of(past.temperature_C, 2), None, *bands]


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
        return _advised(self.bench.estimate(), advice)

    def answer_at(self, at_s: float) -> tuple[Json, Json]:
        """See ``Craft``."""
        estimate, advice = self.bench.answer_at(at_s)
        return _believed(estimate), _advised(estimate, advice)

    def window_C(self) -> tuple[float, float]:
        """See ``Craft``."""
        low_C, high_C = window_of(self.bench.belief.start)
        return round(low_C, 2), round(high_C, 2)

    def foreseen(self, actions: Sequence[ev.BowlEvent], minutes: float) -> Json:
        """See ``Craft``."""
        return _series(self.bench.forecast(actions, minutes, every_s=FORECAST_EVERY_S))

    def ahead(self, minutes: float, *, from_s: float) -> Json:
        """See ``Craft``."""
        bench, belief, last = self.bench, self.bench.belief, self.bench.standing.last
        from_s = min(max(from_s, belief.at_s), belief.at_s + MOST_SILENT_S)
        until_min = minutes + (from_s - belief.at_s) / 60.0
        look = partial(bench.forecast, minutes=until_min, every_s=FORECAST_EVERY_S, members=AHEAD_MEMBERS)
        event = None
        if last is not None:
            seed_g = bench.estimate().seed_left_g
            pieces_g = 0.0 if seed_g is None else seed_g.p50
            event = obeyed(last.next, from_s + OBEYED_AFTER_S, pieces_g=pieces_g, vessel=belief.start.vessel)
        return _curve(look([]), from_s) | {"obeyed": None if event is None else _curve(look([event]), from_s)}

    def hindsight(self) -> Json:
        """See ``Craft``."""
        mean, sd = self.bench.offset_C()
        return {
            "rows": [_past_row(past) for past in self.bench.hindsight()],
            "offset_C": [round(mean, 2), round(sd, 2)],
        }

    def state(self) -> BenchState:
        """See ``Craft``."""
        return self.bench.state()


@cache
def _state_made_of() -> str:
    """What the state of a bowl was made of: a snapshot of other code or other numbers is of no use, and is not read."""
    return fingerprint(tuple(f"bloomless.{room}" for room in STATE_ROOMS))


class BenchMaker:
    """Makes bowls of ``bench.session``."""

    form = f"bench {MEMBERS} {_state_made_of()}"

    def begin(self, start: ev.Start, event_id: str) -> BenchCraft:
        """See ``CraftMaker``."""
        return BenchCraft(Bench(start, event_id=event_id, members=MEMBERS))

    def resume(self, state: object, earlier: Callable[[], Iterable[object]] = tuple) -> BenchCraft:
        """See ``CraftMaker``."""
        if not isinstance(state, BenchState):
            raise TypeError("not the state of a bench")
        return BenchCraft(
            Bench.resumed(state, earlier=lambda: (one for one in earlier() if isinstance(one, BenchState)))
        )


def bench_maker() -> CraftMaker:
    """The maker of a served house."""
    return BenchMaker()
