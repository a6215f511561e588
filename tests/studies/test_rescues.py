"""Bowls in trouble: each trouble comes in truth, its log says what a cook would say, and it ends as it must."""

import pytest

from bloomless.studies import rescues
from bloomless.studies.benched import bench
from bloomless.studies.case import CaseSpec
from bloomless.studies.rescues import RESCUES, rescue_case, rescue_rows


@pytest.mark.parametrize("name", RESCUES)
def test_a_trouble_comes_and_ends_as_it_must(name):
    record = rescue_case(name, CaseSpec(105, 0, members=400), bench)
    assert record["came"]
    assert RESCUES[name].sign <= set(record["trouble"])
    assert record["success"] == (
        record["told"] == RESCUES[name].end and (record["told"] == "stop" or not record["wrong"])
    )
    if RESCUES[name].end == "stop":
        assert record["told"] == "stop"
        assert record["minutes"] <= 1.0
    else:
        assert record["told"] != "stop"  # nothing is given up that can be melted again
        assert record["orders"] > 0


def test_rows_count_only_bowls_that_came_into_trouble(monkeypatch):
    def played(name, spec, bench):
        return {"came": spec.number > 0, "success": spec.number % 2 == 0, "minutes": 10.0 + spec.number, "orders": 4}

    monkeypatch.setattr(rescues, "rescue_case", played)
    row = next(iter(rescue_rows(5, 1, bench, ["over-thick"])))
    assert row == {
        "name": "over-thick",
        "end": "use_it",
        "kitchens": 4,
        "success": 0.5,
        "minutes": 13.0,
        "orders": 4.0,
    }
    monkeypatch.setattr(rescues, "rescue_case", lambda *_: {"came": False})
    assert next(iter(rescue_rows(2, 1, bench, ["scorched"])))["success"] is None
