"""One order is one act: carried out once, asked about if nothing comes, never repeated as if done."""

from dataclasses import replace

import pytest
from known_bowl import bowl

from bloomless.advice.advise import advise
from bloomless.advice.orders import Order, Standing, is_action
from bloomless.advice.safety import allowed_means, in_steps
from bloomless.advice.standing import fulfils, lasts_s, settle
from bloomless.estimation.events import Bath, Composition, Look, Pour, Seed, Start, Stir
from bloomless.estimation.passing import passed
from bloomless.estimation.take import take


def given(order, at_s=100.0, seen=0):
    return Standing(orders_given=1, order=replace(order, id="n1"), given_at_s=at_s, seen_acts=seen)


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


def test_evidence_does_not_overtake_it():
    standing, _ = settle(given(Order("add_seed", mass_g=45.0)), (Look(105.0, lumps="few"), Stir(106.0)), 110.0)
    assert standing.order is not None


def test_a_stir_order_ends_by_itself():
    standing = replace(given(Order("stir", seconds=60.0)), wait_until_s=160.0)
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
    first, standing = advise(belief)
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
    standing, _ = settle(standing, (Pour(300.0),), 300.0)
    assert standing.undone == ()
