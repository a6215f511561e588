"""The live stream: news of a bowl from its worker thread to every screen that watches."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Sequence
from typing import Final

from starlette.requests import Request

from bloomless.assembly.bowl import Bowl, Listener

__all__ = ["news_of"]

HEARTBEAT_S: Final = 10.0
"""So often a silent stream says that it is alive; a screen that hears nothing for longer says so."""
LOOK_UP_S: Final = 0.5
"""So often a silent stream looks whether the server is closing."""
MOST_WAITING: Final = 500
"""A screen this far behind is let go; it comes back and gets the latest."""


async def news_of(bowls: Sequence[Bowl], request: Request, *, named: bool = False) -> AsyncIterator[bytes]:
    """Server-sent events of bowls until the screen goes away.

    Parameters
    ----------
    bowls
        One, or several whose news go into one stream: browsers allow few streams at once.
    request
        The request of the screen.
    named
        Wrap each piece of news as ``{"bench": name, kind: news}``.
    """
    loop = asyncio.get_running_loop()
    waiting: asyncio.Queue[bytes] = asyncio.Queue()

    def listener(bowl: Bowl) -> Listener:
        def hear(kind: str, number: int, text: str) -> None:
            data = f'{{"bench":{json.dumps(bowl.name)},"{kind}":{text}}}' if named else text
            message = f"event: {kind}\nid: {number}\ndata: {data}\n\n".encode()
            with contextlib.suppress(RuntimeError):  # the loop ended while the worker was speaking
                loop.call_soon_threadsafe(waiting.put_nowait, message)

        return hear

    def clock() -> bytes:
        return f"event: clock\ndata: {bowls[0].now_s():.2f}\n\n".encode()

    yield b"retry: 1000\n\n"
    yield clock()
    hearing = [(bowl, listener(bowl)) for bowl in bowls]
    for bowl, hear in hearing:
        await asyncio.to_thread(bowl.listen, hear)
    try:
        silent_s = 0.0
        while waiting.qsize() < MOST_WAITING and not request.app.state.closing.is_set():
            try:
                yield await asyncio.wait_for(waiting.get(), LOOK_UP_S)
                silent_s = 0.0
            except TimeoutError:
                silent_s += LOOK_UP_S
                if silent_s >= HEARTBEAT_S:
                    silent_s = 0.0
                    yield clock()
    finally:
        for bowl, hear in hearing:
            bowl.unlisten(hear)
