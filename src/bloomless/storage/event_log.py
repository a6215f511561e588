"""The stored bench log: committed before anything acts on an event, never changed."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, Engine, Row, insert, select, text, update
from sqlalchemy.exc import IntegrityError

from bloomless.bench.ports import Json, StoredEvent
from bloomless.errors import StorageFailure
from bloomless.storage.documents import checked_moment, checked_name, json_text
from bloomless.storage.engine import reading, writing
from bloomless.storage.tables import bench_events, bench_sessions

__all__ = ["CHANNEL", "SessionSummary", "StoredEventLog"]

CHANNEL: Final = "bloomless_bench"
"""PostgreSQL's notification channel; what it carries is the session that has a new event."""


@dataclass(frozen=True, slots=True)
class SessionSummary:
    """What a list of benches shows of one without replaying it."""

    session: str
    events: int
    first: StoredEvent
    last: StoredEvent


def _stored(row: Row[Any]) -> StoredEvent:
    return StoredEvent(row.session, row.number, row.id, row.stored_at, json.loads(row.event))


class StoredEventLog:
    """A ``bench.ports.EventLog`` in a database."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def append(
        self, session: str, event: Mapping[str, Json], *, event_id: str, at: datetime
    ) -> tuple[StoredEvent, bool]:
        """See ``EventLog.append``; the id is looked for and the event written in one transaction."""
        checked_name("session", session)
        checked_name("id", event_id)
        checked_moment("at", at)
        body = json_text(event, "event")
        for _ in range(3):
            try:
                with writing(self.engine) as connection:
                    return self._append(connection, session, body, event_id, at)
            except StorageFailure as failure:
                # Another server wrote the same id or session between our look and our write: look again.
                if not isinstance(failure.__cause__, IntegrityError):
                    raise
        raise StorageFailure(f"Session {session} is written from too many places at once; try again.", code="busy")

    def _append(
        self, connection: Connection, session: str, body: str, event_id: str, at: datetime
    ) -> tuple[StoredEvent, bool]:
        known = connection.execute(
            select(bench_events).where(bench_events.c.session == session, bench_events.c.id == event_id)
        ).one_or_none()
        if known is not None:
            return _stored(known), False
        number = connection.scalar(
            update(bench_sessions)
            .where(bench_sessions.c.name == session)
            .values(last_number=bench_sessions.c.last_number + 1)
            .returning(bench_sessions.c.last_number)
        )
        if number is None:
            number = 1
            connection.execute(insert(bench_sessions).values(name=session, last_number=number))
        connection.execute(
            insert(bench_events).values(session=session, number=number, id=event_id, stored_at=at, event=body)
        )
        if connection.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_notify(:channel, :session)"), {"channel": CHANNEL, "session": session})
        return StoredEvent(session, number, event_id, at, json.loads(body)), True

    def events(self, session: str, after: int = 0) -> Sequence[StoredEvent]:
        """See ``EventLog.events``."""
        query = (
            select(bench_events)
            .where(bench_events.c.session == session, bench_events.c.number > after)
            .order_by(bench_events.c.number)
        )
        with reading(self.engine) as connection:
            return tuple(_stored(row) for row in connection.execute(query))

    def sessions(self) -> Sequence[str]:
        """See ``EventLog.sessions``."""
        with reading(self.engine) as connection:
            return tuple(connection.scalars(select(bench_sessions.c.name).order_by(bench_sessions.c.position)))

    def summaries(self) -> Sequence[SessionSummary]:
        """First and last event of every session, newest session last."""
        query = (
            select(bench_sessions.c.last_number, bench_events)
            .join(bench_events, bench_events.c.session == bench_sessions.c.name)
            .where((bench_events.c.number == 1) | (bench_events.c.number == bench_sessions.c.last_number))
            .order_by(bench_sessions.c.position, bench_events.c.number)
        )
        found: dict[str, SessionSummary] = {}
        with reading(self.engine) as connection:
            for row in connection.execute(query):
                event = _stored(row)
                first = found[row.session].first if row.session in found else event
                found[row.session] = SessionSummary(row.session, row.last_number, first, event)
        return tuple(found.values())
