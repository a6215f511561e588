"""What works one bowl, seen from the rim: events in, plain JSON out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Protocol, TypeAlias

from bloomless.estimation import events as ev

__all__ = ["Craft", "CraftMaker", "Json"]

Json: TypeAlias = dict[str, Any]


class Craft(Protocol):
    """One bowl being worked; ``bench.session.Bench`` behind plain JSON."""

    @property
    def now_s(self) -> float:
        """Session time of the latest event."""

    @property
    def finished(self) -> bool:
        """Whether the end was told."""

    def check(self, event: ev.Event) -> None:
        """Raise the named error if the event cannot be taken; changes nothing."""

    def take(self, event: ev.Event, event_id: str) -> None:
        """Take an event that was checked."""

    def believed(self) -> Json:
        """What is believed of the bowl: the estimate's part of a reply, with ``alerts``."""

    def advised(self) -> Json:
        """The next step: the advice's part of a reply, with ``alerts``."""

    def answer_at(self, at_s: float) -> tuple[Json, Json]:
        """``believed`` and ``advised`` of a later moment if nothing is told until then; the bowl stays where it is."""

    def window_C(self) -> tuple[float, float]:
        """The working window of this chocolate [°C]."""

    def foreseen(self, actions: Sequence[ev.BowlEvent], minutes: float) -> Json:
        """What would become of the bowl: ``at_s`` and, at each of these, bands of ``temperature_C`` and the chance."""

    def ahead(self, minutes: float, *, from_s: float) -> Json:
        """For the curve: the bowl from a time on if only stirred, and ``obeyed``: if the next step is done then."""

    def hindsight(self) -> Json:
        """The bowl looked at again: ``rows`` as in a trail, and ``offset_C`` of the thermometer, if one was learned."""

    def state(self) -> object:
        """Everything it is now, to go on from later."""


class CraftMaker(Protocol):
    """Begins bowls, or takes them up again."""

    form: str
    """Name of the form of ``Craft.state``; another form cannot be read."""

    def begin(self, start: ev.Start, event_id: str) -> Craft:
        """A new bowl."""

    def resume(self, state: object, earlier: Callable[[], Iterable[object]]) -> Craft:
        """A bowl from its kept state; ``earlier`` gives older ones, newest first, if something of then changes."""
