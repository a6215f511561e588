"""One order is one act: carried out once, asked about if nothing comes, never repeated as if done."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given as given_
from hypothesis import settings
from hypothesis import strategies as st
from known_bowl import bowl

from bloomless.advice.advise import advise
from bloomless.advice.orders import Given, Order, Standing, is_action
from bloomless.advice.safety import allowed_means, in_steps
from bloomless.advice.standing import fulfils, settle
from bloomless.estimation.events import Bath, Composition, Look, Pour, Seed, Smear, Start, Stir, lasts_s
from bloomless.estimation.passing import passed
from bloomless.estimation.take import take


def given(order, at_s=100.0, acts=()):
    order = replace(order, id="n1")
    return Standing(orders_given=1, given=Given(order, at_s, acts), order=order)


def test_an_order_waits_for_its_event_then_for_its_waiting():
    standing = given(Order("add_seed", mass_g=45.0, then_wait_s=60.0))
    standing, ask = settle(standing, (), 110.0)
    assert (standing.order.id, ask) == ("n1", False)
    standing, _ = settle(standing, (Seed(115.0, 45.0),), 120.0)
    assert standing.carried_out_at_s == 115.0
    assert standing.wait_until_s == 175.0
    standing, _ = settle(standing, (Seed(115.0, 45.0),), 176.0)
    assert standing.order is None


def test_an_order_that_never_comes_is_asked_about_and_then_dropped():
    standing, asked = given(Order("add_seed", mass_g=45.0)), []
    for at_s in range(110, 240, 10):
        standing, ask = settle(standing, (), float(at_s))
        asked.append(ask)
    assert asked.count(True) == 1
    assert standing.order is None
    assert standing.carried_out_at_s is None


def test_something_else_done_overtakes_the_order():
    standing, _ = settle(given(Order("add_seed", mass_g=45.0)), (Bath(105.0, "warm_bath", 42.0, 30.0),), 110.0)
    assert standing.order is None
    assert standing.wait_until_s == 135.0


@pytest.mark.parametrize("order", [Order("add_seed", mass_g=45.0), Order("stir", seconds=60.0), Order("melt_again")])
def test_what_turns_out_not_to_have_been_done_overtakes_it_too(order):
    known = (Seed(60.0, 30.0), Look(80.0, lumps="many"))
    for acts in (known[1:], (replace(known[0], mass_g=130.0), known[1])):
        assert settle(given(order, acts=known), acts, 110.0)[0].order is None
    assert settle(given(order, acts=known), known[:1], 110.0)[0].order is not None


def test_who_stirs_is_given_a_new_step_when_what_was_seen_is_taken_back():
    belief = passed(take(bowl(), Look(20.0, lumps="many")), 50.0)
    stirs = given(Order("stir", seconds=120.0), 30.0, belief.acts)
    assert advise(belief, stirs)[0].next.id == "n1-wait"
    assert advise(replace(belief, acts=()), stirs)[0].next.id == "n2"


def test_evidence_does_not_overtake_it():
    standing, _ = settle(given(Order("add_seed", mass_g=45.0)), (Look(105.0, lumps="few"), Stir(106.0)), 110.0)
    assert standing.order is not None


def test_a_stir_order_ends_by_itself():
    standing = given(Order("stir", seconds=60.0))
    standing, ask = settle(standing, (), 161.0)
    assert (standing.order, ask) == (None, False)


@pytest.mark.parametrize(
    ("order", "event", "fits"),
    [
        (Order("warm_bath"), Bath(0.0, "warm_bath", 42.0, 30.0), True),
        (Order("warm_bath"), Bath(0.0, "cool_bath", 18.0, 30.0), False),
        (Order("look"), Look(0.0), True),
        (Order("stir"), Stir(0.0), False),
    ],
)
def test_which_event_fulfils_which_order(order, event, fits):
    assert fulfils(order, event) is fits


def test_minutes_to_temper_run_from_when_an_order_is_begun():
    start = Start(0.0, Composition("dark"), 800.0, temperature_C=36.0, room_C=20.5, means=("seed",))
    probed = replace(start, probe=replace(start.probe, offset_sd_C=0.2))
    belief = bowl(warm_C=36.0, v=1e-6, start=probed, seeded=False)
    look, standing = advise(belief)
    assert look.next.do == "look"
    belief = take(belief, Look(10.0, lumps="none", thickness="thin"))
    first, standing = advise(belief, standing)
    assert first.next.do == "add_seed"
    belief = passed(belief, 40.0)
    unbegun, standing = advise(belief, standing)
    assert unbegun.next.id == first.next.id
    assert unbegun.minutes_to_temper == first.minutes_to_temper
    belief = passed(take(belief, Seed(45.0, first.next.mass_g)), 63.0)
    under_way, _ = advise(belief, standing)
    assert under_way.next.do == "stir"
    assert under_way.minutes_to_temper.p50 == pytest.approx(first.minutes_to_temper.p50 - 18.0 / 60.0)


def test_small_things():
    assert lasts_s(Bath(0.0, "warm_bath", 42.0, 30.0)) == 30.0
    assert lasts_s(Look(0.0)) == 0.0
    assert is_action(Order("add_seed"))
    assert not is_action(Order("look"))
    assert Order("look").same_step(Order("look"))
    assert in_steps(43.0, 5.0, 5.0) == 45.0
    assert in_steps(1.0, 5.0, 5.0) == 5.0
    start = Start(0.0, Composition("dark"), 800.0, means=("seed", "microwave"))
    for metal in ("steel", "copper", "aluminium"):
        assert allowed_means(start, metal) == {"seed"}
    assert "microwave" in allowed_means(start, "glass")


def test_what_is_left_undone_is_remembered_until_it_is_done():
    standing = given(Order("pour_over"))
    for at_s in (180.0, 215.0):
        standing, _ = settle(standing, (), at_s)
    assert standing.undone == ("pour_over",)
    settled, _ = settle(standing, (Pour(300.0),), 300.0)
    assert settled.undone == ()
    # Poured before it was asked for, or taken back: it is left undone.
    for acts in ((Pour(90.0),), ()):
        assert settle(settled, acts, 310.0)[0].undone == ("pour_over",)


SEEDED = Seed(110.0, 45.0)
WAITS = Order("add_seed", mass_g=45.0, then_wait_s=60.0)


def test_an_act_told_late_is_not_taken_for_another():
    """The late bath moves every act after it one place on: by its place the seed would be new once more."""
    known = (Seed(60.0, 45.0), Look(99.0, lumps="many"))
    late = Bath(70.0, "cool_bath", 18.0, 10.0)
    standing, _ = settle(given(WAITS, acts=known), (known[0], late, known[1]), 120.0)
    assert standing.carried_out_at_s is None
    assert standing.order is None, "the bowl is not what the order was made for"
    looks = given(Order("look", then_wait_s=30.0), acts=known)
    settled, _ = settle(looks, (Stir(50.0), *known), 120.0)
    assert (settled.order, settled.carried_out_at_s) == (looks.order, None)
    settled, _ = settle(settled, (Stir(50.0), *known, Look(121.0)), 130.0)
    assert settled.carried_out_at_s == 121.0


@pytest.mark.parametrize("event", [Seed(94.0, 45.0), Smear(120.0, 94.0, set_after_s=20.0), Look(94.0)])
def test_what_was_begun_before_an_order_was_given_does_not_carry_it_out(event):
    order = replace(WAITS, do={"seed": "add_seed"}.get(event.what, event.what))
    standing, _ = settle(given(order), (event,), 120.0)
    assert standing.carried_out_at_s is None
    in_time = replace(event, **({"taken_at_s": 100.0} if event.what == "smear" else {"at_s": 100.0}))
    assert settle(given(order), (in_time,), 121.0)[0].carried_out_at_s == 100.0


def test_told_twice_at_one_second_is_done_twice():
    look = Look(100.0)
    standing = given(Order("look", then_wait_s=30.0), acts=(look,))
    assert settle(standing, (look,), 105.0)[0].carried_out_at_s is None
    assert settle(standing, (look, look), 105.0)[0].carried_out_at_s == 100.0


def test_an_order_whose_act_is_taken_back_is_not_done():
    standing, _ = settle(given(WAITS), (SEEDED,), 120.0)
    assert standing.carried_out_at_s == 110.0
    back, ask = settle(standing, (), 130.0)
    assert (back.order, back.carried_out_at_s, back.wait_until_s, ask) == (standing.order, None, 0.0, False)
    assert settle(back, (), 175.0)[1], "it is asked about as if nothing had been told"
    moved, _ = settle(standing, (replace(SEEDED, at_s=105.0),), 130.0)
    assert (moved.carried_out_at_s, moved.wait_until_s) == (105.0, 165.0)


def test_an_order_whose_act_was_another_is_overtaken():
    standing, _ = settle(given(WAITS), (SEEDED,), 120.0)
    other, _ = settle(standing, (Bath(110.0, "warm_bath", 42.0, 30.0),), 130.0)
    assert (other.order, other.carried_out_at_s, other.wait_until_s) == (None, None, 140.0)
    again, _ = settle(other, (), 135.0)
    assert again.order == standing.order, "nothing else was done after all"


def test_an_order_to_melt_is_asked_about_only_if_no_warming_is_known_of():
    standing, bath = given(Order("melt_again", to_C=45.0)), Bath(150.0, "warm_bath", 50.0, 60.0)
    asked, ask = settle(standing, (), 290.0)
    assert (ask, asked.asked) == (True, True)
    late, ask = settle(asked, (bath,), 300.0)
    assert (ask, late.asked, late.order) == (False, False, standing.order)
    assert settle(late, (), 310.0)[0].asked, "it was not warmed: the question is open"
    assert settle(late, (bath, Seed(220.0, 9.0)), 310.0)[0].order is None


KINDS = {
    "seed": lambda at_s: Seed(at_s, 45.0),
    "bath": lambda at_s: Bath(at_s, "warm_bath", 42.0, 20.0),
    "cold": lambda at_s: Bath(at_s, "cool_bath", 18.0, 20.0),
    "look": lambda at_s: Look(at_s, lumps="few"),
    "dip": lambda at_s: Smear(at_s, at_s),
    "film": lambda at_s: Smear(at_s, max(at_s - 20.0, 0.0), set_after_s=15.0),
    "stir": Stir,
}
ORDERS = [
    replace(WAITS, id="n1"),
    Order("warm_bath", id="n1", bath_C=42.0, seconds=20.0, then_wait_s=40.0),
    Order("look", id="n1", then_wait_s=60.0),
    Order("smear", id="n1", then_wait_s=60.0),
    Order("stir", id="n1", seconds=60.0),
    Order("melt_again", id="n1", to_C=45.0),
]
ACTS = st.builds(
    lambda kind, at_s: KINDS[kind](at_s), st.sampled_from(sorted(KINDS)), st.integers(8, 14).map(lambda n: 10.0 * n)
)
DELAYS = st.integers(0, 9).map(lambda n: 10.0 * n)
HISTORIES = st.lists(st.tuples(ACTS, DELAYS, st.none() | ACTS, DELAYS), max_size=5)
"""What was done, how late it was told, what it was said to be at first, if not that, and how long that stood."""
NEVER_DONE = st.lists(st.tuples(ACTS, DELAYS, DELAYS), max_size=2)
"""What was told and taken back: how late, and after how long."""
GIVEN_S, SOON_S, LATER_S = 100.0, 140.0, 400.0


def told_by(tellings, at_s):
    """What is known at a time to have been done, in the order done."""
    now = [act for act, from_s, to_s in tellings if from_s <= at_s < to_s]
    return tuple(sorted(now, key=lambda act: act.at_s))


def lived(order, known, tellings, until_s):
    """The memory after an order and answers every ten seconds; ``known`` is what had been told when it was given."""
    standing = Standing(orders_given=1, given=Given(order, GIVEN_S, known), order=order)
    for at_s in np.arange(GIVEN_S, until_s + 1.0, 10.0):
        standing, _ = settle(standing, told_by(tellings, at_s), float(at_s))
    return standing


def outcome_of(standing):
    return standing.order, standing.carried_out_at_s, standing.wait_until_s, standing.undone


def in_time_and_late(order, history, never_done, until_s):
    """Lived twice from the same order on: all told as it was done; and late, as something else at first, with more."""
    late = []
    for act, delay_s, said, stood_s in history:
        told_s = act.at_s + delay_s if said is None else max(act.at_s, said.at_s) + delay_s
        right_s = min(told_s if said is None else told_s + stood_s, until_s)
        late += [(act, right_s, math.inf)] + ([] if said is None else [(said, told_s, right_s)])
    late += [
        (act, act.at_s + delay_s, min(act.at_s + delay_s + stood_s, until_s)) for act, delay_s, stood_s in never_done
    ]
    in_time = [(act, act.at_s, math.inf) for act, *_ in history]
    known = told_by(late, GIVEN_S - 1.0)
    return [lived(order, known, tellings, until_s) for tellings in (in_time, late)]


def carried_out_at_s(order, history):
    """When the first act that an order asked for was begun since it was given, from what was done and no telling."""
    begun = [getattr(act, "taken_at_s", act.at_s) for act, *_ in history if fulfils(order, act)]
    return min((at_s for at_s in begun if at_s >= GIVEN_S), default=None)


@given_(st.sampled_from(ORDERS), HISTORIES, NEVER_DONE)
@settings(max_examples=300, deadline=None)
def test_told_late_and_corrected_an_order_stands_as_if_all_had_been_told_in_time(order, history, never_done):
    in_time, late = in_time_and_late(order, history, never_done, SOON_S)
    assert outcome_of(late) == outcome_of(in_time)
    if order.do != "melt_again":
        assert late.carried_out_at_s == carried_out_at_s(order, history)


@given_(st.sampled_from(ORDERS), HISTORIES, NEVER_DONE)
@settings(max_examples=300, deadline=None)
def test_only_what_was_given_up_does_not_come_back(order, history, never_done):
    """What may differ: an order was left undone, and advice went on, before its act was told or its correction came."""
    both = in_time, late = in_time_and_late(order, history, never_done, LATER_S)
    if late.left == in_time.left:
        assert outcome_of(late) == outcome_of(in_time)
    did = carried_out_at_s(order, history) is not None
    for standing in both:
        if standing.left:
            assert (standing.order, standing.given) == (None, None)
            # Melting that was begun and left is left undone.
            assert order.do == "melt_again" or standing.undone == (() if did else (order.do,))
