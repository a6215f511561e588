"""The 66 checks of the sheet, and the rest of the law's tables, against the packaged law."""

import re
from dataclasses import replace

import pytest

from bloomless.rules import Status, all_law, law_of
from rules.checks import CHECKS, MORE
from rules.checks.register import LAW_OF


@pytest.mark.parametrize("number", CHECKS, ids=lambda n: f"{n}")
def test_check(number):
    CHECKS[number](law_of)


@pytest.mark.parametrize("name", MORE)
def test_more(name):
    MORE[name](law_of)


def test_all_sixty_six_are_here_and_name_their_law():
    assert set(range(1, 67)) <= set(CHECKS)
    assert LAW_OF.keys() == CHECKS.keys()
    assert all(re.search(r"\d|policy|advice", LAW_OF[number]) for number in CHECKS)


@pytest.mark.parametrize("rule", [rule for rule in all_law().rules if rule.status is Status.MEMORY], ids=lambda r: r.id)
def test_what_was_not_seen_says_so_in_its_finding(rule):
    finding = rule.finding({}) or replace(rule, applies="").finding({})
    assert finding is None or "from memory: the text was not seen" in finding.law
