"""Opening the database: checks first, migrations second, and never a word written into a file that is not ours."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, SQLAlchemyError

from bloomless.errors import ImpossibleInput, StorageFailure
from bloomless.storage.migrations import HEAD, upgrade

__all__ = ["APPLICATION_ID", "FILE_NAME", "database_file", "open_database", "reading", "writing"]

FILE_NAME: Final = "bloomless.sqlite"
APPLICATION_ID: Final = 0x424C4D4C
"""Stands in the header of every database file of ours ("BLML")."""
CHECK_WHOLE_BELOW_BYTES: Final = 64_000_000
"""Larger files get SQLite's quick check at the start: every page, but not every index entry."""


def database_file(folder: Path) -> Path:
    """The database file in a data folder."""
    return folder / FILE_NAME


def open_database(where: Path | str) -> Engine:
    """Open a book, make it if there is none, bring its tables up to date.

    Parameters
    ----------
    where
        A SQLite file, or a database URL such as ``postgresql://user@host/name``.

    Returns
    -------
    Engine
        Ready for any thread.

    Raises
    ------
    StorageFailure
        ``foreign_file``, ``damaged_file``, ``newer_file``, ``cannot_open``: the text says what to do. The file is left
        as it was.
    """
    engine = _open_sqlite(where) if isinstance(where, Path) else _open_url(where)
    try:
        with writing(engine) as connection:
            _bring_up_to_date(connection)
    except (StorageFailure, DBAPIError):
        engine.dispose()
        raise
    return engine


def _open_url(url: str) -> Engine:
    accepted = "a database address such as postgresql://user@host/name"
    try:
        parsed = make_url(url)
    except ArgumentError:
        raise ImpossibleInput("database", "…", accepted) from None  # it may hold a password: never shown
    if parsed.get_backend_name() == "sqlite" and parsed.database:
        return _open_sqlite(Path(parsed.database))
    if parsed.get_backend_name() != "postgresql":
        raise ImpossibleInput("database", parsed.get_backend_name(), accepted)
    engine = create_engine(parsed.set(drivername="postgresql+psycopg"), pool_pre_ping=True, pool_size=8)
    try:
        with engine.connect():
            return engine
    except DBAPIError as error:
        engine.dispose()
        reason = str(error.orig).strip().splitlines()[0]
        raise StorageFailure(
            f"The PostgreSQL server at {parsed.host or 'this machine'} does not let us in: {reason}. "
            "Start it, or correct BLOOMLESS_DATABASE_URL.",
            code="cannot_open",
        ) from error


def _open_sqlite(file: Path) -> Engine:
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        _check_file(file)
    except OSError as error:
        if isinstance(error, StorageFailure):
            raise
        raise StorageFailure(
            f"{file} cannot be opened: {error.strerror}. Choose another folder with --data.", code="cannot_open"
        ) from error
    engine = create_engine(f"sqlite:///{file}", connect_args={"timeout": 5.0})
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _check_file(file: Path) -> None:
    """Refuse a file that is damaged or not ours, reading only."""
    if not file.exists() or file.stat().st_size == 0:
        return
    refuse = "It was left as it is. Choose another folder with --data, or move the file away."
    restore = f"It was left as it is. Move {file.name} away and put your latest backup in its place."
    whole = file.stat().st_size < CHECK_WHOLE_BELOW_BYTES
    try:
        connection = sqlite3.connect(f"{file.resolve().as_uri()}?mode=rw", uri=True, timeout=5.0)
        try:
            mark = connection.execute("PRAGMA application_id").fetchone()[0]
            if mark == 0 and connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0:
                return  # empty: another command is just making this book
            if mark != APPLICATION_ID:
                raise StorageFailure(f"{file} is a database of another program. {refuse}", code="foreign_file")
            check = "PRAGMA integrity_check(1)" if whole else "PRAGMA quick_check(1)"
            verdict = connection.execute(check).fetchone()[0]
        finally:
            connection.close()
    except sqlite3.OperationalError as error:
        raise StorageFailure(f"{file} cannot be read: {error}. {refuse}", code="cannot_open") from error
    except sqlite3.DatabaseError as error:
        ours = _header_mark(file) == APPLICATION_ID
        if ours:
            raise StorageFailure(f"{file} is damaged ({error}). {restore}", code="damaged_file") from error
        raise StorageFailure(f"{file} is not a book of Bloomless. {refuse}", code="foreign_file") from error
    if verdict != "ok":
        raise StorageFailure(f"{file} is damaged ({verdict}). {restore}", code="damaged_file")


