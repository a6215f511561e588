"""One bowl at work: every event is committed, then taken, then told to whoever watches."""

from __future__ import annotations

import contextlib
import json
import math
import threading
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, InvalidStateError
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final, Protocol

from bloomless.assembly.craft import Craft, CraftMaker, Json
from bloomless.assembly.trail import Trail
from bloomless.assembly.workers import Urgency, Workers
from bloomless.bench.contract import event_from
from bloomless.bench.ports import EventLog, StoredEvent
from bloomless.errors import BloomlessError, Misuse, StorageFailure
from bloomless.estimation import events as ev

__all__ = ["Bowl", "Home", "Listener", "Receipt"]


class Snapshots(Protocol):
    """Where states are kept between two runs."""

    def save(self, session: str, number: int, state: object, *, form: str) -> None:
        """Keep a state."""

    def load(self, session: str, *, form: str, before: int | None = None) -> tuple[int, Any] | None:
        """Newest state of a form, of those before an event."""

    def keep_newest(self, session: str) -> None:
        """Let the older ones go."""


class Home(Protocol):
    """What a bowl needs of a house."""

    @property
    def log(self) -> EventLog:
        """Where events are committed."""

    @property
    def snapshots(self) -> Snapshots:
        """Where states are kept."""

    @property
    def clock(self) -> Callable[[], datetime]:
        """The time now."""


Listener = Callable[[str, int, str], None]
"""Gets kind, number and JSON text of each piece of news; is called in a worker thread."""
SAME_MOMENT_S: Final = 3.0
"""An act told this little after a newer reading counts as told at the same moment: nobody taps more exactly."""
AHEAD_EVERY_S: Final = 10.0
AHEAD_MIN: Final = 8.0
"""How far the curve is drawn ahead [min]."""
SNAPSHOT_EVERY: Final = 120
"""Events between two snapshots; fewer, but this many, if the order changed."""
LEAST_BETWEEN: Final = 30
OLD_AFTER_S: Final = 15.0
"""What is shown of a silent bowl is so old at most; older, the longer it has been silent."""
FORGOTTEN_AFTER_S: Final = 4 * 3600.0
"""After so long without a word a bowl is no longer looked at."""


@dataclass(frozen=True, slots=True)
class Receipt:
    """What became of one event that was sent."""

    stored: StoredEvent
    new: bool
    """False if its id was known: nothing changed."""


