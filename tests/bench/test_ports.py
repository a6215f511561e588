"""The memory book and log behave as the ports say; storage runs the same tests on its own."""

from datetime import UTC, datetime

import pytest

from bloomless.bench.ports import MemoryBook, MemoryEventLog
from bloomless.errors import UnknownName

NOON = datetime(2031, 5, 1, 12, tzinfo=UTC)


def test_book_keeps_every_version():
    book = MemoryBook()
    assert book.put("mould", "bar", {"cavities": 3}, at=NOON).version == 1
    assert book.put("mould", "bar", {"cavities": 3}, at=NOON).version == 1
    assert book.put("mould", "bar", {"cavities": 4}, at=NOON).version == 2
    assert book.get("mould", "bar", 1).document == {"cavities": 3}
    assert [e.key for e in book.latest("mould")] == ["bar"]
    assert book.withdraw("mould", "bar", at=NOON).withdrawn
    assert list(book.latest("mould")) == []
    assert len(book.history("mould", "bar")) == 3
    assert book.put("mould", "bar", {"cavities": 4}, at=NOON).version == 4
    for key, version in [("tablet", None), ("bar", 9)]:
        with pytest.raises(UnknownName):
            book.get("mould", key, version)


def test_log_takes_an_id_once():
    log = MemoryEventLog()
    first, new = log.append("s", {"what": "look"}, event_id="a", at=NOON)
    again, repeated = log.append("s", {"what": "smear"}, event_id="a", at=NOON)
    assert (new, repeated) == (True, False)
    assert again == first
    log.append("s", {"what": "ask"}, event_id="b", at=NOON)
    assert [e.id for e in log.events("s", after=1)] == ["b"]
    assert log.sessions() == ("s",)
    assert log.events("none") == ()
