"""The tables. JSON is kept as text, so that what is read is exactly what was written, in either database."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

__all__ = [
    "NAME_LENGTH",
    "UtcDateTime",
    "bench_events",
    "bench_sessions",
    "book_entries",
    "metadata",
    "secrets",
    "sign_ins",
    "snapshots",
]

NAME_LENGTH = 200
"""Longest name of a kind, key, session or event."""


class UtcDateTime(TypeDecorator[datetime]):
    """An aware moment, kept in UTC; SQLite has no time zones, so there it is kept without and read back as UTC."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To the database: in UTC."""
        if value is None:
            return None
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """From the database: aware, in UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


# Names of constraints are fixed, so that a later migration can change them in either database.
metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

_serial: Any = BigInteger().with_variant(Integer, "sqlite")  # SQLite counts up only plain INTEGER keys

book_entries = Table(
    "book_entries",
    metadata,
    Column("kind", String(NAME_LENGTH), primary_key=True),
    Column("key", String(NAME_LENGTH), primary_key=True),
    Column("version", Integer, primary_key=True),
    Column("at", UtcDateTime, nullable=False),
    Column("document", Text, nullable=False),
    Column("withdrawn", Boolean, nullable=False),
)

bench_sessions = Table(
    "bench_sessions",
    metadata,
    Column("position", _serial, primary_key=True),
    Column("name", String(NAME_LENGTH), nullable=False, unique=True),
    Column("last_number", Integer, nullable=False),
)

bench_events = Table(
    "bench_events",
    metadata,
    Column("session", String(NAME_LENGTH), ForeignKey("bench_sessions.name"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("id", String(NAME_LENGTH), nullable=False),
    Column("stored_at", UtcDateTime, nullable=False),
    Column("event", Text, nullable=False),
    UniqueConstraint("session", "id"),
)

# A cache, not a record: any row may be thrown away and is rebuilt by replaying the events.
snapshots = Table(
    "snapshots",
    metadata,
    Column("session", String(NAME_LENGTH), ForeignKey("bench_sessions.name"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("form", String(NAME_LENGTH), nullable=False),
    Column("payload", LargeBinary, nullable=False),
)

secrets = Table(
    "secrets",
    metadata,
    Column("role", String(NAME_LENGTH), primary_key=True),
    Column("hash", Text, nullable=False),
    Column("changed_at", UtcDateTime, nullable=False),
)

sign_ins = Table(
    "sign_ins",
    metadata,
    Column("token_hash", String(64), primary_key=True),
    Column("role", String(NAME_LENGTH), nullable=False),
    Column("device", String(NAME_LENGTH), nullable=False),
    Column("since", UtcDateTime, nullable=False),
    Column("last_seen", UtcDateTime, nullable=False),
    Column("until", UtcDateTime, nullable=False),
)
