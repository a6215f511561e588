"""The bench log as a conversation: a line of text in, an answer as JSON out, or nothing where none is due."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from bloomless.bench.contract import ChocolateBook, Line, line_from_text, no_chocolates
from bloomless.bench.fields import EVENT_KINDS
from bloomless.bench.replies import error_reply, reply
from bloomless.bench.session import Bench
from bloomless.errors import BloomlessError, Misuse
from bloomless.estimation import events as ev
from bloomless.physics.priors import BowlPriors

__all__ = ["BenchLog"]

_BEFORE_WORK = (ev.Start, ev.Ask, ev.Reading, ev.ProbeCheck, ev.Look, ev.Stir)


class BenchLog:
    """One session driven by lines of JSON; nothing already taken is lost by a bad line.

    Parameters
    ----------
    seed, members, priors
        As for ``Bench``.
    chocolates
        Finds a chocolate of the book by name.
    """

    def __init__(
        self,
        *,
        seed: int = 1,
        members: int = 3000,
        chocolates: ChocolateBook = no_chocolates,
        priors: BowlPriors | None = None,
    ) -> None:
        self._seed, self._members, self._chocolates, self._priors = seed, members, chocolates, priors
        self._session_start: datetime | None = None
        self.bench: Bench | None = None
        self.lines = 0

    def feed(self, text: str) -> dict[str, Any] | None:
        """Take one line.

        Returns
        -------
        dict or None
            The answer where the line is a reading, look, smear or ask; an error record where the line was refused;
            else ``None``. A blank line is counted and passed over.
        """
        self.lines += 1
        if not text.strip():
            return None
        try:
            line = line_from_text(text, session_start=self._session_start, chocolates=self._chocolates)
            self._take(line)
        except BloomlessError as error:
            return error_reply(self.lines, error)
        return self._answer(line.event)

    def _take(self, line: Line) -> None:
        if self.bench is not None:
            self.bench.take(line.event, event_id=line.id)
            return
        if not isinstance(line.event, ev.Start):
            raise Misuse("The bowl was not started yet; the first event of a session is start.", code="not_started")
        self.bench = Bench(
            line.event, event_id=line.id or "start", seed=self._seed, members=self._members, priors=self._priors
        )
        self._session_start = line.when

    def _answer(self, event: ev.Event) -> dict[str, Any] | None:
        assert self.bench is not None
        what = event.what
        if not EVENT_KINDS[what].answered:
            return None
        advice = self.bench.advise()
        untouched = all(isinstance(told.event, _BEFORE_WORK) for told in self.bench.told)
        with_before = isinstance(event, ev.Ask) and untouched
        return reply(self.lines, self.bench.estimate(), advice, with_before=with_before)
