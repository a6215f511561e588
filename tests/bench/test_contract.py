"""Lines of the bench log: what is accepted, what is refused and how the refusal is worded."""

import json
from datetime import UTC, datetime

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.bench.contract import event_from, line_from_text
from bloomless.bench.fields import EVENT_KINDS
from bloomless.bench.schema import bench_log_schema, defaults_table
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation import events as ev

SCHEMA = jsonschema.Draft202012Validator(bench_log_schema())

GOOD = [
    ({"what": "start", "chocolate": "dark", "mass_g": 800, "temperature_F": 113}, ev.Start),
    ({"what": "start", "chocolate": {"kind": "milk", "fat": 0.36, "milk_fat_pct": 6}, "mass_g": 500}, ev.Start),
    ({"what": "start", "chocolate": {"fat_pct": 40}, "mass_g": 500, "vessel": {"material": "glass"}}, ev.Start),
    ({"what": "start", "chocolate": "white", "mass_g": 300, "means": ["seed", "microwave", "seed"]}, ev.Start),
    ({"what": "reading", "temperature_C": 31.2, "probe": 2}, ev.Reading),
    ({"what": "probe_check", "method": "ice", "shown_C": 1.4, "reference_C": 0}, ev.ProbeCheck),
    ({"what": "pour"}, ev.Pour),
    ({"what": "seed", "mass_g": 130}, ev.Seed),
    ({"what": "add", "mass_g": 100, "temperature_C": 38}, ev.Add),
    ({"what": "warm_bath", "bath_C": 45, "seconds": 40}, ev.Bath),
    ({"what": "cool_bath", "bath_F": 64.4, "seconds": 55}, ev.Bath),
    ({"what": "microwave", "seconds": 10}, ev.Microwave),
    ({"what": "hot_air", "seconds": 10, "watts": None}, ev.HotAir),
    ({"what": "table", "share": 0.6, "seconds": 120}, ev.Table),
    ({"what": "stir"}, ev.Stir),
    ({"what": "look", "lumps": True, "drain": "good"}, ev.Look),
    ({"what": "look", "lumps": False, "streaks": False}, ev.Look),
    ({"what": "look", "foreign": "glass"}, ev.Look),
    ({"what": "smear"}, ev.Smear),
    ({"what": "smear", "taken_at": 3, "set_after_s": 200, "finish": "glossy"}, ev.Smear),
    ({"what": "sieve", "mass_g": 40}, ev.Sieve),
    ({"what": "remove", "mass_g": 40}, ev.Remove),
    ({"what": "water", "mass_g": 4}, ev.Water),
    ({"what": "correct", "of": "a", "event": None}, ev.Correct),
    ({"what": "correct", "of": "a", "event": {"what": "seed", "mass_g": 9}}, ev.Correct),
    ({"what": "ask"}, ev.Ask),
    ({"what": "finish", "used": False}, ev.Finish),
]


@pytest.mark.parametrize(("raw", "makes"), GOOD, ids=lambda x: json.dumps(x) if isinstance(x, dict) else "")
def test_good_lines_are_read_and_agree_with_the_schema(raw, makes):
    raw = {"at": 5, "id": "e1"} | raw
    line = line_from_text(json.dumps(raw))
    assert isinstance(line.event, makes)
    assert (line.event.at_s, line.id) == (5.0, "e1")
    SCHEMA.validate(raw)


def test_every_kind_of_event_has_a_good_line():
    assert {raw["what"] for raw, _ in GOOD} == set(EVENT_KINDS)


def test_values_arrive():
    start = event_from(GOOD[0][0] | {"at": 0}).event
    assert start.temperature_C == pytest.approx(45)
    assert event_from(GOOD[1][0] | {"at": 0}).event.chocolate == ev.Composition("milk", 0.36, None, 0.06)
    assert event_from(GOOD[3][0] | {"at": 0}).event.means == ("seed", "microwave")
    assert event_from({"what": "look", "lumps": True, "at": 1}).event.lumps == "some"
    assert event_from({"what": "look", "lumps": False, "at": 1}).event.lumps == "none"
    assert event_from({"what": "smear", "at": 9}).event.taken_at_s == 9
    assert event_from({"what": "cool_bath", "bath_C": 18, "seconds": 5, "at": 1}).event.what == "cool_bath"


