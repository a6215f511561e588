"""Melting of the forms against the range over the literature.

Source: review note on lipid tempering, 2021 (table seen); Wille & Lutton 1966 as quoted on a page (seen).
"""

from itertools import pairwise

import pytest

from bloomless.materials.polymorphs import working_set
from bloomless.physics.constants import BOWL

REVIEW_2021 = {"II": (17.1, 24.0), "III": (22.4, 28.0), "IV": (21.0, 33.0), "V": (30.0, 34.5), "VI": (33.5, 36.3)}
WILLE_LUTTON_1966 = {"II": 23.3, "III": 25.5, "IV": 27.5, "V": 33.8, "VI": 36.3}


@pytest.mark.parametrize("form", REVIEW_2021)
def test_every_form_melts_within_the_range_seen(form):
    ours = working_set()[form].value
    low, high = REVIEW_2021[form]
    assert low <= ours <= high
    assert ours == pytest.approx(WILLE_LUTTON_1966[form], abs=1.5)


def test_the_bowl_melts_its_forms_where_they_melt():
    ours = {form: one.value for form, one in working_set().items()}
    assert all(below < above for below, above in pairwise(ours.values()))  # crystal sheet, check 4
    assert ours["V"] == BOWL["form_v_end_C"].value
    assert ours["VI"] - ours["V"] == pytest.approx(BOWL["form_vi_gap_K"].value)
    assert ours["IV"] == BOWL["form_iv_end_C"].value
