"""A number cannot exist without unit, spread and source; the bibliography is whole."""

from dataclasses import dataclass

import pytest

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.sources import Grade, Sourced, bibliography, read_csv, sourced_values

GOOD = {"value": 1.0, "unit": "J/kg", "spread": 0.1, "source": "assumed", "grade": Grade.ASSUMED}


@pytest.mark.parametrize(
    "wrong",
    [
        {"value": float("nan")},
        {"unit": ""},
        {"source": ""},
        {"spread": -1.0},
        {"spread": float("inf")},
        {"spread": 0.5, "spread_is": "factor"},
    ],
)
def test_incomplete_value_is_refused(wrong):
    with pytest.raises(ImpossibleInput):
        Sourced(**(GOOD | wrong))


def test_walk_finds_every_value():
    @dataclass(frozen=True)
    class Fat:
        heat: Sourced
        table: tuple[Sourced, ...]
        name: str = "fat"

    one = Sourced(**GOOD)
    found = dict(sourced_values({"fat": Fat(one, (one, one))}))
    assert set(found) == {"fat.heat", "fat.table.0", "fat.table.1"}
    assert float(one) == 1.0


def test_bibliography_is_whole():
    references = bibliography()
    assert {"common_practice", "assumed", "derived"} <= set(references)
    for reference in references.values():
        assert reference.title
        assert reference.read in {"whole", "abstract", "table", "page", "nothing"}
    with pytest.raises(UnknownName, match="assumed"):
        references["asumed"]


def test_ragged_table_is_refused(monkeypatch):
    from bloomless.sources import tables

    monkeypatch.setattr(tables, "read_text", lambda package, name: "a,b\n1\n")
    with pytest.raises(ValueError, match="line 2"):
        read_csv("bloomless", "x.csv")
