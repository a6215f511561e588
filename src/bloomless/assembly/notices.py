"""Word from other servers on the same PostgreSQL: which bench has a new event."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from bloomless.assembly.house import House
from bloomless.storage.event_log import CHANNEL

__all__ = ["listening"]


@contextmanager
def listening(house: House, hear: Callable[[str], None]) -> Iterator[None]:
    """Call ``hear`` with the name of each bench that any server writes to; does nothing on SQLite."""
    if house.engine.dialect.name != "postgresql":
        yield
        return
    over = threading.Event()
    thread = threading.Thread(target=_listen, args=(house, hear, over), name="notices", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join(10)


def _listen(house: House, hear: Callable[[str], None], over: threading.Event) -> None:
    while not over.is_set():
        try:
            with house.engine.connect() as connection:
                driver: Any = connection.connection.driver_connection
                driver.autocommit = True
                driver.execute(f"LISTEN {CHANNEL}")
                while not over.is_set():
                    for notice in driver.notifies(timeout=0.5):
                        hear(notice.payload)
                driver.execute(f"UNLISTEN {CHANNEL}")
                driver.autocommit = False
        except Exception:
            logging.getLogger("bloomless.bowls").warning("no word from other servers; trying again", exc_info=True)
            over.wait(2.0)