def _header_mark(file: Path) -> int:
    # Bytes 68–71 of a SQLite file hold the application id (SQLite file format, section 1.3.16).
    with file.open("rb") as raw:
        return int.from_bytes(raw.read(72)[68:72], "big")


def _on_connect(connection: Any, _record: object) -> None:
    # Transactions are ours: the driver's own would begin late and fail when a reader becomes a writer.
    connection.isolation_level = None
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "busy_timeout=5000"):
        connection.execute(f"PRAGMA {pragma}")


def _on_begin(connection: Connection) -> None:
    options = connection.get_execution_options()
    if not options.get("reading", False):
        connection.exec_driver_sql(f"PRAGMA synchronous={'NORMAL' if options.get('cache', False) else 'FULL'}")
    connection.exec_driver_sql("BEGIN" if options.get("reading", False) else "BEGIN IMMEDIATE")


def _bring_up_to_date(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id={APPLICATION_ID}")
    else:
        # Two servers starting at once must not both make the tables.
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": APPLICATION_ID})
    if connection.dialect.has_table(connection, "alembic_version"):
        found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
        if found == HEAD:
            return
        if found is not None and found > HEAD:
            raise StorageFailure(
                f"This book was written by a newer Bloomless (form {found}, this one knows {HEAD}). "
                "It was left as it is. Install the newer version.",
                code="newer_file",
            )
    upgrade(connection)


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A connection that only reads; database errors come out as ``StorageFailure``."""
    with _named(), engine.connect().execution_options(reading=True) as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine, *, cache: bool = False) -> Iterator[Connection]:
    """One transaction, committed at the end or not at all; database errors come out as ``StorageFailure``.

    ``cache`` says that a power cut may undo it: such a commit does not wait for the disk.
    """
    with (
        _named(),
        _one_writer(engine),
        engine.connect().execution_options(cache=cache) as connection,
        connection.begin(),
    ):
        if cache and connection.dialect.name == "postgresql":
            connection.execute(text("SET LOCAL synchronous_commit = off"))
        yield connection


_writers: WeakKeyDictionary[Engine, threading.Lock] = WeakKeyDictionary()
_writers_lock = threading.Lock()


@contextmanager
def _one_writer(engine: Engine) -> Iterator[None]:
    """SQLite has one writer: its threads wait here, woken at once, and not in SQLite's own growing naps."""
    if engine.dialect.name != "sqlite":
        yield
        return
    with _writers_lock:
        lock = _writers.setdefault(engine, threading.Lock())
    with lock:
        yield


@contextmanager
def _named() -> Iterator[None]:
    try:
        yield
    except DBAPIError as error:
        raise _failure(error) from error
    except SQLAlchemyError as error:
        raise StorageFailure(f"The book could not be used: {error}. Nothing was saved.", code="not_saved") from error


def _failure(error: DBAPIError) -> StorageFailure:
    reason = str(error.orig).strip().splitlines()[0]
    full = "is full" in reason or "No space left" in reason
    if full:
        return StorageFailure(
            "The disk is full: nothing was saved. Free some space; what was tapped is kept on this screen and sent "
            "again by itself.",
            code="disk_full",
        )
    return StorageFailure(f"The book could not be used: {reason}. Nothing was saved.", code="not_saved")