BAD = [
    ("{", "line", "broken_json"),
    ("[1]", "line", "broken_json"),
    ('{"at": 1, "what": "reading", "temperature_C": NaN}', "line", "broken_json"),
    ('{"at": 1}', "what", "missing_field"),
    ('{"at": 1, "what": "temper"}', "what", "unknown_name"),
    ('{"what": "ask"}', "at", "missing_field"),
    ('{"at": -1, "what": "ask"}', "at", "out_of_range"),
    ('{"at": "soon", "what": "ask"}', "at", "wrong_type"),
    ('{"at": 1, "what": "ask", "id": ""}', "id", "wrong_type"),
    ('{"at": 1, "what": "ask", "why": 1}', "why", "unknown_field"),
    ('{"at": 1, "what": "reading"}', "temperature_C", "missing_field"),
    ('{"at": 1, "what": "reading", "temperature_C": "hot"}', "temperature_C", "wrong_type"),
    ('{"at": 1, "what": "reading", "temperature_C": true}', "temperature_C", "wrong_type"),
    ('{"at": 1, "what": "reading", "temperature_C": 130.1}', "temperature_C", "out_of_range"),
    ('{"at": 1, "what": "reading", "temperature_F": -30}', "temperature_F", "out_of_range"),
    ('{"at": 1, "what": "reading", "temperature_F": 90, "temperature_C": 31}', "temperature_F", "impossible_input"),
    ('{"at": 1, "what": "seed", "mass_g": -5}', "mass_g", "out_of_range"),
    ('{"at": 1, "what": "seed", "mass_g": 9e9}', "mass_g", "out_of_range"),
    ('{"at": 1, "what": "stir", "vigour": "wild"}', "vigour", "unknown_name"),
    ('{"at": 1, "what": "look", "lumps": 3}', "lumps", "unknown_name"),
    ('{"at": 1, "what": "look", "streaks": "yes"}', "streaks", "wrong_type"),
    ('{"at": 1, "what": "smear", "taken_at": 2}', "taken_at", "out_of_range"),
    ('{"at": 9, "what": "smear", "set_after_s": 2, "not_set_after_s": 3}', "not_set_after_s", "impossible_input"),
    ('{"at": 9, "what": "start", "mass_g": 100}', "chocolate", "missing_field"),
    ('{"at": 9, "what": "start", "mass_g": 100, "chocolate": "ruby"}', "chocolate", "unknown_name"),
    ('{"at": 9, "what": "start", "mass_g": 100, "chocolate": 7}', "chocolate", "wrong_type"),
    ('{"at": 9, "what": "start", "mass_g": 100, "chocolate": {"fat": 36}}', "chocolate.fat", "out_of_range"),
    ('{"at": 9, "what": "start", "mass_g": 100, "chocolate": {"kind": "x"}}', "chocolate.kind", "unknown_name"),
    ('{"at": 9, "what": "start", "mass_g": 100, "chocolate": {"sugar": 1}}', "chocolate.sugar", "unknown_field"),
    (
        '{"at": 9, "what": "start", "mass_g": 100, "chocolate": {"fat": 0.3, "cocoa_butter": 0.4}}',
        "chocolate.fat",
        "out_of_range",
    ),
    ('{"at": 9, "what": "start", "mass_g": 100, "chocolate": "dark", "vessel": "steel"}', "vessel", "wrong_type"),
    ('{"at": 9, "what": "start", "mass_g": 1e6, "chocolate": "dark"}', "mass_g", "out_of_range"),
    ('{"at": 9, "what": "start", "mass_g": 100, "chocolate": "dark", "means": "seed"}', "means", "wrong_type"),
    ('{"at": 9, "what": "start", "mass_g": 100, "chocolate": "dark", "means": ["magic"]}', "means", "unknown_name"),
    ('{"when": "noon", "what": "ask"}', "when", "wrong_type"),
    ('{"when": "2031-05-01T09:30:00", "what": "ask"}', "when", "impossible_input"),
    ('{"when": "2031-05-01T09:30:00Z", "what": "ask"}', "when", "impossible_input"),
    ('{"at": 1, "what": "correct", "of": "a"}', "event", "missing_field"),
    ('{"at": 1, "what": "correct", "of": "a", "event": 4}', "event", "wrong_type"),
]


@pytest.mark.parametrize(("text", "field", "code"), BAD)
def test_bad_lines_are_named(text, field, code):
    with pytest.raises(ImpossibleInput) as caught:
        line_from_text(text)
    assert (caught.value.field, caught.value.code) == (field, code)
    assert caught.value.accepted
    assert field in str(caught.value)


def test_when_counts_from_the_start():
    start = datetime(2031, 5, 1, 9, 30, tzinfo=UTC)
    raw = {"when": "2031-05-01T11:31:30+02:00", "what": "ask"}
    assert event_from(raw, session_start=start).event.at_s == 90.0
    assert (
        event_from({"when": "2031-05-01T09:30:00Z", "what": "start", "chocolate": "dark", "mass_g": 90}).event.at_s == 0
    )


def test_a_chocolate_of_the_book_is_found_by_name():
    own = ev.Composition("dark", 0.41)

    def book(name):
        if name == "sail loft 66":
            return own
        raise UnknownName("chocolate", name, ["sail loft 66"])

    raw = {"at": 0, "what": "start", "chocolate": "sail loft 66", "mass_g": 90}
    assert event_from(raw, chocolates=book).event.chocolate == own
    with pytest.raises(UnknownName, match="sail loft 66"):
        event_from(raw | {"chocolate": "sail lift 66"}, chocolates=book)


def test_parts_of_the_fat_may_be_rounded():
    start = {
        "at": 0,
        "what": "start",
        "mass_g": 500,
        "chocolate": {"fat": 0.365, "cocoa_butter": 0.28, "milk_fat": 0.086},
    }
    assert event_from(start).event.chocolate.milk_fat_share == 0.086


def test_schema_is_valid_and_every_default_is_tabled():
    jsonschema.Draft202012Validator.check_schema(bench_log_schema())
    table = {(what, field): default for what, field, default, _ in defaults_table()}
    assert table["start", "mass_g"] == "required"
    assert table["start", "probe.offset_sd_C"] == "0.7"
    assert table["smear", "taken_at"] == "at"
    for kind in EVENT_KINDS.values():
        for field in kind.fields:
            assert any(what == kind.what and name.startswith(field.name) for what, name in table)


JSON = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)
FIELD_NAMES = sorted({field.name for kind in EVENT_KINDS.values() for field in kind.fields})


@given(st.dictionaries(st.sampled_from([*FIELD_NAMES, "at", "id", "when"]), JSON), st.sampled_from(sorted(EVENT_KINDS)))
def test_whatever_comes_is_an_event_or_a_named_error(raw, what):
    try:
        line = event_from({"what": what, "at": 1} | raw)
    except ImpossibleInput:
        return
    assert isinstance(line.event, EVENT_KINDS[what].makes)


@given(st.text(max_size=60))
def test_whatever_text_comes_is_named(text):
    with pytest.raises(ImpossibleInput):
        line_from_text(text)
