"""Starts a PostgreSQL server of the tests' own: in a temporary folder, on a socket, never as root."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import psycopg
import pytest


def program(name: str) -> str:
    """Path of a PostgreSQL program, on the PATH or where Debian puts it."""
    found = shutil.which(name)
    if found:
        return str(Path(found).resolve())
    candidates = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    if not candidates:
        raise FileNotFoundError(f"{name} is missing: install the package postgresql")
    return str(candidates[-1])


def _unprivileged() -> str | None:
    if os.getuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in names else "nobody"


@contextmanager
def postgres_server(*, durable: bool = False) -> Iterator[Path]:
    """A running server; yields the folder of its socket. ``durable`` keeps fsync on, as a real one has it."""
    user = _unprivileged()
    folder = Path(tempfile.mkdtemp(prefix="blpg-", dir="/tmp"))
    if user:
        shutil.chown(folder, user)
    data = folder / "data"
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": "/", "user": user}
    try:
        subprocess.run(
            [program("initdb"), "-D", data, "-U", "keeper", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"],
            check=True,
            **quiet,
        )
        options = f"-c listen_addresses='' -c unix_socket_directories='{folder}' -c max_connections=60"
        if not durable:
            options += " -c fsync=off -c synchronous_commit=off -c full_page_writes=off"
        subprocess.run(
            [program("pg_ctl"), "-D", data, "-w", "-t", "60", "-o", options, "-l", folder / "log", "start"],
            check=True,
            **quiet,
        )
        try:
            yield folder
        finally:
            subprocess.run([program("pg_ctl"), "-D", data, "-m", "immediate", "-w", "stop"], check=False, **quiet)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres_folder() -> Iterator[Path]:
    with postgres_server() as folder:
        yield folder


_number = count(1)


def new_database(folder: Path) -> str:
    """Make an empty database and give its URL."""
    name = f"bench_{os.getpid()}_{next(_number)}"
    with psycopg.connect(f"host={folder} user=keeper dbname=postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return f"postgresql://keeper@/{name}?host={folder}"


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=[pytest.mark.postgres])])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Path | str:
    """Where a book may be: a file in a temporary folder, or an empty database of the tests' server."""
    if request.param == "sqlite":
        return tmp_path / "bloomless.sqlite"
    return new_database(request.getfixturevalue("postgres_folder"))
