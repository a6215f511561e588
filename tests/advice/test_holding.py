"""A bowl in use: warmed before it is too cool, thinned before it is too thick, looked at and smeared in time."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from known_bowl import bowl

from bloomless.advice.advise import advise
from bloomless.advice.holding import SMEAR_EVERY_S, clearing, held, keeping
from bloomless.advice.orders import Given, Order, Standing
from bloomless.advice.outlook import Outlook
from bloomless.advice.plan import Rated
from bloomless.advice.planner import _before_use, _off_the_edge, _to_use, choose
from bloomless.advice.prices import PRICES
from bloomless.advice.standing import settle
from bloomless.advice.witness import film_left_min, lumps_seen, may_sieve
from bloomless.estimation.answers import Band
from bloomless.estimation.events import Add, Bath, Look, Remove, Seed, Sieve, Smear
from bloomless.estimation.passing import passed
from bloomless.estimation.take import take


def used(**kind):
    """A bowl from which a mould was filled, seen just now."""
    belief = take(bowl(**kind), Remove(1.0, 60.0))
    return take(belief, Look(2.0, lumps="none", thickness="flowing", drain="quick"))


def asked(belief, smear_allowed=False):
    order = held(belief, Outlook(belief), smear_allowed=smear_allowed)
    return None if order is None else order.do


def with_means(belief, *means):
    return replace(belief, start=replace(belief.start, means=means))


def test_what_keeps_a_bowl_in_temper():
    assert asked(used()) is None
    assert asked(used(v=0.045)) == "add_melt"
    assert asked(used(warm_C=29.8)) == "warm_bath"
    assert asked(with_means(used(warm_C=29.8), "seed")) is None
    assert asked(with_means(passed(used(), 600.0), "seed")) == "look"
    late = passed(used(warm_C=32.0), SMEAR_EVERY_S + 100.0)
    late = take(late, Look(late.at_s, lumps="none"))
    assert asked(with_means(late, "seed"), smear_allowed=True) == "smear"


def test_melt_goes_in_by_the_law_of_mixing_and_not_too_often():
    belief = used(v=0.02)
    assert asked(belief) is None
    thick = take(belief, Look(10.0, thickness="thick"))
    order = held(thick, Outlook(thick), smear_allowed=False)
    y = order.mass_g / Outlook(thick).batch_g
    n = Outlook(thick).numbers
    assert (1.0 - y) * n.temperature_C + y * order.temperature_C <= thick.temper.window_C[1]
    assert (1.0 - y) * n.form_v_pct >= 1.0
    assert asked(take(thick, Add(20.0, order.mass_g, temperature_C=38.0))) != "add_melt"
    assert asked(take(used(v=0.045, warm_C=32.9), Look(10.0, thickness="thick"))) is None


def test_the_alternatives_of_a_bowl_in_use_come_cheapest_first():
    belief = used()
    chosen = choose(belief, Standing(), Outlook(belief), PRICES, smear_allowed=False)
    prices = [other.price for other in chosen.others]
    assert len(prices) > 2
    assert prices == sorted(prices)


def test_a_film_that_is_planned_sets_on_stone_where_the_room_is_warm_and_a_stone_is_at_hand():
    def surface(room_C, *more):
        belief = used()
        belief = replace(belief, start=replace(belief.start, room_C=room_C, means=(*belief.start.means, *more)))
        return next(order.surface for order in keeping(belief, Outlook(belief)) if order.do == "smear")

    assert (surface(21.0, "table"), surface(25.0), surface(25.0, "table")) == ("steel", "steel", "stone")


def test_a_full_bowl_is_not_filled_further_but_cleared():
    part = take(used(v=0.1), Add(3.0, 600.0, temperature_C=31.0))
    full = take(used(v=0.12), Add(3.0, 900.0, temperature_C=31.0))
    thick = Look(400.0, lumps="none", thickness="thick")
    assert asked(take(passed(part, 400.0), thick)) == "add_melt"
    assert asked(take(passed(full, 400.0), thick)) == "warm_bath"
    warm = take(used(v=0.12), Add(3.0, 900.0, temperature_C=34.0))
    assert asked(take(passed(warm, 20.0), replace(thick, at_s=30.0))) == "warm_bath"
    assert asked(take(passed(warm, 20.0), replace(thick, at_s=30.0, thickness="flowing"))) is None


def test_a_paste_is_never_used_but_thinned_and_looked_at_again_and_cleared_if_it_stays_one():
    def seen(*acts, **kind):
        belief = used(**kind)
        return replace(belief, acts=(*belief.acts, *acts), at_s=acts[-1].at_s)

    paste, dose = Look(10.0, lumps="none", thickness="paste"), Add(20.0, 150.0, temperature_C=35.0)
    still = replace(paste, at_s=95.0)
    # However few crystals are believed.
    assert asked(seen(paste, v=0.012)) == "add_melt"
    dosed = seen(paste, dose, v=0.012)
    assert asked(dosed) == "look"
    assert asked(seen(paste, dose, replace(still, thickness="flowing"), v=0.012)) is None
    again = seen(paste, dose, still, v=0.012)
    assert asked(again) == "warm_bath"
    assert asked(with_means(again, "melt")) == "add_melt"
    helpless = with_means(again, "seed")
    assert asked(helpless) == "stir"
    assert asked(replace(helpless, at_s=200.0)) == "look"


def test_a_bowl_is_cleared_past_its_window_until_it_flows_well_and_cooled_back():
    def over(warm_C, v, thickness=None):
        belief = used(warm_C=warm_C, v=v)
        belief = replace(belief, acts=(*belief.acts, Look(2.0, thickness="thick"), Bath(3.0, "warm_bath", 42.0, 60.0)))
        belief = replace(belief, at_s=120.0)
        look = Look(120.0, lumps="none", thickness=thickness)
        return replace(belief, acts=(*belief.acts, look)) if thickness else belief

    assert clearing(over(33.6, 0.05), Outlook(over(33.6, 0.05)))
    assert not clearing(used(warm_C=33.6), Outlook(used(warm_C=33.6)))
    assert not clearing(bowl(warm_C=33.6), Outlook(bowl(warm_C=33.6)))
    assert asked(over(33.6, 0.05)) == "look"
    assert asked(over(33.6, 0.05, "thick")) == "warm_bath"
    assert asked(over(33.6, 0.05, "flowing")) == "warm_bath"
    assert asked(over(34.5, 0.05, "thick")) == "stir"
    assert asked(over(33.6, 0.015, "flowing")) == "cool_bath"
    assert asked(with_means(over(33.6, 0.015, "flowing"), "warm_bath")) == "stir"
    # Such a bowl is too hot to be in temper, and is brought back all the same.
    belief = over(33.6, 0.015, "flowing")
    assert choose(belief, Standing(), Outlook(belief), PRICES, smear_allowed=False).order.do == "cool_bath"


def test_the_plan_of_a_bowl_in_use_says_when_what_is_due():
    belief = used()
    plan = keeping(belief, Outlook(belief))
    assert [order.do for order in plan] == sorted((o.do for o in plan), key=[o.do for o in plan].index)
    assert all(a.minutes_after <= b.minutes_after for a, b in pairwise(plan))
    assert {"warm_bath", "smear"} <= {order.do for order in plan}
    assert {order.do for order in keeping(with_means(belief, "seed"), Outlook(with_means(belief, "seed")))} == {"smear"}
    advice, _ = advise(belief)
    assert advice.next.do == "use_it"
    assert advice.plan == plan


def test_nobody_is_asked_whether_a_bowl_in_use_was_used():
    acts = (Remove(50.0, 60.0),)
    standing = Standing(orders_given=1, given=Given(Order("use_it", id="n1"), 100.0, acts))
    standing, ask = settle(standing, acts, 200.0)
    assert (standing.order, ask) == (None, False)


def test_lumps_that_were_seen_are_looked_at_again_and_sieved_before_use():
    belief = take(bowl(), Look(1.0, lumps="few", thickness="thick"))
    assert lumps_seen(belief)
    given = Standing(look_ordered_at_s=-100.0)
    assert _before_use(belief, Standing(), Outlook(belief), True).do == "look"
    assert _before_use(belief, replace(given, look_ordered_at_s=0.0), Outlook(belief), True).do == "sieve"
    sieved = take(belief, Sieve(20.0, 20.0))
    assert not lumps_seen(sieved)
    assert not lumps_seen(bowl())
    assert not may_sieve(sieved)
    many = Look(30.0, lumps="many")
    assert may_sieve(take(sieved, many))
    fell_through = take(belief, Sieve(20.0, 4.0))
    assert not may_sieve(take(fell_through, many))
    assert may_sieve(take(take(fell_through, Seed(25.0, 40.0)), many))
    only_thick = take(belief, Look(30.0, thickness="thick"))
    assert lumps_seen(only_thick)
    few = take(sieved, Look(30.0, lumps="few", thickness="thick"))
    assert _before_use(few, replace(given, look_ordered_at_s=29.0), Outlook(few), True) is None
    told = take(take(bowl(), Look(1.0, lumps="none", thickness="thick")), Smear(2.0, 2.0))
    assert not lumps_seen(told)


def test_what_nothing_can_warm_is_not_held_for_a_film_that_comes_too_late():
    seen = take(bowl(), Look(1.0, lumps="none", thickness="flowing"))
    cold = with_means(seen, "seed", "cool_bath")
    short, long = (Standing(working=Band(0.5 * minutes, minutes, 2.0 * minutes)) for minutes in (2.0, 20.0))
    assert film_left_min(cold, 1.5, "steel") == pytest.approx(0.8 * 4.2 * np.exp(0.11 * 0.5), rel=1e-6)

    def first(belief, standing):
        order = _before_use(belief, standing, Outlook(belief), True)
        return order and order.do

    assert first(cold, short) is None  # used now, or never
    assert first(cold, long) == "smear"
    assert first(with_means(seen, "seed", "warm_bath"), short) == "smear"
    dipped = take(cold, Smear(2.0, 2.0, "steel"))
    assert film_left_min(passed(dipped, 122.0), 1.5, "steel") == pytest.approx(film_left_min(cold, 1.5, "steel") - 2.0)
    assert film_left_min(passed(dipped, 900.0), 1.5, "steel") == 0.0
    poor = take(dipped, Smear(400.0, 2.0, "steel", set_after_s=390.0, finish="dull"))
    assert first(take(poor, Look(401.0, lumps="none", thickness="flowing")), short) is not None


def test_what_has_grown_too_cold_with_nothing_to_warm_it_is_melted_again():
    def next_for(belief):
        return choose(belief, Standing(check_ordered=True), Outlook(belief), PRICES, smear_allowed=False).order.do

    cold = take(bowl(warm_C=26.0), Look(1.0, lumps="none", thickness="flowing"))
    assert next_for(with_means(cold, "seed", "cool_bath")) == "melt_again"
    assert next_for(with_means(cold, "seed", "warm_bath")) != "melt_again"
    assert next_for(with_means(cold, "cool_bath")) != "melt_again"  # nothing to seed it with


def test_a_bowl_at_the_cool_end_is_warmed_before_it_waits_or_is_used():
    order = Order("warm_bath", bath_C=42.0, seconds=20.0)
    cool, middle = bowl(warm_C=29.6), bowl(warm_C=31.3)
    warm = Rated(order, Outlook(cool).members.chance, 5.0, 0.9, 3.0, Band(1.0, 3.0, 6.0))
    assert _off_the_edge(cool, [warm], Outlook(cool)) == order
    assert _off_the_edge(middle, [warm], Outlook(middle)) is None
    warmed = take(cool, Bath(1.0, "warm_bath", 42.0, 5.0))
    assert _off_the_edge(warmed, [warm], Outlook(warmed)) is None
    # Nor is it used there, though all speaks for it.
    use, seen = Order("use_it"), Look(1.0, lumps="none", thickness="thick")
    cool, middle = take(cool, seen), take(middle, seen)
    assert _to_use(use, cool, Standing(), Outlook(cool), [warm], smear_allowed=False) == order
    assert _to_use(use, middle, Standing(), Outlook(middle), [warm], smear_allowed=False) == use
