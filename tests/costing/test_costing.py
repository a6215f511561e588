"""Costing: a case worked by hand, identities, and what cannot be."""

from dataclasses import replace
from decimal import Decimal

import pytest

from bloomless.costing import (
    Packaging,
    Terms,
    batch_cost,
    by_batch_size,
    price_rise,
    swings,
)
from bloomless.costing.cost import labour_by_step, per_gram
from bloomless.costing.price import Channel, break_even_batch_pieces, earned_per_hour, margin_of
from bloomless.errors import ImpossibleInput, Misuse
from bloomless.materials.ingredients import Price, ingredient_library
from bloomless.quantities import money
from bloomless.recipes import Line, Pantry, Recipe, Step


def eur(amount):
    return money(str(amount), "EUR")


def priced(key, *prices):
    return replace(ingredient_library()[key], prices=tuple(Price(on, g, eur(c)) for on, g, c in prices))


GANACHE = Recipe(
    "ganache",
    "Ganache",
    "ganache",
    (Line("dark_64", 200), Line("cream_35", 100)),
    steps=(Step("Cut in", hands_min=15),),
    left_behind_share=0.04,
)
BONBON = Recipe(
    "bonbon",
    "Bonbon",
    "bonbon",
    (
        Line("dark_64", 400, part="shell"),
        Line("ganache", 288, is_recipe=True, part="filling"),
        Line("hazelnut_roasted", 40, trim_share=0.2),
    ),
    steps=(Step("Shell", hands_min=30), Step("Fill", hands_min=20)),
    pieces=60,
    reject_share=0.05,
)
PANTRY = Pantry(
    {
        "dark_64": priced("dark_64", ("2025-01-05", 5000, "60.00"), ("2025-03-05", 5000, "70.00")),
        "cream_35": priced("cream_35", ("2025-03-01", 1000, "5.00")),
        "hazelnut_roasted": priced("hazelnut_roasted", ("2025-03-01", 1000, "16.00")),
        "salt": ingredient_library()["salt"],
    },
    {"ganache": GANACHE, "bonbon": BONBON},
)
TERMS = Terms(
    eur(18), on_cost_share=0.25, overhead_per_hour=eur(6), energy_kWh=2, energy_price=eur("0.30"), overhead_share=0.0
)
WRAP = Packaging("Cup", eur("0.02"), spoil_share=0.05)


def test_worked_by_hand():
    cost = batch_cost(BONBON, PANTRY, TERMS, [WRAP])
    # 288 g of ganache at 4 % left behind are 300 g put in: 200 + 100. Couverture 600 g at 14.00/kg, cream 100 g at
    # 5.00/kg, nuts 40/0.8 = 50 g at 16.00/kg.
    assert cost.of("ingredient") == eur("8.40") + eur("0.50") + eur("0.80")
    # 57 good pieces, 57/0.95 = 60 cups.
    assert cost.of("packaging").amount == pytest.approx(Decimal("1.20"))
    # 65 minutes at 18.00 · 1.25 an hour; overhead 6.00 an hour; 2 kWh.
    assert cost.hands_min == 65
    assert cost.of("labour").amount == pytest.approx(Decimal("24.375"))
    assert cost.of("overhead").amount == pytest.approx(Decimal("6.5"))
    assert cost.total.amount == pytest.approx(Decimal("9.70") + Decimal("1.2") + Decimal("24.375") + Decimal("7.1"))
    assert cost.per_piece.amount == pytest.approx(cost.total.amount / 57)
    assert cost.per_kg.amount == pytest.approx(cost.total.amount / Decimal("0.6916"))
    assert sum(line.share for line in cost.lines) == pytest.approx(1)
    assert cost.missing == ()


def test_which_lot_sets_the_price():
    costs = {
        p: batch_cost(GANACHE, PANTRY, replace(TERMS, policy=p)).of("ingredient")
        for p in ("latest", "oldest", "average")
    }
    assert costs["latest"] == eur("3.30")
    assert costs["oldest"] == eur("2.90")
    assert costs["average"].amount == pytest.approx(Decimal("3.10"))


