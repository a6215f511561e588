"""Where the checks gather: the 66 of the sheet "rules and labels", section 9, by number, and more like them by name.

Every expected value is typed from the law or from the sheet's own arithmetic, never computed by the code under test.
Each check takes ``on``, the law of a day, so that a mutated law can be put under the same question.
"""

from datetime import date
from decimal import Decimal

from bloomless.rules.common.identity import facts_for, judge_name
from bloomless.rules.food import Nutrients
from rules import foods as f

D = Decimal
TODAY = date(2026, 11, 25)
CHECKS = {}
LAW_OF = {}
MORE = {}
DARK = ((f.M, 45), (f.CB, 25), (f.S, 29.5), (f.L, 0.5))

DARK_100 = Nutrients(
    fat=D("42.6"),
    saturated=D("25.8"),
    carbohydrate=D("43.6"),
    sugars=D("29.6"),
    added_sugars=D("29.6"),
    fibre=D("10.2"),
    protein=D("7.8"),
    sodium_mg=D(8),
)


def check(number, law):
    """A check of the sheet with the law its values were typed from; what nobody saw says "from memory"."""

    def keep(function):
        assert number not in CHECKS
        CHECKS[number] = function
        LAW_OF[number] = law
        return function

    return keep


def more(function):
    assert function.__name__ not in MORE
    MORE[function.__name__] = function
    return function


def passes(name, section, law, whole=None):
    return judge_name(name, facts_for(name.split(".")[0], section, law, whole), law).passes


def near(value, expected, places="0.0001"):
    assert abs(D(value) - D(expected)) <= D(places), (value, expected)
