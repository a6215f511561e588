"""Marks of a long history are few, and none of the ways back is long."""

from hypothesis import given
from hypothesis import strategies as st

from bloomless.bench.marks import worth_keeping


@given(st.lists(st.floats(1.0, 180.0), min_size=1, max_size=300))
def test_a_way_back_of_any_length_begins_at_a_near_mark(steps):
    kept, now = [0.0], 0.0
    for step in steps:
        now += step
        marks = [*kept, now]
        kept = [marks[index] for index in worth_keeping(marks, step=180.0)]
        for age in (0.0, 30.0, 400.0, 3000.0):
            if age <= now:
                nearest = max(mark for mark in kept if mark <= now - age)
                assert now - nearest <= 1.5 * age + 180.0 + 1e-6
    assert len(kept) <= 18
