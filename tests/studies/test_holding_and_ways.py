"""A bowl held with chocolate being taken out, and every way of tempering: one small case of each kind."""

import pytest

from bloomless.studies.benched import bench, wrong_priors
from bloomless.studies.case import CaseSpec
from bloomless.studies.holding import held_share, hold_case
from bloomless.studies.ways import WAYS, way_case, way_rows


def test_a_bowl_is_held_in_temper_while_moulds_are_filled():
    record = hold_case(CaseSpec(106, 2, members=600), bench, hours=0.5)
    assert record["moulds"] >= 3
    sums = held_share([record])
    assert sums["time_in_temper"] > 0.7
    assert sums["moulds_in_temper"] > 0.7


@pytest.mark.parametrize(
    "name",
    [
        "seeding, composition stated",
        "seeding, infrared thermometer",
        "cocoa butter crystals",
        "cocoa butter crystals into coloured cocoa butter, 80 g",
    ],
)
def test_ways_have_only_their_means(name):
    record = way_case(name, CaseSpec(107, 0, members=400), bench)
    assert record["way"] == name
    assert record["used"]


def test_every_way_is_named_once_and_counted(monkeypatch):
    from bloomless.studies import ways

    monkeypatch.setattr(ways, "WAYS", {"seeding, dark": WAYS["seeding, dark"]})
    monkeypatch.setattr(ways, "way_case", lambda name, spec, bench: {"success": spec.number > 0, "minutes": 9.0})
    assert list(way_rows(4, 1, bench)) == [("seeding, dark", 0.75, 9.0)]


def test_wrong_constants_are_drawn_for_each_kitchen_and_the_same_again():
    import numpy as np

    one, again, other = (wrong_priors(np.random.default_rng(seed), "dark") for seed in (1, 1, 2))
    assert one == again
    assert one.melting_shift_K.value != other.melting_shift_K.value
    assert one.melting_shift_K.spread == other.melting_shift_K.spread
