"""A whole copy of the book in one file, taken while it is in use."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from sqlalchemy import Engine, insert, select

from bloomless.errors import ImpossibleInput
from bloomless.storage.engine import open_database, reading, writing
from bloomless.storage.tables import bench_events, bench_sessions, book_entries

__all__ = ["backup_to"]


def backup_to(engine: Engine, target: Path) -> int:
    """Copy the book into a new SQLite file that ``open_database`` opens; works from PostgreSQL too.

    Secrets and sign-ins are left out: a copy that leaves the house lets nobody in.

    Returns
    -------
    int
        Size of the copy [bytes].

    Raises
    ------
    ImpossibleInput
        If the file exists: a backup never overwrites.
    """
    if target.exists():
        raise ImpossibleInput("backup", str(target), "a file that does not exist yet")
    copy = open_database(target)
    try:
        with reading(engine) as source, writing(copy) as sink:
            for table in (book_entries, bench_sessions, bench_events):
                for batch in source.execute(select(table)).mappings().partitions(1000):
                    sink.execute(insert(table), [dict(row) for row in batch])
    finally:
        copy.dispose()
    # One file, no side files: the copy may go onto a stick.
    connection = sqlite3.connect(target)
    try:
        connection.execute("PRAGMA journal_mode=DELETE")
    finally:
        connection.close()
    return target.stat().st_size
