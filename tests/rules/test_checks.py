"""The 66 checks of the sheet, and the rest of the law's tables, against the packaged law."""

import pytest

from bloomless.rules import law_of
from rules.checks import CHECKS, MORE


@pytest.mark.parametrize("number", CHECKS, ids=lambda n: f"{n}")
def test_check(number):
    CHECKS[number](law_of)


@pytest.mark.parametrize("name", MORE)
def test_more(name):
    MORE[name](law_of)


def test_all_sixty_six_are_here():
    assert set(range(1, 67)) <= set(CHECKS)
