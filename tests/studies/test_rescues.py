"""Bowls in trouble: each trouble comes in truth, its log says what a cook would say, and it ends as it must."""

import json

import pytest
from typer.testing import CliRunner

from bloomless.cli import study as command
from bloomless.cli.main import app
from bloomless.studies import rescues
from bloomless.studies.benched import bench
from bloomless.studies.case import CaseSpec
from bloomless.studies.rescues import RESCUES, rescue_case, rescue_rows


@pytest.mark.parametrize("name", RESCUES)
def test_a_trouble_comes_and_ends_as_it_must(name):
    record = rescue_case(name, CaseSpec(105, 1, members=400), bench)
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


def test_rows_are_the_same_on_two_processes():
    stops = ["foreign matter", "seized by water"]
    assert list(rescue_rows(1, 105, bench, stops, jobs=2)) == list(rescue_rows(1, 105, bench, stops))


def test_the_command_prints_troubles_and_ways(monkeypatch):
    row = {"name": "over-thick", "end": "use_it", "kitchens": 3, "success": 1 / 3, "minutes": 21.4, "orders": 6.0}
    monkeypatch.setattr(command, "rescue_rows", lambda kitchens, seed, bench, jobs: iter([row]))
    monkeypatch.setattr(command, "way_rows", lambda kitchens, seed, bench, jobs: iter([("stone", 0.0, 0.0)]))
    arguments = ["study", "--kitchens", "3", "--jobs", "1", "--seed", "5"]
    shown = CliRunner().invoke(app, [*arguments, "--troubles"])
    assert "over-thick" in shown.stdout
    assert "33%" in shown.stdout
    told = json.loads(CliRunner().invoke(app, [*arguments, "--ways", "--json"]).stdout)
    assert told == {
        "seed": 5,
        "rows": [{"name": "stone", "end": "use_it", "kitchens": 3, "success": 0.0, "minutes": None}],
    }


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
