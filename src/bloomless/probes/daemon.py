"""Work that may hang in the system: in a thread of its own, which the end of the program does not wait for."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from contextlib import suppress
from typing import TypeVar

__all__ = ["in_daemon"]

T = TypeVar("T")


def in_daemon(work: Callable[[], T], name: str) -> asyncio.Future[T]:
    """Begin a work and give what will carry its result; the threads shared by the program stay free for others."""
    loop = asyncio.get_running_loop()
    promised: asyncio.Future[T] = loop.create_future()

    def settle(result: T | None, error: BaseException | None) -> None:
        if promised.done():
            return
        if error is not None:
            promised.set_exception(error)
        else:
            promised.set_result(result)  # type: ignore[arg-type]  # of type T where there is no error

    def run() -> None:
        result, failed = None, None
        try:
            result = work()
        except Exception as error:
            failed = error
        with suppress(RuntimeError):  # the loop has ended meanwhile
            loop.call_soon_threadsafe(settle, result, failed)

    threading.Thread(target=run, name=name, daemon=True).start()
    return promised
