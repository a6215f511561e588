"""The stored book."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Engine, Row, and_, func, insert, select, text

from bloomless.bench.ports import Entry, Json, version_of
from bloomless.errors import UnknownName
from bloomless.storage.documents import checked_moment, checked_name, json_text
from bloomless.storage.engine import reading, writing
from bloomless.storage.tables import book_entries

__all__ = ["StoredBook"]


def _entry(row: Row[Any]) -> Entry:
    return Entry(row.kind, row.key, row.version, row.at, json.loads(row.document), row.withdrawn)


def _latest_row(connection: Connection, kind: str, key: str) -> Row[Any] | None:
    mine = and_(book_entries.c.kind == kind, book_entries.c.key == key)
    return connection.execute(
        select(book_entries).where(mine).order_by(book_entries.c.version.desc()).limit(1)
    ).one_or_none()


def _one_writer(connection: Connection, thing: str) -> None:
    """Let others that write the same thing wait; SQLite has a single writer anyway."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(hashtextextended(:thing, 0))"), {"thing": thing})


class StoredBook:
    """A ``bench.ports.Book`` in a database; every version is one row and no row is ever changed."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def put(self, kind: str, key: str, document: Mapping[str, Json], *, at: datetime) -> Entry:
        """See ``Book.put``."""
        return self._write(kind, key, json_text(document, kind), at=at)

    def withdraw(self, kind: str, key: str, *, at: datetime) -> Entry:
        """See ``Book.withdraw``."""
        last = self.get(kind, key)
        return self._write(kind, key, json_text(last.document, kind), at=at, withdrawn=True)

    def _write(self, kind: str, key: str, body: str, *, at: datetime, withdrawn: bool = False) -> Entry:
        checked_name("kind", kind)
        checked_name(kind, key)
        checked_moment("at", at)
        with writing(self.engine) as connection:
            _one_writer(connection, f"{kind}\n{key}")
            last = _latest_row(connection, kind, key)
            in_use = last is not None and not last.withdrawn
            if last is not None and in_use and not withdrawn and json.loads(last.document) == json.loads(body):
                return _entry(last)
            entry = Entry(kind, key, last.version + 1 if last else 1, at, json.loads(body), withdrawn)
            connection.execute(
                insert(book_entries).values(
                    kind=kind, key=key, version=entry.version, at=at, document=body, withdrawn=withdrawn
                )
            )
            return entry

    def get(self, kind: str, key: str, version: int | None = None) -> Entry:
        """See ``Book.get``."""
        return version_of(self.history(kind, key), version)

    def history(self, kind: str, key: str) -> Sequence[Entry]:
        """See ``Book.history``."""
        mine = and_(book_entries.c.kind == kind, book_entries.c.key == key)
        with reading(self.engine) as connection:
            rows = connection.execute(select(book_entries).where(mine).order_by(book_entries.c.version)).all()
            if not rows:
                known = connection.scalars(
                    select(book_entries.c.key).where(book_entries.c.kind == kind).distinct()
                ).all()
                raise UnknownName(kind, key, known)
        return tuple(_entry(row) for row in rows)

    def latest(self, kind: str) -> Iterator[Entry]:
        """See ``Book.latest``."""
        newest = (
            select(book_entries.c.key, func.max(book_entries.c.version).label("version"))
            .where(book_entries.c.kind == kind)
            .group_by(book_entries.c.key)
            .subquery()
        )
        query = (
            select(book_entries)
            .join(newest, and_(book_entries.c.key == newest.c.key, book_entries.c.version == newest.c.version))
            .where(book_entries.c.kind == kind, book_entries.c.withdrawn.is_(False))
        )
        with reading(self.engine) as connection:
            rows = connection.execute(query).all()
        # Sorted here: the two databases do not agree on the order of letters.
        return iter(sorted((_entry(row) for row in rows), key=lambda entry: entry.key))

    def revision(self, *kinds: str) -> int:
        """See ``Book.revision``."""
        query = select(func.count()).select_from(book_entries).where(book_entries.c.kind.in_(kinds))
        with reading(self.engine) as connection:
            return int(connection.execute(query).scalar_one())
