"""Opened houses and apps for tests, and a server with a real browser in front of it.

Every run of tests reads this file; the program is imported only by what needs it.
"""

from __future__ import annotations

import json
import threading
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from bloomless.assembly import House
    from bloomless.assembly.craft import CraftMaker
    from bloomless.web import Door

OUT = Path(__file__).resolve().parents[2] / "out"
"""Screenshots go here."""
SIZES = {"phone": (390, 844), "tablet": (768, 1024), "laptop": (1366, 768)}
CHROMIUM = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def post_json(url: str, body: object) -> Any:
    """POST and the answer; raises for an error."""
    request = urllib.request.Request(url, json.dumps(body).encode(), {"content-type": "application/json"})
    with urllib.request.urlopen(request, timeout=30) as answer:
        return json.load(answer)


@dataclass
class Clock:
    """A clock that tests move."""

    now: datetime = datetime(2031, 5, 1, 12, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def pass_(self, **duration: float) -> None:
        self.now += timedelta(**duration)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def house(tmp_path: Path, clock: Clock) -> Iterator[House]:
    from bloomless.assembly import open_house, places

    opened = open_house(places(tmp_path / "book", {}), clock=clock)
    yield opened
    opened.close()


@pytest.fixture
def client(house: House) -> Iterator[TestClient]:
    from starlette.testclient import TestClient

    from bloomless.web import create_app
    from services.plain_craft import PlainMaker

    with TestClient(
        create_app(house, maker=PlainMaker()), base_url="http://localhost:8750", follow_redirects=False
    ) as client:
        yield client


@contextmanager
def serving(house: House, door: Door | None = None, maker: CraftMaker | None = None) -> Iterator[str]:
    """A server in a thread of its own; yields its address."""
    from bloomless.web import Door
    from bloomless.web.server import configured, listening_socket
    from services.plain_craft import PlainMaker

    listener = listening_socket("127.0.0.1", door.port if door and not door.tls else 0)
    door = door or Door("127.0.0.1", listener.getsockname()[1])
    server = configured(house, door, maker or PlainMaker())
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    try:
        yield f"http{'s' if door.tls else ''}://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(10)
        listener.close()


@pytest.fixture(scope="session")
def browser() -> Iterator[object]:
    """Debian's Chromium."""
    from playwright.sync_api import expect, sync_playwright

    expect.set_options(timeout=30_000)  # on busy cores an answer may take long; what comes at once does not wait
    with sync_playwright() as player:
        chromium = player.chromium.launch(executable_path="/usr/bin/chromium", args=CHROMIUM)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    """One house for all journeys of a worker."""
    from bloomless.assembly import open_house, places

    opened = open_house(places(tmp_path_factory.mktemp("shop"), {}))
    opened.book.put(
        "settings",
        "house",
        {"language": "en", "temperature": "C", "mass": "g", "country": "EU"},
        at=datetime.now(UTC),
    )
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def address(shop: House) -> Iterator[str]:
    """The address of one server for all journeys of a worker."""
    with serving(shop) as url:
        yield url
