"""One claim for several servers on a book, on both databases; a holder that dies leaves it."""

import signal
import subprocess
import sys

import pytest
from sqlalchemy import text

from bloomless.storage import Claim, open_database

pytestmark = pytest.mark.xdist_group("postgres")

HOLDER = """
import sys
from pathlib import Path
from bloomless.storage import Claim, open_database
where = sys.argv[1]
claim = Claim(open_database(where if "://" in where else Path(where)), "thermometers")
print(claim.hold(), flush=True)
sys.stdin.read()
"""


@pytest.fixture
def claims(database):
    engines = [open_database(database) for _ in range(2)]
    claims = [Claim(engine, "thermometers") for engine in engines]
    yield claims
    for claim, engine in zip(claims, engines, strict=True):
        claim.let_go()
        engine.dispose()


def test_one_has_it_at_a_time(claims):
    first, second = claims
    assert first.hold()
    assert first.hold()
    assert not second.hold()
    second.let_go()
    assert first.hold()
    first.let_go()
    assert second.hold()
    assert not first.hold()
    another = Claim(first._engine, "another")
    assert another.hold()
    another.let_go()


def test_a_process_that_is_killed_leaves_it(claims, database):
    claim = claims[0]
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(database)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout.readline() == "True\n"
        assert not claim.hold()
        other.send_signal(signal.SIGKILL)
        other.wait()
    assert any(claim.hold() for _ in range(50))


def test_a_lost_connection_loses_it(claims):
    first, second = claims
    if first._engine.dialect.name != "postgresql":
        pytest.skip("a file has no connection to lose")
    assert first.hold()
    with second._engine.begin() as connection:
        connection.execute(
            text(
                "SELECT pg_terminate_backend(pid) FROM pg_locks WHERE locktype = 'advisory' AND pid <> pg_backend_pid()"
            )
        )
    assert any(second.hold() for _ in range(50))
    assert not first.hold()
    second.let_go()
    assert first.hold()
