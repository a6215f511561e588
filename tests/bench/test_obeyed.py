"""Every order that changes the bowl at once becomes the event that fulfils it; the others none."""

from typing import get_args

import numpy as np
import pytest

from bloomless.advice.orders import Do, Order
from bloomless.advice.standing import fulfils
from bloomless.bench.contract import event_from
from bloomless.bench.obeyed import PORTIONS, line_of, obeyed
from bloomless.bench.replies import order_json
from bloomless.errors import Misuse, UnknownName
from bloomless.estimation import events as ev
from bloomless.kitchens import Hands, World, draw_kitchen
from bloomless.kitchens.doing import carry_out

AMOUNTS = {"mass_g": 50.0, "seconds": 20.0, "bath_C": 45.0, "share": 0.3, "watts": 700.0, "temperature_C": 40.0}
QUIET = {"stir", "look", "smear", "check_thermometer", "use_it", "stop", "heat_on", "melt_again"}


def test_orders_become_events():
    for do in get_args(Do):
        event = obeyed(Order(do, **AMOUNTS), 60.0, pieces_g=30.0)
        assert (event is None) == (do in QUIET), do
        if event is not None:
            assert event.at_s == 60.0
            assert fulfils(Order(do), event), do


def test_usual_amounts_where_an_order_says_none():
    assert obeyed(Order("add_seed", mass_g=40.0), 0.0).size_mm == 3.0
    assert obeyed(Order("microwave", seconds=8.0), 0.0).watts == 700.0
    assert obeyed(Order("hot_air", seconds=8.0), 0.0).watts == 1500.0
    assert obeyed(Order("pour_over"), 0.0, vessel=ev.VesselSpec("glass")).vessel.material == "glass"
    assert obeyed(Order("sieve"), 0.0) is None
    assert event_from({"what": "seed", "at": 0, "mass_g": 40}).event.mass_g == 40


def test_the_forecast_knows_what_the_seed_is():
    crystals = Order("add_seed", mass_g=8.0, form="cocoa_butter_crystals")
    assert obeyed(crystals, 0.0).form == "cocoa_butter_crystals"


@pytest.mark.parametrize("do", get_args(Do))
def test_every_order_has_a_line_that_the_bench_takes_and_hands_can_carry_out(do):
    line = line_of(order_json(Order(do, id="n1", **AMOUNTS)))
    # What only the hand can say: how much it sieved, what the thermometer showed.
    taken = {"sieve": {"mass_g": 1.0}, "probe_check": {"shown_C": 0.4, "reference_C": 0.0}}.get(line["what"], {})
    event = event_from({**line, **taken, "at": 5.0}).event
    if do not in {"stir", "stop"}:
        assert fulfils(Order(do), event)
    chances = [np.random.default_rng(seed) for seed in (2, 3)]
    hands = Hands(World.begin(draw_kitchen(chances[0], "dark"), chances[1]))
    if line["what"] == "microwave" and hands.vessel.material == "steel":
        with pytest.raises(Misuse):
            carry_out(hands, line)
        return
    done = carry_out(hands, line)
    assert {key: done[key] for key in line} == line


def test_melting_goes_by_the_means_that_was_told():
    for by, portion in PORTIONS.items():
        assert line_of({"do": "heat_on", "to_C": 45.0, "by": by}) == portion
    assert line_of({"do": "melt_again", "to_C": 45.0})["what"] == "warm_bath"


def test_no_hand_does_what_is_no_act():
    with pytest.raises(UnknownName):
        carry_out(None, {"what": "reading"})
