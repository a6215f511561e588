"""Database files that must not be touched, and disks that are full."""

import sqlite3
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import text

from bloomless.errors import ImpossibleInput, StorageFailure
from bloomless.storage import StoredBook, StoredEventLog, database_file, open_database
from bloomless.storage.engine import writing

NOON = datetime(2031, 5, 1, 12, tzinfo=UTC)


def make(folder: Path) -> Path:
    file = database_file(folder)
    engine = open_database(file)
    log = StoredEventLog(engine)
    for i in range(200):
        log.append("s", {"what": "reading", "i": i, "note": "x" * 200}, event_id=str(i), at=NOON)
    engine.dispose()
    sqlite3.connect(file).execute("PRAGMA wal_checkpoint(TRUNCATE)").connection.close()
    return file


@pytest.mark.parametrize(
    "content", [b"Dear diary, today the bowl seized.\n" * 40, b"\x00" * 4096, b"SQLite format 3\x00"]
)
def test_a_file_that_is_no_database_is_refused_and_left(tmp_path, content):
    file = tmp_path / "bloomless.sqlite"
    file.write_bytes(content)
    with pytest.raises(StorageFailure) as failure:
        open_database(file)
    assert failure.value.code in {"foreign_file", "cannot_open"}
    assert "--data" in str(failure.value)
    assert file.read_bytes() == content


def test_the_database_of_another_program_is_refused_and_left(tmp_path):
    file = tmp_path / "bloomless.sqlite"
    other = sqlite3.connect(file)
    other.execute("CREATE TABLE diary (line TEXT)")
    other.commit()
    other.close()
    before = file.read_bytes()
    with pytest.raises(StorageFailure, match="another program") as failure:
        open_database(file)
    assert failure.value.code == "foreign_file"
    assert file.read_bytes() == before


def test_a_book_that_another_command_is_just_making_is_opened(tmp_path):
    file = tmp_path / "bloomless.sqlite"
    begun = sqlite3.connect(file)
    begun.execute("PRAGMA journal_mode=WAL")
    assert file.stat().st_size > 0
    open_database(file).dispose()
    begun.close()
    assert sqlite3.connect(file).execute("SELECT count(*) FROM alembic_version").fetchone() == (1,)


def test_a_damaged_book_is_refused_and_left(tmp_path):
    file = make(tmp_path)
    raw = bytearray(file.read_bytes())
    raw[4096 * 3 : 4096 * 6] = b"\xff" * (4096 * 3)
    file.write_bytes(raw)
    with pytest.raises(StorageFailure, match="backup") as failure:
        open_database(file)
    assert failure.value.code == "damaged_file"
    assert file.read_bytes() == bytes(raw)


def test_a_cut_off_book_is_refused(tmp_path):
    file = make(tmp_path)
    raw = file.read_bytes()[: 4096 * 5 + 17]
    file.write_bytes(raw)
    with pytest.raises(StorageFailure) as failure:
        open_database(file)
    assert failure.value.code == "damaged_file"
    assert file.read_bytes() == raw


def test_a_folder_that_cannot_be(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(StorageFailure, match="--data"):
        open_database(tmp_path / "file" / "bloomless.sqlite")


def test_every_commit_is_flushed(tmp_path):
    engine = open_database(tmp_path / "a.sqlite")
    with engine.connect() as connection:
        values = [
            connection.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        ]
    assert values == ["wal", 2, 1]
    flush = "PRAGMA synchronous"
    with writing(engine, cache=True) as connection:
        assert connection.execute(text(flush)).scalar() == 1
    with writing(engine) as connection:  # the same connection again: an event is flushed whatever was written before
        assert connection.execute(text(flush)).scalar() == 2
    engine.dispose()


def test_a_full_disk_refuses_and_takes_again_when_there_is_room(tmp_path):
    engine = open_database(tmp_path / "a.sqlite")
    log = StoredEventLog(engine)
    log.append("s", {"what": "start"}, event_id="first", at=NOON)
    with engine.connect() as connection:
        pages = connection.execute(text("PRAGMA page_count")).scalar()
    engine.dispose()

    from sqlalchemy import event

    limit = [pages + 1]

    @event.listens_for(engine, "begin")
    def small_disk(connection):
        connection.exec_driver_sql(f"PRAGMA max_page_count={limit[0]}")

    kept = ["first"]

    def fill():
        for i in range(100):
            log.append("s", {"note": "x" * 500}, event_id=str(i), at=NOON)
            kept.append(str(i))

    with pytest.raises(StorageFailure) as failure:
        fill()
    assert failure.value.code == "disk_full"
    assert [e.id for e in log.events("s")] == kept
    limit[0] = 1_000_000
    assert log.append("s", {"note": "x" * 500}, event_id=str(len(kept) - 1), at=NOON)[1]
    assert [e.number for e in log.events("s")] == list(range(1, len(kept) + 2))
    engine.dispose()


@pytest.mark.parametrize("url", ["mysql://a@b/c", "nonsense"])
def test_addresses_we_cannot_use(url):
    with pytest.raises(ImpossibleInput):
        open_database(url)


def test_a_server_that_is_not_there(tmp_path):
    with pytest.raises(StorageFailure, match="BLOOMLESS_DATABASE_URL") as failure:
        open_database(f"postgresql://keeper:hidden@/x?host={tmp_path}")
    assert "hidden" not in str(failure.value)


def test_sqlite_by_address(tmp_path):
    engine = open_database(f"sqlite:///{tmp_path}/b.sqlite")
    StoredBook(engine).put("note", "a", {}, at=NOON)
    engine.dispose()
    assert (tmp_path / "b.sqlite").exists()


def test_nothing_acknowledged_is_lost_when_the_process_is_killed(tmp_path):
    file = tmp_path / "a.sqlite"
    code = (
        "import sys, itertools\nfrom pathlib import Path\nfrom datetime import datetime, UTC\n"
        "from bloomless.storage import StoredEventLog, open_database\n"
        f"log = StoredEventLog(open_database(Path({str(file)!r})))\n"
        "for i in itertools.count():\n"
        "    log.append('s', {'i': i}, event_id=f'{sys.argv[1]}-{i}', at=datetime.now(UTC))\n"
        "    print(f'{sys.argv[1]}-{i}', flush=True)\n"
    )
    acknowledged: list[str] = []
    for run in range(2):
        with subprocess.Popen([sys.executable, "-c", code, str(run)], stdout=subprocess.PIPE, text=True) as writer:
            acknowledged += [writer.stdout.readline().strip() for _ in range(30 + 17 * run)]
            writer.kill()
    engine = open_database(file)
    assert set(acknowledged) <= {e.id for e in StoredEventLog(engine).events("s")}
    engine.dispose()
