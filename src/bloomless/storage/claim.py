"""A claim that one of several servers on a book has at a time; it is free again as soon as its holder dies."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import DBAPIError

__all__ = ["Claim"]


class Claim:
    """One claim by name; not for use by two threads at once.

    No clock decides who has it: in PostgreSQL it is an advisory lock of a connection, beside a SQLite file it is the
    lock of an open transaction on a file of its own. Both end with the process.

    Parameters
    ----------
    engine
        Of the book.
    name
        What is claimed; servers of one book that give the same name share it.
    """

    def __init__(self, engine: Engine, name: str) -> None:
        self._engine = engine
        self._name = name
        self._session: Connection | None = None
        self._file: sqlite3.Connection | None = None

    def hold(self) -> bool:
        """Whether it is ours now; takes it if it is free. To be asked again and again: a connection can be lost."""
        return self._hold_lock() if self._engine.dialect.name == "postgresql" else self._hold_file()

    def let_go(self) -> None:
        """Give it up; nothing happens if it is not ours."""
        if self._file is not None:
            self._file.close()
        if self._session is not None:
            self._session.invalidate()  # closed for good, not kept in the pool with the lock on it
            self._session.close()
        self._file = self._session = None

    def _hold_file(self) -> bool:
        if self._file is not None:
            return True
        beside = Path(self._engine.url.database or "").with_name(f"{self._name}.claim")
        file = sqlite3.connect(beside, timeout=0.0, isolation_level=None, check_same_thread=False)
        try:
            file.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError:
            file.close()
            return False
        self._file = file
        return True

    def _hold_lock(self) -> bool:
        try:
            if self._session is not None:
                self._session.execute(text("SELECT 1"))
                return True
            self._session = self._engine.connect().execution_options(isolation_level="AUTOCOMMIT")
            asked = text("SELECT pg_try_advisory_lock(hashtextextended(:name, 0))")
            if self._session.scalar(asked, {"name": f"claim\n{self._name}"}):
                return True
        except DBAPIError:
            pass  # the server is away, and our lock with it
        self.let_go()
        return False
