"""Lot codes and the match of roll and tray."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.errors import ImpossibleInput
from bloomless.lots import RollMark, TrayMark, lot_code, match_roll, read_mark

WORD = st.text(alphabet="abcdefgh-0123456789", min_size=1, max_size=12)


def test_a_lot_code_as_printed():
    assert lot_code(date(2026, 11, 25), 1) == "L26K25A"
    assert lot_code(date(2026, 1, 3), 27) == "L26A03AA"


@given(st.tuples(st.dates(date(2000, 1, 1), date(2099, 12, 31)), st.integers(1, 702)), st.integers(1, 702))
def test_no_two_batches_share_a_lot_code(one, other):
    day, batch = one
    assert (lot_code(day, batch) == lot_code(day, other)) == (batch == other)
    assert lot_code(day, batch) != lot_code(day + timedelta(days=1), batch)


@pytest.mark.parametrize("batch", [0, 703])
def test_batches_have_letters_for_702(batch):
    with pytest.raises(ImpossibleInput):
        lot_code(date(2026, 1, 1), batch)


@given(WORD, WORD, WORD, st.integers(0, 99))
def test_marks_read_back(product, lot, market, version):
    for mark in (TrayMark(product, lot), RollMark(product, lot, market, version)):
        assert read_mark(mark.text) == mark


@given(WORD, WORD, WORD, WORD, st.integers(1, 9), st.integers(0, 9))
def test_a_roll_is_used_only_where_product_lot_and_version_agree(product, lot, other, other_lot, version, latest):
    found = match_roll(TrayMark(product, lot), RollMark(other, other_lot, "eu", version), latest_version=latest)
    assert found.ok == (product == other and lot == other_lot and version == latest)
    assert found.ok or found.reason.startswith("STOP")


@pytest.mark.parametrize("text", ["", "T|a", "R|a|b|eu", "R|a|b|eu|x", "X|a|b", "T||b", "T|a|b|c"])
def test_anything_else_is_no_mark(text):
    with pytest.raises(ImpossibleInput):
        read_mark(text)
