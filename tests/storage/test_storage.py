"""The stored book and log, the same tests on both databases."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import text

from bloomless.bench.ports import Book, EventLog
from bloomless.errors import ImpossibleInput, StorageFailure, UnknownName
from bloomless.storage import (
    SecretStore,
    SignIn,
    SnapshotStore,
    StoredBook,
    StoredEventLog,
    backup_to,
    open_database,
)
from bloomless.storage.engine import writing

pytestmark = pytest.mark.xdist_group("postgres")
NOON = datetime(2031, 5, 1, 12, tzinfo=UTC)


@pytest.fixture
def engine(database):
    engine = open_database(database)
    yield engine
    engine.dispose()


def test_book_keeps_every_version(engine):
    book: Book = StoredBook(engine)
    assert book.put("mould", "bar", {"cavities": 3}, at=NOON).version == 1
    assert book.put("mould", "bar", {"cavities": 3}, at=NOON).version == 1
    assert book.put("mould", "bar", {"cavities": 4}, at=NOON).version == 2
    assert book.put("mould", "Ångström", {"name": "Weiß 🍫"}, at=NOON).document == {"name": "Weiß 🍫"}
    assert book.get("mould", "bar", 1).document == {"cavities": 3}
    assert [e.key for e in book.latest("mould")] == ["bar", "Ångström"]
    assert book.withdraw("mould", "bar", at=NOON).withdrawn
    assert [e.key for e in book.latest("mould")] == ["Ångström"]
    assert len(book.history("mould", "bar")) == 3
    assert book.put("mould", "bar", {"cavities": 4}, at=NOON).version == 4
    for key, version in [("tablet", None), ("bar", 9)]:
        with pytest.raises(UnknownName):
            book.get("mould", key, version)


def test_moments_keep_their_place_in_time(engine):
    book = StoredBook(engine)
    there = NOON.astimezone(timezone(timedelta(hours=9)))
    book.put("note", "a", {}, at=there)
    assert book.get("note", "a").at == NOON
    with pytest.raises(ImpossibleInput):
        book.put("note", "a", {"x": 1}, at=NOON.replace(tzinfo=None))


@pytest.mark.parametrize("document", [{"a": float("nan")}, {"a": NOON}, {"a": "\ud800"}])
def test_what_json_cannot_carry_is_refused_and_nothing_is_written(engine, document):
    book, log = StoredBook(engine), StoredEventLog(engine)
    with pytest.raises(ImpossibleInput):
        book.put("note", "a", document, at=NOON)
    with pytest.raises(ImpossibleInput):
        log.append("s", document, event_id="a", at=NOON)
    assert list(book.latest("note")) == []
    assert log.sessions() == ()


@pytest.mark.parametrize("name", ["", "x" * 201, "a\x00b", "\ud800"])
def test_names_that_cannot_be_keys(engine, name):
    with pytest.raises(ImpossibleInput):
        StoredBook(engine).put("note", name, {}, at=NOON)
    with pytest.raises(ImpossibleInput):
        StoredEventLog(engine).append("s", {}, event_id=name, at=NOON)


def test_log_takes_an_id_once(engine):
    log: EventLog = StoredEventLog(engine)
    first, new = log.append("s", {"what": "look", "note": "\x00 ½"}, event_id="a", at=NOON)
    again, repeated = log.append("s", {"what": "smear"}, event_id="a", at=NOON)
    assert (new, repeated) == (True, False)
    assert again == first
    log.append("s", {"what": "ask"}, event_id="b", at=NOON)
    assert [(e.number, e.id) for e in log.events("s", after=1)] == [(2, "b")]
    log.append("r", {"what": "start"}, event_id="a", at=NOON)
    assert log.sessions() == ("s", "r")
    assert log.events("none") == ()
    both = StoredEventLog(engine).summaries()
    assert [(s.session, s.events, s.first.id, s.last.id) for s in both] == [("s", 2, "a", "b"), ("r", 1, "a", "a")]


def test_many_writers_leave_no_gap_and_no_double(engine):
    log, book = StoredEventLog(engine), StoredBook(engine)

    def work(i):
        log.append("s", {"i": i // 2}, event_id=f"e{i // 2}", at=NOON)  # every id is sent twice
        book.put("note", "a", {"i": i}, at=NOON)

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(work, range(48)))
    events = log.events("s")
    assert [e.number for e in events] == list(range(1, 25))
    assert len({e.id for e in events}) == 24
    assert [e.version for e in book.history("note", "a")] == list(range(1, 49))


def test_a_second_opening_finds_everything(database):
    first = open_database(database)
    StoredEventLog(first).append("s", {"what": "start"}, event_id="a", at=NOON)
    first.dispose()
    second = open_database(database)
    assert [e.event for e in StoredEventLog(second).events("s")] == [{"what": "start"}]
    second.dispose()


def test_a_book_of_a_newer_program_is_left_alone(database):
    engine = open_database(database)
    with writing(engine) as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    with pytest.raises(StorageFailure, match="newer") as failure:
        open_database(database)
    assert failure.value.code == "newer_file"


def test_tables_are_what_the_migrations_make(engine):
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext
    from alembic.script import ScriptDirectory

    import bloomless.storage.migrations as migrations
    from bloomless.storage.tables import metadata

    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
    assert ScriptDirectory(migrations.__path__[0] + "/scripts").get_current_head() == migrations.HEAD


def test_snapshots_are_thinned_and_read_no_foreign_code(engine):
    import numpy as np

    from bloomless.estimation.answers import Band

    StoredEventLog(engine).append("s", {}, event_id="a", at=NOON)
    store = SnapshotStore(engine)
    assert store.load("s", form="1") is None
    for number in (1, 2, 3):
        store.save("s", number, {"band": Band(1, 2, 3), "array": np.arange(number * 1.0)}, form="1", step=1)
    number, state = store.load("s", form="1")
    assert number == 3
    assert state["band"] == Band(1, 2, 3)
    assert state["array"].tolist() == [0, 1, 2]
    assert store.load("s", form="2") is None
    assert store.load("s", form="1", before=3)[0] == 2
    store.save("s", 4, Malice(), form="1", step=1)
    assert store.load("s", form="1")[0] == 3
    for number in range(5, 200):
        store.save("s", number, number, form="1", step=1)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM snapshots")).scalar() < 20
    for age in (1, 5, 40, 150):
        assert 199 - store.load("s", form="1", before=200 - age)[0] <= 1.5 * age + 1
    store.save("s", 150, "late", form="1", step=1)  # one that was slow to be written takes no newer one away
    assert store.load("s", form="1", before=151) == (150, "late")
    store.keep_newest("s")
    assert store.load("s", form="1") == (199, 199)
    assert store.load("s", form="1", before=199) is None


class Malice:
    def __reduce__(self):
        return (pytest.fail, ("code from a database was run",))


def test_secrets_and_sign_ins(engine):
    store = SecretStore(engine)
    assert store.secret("owner") is None
    store.set_secret("owner", "hash 1", at=NOON)
    assert store.secret("owner").hash == "hash 1"
    hour = timedelta(hours=1)
    store.begin(SignIn("t1", "owner", "laptop", NOON, NOON, NOON + hour))
    store.begin(SignIn("t2", "bench", "tablet", NOON, NOON, NOON + hour))
    assert store.find("t1", at=NOON).device == "laptop"
    assert store.find("t1", at=NOON + 2 * hour) is None
    store.seen("t1", at=NOON + hour / 2)
    assert [s.last_seen for s in store.all(at=NOON)] == [NOON + hour / 2, NOON]
    store.set_secret("owner", "hash 2", at=NOON)
    assert [s.device for s in store.all(at=NOON)] == ["tablet"]
    assert (store.end("t2"), store.end("t2")) == (True, False)
    store.drop_secret("owner")
    assert store.secret("owner") is None


def test_backup_is_a_book_of_its_own(engine, tmp_path):
    StoredBook(engine).put("note", "a", {"x": 1}, at=NOON)
    StoredEventLog(engine).append("s", {"what": "start"}, event_id="a", at=NOON)
    SecretStore(engine).set_secret("owner", "hash", at=NOON)
    target = tmp_path / "copy.sqlite"
    assert backup_to(engine, target) > 0
    copy = open_database(target)
    assert StoredBook(copy).get("note", "a").document == {"x": 1}
    log = StoredEventLog(copy)
    assert log.append("s", {"what": "ask"}, event_id="b", at=NOON)[0].number == 2
    log.append("later", {}, event_id="a", at=NOON)
    assert log.sessions() == ("s", "later")
    assert SecretStore(copy).secret("owner") is None
    copy.dispose()
    with pytest.raises(ImpossibleInput):
        backup_to(engine, target)
