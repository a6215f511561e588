"""Every order that changes the bowl at once becomes the event that fulfils it; the others none."""

from typing import get_args

from bloomless.advice.orders import Do, Order
from bloomless.advice.standing import fulfils
from bloomless.bench.contract import event_from
from bloomless.bench.obeyed import obeyed
from bloomless.estimation import events as ev

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