def test_a_missing_price_is_said():
    salty = replace(BONBON, lines=(*BONBON.lines, Line("salt", 3)))
    assert batch_cost(salty, PANTRY, TERMS).missing == ("Salt, table",)


def test_twice_the_batch_takes_less_than_twice_the_hands():
    one, two = batch_cost(BONBON, PANTRY, TERMS), batch_cost(BONBON.times(2), PANTRY, TERMS)
    assert one.hands_min < two.hands_min < 2 * one.hands_min
    assert two.per_piece < one.per_piece


def test_cocoa_price_share():
    # 30 % more on 22 % of the cost is 6.6 % more
    cost = batch_cost(BONBON, PANTRY, TERMS, [WRAP])
    share = next(line.share for line in cost.lines if line.key == "dark_64")
    assert price_rise(cost, PANTRY, 0.3, of=["dark_64"]).cost_rise_share == pytest.approx(0.3 * share)
    by_butter = price_rise(cost, PANTRY, 0.3, cocoa_butter=True)
    assert by_butter.cost_rise_share == pytest.approx(0.3 * share * 0.4016, rel=1e-3)
    assert by_butter.after > by_butter.before


@pytest.mark.parametrize(("margin", "markup"), [("0.5", 1), ("0.60", Decimal("1.5")), ("0", 0)])
def test_margin_and_markup_are_not_the_same(margin, markup):
    price = Channel("shop", Decimal(margin)).price(eur("0.84"))
    assert price.markup == markup
    assert price.net.amount == pytest.approx(Decimal("0.84") * (1 + markup))


@pytest.mark.parametrize("fee", ["0", "0.2", "0.25"])
@pytest.mark.parametrize("markup", ["0", "0.5", "1", "3"])
def test_a_mark_up_is_what_comes_in_over_the_cost(markup, fee):
    way = Channel("way", margin_of(Decimal(markup), Decimal(fee)), Decimal(fee))
    price = way.price(eur(2))
    assert (price.net - price.fee).amount == pytest.approx(2 * (1 + Decimal(markup)))
    assert way.markup == price.markup == pytest.approx(Decimal(markup))


def test_a_mark_up_below_nothing_is_refused():
    with pytest.raises(ImpossibleInput, match="markup"):
        margin_of(Decimal("-0.1"))


def test_a_margin_of_65_pct():
    assert Channel("shop", Decimal("0.65")).price(eur("0.84")).net.rounded() == eur("2.40")


def test_channels_and_break_even():
    market = Channel("market", Decimal("0.5"), Decimal("0.25"), Decimal("0.1")).price(eur(1))
    assert (market.net, market.fee, market.shelf, market.markup) == (eur(4), eur(1), eur("4.4"), 2)
    cost = batch_cost(BONBON, PANTRY, TERMS)
    assert break_even_batch_pieces(cost, eur(1)) == cost.total.amount
    hour = earned_per_hour(cost, eur(2))
    assert hour.amount == pytest.approx((Decimal(114) - Decimal("9.70") - Decimal("0.6")) / (Decimal(65) / 60))


@pytest.mark.parametrize(
    ("make", "error"),
    [
        (lambda: Terms(eur(-1)), ImpossibleInput),
        (lambda: Terms(eur(1), on_cost_share=9), ImpossibleInput),
        (lambda: Terms(eur(1), energy_kWh=-1), ImpossibleInput),
        (lambda: Packaging("x", eur(1), per_piece=-1), ImpossibleInput),
        (lambda: Packaging("x", eur(1), spoil_share=1), ImpossibleInput),
        (lambda: Channel("x", Decimal("0.8"), Decimal("0.3")), ImpossibleInput),
        (lambda: Channel("x", Decimal("0.8"), tax_share=Decimal(2)), ImpossibleInput),
        (lambda: break_even_batch_pieces(batch_cost(GANACHE, PANTRY, TERMS), eur(1)), Misuse),
        (lambda: break_even_batch_pieces(batch_cost(BONBON, PANTRY, TERMS), eur(0)), ImpossibleInput),
        (lambda: earned_per_hour(batch_cost(GANACHE, PANTRY, TERMS), eur(1)), Misuse),
        (lambda: price_rise(batch_cost(GANACHE, PANTRY, TERMS), PANTRY, 99), ImpossibleInput),
    ],
)
def test_what_cannot_be(make, error):
    with pytest.raises(error):
        make()


