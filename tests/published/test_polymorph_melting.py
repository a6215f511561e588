"""Melting of the six forms against the range over the literature.

Source: review note on lipid tempering, 2021 (table seen); Wille & Lutton 1966 as quoted on a page (seen). Rows of other
papers are from memory and marked so in the data file.
"""

from itertools import groupby, pairwise

import pytest

from bloomless.errors import OutsideValidity
from bloomless.materials.polymorphs import FORMS, GREEK, lifetime_s, melting_ranges, working_set
from bloomless.physics.constants import BOWL
from bloomless.sources import bibliography
from bloomless.sources.sourced import Grade

BY_SOURCE = {source: list(rows) for source, rows in groupby(melting_ranges(), key=lambda r: r.source)}


@pytest.mark.parametrize("source", BY_SOURCE)
def test_forms_melt_in_order(source):
    rows = BY_SOURCE[source]
    assert [r.form for r in rows] == [f for f in FORMS if f in {r.form for r in rows}]
    if source != "lipid_tempering_review_2021":  # a range over papers may overlap its neighbour's
        for below, above in pairwise(rows):
            assert below.from_C < above.from_C
            assert below.to_C <= above.to_C
    assert source in bibliography()


def test_forms_v_and_vi_lie_in_the_range_seen():
    seen = {r.form: r for r in BY_SOURCE["lipid_tempering_review_2021"]}
    assert (seen["V"].from_C, seen["V"].to_C) == (30.0, 34.5)
    assert (seen["VI"].from_C, seen["VI"].to_C) == (33.5, 36.3)
    for row in melting_ranges():
        if row.form in ("V", "VI"):
            assert seen[row.form].from_C <= row.from_C
            assert row.to_C <= seen[row.form].to_C
    ours = working_set()
    assert seen["V"].from_C <= ours["V"].value == BOWL["form_v_end_C"].value <= seen["V"].to_C
    assert seen["VI"].from_C <= ours["VI"].value <= seen["VI"].to_C
    assert ours["VI"].value - ours["V"].value == pytest.approx(BOWL["form_vi_gap_K"].value)
    assert ours["IV"].value == BOWL["form_iv_end_C"].value


def test_wille_and_lutton():
    row = {r.form: r for r in BY_SOURCE["wille_lutton_1966"]}
    assert [row[f].to_C for f in FORMS] == [17.3, 23.3, 25.5, 27.5, 33.8, 36.3]
    assert row["V"].grade is Grade.PUBLISHED
    assert set(GREEK) == set(FORMS)


def test_lifetimes_have_a_range():
    with pytest.raises(OutsideValidity):
        lifetime_s("II", 26.0)
    with pytest.raises(OutsideValidity):
        lifetime_s("IV", -1.0)
