"""Worker threads with a queue by urgency, so that no reading waits behind a plan and no page behind either."""

from __future__ import annotations

import itertools
import logging
import os
import queue
import threading
from collections.abc import Callable
from enum import IntEnum
from typing import Final

__all__ = ["Urgency", "Workers"]


class Urgency(IntEnum):
    """What is done first."""

    EVENT = 0
    """Somebody waits for the answer."""
    ADVICE = 1
    STUDY = 2
    """Looking again at an old bench, keeping a snapshot."""
    STOP = 9


class Workers:
    """A few threads; the kernels let the interpreter go, so they really work side by side."""

    def __init__(self, count: int | None = None) -> None:
        self.count: Final = count or max(2, min(8, os.cpu_count() or 2))
        self._queue: queue.PriorityQueue[tuple[int, int, Callable[[], None] | None]] = queue.PriorityQueue()
        self._number = itertools.count()
        self._threads = [threading.Thread(target=self._run, name=f"bowls-{i}", daemon=True) for i in range(self.count)]
        for thread in self._threads:
            thread.start()

    def do(self, urgency: Urgency, work: Callable[[], None]) -> None:
        """Put work into the queue; what it raises is logged, so it had better deliver its own errors."""
        self._queue.put((urgency, next(self._number), work))

    def _run(self) -> None:
        while True:
            _, _, work = self._queue.get()
            if work is None:
                return
            try:
                work()
            except Exception:
                logging.getLogger("bloomless.bowls").exception("work at a bowl failed")

    def close(self) -> None:
        """Finish what is queued and end the threads."""
        for _ in self._threads:
            self._queue.put((Urgency.STOP, next(self._number), None))
        for thread in self._threads:
            thread.join(20)
