"""All bowls at work in this process."""

from __future__ import annotations

import hashlib
import secrets
import threading
from collections.abc import Mapping
from concurrent.futures import Future
from datetime import timedelta
from typing import Any, Final

from bloomless.assembly.bowl import Bowl, Receipt
from bloomless.assembly.craft import CraftMaker, Json
from bloomless.assembly.house import House
from bloomless.assembly.workers import Urgency, Workers
from bloomless.bench.book_chocolates import named_in
from bloomless.bench.contract import event_from
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation import events as ev

__all__ = ["Bowls"]

PUT_AWAY_AFTER: Final = timedelta(minutes=30)


class Bowls:
    """Begins bowls, finds them, keeps the idle ones from growing old, puts away those nobody watches."""

    def __init__(self, house: House, maker: CraftMaker, workers: Workers | None = None) -> None:
        self.house, self.maker = house, maker
        self.workers = workers or Workers()
        self._bowls: dict[str, Bowl] = {}
        self._lock = threading.Lock()

    def begin(self, start: Mapping[str, Any], event_id: str | None) -> tuple[Bowl, Future[Receipt]]:
        """Begin a bowl. The same ``event_id`` names the same bowl: sent twice, it is begun once.

        Raises
        ------
        ImpossibleInput
            What the start cannot be; nothing was stored.
        """
        if start.get("what", "start") != "start":
            raise ImpossibleInput("what", start["what"], "start: a bench begins with it")
        event_id = event_id or secrets.token_hex(8)
        start = named_in(start, self.house.shelf.written().ingredients)
        event_from({"at": 0.0, **start, "what": "start", "id": event_id})
        name = "b" + hashlib.sha256(event_id.encode()).hexdigest()[:11]
        with self._lock:
            bowl = self._bowls.setdefault(name, Bowl(self.house, self.maker, self.workers, name))
        if bowl.number == 0 and self.house.log.events(name):
            bowl.open()
        return bowl, bowl.tell({**start, "what": "start"}, event_id)

    def before(self, start: Mapping[str, Any]) -> Json:
        """What to melt and chop for a bowl that is not begun: the advice's ``before``, and its first step."""
        named = named_in(start, self.house.shelf.written().ingredients)
        event = event_from({"at": 0.0, **named, "what": "start"}).event
        assert isinstance(event, ev.Start)
        advised = self.maker.begin(event, "not begun").advised()
        return {"before": advised.get("before"), "next": advised.get("next")}

    def get(self, name: str) -> Bowl:
        """A bowl by its name, rebuilt if it was put away; raises ``UnknownName``."""
        with self._lock:
            bowl = self._bowls.get(name)
        if bowl is None:
            known = self.house.log.sessions()
            if name not in known:
                raise UnknownName("bench", name, known[-50:])
            with self._lock:
                bowl = self._bowls.setdefault(name, Bowl(self.house, self.maker, self.workers, name))
        bowl.open()
        bowl.touched_at = self.house.clock()
        return bowl

    def at_work(self) -> list[Bowl]:
        """Bowls that are held in memory."""
        with self._lock:
            return list(self._bowls.values())

    def look_after(self) -> None:
        """Look again at watched bowls that fell silent; put away what nobody needs. To be called every second or so."""
        now = self.house.clock()
        for bowl in self.at_work():
            craft = bowl.craft
            if craft is None or bowl.number == 0:
                continue
            if bowl.watched and not craft.finished:
                if bowl.grows_old():
                    self.workers.do(Urgency.ADVICE, bowl.look_again)
            elif not bowl.watched and now - bowl.touched_at > PUT_AWAY_AFTER:
                with self._lock:
                    self._bowls.pop(bowl.name, None)
                self.workers.do(Urgency.STUDY, bowl.put_away)

    def hear(self, name: str) -> None:
        """Another server stored something: catch up, if the bowl is at work here."""
        with self._lock:
            bowl = self._bowls.get(name)
        if bowl is not None:
            self.workers.do(Urgency.EVENT, bowl.catch_up)

    def warm_up(self) -> None:
        """Have the kernels compiled before the first cook waits for them."""

        def warm() -> None:
            craft = self.maker.begin(ev.Start(0.0, ev.Composition("dark"), 500.0, temperature_C=45.0), "warm-up")
            craft.take(ev.Seed(30.0, 100.0), "warm-up seed")
            craft.take(ev.Reading(60.0, 34.0), "warm-up reading")
            craft.advised()

        self.workers.do(Urgency.STUDY, warm)

    def close(self) -> None:
        """Keep every bowl and end the work."""
        for bowl in self.at_work():
            self.workers.do(Urgency.STUDY, bowl.keep)
        self.workers.close()
