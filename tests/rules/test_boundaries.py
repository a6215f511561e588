"""Both sides of every limit of the law; every rule has at least one line."""

import pytest

from bloomless.rules import all_law, law_of
from rules.boundaries import BOUNDARIES


@pytest.mark.parametrize("name", BOUNDARIES)
def test_both_sides(name):
    BOUNDARIES[name](law_of)


def test_every_rule_has_its_limits():
    told = {name.split(" ", 1)[1] for name in BOUNDARIES}
    checked_whole = {"us.exempt.low_volume", "us.exempt.low_volume_no_notice"}  # check 32
    assert {rule.id for rule in all_law().rules} - told - checked_whole == set()
