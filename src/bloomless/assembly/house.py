"""The opened house: every concrete part in one frozen object that the screens and commands are given."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property
from typing import TYPE_CHECKING

from sqlalchemy import Engine

from bloomless.assembly.places import Places
from bloomless.storage import SecretStore, SnapshotStore, StoredBook, StoredEventLog, open_database

if TYPE_CHECKING:
    from bloomless.bench.shelf import Shelf

__all__ = ["House", "open_house"]


def _now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class House:
    """What a run works with; ``close`` ends it."""

    places: Places
    engine: Engine
    book: StoredBook
    log: StoredEventLog
    snapshots: SnapshotStore
    secrets: SecretStore
    clock: Callable[[], datetime] = field(default=_now)
    """The time now, aware."""

    @cached_property
    def shelf(self) -> Shelf:
        """The recipe book as it is asked for again and again."""
        from bloomless.bench.shelf import Shelf

        return Shelf(self.book)

    def close(self) -> None:
        """Let the database go."""
        self.engine.dispose()


def open_house(where: Places, *, clock: Callable[[], datetime] = _now) -> House:
    """Open the book of ``where`` and everything that lies in it; see ``storage.open_database`` for what can fail."""
    engine = open_database(where.database)
    return House(
        places=where,
        engine=engine,
        book=StoredBook(engine),
        log=StoredEventLog(engine),
        snapshots=SnapshotStore(engine),
        secrets=SecretStore(engine),
        clock=clock,
    )
