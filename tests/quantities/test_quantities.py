"""Conversions are exact and reversible; typed numbers are read as people write them."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless import quantities as q
from bloomless.errors import ImpossibleInput, Misuse

PAIRS = [
    (q.F_from_C, q.C_from_F),
    (q.K_from_C, q.C_from_K),
    (q.oz_from_g, q.g_from_oz),
]


@pytest.mark.parametrize(("there", "back"), PAIRS)
@given(value=st.floats(-1e6, 1e6))
def test_conversion_comes_back(there, back, value):
    assert back(there(value)) == pytest.approx(value, rel=1e-12, abs=1e-9)


def test_published_values():
    # Working windows of a dark chocolate, sheet of crystal physics check 26.
    assert (q.F_from_C(31), q.F_from_C(32)) == pytest.approx((87.8, 89.6))
    assert q.C_from_F(88) == pytest.approx(31.111, abs=1e-3)
    # NIST SP 811 appendix B.8 prints 28.34952 g, from memory.
    assert q.g_from_oz(1) == pytest.approx(28.34952, abs=5e-6)


@pytest.mark.parametrize(
    ("text", "number"), [("31,4", 31.4), (" 88.3 ", 88.3), ("−2.5", -2.5), ("+7", 7.0), ("1 200", 1200.0), ("٣", 3.0)]
)
def test_typed_number(text, number):
    assert q.number_from_text(text, field="temperature_C") == number


@pytest.mark.parametrize("text", ["", "hot", "1.234,5", "nan", "inf", "1e3", "12.", "--3"])
def test_typed_nonsense_is_named(text):
    with pytest.raises(ImpossibleInput) as caught:
        q.number_from_text(text, field="temperature_C")
    assert caught.value.field == "temperature_C"
    assert caught.value.value == text


def test_typed_range():
    with pytest.raises(ImpossibleInput, match="-30 to 130"):
        q.number_from_text("131", field="temperature_C", at_least=-30, at_most=130)


def test_money_is_exact_and_does_not_mix():
    tenth = q.money("0.1", "EUR")
    assert tenth + tenth + tenth == q.money("0.3", "EUR")
    assert str(q.money("1", "EUR") / 3) == "0.33 EUR"
    assert tenth * 3 - tenth == q.money(Decimal("0.2"), "EUR")
    with pytest.raises(Misuse):
        tenth + q.money("0.1", "USD")
    for amount, currency in [("x", "EUR"), ("1", "eur"), ("NaN", "EUR")]:
        with pytest.raises(ImpossibleInput):
            q.money(amount, currency)


def test_fahrenheit_of_nan_stays_nan():
    assert math.isnan(q.F_from_C(math.nan))


@pytest.mark.parametrize(("value", "said"), [(332.0, 330.0), (6772.0, 6800.0), (41.4, 41.0), (0.0, 0.0)])
def test_what_is_known_to_a_factor_is_said_in_two_figures(value, said):
    assert q.two_figures(value) == said