def test_lots_that_are_used_up_set_no_price():
    three = tuple(
        Price(on, 1000, eur(c), left_g=left)
        for on, c, left in (("2025-01-01", 10, 0.0), ("2025-02-01", 12, 200.0), ("2025-03-01", 16, 600.0))
    )
    cream = replace(ingredient_library()["cream_35"], prices=three)
    per_kg = {p: per_gram(cream, replace(TERMS, policy=p)) * 1000 for p in ("latest", "oldest", "average")}
    assert per_kg == {"latest": eur(16), "oldest": eur(12), "average": eur(15)}  # (200·12 + 600·16)/800
    empty = replace(cream, prices=tuple(replace(p, left_g=0.0) for p in three))
    assert per_gram(empty, TERMS) * 1000 == eur(16)  # the last that was paid
    assert per_gram(replace(cream, prices=(Price("2025-01-01", 1, money("1", "USD")),)), TERMS) is None
    assert per_gram(ingredient_library()["water"], TERMS) == eur(0)


def test_swings_are_shares_of_the_cost():
    cost = batch_cost(BONBON, PANTRY, TERMS, [WRAP])
    found = {s.what: s for s in swings(BONBON, PANTRY, TERMS, [WRAP], change_share=0.1)}
    for line in cost.lines:
        half = found[line.name].more.amount - cost.per_piece.amount
        assert half == pytest.approx(cost.per_piece.amount * Decimal(str(line.share)) / 10)
    widths = [s.width.amount for s in swings(BONBON, PANTRY, TERMS, [WRAP])]
    assert widths == sorted(widths, reverse=True)
    # A tenth fewer rejects (5 → 4.5 %) and less left behind: worked anew, not by a share.
    fewer = replace(BONBON, reject_share=0.045)
    kept = Pantry(PANTRY.ingredients, {"ganache": replace(GANACHE, left_behind_share=0.036)})
    assert found["Losses and rejects"].less == batch_cost(fewer, kept, TERMS, [WRAP]).per_piece
    # Overhead as a share follows everything it is reckoned on.
    carried = {s.what: s for s in swings(BONBON, PANTRY, replace(TERMS, overhead_share=0.5), change_share=0.1)}
    assert carried["Labour"].width.amount > found["Labour"].width.amount * Decimal("1.4")
    with pytest.raises(ImpossibleInput):
        swings(BONBON, PANTRY, TERMS, change_share=0)


def test_a_larger_batch_is_cheaper_by_its_hands():
    sizes = by_batch_size(BONBON, PANTRY, TERMS, [WRAP])
    assert [factor for factor, _ in sizes] == [0.5, 1.0, 2.0, 4.0]
    each = [cost.per_piece for _, cost in sizes]
    assert each == sorted(each, reverse=True)
    assert sizes[2][1].hands_min == pytest.approx(65 * 2**0.6)
    steps = labour_by_step(BONBON, PANTRY, TERMS)
    assert [round(s.hands_min) for s in steps] == [15, 30, 20]
    assert sum(s.cost.amount for s in steps) == pytest.approx(Decimal("24.375"))
    assert {s.hands_min for s in labour_by_step(BONBON.times(3), PANTRY, replace(TERMS, hands_exponent=0.0))} == {
        15.0, 30.0, 20.0,
    }  # fmt: skip