class Bowl:
    """A bowl at work; the methods may be called from any thread."""

    def __init__(self, house: Home, maker: CraftMaker, workers: Workers, name: str) -> None:
        self.house, self.maker, self.workers, self.name = house, maker, workers, name
        self.craft: Craft | None = None
        self.trail = Trail()
        self.started_at: datetime | None = None
        self.number = 0
        self.ids: dict[str, int] = {}
        self.advice: Json = {}
        self.last_news: dict[str, tuple[int, str]] = {}
        self.touched_at = house.clock()
        self._lock = threading.RLock()
        self._mail: deque[tuple[Mapping[str, Any], str, Future[Receipt]]] = deque()
        self._mail_lock = threading.Lock()
        self._advice_lock = threading.Lock()
        self._advice_due = False
        self._save_lock = threading.Lock()
        self._kept_number = self._saved_number = 0
        self._looked_s = self._looked_ahead_s = -1e9
        self._listeners: set[Listener] = set()

    # ------------------------------------------------------------------ outside
    def tell(self, event: Mapping[str, Any], event_id: str) -> Future[Receipt]:
        """Send an event; the future answers when it is committed and taken, or carries the named error."""
        future: Future[Receipt] = Future()
        with self._mail_lock:
            self._mail.append((event, event_id, future))
        self.workers.do(Urgency.EVENT, self._work)
        return future

    def listen(self, listener: Listener) -> None:
        """Hear the news from now on; the latest of each kind comes at once."""
        with self._lock:
            self._listeners.add(listener)
            for kind, (number, text) in self.last_news.items():
                listener(kind, number, text)
        if self.craft is not None and not self.craft.finished and "ahead" not in self.last_news:
            self.workers.do(Urgency.STUDY, self._look_ahead)

    def unlisten(self, listener: Listener) -> None:
        """Hear no more."""
        with self._lock:
            self._listeners.discard(listener)

    @property
    def watched(self) -> bool:
        """Whether anybody listens."""
        return bool(self._listeners)

    def now_s(self) -> float:
        """Session time now [s]."""
        if self.started_at is None:
            return 0.0
        return max(0.0, (self.house.clock() - self.started_at).total_seconds())

    def open(self) -> None:
        """Rebuild the bowl from the log, from the newest snapshot on."""
        with self._lock:
            if self.number == 0:
                kept = self.house.snapshots.load(self.name, form=self.maker.form)
                if kept is not None:
                    self._take_up(*kept)
                self._catch_up()
                self._news()
                self._want_advice()

    def catch_up(self) -> None:
        """Take what another server stored meanwhile."""
        with self._lock:
            before = self.number
            self._catch_up()
            if self.number > before:
                self._news()
                self._want_advice()

    def foreseen(self, actions: list[ev.BowlEvent], minutes: float) -> Json:
        """What would become of the bowl."""
        return self._working().foreseen(actions, minutes)

    def hindsight(self) -> Json:
        """The bowl looked at again, in the light of everything that was told."""
        return self._working().hindsight()

    def ensured_advice(self) -> Json:
        """The advice that stands; made now if there is none yet."""
        if not self.advice:
            self._advise()
        return self.advice

    def advise_now(self) -> Json:
        """The advice of this moment, worked out by the caller's own thread."""
        self._advise()
        return self.advice

    def grows_old(self) -> bool:
        """Whether what is shown should be looked at again: it is old, or the wait that was ordered is over."""
        now_s, told_s = self.now_s(), self._working().now_s
        silent_s = now_s - told_s
        if silent_s >= FORGOTTEN_AFTER_S:
            return False
        old = now_s - max(self._looked_s, told_s) >= max(OLD_AFTER_S, 0.02 * silent_s)
        due = old or self._looked_s < self._wait_ends_s() <= now_s
        if due:
            self._looked_s = now_s
        return due

    def _wait_ends_s(self) -> float:
        """When an order that only waits has been waited out."""
        order = self.advice.get("next", {})
        waits = order.get("do") == "stir" and order.get("seconds")
        return float(self.advice["at"] + order["seconds"]) if waits else math.inf

    def look_again(self) -> None:
        """Answer as of now though nothing was told, so that what is shown does not grow old; nothing is stored."""
        with self._advice_lock:
            craft, number, at_s = self._working(), self.number, self.now_s()
            believed, advised = craft.answer_at(at_s)
        with self._lock:
            if self.number == number:
                self.trail.note_silence(at_s, believed)
                self._news(believed)
                self._tell_advice(advised, number, at_s)
        self._look_ahead()

    # ------------------------------------------------------------------ at work
    def _working(self) -> Craft:
        if self.craft is None:
            raise Misuse(f"Bench {self.name} was not started.", code="not_started")
        return self.craft

    def _work(self) -> None:
        with self._lock:
            taken = False
            while True:
                with self._mail_lock:
                    if not self._mail:
                        break
                    event, event_id, future = self._mail.popleft()
                # Whoever sent it may be gone meanwhile; what was received is taken all the same.
                try:
                    receipt = self._receive(event, event_id)
                except Exception as error:
                    with contextlib.suppress(InvalidStateError):
                        future.set_exception(error)
                else:
                    taken = taken or receipt.new
                    with contextlib.suppress(InvalidStateError):
                        future.set_result(receipt)
            if taken:
                self._news()
                self._want_advice()

    def _receive(self, raw: Mapping[str, Any], event_id: str) -> Receipt:
        now = self.house.clock()
        self.touched_at = now
        if event_id in self.ids:
            return Receipt(self.house.log.events(self.name, self.ids[event_id] - 1)[0], new=False)
        filled = self._with_time(raw, event_id)
        line = event_from(filled, session_start=self.started_at)
        if self.craft is None and not isinstance(line.event, ev.Start):
            raise Misuse("A bench begins with a start.", code="not_started")
        if self.craft is not None:
            self.craft.check(line.event)
        stored, new = self.house.log.append(self.name, filled, event_id=event_id, at=now)
        if new and stored.number == self.number + 1:
            self._take_next(stored)
        else:
            self._catch_up()  # another server wrote meanwhile
        return Receipt(stored, new)

    def _with_time(self, raw: Mapping[str, Any], event_id: str) -> dict[str, Any]:
        """The event with id and ``at``; an act tapped just before the newest reading moves up to it."""
        filled = {**raw, "id": event_id}
        if filled.get("what") == "start":
            filled.setdefault("at", 0.0)
            if filled["at"] is None:
                filled["at"] = 0.0
            return filled
        if filled.get("at") is None and filled.get("when") is None:
            filled["at"] = round(self.now_s(), 2)
        elif filled.get("at") is None and self.started_at is not None:
            line = event_from(filled, session_start=self.started_at)
            filled["at"] = round(line.event.at_s, 2)
        at = filled.get("at")
        if self.craft is not None and isinstance(at, int | float) and not isinstance(at, bool):
            newest_s = self.craft.now_s
            if newest_s - SAME_MOMENT_S <= at < newest_s:
                filled["at"] = newest_s
        return filled

    def _catch_up(self) -> None:
        """Take every event of the log that was not taken yet: our own, and those of other servers."""
        for stored in self.house.log.events(self.name, after=self.number):
            self._take_next(stored)

    def _take_next(self, stored: StoredEvent) -> None:
        if stored.number == 1:
            self._begin(stored)
        else:
            self._take(stored)
        self.number = stored.number
        self.ids[stored.id] = stored.number
        if self.number - self._kept_number >= 2 * SNAPSHOT_EVERY:
            self.keep()  # many came at once: the way back shall not be long

    def _begin(self, stored: StoredEvent) -> None:
        line = event_from(stored.event)
        if not isinstance(line.event, ev.Start):
            raise StorageFailure(f"The log of bench {self.name} does not begin with a start.", code="broken_log")
        self.started_at = line.when or stored.stored_at - timedelta(seconds=line.event.at_s)
        self.craft = self.maker.begin(line.event, stored.id)
        self.trail.note(stored, line.event, None, self.craft.believed())

    def _take(self, stored: StoredEvent) -> None:
        craft = self._working()
        try:
            line = event_from(stored.event, session_start=self.started_at)
            craft.take(line.event, stored.id)
        except BloomlessError as error:
            # It was committed by another server at the same moment as something it contradicts: it stays, and says so.
            self.trail.note(stored, None, error, None)
        else:
            self.trail.note(stored, line.event, None, craft.believed())
        if self.trail.tells(stored.event):
            self._tell("told", stored.number, self.trail.told[-1])

    # ------------------------------------------------------------------ news
    def _news(self, believed: Json | None = None) -> None:
        believed = self._working().believed() if believed is None else believed
        self._tell("state", self.number, self.trail.state(believed, finished=self._working().finished))

    def announce(self, kind: str, news: Json) -> None:
        """Tell those who watch something that is not of the bowl itself."""
        with self._lock:
            self._tell(kind, self.number, news)

    def _tell(self, kind: str, number: int, news: Json) -> None:
        text = json.dumps(news, ensure_ascii=False, separators=(",", ":"))
        if kind != "told":
            self.last_news[kind] = (number, text)
        for listener in tuple(self._listeners):
            listener(kind, number, text)

    def _want_advice(self) -> None:
        if not self._advice_due:
            self._advice_due = True
            self.workers.do(Urgency.ADVICE, self._advise_now)

    def _advise_now(self) -> None:
        self._advice_due = False
        self._advise()

    def _advise(self) -> None:
        # Planning takes longest of all. It reads the belief of one moment, so events need not wait for it.
        with self._advice_lock:
            craft, number = self._working(), self.number
            at_s = craft.now_s
            advised = craft.advised()
        with self._lock:
            changed = self._tell_advice(advised, number, at_s)
        if number - self._kept_number >= (LEAST_BETWEEN if changed else SNAPSHOT_EVERY) or craft.finished:
            self.workers.do(Urgency.STUDY, self.keep)
        if self.watched and not craft.finished and at_s - self._looked_ahead_s >= AHEAD_EVERY_S:
            self._looked_ahead_s = at_s
            self.workers.do(Urgency.STUDY, self._look_ahead)

    def _tell_advice(self, advised: Json, number: int, at_s: float) -> bool:
        """Tell it; whether the order is another one."""
        changed: bool = advised.get("next", {}).get("id") != self.advice.get("next", {}).get("id")
        self.advice = advised | {"number": number, "at": at_s}
        self._tell("advice", number, self.advice)
        return changed

    def _look_ahead(self) -> None:
        seen = self._working().ahead(AHEAD_MIN, from_s=self.now_s())
        with self._lock:
            self._tell("ahead", self.number, seen)

    # ------------------------------------------------------------------ snapshots
    def keep(self) -> None:
        """Keep a snapshot, unless nothing happened since the last."""
        with self._lock:
            if self.craft is None or self.number <= self._kept_number:
                return
            state = {
                "craft": self.craft.state(),
                "trail": self.trail.state_to_keep(),
                "started_at": (self.started_at or self.house.clock()).isoformat(),
                "advice": json.dumps(self.advice),
                "ids": dict(self.ids),
            }
            number = self.number
            self._kept_number = number
        with self._save_lock:  # one that was slow may find a newer one written already
            if number > self._saved_number:
                self.house.snapshots.save(self.name, number, state, form=self.maker.form)
                self._saved_number = number

    def put_away(self) -> None:
        """Keep it for good: nobody looks at it now."""
        self.keep()
        if self.craft is not None and self.craft.finished:
            with self._save_lock:
                self.house.snapshots.keep_newest(self.name)

    def _take_up(self, number: int, state: Any) -> None:
        self.craft = self.maker.resume(state["craft"], lambda: self._earlier(number))
        self.trail = Trail.kept(state["trail"])
        self.started_at = datetime.fromisoformat(state["started_at"])
        self.advice = json.loads(state["advice"])
        self.ids = dict(state["ids"])
        self.number = self._kept_number = self._saved_number = number
        if self.advice:
            self.last_news["advice"] = (number, json.dumps(self.advice, ensure_ascii=False))

    def _earlier(self, number: int) -> Iterator[object]:
        """States from before an event, newest first."""
        while (kept := self.house.snapshots.load(self.name, form=self.maker.form, before=number)) is not None:
            number, state = kept
            yield state["craft"]
