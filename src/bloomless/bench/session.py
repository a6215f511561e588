"""A bowl worked live: events in, belief and advice out; late events and corrections replay the history.

The session keeps what was told, in the order told, and derives from it the *timeline*: what really happened, in the
order it happened. Beliefs along the timeline are kept as marks, so that a late event or a correction replays minutes
and not the whole bench.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np

from bloomless.advice.advise import advise
from bloomless.advice.orders import Advice, Standing
from bloomless.bench.marks import worth_keeping
from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.estimation import events as ev
from bloomless.estimation.answers import Estimate
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import Belief
from bloomless.estimation.estimate import estimate
from bloomless.estimation.moves import thinned
from bloomless.estimation.read import offset_of
from bloomless.estimation.smooth import Past, smooth
from bloomless.estimation.take import take
from bloomless.physics.priors import BowlPriors

__all__ = ["Bench", "BenchState", "Told"]

LATEST_s: Final = 30 * 60.0
"""How far back an action, look or smear may be told."""
MARK_EVERY_s: Final = 180.0
SAME_DIP_s: Final = 2.0
LEAST_OFFSET_SD_C: Final = 0.05

Moment: TypeAlias = tuple[float, int, ev.BowlEvent]
"""Time, number of the telling, event: a place on the timeline."""


@dataclass(frozen=True, slots=True)
class Told:
    """One accepted event as it was told."""

    number: int
    id: str
    event: ev.Event


@dataclass(frozen=True, slots=True)
class BenchState:
    """Everything a session is at one moment; enough to go on from, and picklable."""

    told: tuple[Told, ...]
    belief: Belief
    standing: Standing


@dataclass(frozen=True, slots=True)
class _Mark:
    """The belief after so many events of the timeline."""

    count: int
    belief: Belief


class Bench:
    """One bowl, from its start to its finish.

    Parameters
    ----------
    start
        The chocolate in front of the cook.
    event_id
        Name of the start event.
    seed
        Of the ensemble's random numbers: the same events and seed give the same answers, to the bit.
    members
        Size of the ensemble.
    priors
        Of the bowl's parameters, as a kitchen has taught them; the general ones by default.
    """

    def __init__(
        self,
        start: ev.Start,
        *,
        event_id: str = "start",
        seed: int = 1,
        members: int = 3000,
        priors: BowlPriors | None = None,
    ) -> None:
        self._seed, self._members, self._priors = seed, members, priors
        self.told: list[Told] = [Told(1, event_id, start)]
        self._ids: dict[str, int] = {event_id: 0}
        self._timeline: list[Moment] = []
        self.belief = begin(start, seed=seed, members=members, priors=priors)
        self.standing = Standing()
        self._marks = [_Mark(0, self.belief)]
        self._earlier: Callable[[], Iterable[BenchState]] = tuple
        self._estimated = (self.belief, estimate(self.belief))
        self._last_reading_s: dict[str, float] = {}

    @classmethod
    def start(cls, start: ev.Start, *, event_id: str = "start", seed: int = 1, members: int = 3000) -> Bench:
        """Begin a bowl; the same as calling the class."""
        return cls(start, event_id=event_id, seed=seed, members=members)

    @property
    def now_s(self) -> float:
        """Session time of the latest event."""
        return self.belief.at_s

    @property
    def finished(self) -> bool:
        """Whether the end was told."""
        return any(isinstance(event, ev.Finish) for _, _, event in self._timeline[-1:])

    def take(self, event: ev.Event, *, event_id: str | None = None) -> Estimate:
        """Take one event and say what is believed then; a repeated ``event_id`` changes nothing.

        Raises
        ------
        Misuse
            A second start, or anything but a correction after the finish.
        ImpossibleInput
            A reading older than the same probe's last (code ``goes_back``), or anything told more than 30 minutes
            late (``too_late``).
        UnknownName
            A correction of an event nobody told.
        """
        if event_id is None or event_id not in self._ids:
            self.check(event)
            self._accept(event, event_id or f"e{len(self.told) + 1}")
        return self.estimate()

    def estimate(self) -> Estimate:
        """What is believed of the bowl now."""
        if self._estimated[0] is not self.belief:
            self._estimated = self.belief, estimate(self.belief)
        return self._estimated[1]

    def advise(self) -> Advice:
        """Give the next step; the order given is remembered until it is done, dropped or asked about."""
        advice, self.standing = advise(self.belief, self.standing)
        return advice

    def answer_at(self, at_s: float) -> tuple[Estimate, Advice]:
        """What ``ask`` would answer at a later moment, if nothing is told until then; the bowl stays where it is."""
        belief = self.belief
        later = take(belief, ev.Ask(at_s)) if at_s > belief.at_s else belief
        advice, self.standing = advise(later, self.standing)
        return estimate(later), advice

    def forecast(
        self,
        actions: Sequence[ev.BowlEvent],
        minutes: float,
        *,
        every_s: float = 30.0,
        members: int | None = None,
    ) -> tuple[Estimate, ...]:
        """What would become of the bowl if these actions were done and nothing else.

        Parameters
        ----------
        actions
            What would be done, at session times from now on.
        minutes
            How far to look ahead, up to 240.
        every_s
            Step of the answer.
        members
            Size of the ensemble to look ahead with; all of them by default, some hundred do for a curve on a screen.

        Returns
        -------
        tuple of Estimate
            One a step, the first now.

        Raises
        ------
        ImpossibleInput
            Minutes not 0…240, or an action in the past.
        """
        if not 0.0 <= minutes <= 240.0:
            raise ImpossibleInput("minutes", minutes, "a number from 0 to 240")
        if any(action.at_s < self.now_s for action in actions):
            raise ImpossibleInput("actions", [a.at_s for a in actions], f"times from {self.now_s:g} on, which is now")
        count = int(minutes * 60.0 / every_s)
        ticks: list[ev.BowlEvent] = [ev.Ask(self.now_s + every_s * step) for step in range(1, count + 1)]
        belief = self.belief if members is None else thinned(self.belief, members)
        ahead = [estimate(belief)]
        for event in sorted([*actions, *ticks], key=lambda event: event.at_s):
            belief = take(belief, event)
            if isinstance(event, ev.Ask):
                ahead.append(estimate(belief))
        return tuple(ahead)

    def offset_C(self) -> tuple[float, float]:
        """What is known of the first thermometer: mean and standard deviation of shown minus true [K]."""
        offset, weight = offset_of(self.belief, "1"), self.belief.weight
        mean = float(np.sum(weight * offset))
        return mean, float(np.sqrt(np.sum(weight * (offset - mean) ** 2)))

    def hindsight(self) -> tuple[Past, ...]:
        """The story of the bowl, each moment seen with what was told later and the thermometer as it is known now."""
        start, (offset_C, sd_C) = self.belief.start, self.offset_C()
        probe = replace(start.probe, offset_C=offset_C, offset_sd_C=max(LEAST_OFFSET_SD_C, sd_C))
        afresh = begin(replace(start, probe=probe), seed=self._seed, members=self._members, priors=self._priors)
        return smooth(afresh, [event for _, _, event in self._timeline])

    def state(self) -> BenchState:
        """Everything the session is now."""
        return BenchState(tuple(self.told), self.belief, self.standing)

    @classmethod
    def resumed(
        cls,
        state: BenchState,
        *,
        since: Iterable[Told] = (),
        earlier: Callable[[], Iterable[BenchState]] = tuple,
    ) -> Bench:
        """Go on from a kept state.

        Parameters
        ----------
        state
            As ``state()`` gave it.
        since
            What was told after it.
        earlier
            Gives older states of this bowl, newest first; asked only when something from before ``state`` changes.
            Without them the whole bench is replayed then.
        """
        assert isinstance(state.told[0].event, ev.Start)
        bench, belief = cls.__new__(cls), state.belief
        bench._seed, bench._members, bench._priors = belief.seed, belief.members, belief.priors
        bench.told = list(state.told)
        bench._ids = {told.id: index for index, told in enumerate(bench.told)}
        bench._timeline = _timeline(bench.told)
        bench.belief, bench.standing = state.belief, state.standing
        bench._marks, bench._earlier = [_Mark(len(bench._timeline), belief)], earlier
        bench._estimated = belief, estimate(belief)
        bench._last_reading_s = {}
        for told in bench.told:
            bench._note_reading(told.event)
        for told in since:
            bench.take(told.event, event_id=told.id)
        return bench

    def check(self, event: ev.Event) -> None:
        """Raise what ``take`` would raise of an event, and change nothing: asked before an event is written down."""
        if isinstance(event, ev.Start):
            raise Misuse("This session was started already; a new bowl is a new session.", code="already_started")
        if isinstance(event, ev.Correct):
            self._check_correction(event)
            return
        if self.finished:
            raise Misuse("This bowl is finished; only a correction can follow.", code="finished")
        if isinstance(event, ev.Reading):
            last_s = self._last_reading_s.get(event.probe, 0.0)
            if event.at_s < last_s:
                raise ImpossibleInput("at", event.at_s, f"at least {last_s:g}, this probe's last", code="goes_back")
        elif event.at_s < self.now_s - LATEST_s:
            raise ImpossibleInput(
                "at", event.at_s, f"at least {self.now_s - LATEST_s:g}, 30 minutes back", code="too_late"
            )

    def _check_correction(self, event: ev.Correct) -> None:
        if event.of not in self._ids:
            raise UnknownName("of", event.of, self._ids)
        old = self.told[self._ids[event.of]].event
        if isinstance(old, ev.Start) != isinstance(event.event, ev.Start):
            raise ImpossibleInput("event", event.event, "a start for a start, anything else for anything else")
        if isinstance(old, ev.Correct) or isinstance(event.event, ev.Correct):
            raise ImpossibleInput("of", event.of, "the id of an event that is no correction itself")

    def _accept(self, event: ev.Event, event_id: str) -> None:
        told = Told(len(self.told) + 1, event_id, event)
        late = bool(self._timeline) and event.at_s < self._timeline[-1][0]
        if late or isinstance(event, ev.Correct | ev.Smear):
            self._settle([*self.told, told])
        else:
            assert not isinstance(event, ev.Start)
            self._append((event.at_s, told.number, event))
        # Nothing is kept of an event that could not be taken: the lines above raise before these.
        self.told.append(told)
        self._ids[event_id] = len(self.told) - 1
        self._note_reading(event)

    def _note_reading(self, event: ev.Event) -> None:
        if isinstance(event, ev.Reading):
            self._last_reading_s[event.probe] = event.at_s

    def _append(self, moment: Moment) -> None:
        self.belief = take(self.belief, moment[2])
        self._timeline.append(moment)
        if self.belief.at_s - self._marks[-1].belief.at_s >= MARK_EVERY_s:
            marks = [*self._marks, _Mark(len(self._timeline), self.belief)]
            kept = worth_keeping([mark.belief.at_s for mark in marks], step=MARK_EVERY_s)
            self._marks = [marks[index] for index in kept]

    def _settle(self, told: Sequence[Told]) -> None:
        """Bring belief and timeline in line with what was told, replaying from the newest mark that still holds."""
        timeline = _timeline(told)
        same = _common(timeline, self._timeline)
        start = _start_of(told)
        same_start = start == _start_of(self.told)
        marks = [mark for mark in self._marks if mark.count <= same] or (
            self._kept_marks(start, timeline) if same_start else []
        )
        if not marks or not same_start:
            afresh = begin(start, seed=self._seed, members=self._members, priors=self._priors)
            marks = [_Mark(0, afresh)]
        before = self.belief, self._marks, self._timeline
        try:
            self.belief, self._marks, self._timeline = marks[-1].belief, marks, timeline[: marks[-1].count]
            for moment in timeline[marks[-1].count :]:
                self._append(moment)
        except BaseException:
            self.belief, self._marks, self._timeline = before
            raise

    def _kept_marks(self, start: ev.Start, timeline: Sequence[Moment]) -> list[_Mark]:
        """The newest kept state that still holds, as a mark."""
        for state in self._earlier():
            then = _timeline(state.told)
            if _start_of(state.told) == start and timeline[: len(then)] == then:
                return [_Mark(len(then), state.belief)]
        return []


def _start_of(told: Sequence[Told]) -> ev.Start:
    """The start as it is known now: told first, perhaps corrected."""
    start = told[0].event
    for later in told[1:]:
        if isinstance(later.event, ev.Correct) and later.event.of == told[0].id:
            start = later.event.event or start
    assert isinstance(start, ev.Start)
    return start


def _timeline(told: Sequence[Told]) -> list[Moment]:
    """What really happened, in the order it happened: corrections applied, unspoken dips of the knife put in."""
    happened: dict[str, tuple[int, ev.BowlEvent]] = {}
    for one in told[1:]:
        if not isinstance(one.event, ev.Correct):
            assert not isinstance(one.event, ev.Start)
            happened[one.id] = (one.number, one.event)
        elif one.event.of != told[0].id:
            number = told[_index(told, one.event.of)].number
            happened.pop(one.event.of, None)
            if one.event.event is not None:
                assert not isinstance(one.event.event, ev.Start)
                happened[one.event.of] = (number, one.event.event)
    moments = [(event.at_s, number, event) for number, event in happened.values()]
    moments += _unspoken_dips([event for _, event in happened.values()])
    # A dip stands before whatever else was told at that second; the rest keeps the order of telling.
    return sorted(moments, key=lambda moment: (moment[0], moment[1]))


def _index(told: Sequence[Told], event_id: str) -> int:
    return next(index for index, one in enumerate(told) if one.id == event_id)


def _unspoken_dips(events: Sequence[ev.BowlEvent]) -> list[Moment]:
    """The knife was dipped when a result says so, even if nobody said it then; the belief needs that bowl."""
    smears = [event for event in events if isinstance(event, ev.Smear)]
    dips_s = sorted(smear.at_s for smear in smears if not smear.has_result)
    moments: list[Moment] = []
    for smear in smears:
        if smear.has_result and smear.taken_at_s < smear.at_s:
            near = dips_s[max(0, bisect_right(dips_s, smear.taken_at_s) - 1) :][:2]
            if not any(abs(dip_s - smear.taken_at_s) <= SAME_DIP_s for dip_s in near):
                dip = replace(smear, at_s=smear.taken_at_s, set_after_s=None, not_set_after_s=None, finish=None)
                moments.append((smear.taken_at_s, 0, dip))
    return moments


def _common(one: Sequence[Moment], other: Sequence[Moment]) -> int:
    """How many events two timelines share from their beginning."""
    for index, (a, b) in enumerate(zip(one, other, strict=False)):
        if a != b:
            return index
    return min(len(one), len(other))
