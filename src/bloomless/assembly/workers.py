"""Worker threads with a queue by urgency, so that no reading waits behind a plan and no page behind either."""

from __future__ import annotations

import itertools
import logging
import os
import queue
import threading
from collections.abc import Callable
from enum import IntEnum

__all__ = ["Urgency", "Workers"]


class Urgency(IntEnum):
    """What is done first."""

    EVENT = 0
    """Somebody waits for the answer."""
    ADVICE = 1
    STUDY = 2
    """Looking again at an old bench, keeping a snapshot."""
    STOP = 9


class _Team:
    """Threads with one queue."""

    def __init__(self, name: str, count: int) -> None:
        self.queue: queue.PriorityQueue[tuple[int, int, Callable[[], None] | None]] = queue.PriorityQueue()
        self.number = itertools.count()
        self.threads = [threading.Thread(target=self.run, name=f"{name}-{i}", daemon=True) for i in range(count)]
        for thread in self.threads:
            thread.start()

    def put(self, urgency: Urgency, work: Callable[[], None] | None) -> None:
        self.queue.put((urgency, next(self.number), work))

    def run(self) -> None:
        while True:
            _, _, work = self.queue.get()
            if work is None:
                return
            try:
                work()
            except Exception:
                logging.getLogger("bloomless.bowls").exception("work at a bowl failed")

    def close(self) -> None:
        for _ in self.threads:
            self.put(Urgency.STOP, None)
        for thread in self.threads:
            thread.join(20)


class Workers:
    """A few threads; the kernels let the interpreter go, so they really work side by side.

    Half of them do nothing but events, so that no event ever waits for a plan to be finished.
    """

    def __init__(self, count: int | None = None) -> None:
        count = count or max(2, min(4, os.cpu_count() or 2))
        self._events, self._others = _Team("events", count), _Team("plans", count)

    def do(self, urgency: Urgency, work: Callable[[], None]) -> None:
        """Put work into the queue; what it raises is logged, so it had better deliver its own errors."""
        (self._events if urgency is Urgency.EVENT else self._others).put(urgency, work)

    def close(self) -> None:
        """Finish what is queued and end the threads."""
        self._events.close()
        self._others.close()
