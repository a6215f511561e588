"""Ports: what the jobs need from the world, as Protocols; the rim fulfils them and only ``assembly`` joins the two."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol, TypeAlias

from bloomless.errors import UnknownName

__all__ = ["Book", "Entry", "EventLog", "Json", "MemoryBook", "MemoryEventLog", "StoredEvent", "version_of"]


Json: TypeAlias = Any  # a JSON value; a recursive type would not help the reader


@dataclass(frozen=True, slots=True)
class Entry:
    """One version of one thing in the book; versions count from 1 and old ones never go away."""

    kind: str
    """What sort of thing: ``recipe``, ``ingredient``, ``mould``, ``probe`` …"""
    key: str
    """Name of the thing, unique among its kind."""
    version: int
    at: datetime
    document: Mapping[str, Json]
    withdrawn: bool = False
    """True if this version says: no longer in use."""


def version_of(history: Sequence[Entry], version: int | None) -> Entry:
    """A version of a thing, the latest for ``None``; raises ``UnknownName``."""
    if version is None:
        return history[-1]
    if not 1 <= version <= len(history):
        raise UnknownName("version", version, [str(entry.version) for entry in history])
    return history[version - 1]


class Book(Protocol):
    """Everything a person writes down, kept by kind and key, append-only."""

    def put(self, kind: str, key: str, document: Mapping[str, Json], *, at: datetime) -> Entry:
        """Write a new version; the same document as the latest version writes nothing and returns that version."""

    def withdraw(self, kind: str, key: str, *, at: datetime) -> Entry:
        """Write a version that takes the thing out of use; it stays in the history."""

    def get(self, kind: str, key: str, version: int | None = None) -> Entry:
        """Read a version, the latest unless named; raises ``UnknownName``."""

    def history(self, kind: str, key: str) -> Sequence[Entry]:
        """Every version, oldest first."""

    def latest(self, kind: str) -> Iterator[Entry]:
        """Latest version of everything of a kind that is in use, by key."""

    def revision(self, *kinds: str) -> int:
        """How many versions of these kinds are written: the same number, nothing has changed."""


@dataclass(frozen=True, slots=True)
class StoredEvent:
    """A bench event as it was sent, with the number it got in its session."""

    session: str
    number: int
    """Counts from 1 in each session, without gaps."""
    id: str
    """Unique in the session; given by the sender, or made when it was stored."""
    stored_at: datetime
    event: Mapping[str, Json]
    """The event in the form of the published schema, ``at`` filled in."""


class EventLog(Protocol):
    """The bench events of every session: committed before they are acted on, never changed."""

    def append(
        self, session: str, event: Mapping[str, Json], *, event_id: str, at: datetime
    ) -> tuple[StoredEvent, bool]:
        """Commit an event. A repeated ``event_id`` changes nothing: the first one comes back, with ``False``."""

    def events(self, session: str, after: int = 0) -> Sequence[StoredEvent]:
        """Events of a session in the order stored, those with a number above ``after``."""

    def sessions(self) -> Sequence[str]:
        """Sessions that have an event, newest last."""


@dataclass(slots=True)
class MemoryBook:
    """A book in memory, for tests and for practice; the same behaviour as the stored one."""

    entries: dict[tuple[str, str], list[Entry]] = field(default_factory=dict)

    def put(self, kind: str, key: str, document: Mapping[str, Json], *, at: datetime) -> Entry:
        """See ``Book.put``."""
        versions = self.entries.setdefault((kind, key), [])
        if versions and not versions[-1].withdrawn and versions[-1].document == document:
            return versions[-1]
        versions.append(Entry(kind, key, len(versions) + 1, at, dict(document)))
        return versions[-1]

    def withdraw(self, kind: str, key: str, *, at: datetime) -> Entry:
        """See ``Book.withdraw``."""
        last = self.get(kind, key)
        self.entries[kind, key].append(Entry(kind, key, last.version + 1, at, last.document, withdrawn=True))
        return self.entries[kind, key][-1]

    def get(self, kind: str, key: str, version: int | None = None) -> Entry:
        """See ``Book.get``."""
        return version_of(self.history(kind, key), version)

    def history(self, kind: str, key: str) -> Sequence[Entry]:
        """See ``Book.history``."""
        if (kind, key) not in self.entries:
            raise UnknownName(kind, key, [k for other, k in self.entries if other == kind])
        return tuple(self.entries[kind, key])

    def latest(self, kind: str) -> Iterator[Entry]:
        """See ``Book.latest``."""
        for (other, _), versions in sorted(self.entries.items()):
            if other == kind and not versions[-1].withdrawn:
                yield versions[-1]

    def revision(self, *kinds: str) -> int:
        """See ``Book.revision``."""
        return sum(len(versions) for (kind, _), versions in self.entries.items() if kind in kinds)


@dataclass(slots=True)
class MemoryEventLog:
    """An event log in memory, for tests and for practice; the same behaviour as the stored one."""

    stored: dict[str, list[StoredEvent]] = field(default_factory=dict)

    def append(
        self, session: str, event: Mapping[str, Json], *, event_id: str, at: datetime
    ) -> tuple[StoredEvent, bool]:
        """See ``EventLog.append``."""
        log = self.stored.setdefault(session, [])
        for old in log:
            if old.id == event_id:
                return old, False
        log.append(StoredEvent(session, len(log) + 1, event_id, at, dict(event)))
        return log[-1], True

    def events(self, session: str, after: int = 0) -> Sequence[StoredEvent]:
        """See ``EventLog.events``."""
        return tuple(self.stored.get(session, ())[after:])

    def sessions(self) -> Sequence[str]:
        """See ``EventLog.sessions``."""
        return tuple(self.stored)
