"""From an order of the advice to the line its cook would tell: the one rule of who obeys, watches or looks ahead."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from bloomless.advice.orders import Order
from bloomless.bench.contract import event_from
from bloomless.bench.replies import order_json
from bloomless.estimation import events as ev

__all__ = ["PORTIONS", "line_of", "obeyed"]

USUAL_SIZE_MM: Final = 3.0
USUAL_MELT_C: Final = 40.0
SIEVED_SHARE: Final = 0.9
"""Of the pieces, what a sieve takes out."""

_LINES: Final[dict[str, tuple[str, tuple[str, ...], dict[str, Any]]]] = {
    "add_seed": ("seed", ("mass_g", "size_mm", "form"), {}),
    "add_melt": ("add", ("mass_g", "temperature_C"), {"temperature_C": USUAL_MELT_C}),
    "warm_bath": ("warm_bath", ("bath_C", "seconds"), {}),
    "cool_bath": ("cool_bath", ("bath_C", "seconds"), {}),
    "microwave": ("microwave", ("watts", "seconds"), {}),
    "hot_air": ("hot_air", ("watts", "seconds"), {}),
    "table": ("table", ("share", "seconds"), {}),
    "pour_over": ("pour", (), {}),
    "stir": ("stir", ("vigour",), {"vigour": "steady"}),
    "look": ("look", (), {}),
    "smear": ("smear", ("surface",), {"surface": "paper"}),
    "sieve": ("sieve", (), {}),
    "check_thermometer": ("probe_check", ("method",), {"method": "ice"}),
    "use_it": ("finish", (), {"used": True}),
    "stop": ("finish", (), {"used": False}),
}
"""Order → its line, the fields that go over as they are, and what is usual where the order does not say."""

PORTIONS: Final[dict[str, dict[str, Any]]] = {
    "warm_bath": {"what": "warm_bath", "bath_C": 50.0, "seconds": 60.0},
    "microwave": {"what": "microwave", "watts": 700.0, "seconds": 10.0},
    "hot_air": {"what": "hot_air", "watts": 1500.0, "seconds": 40.0},
}
"""Melting goes by portions of one of these, with a reading between."""
_CHANGES: Final = frozenset({"seed", "add", "warm_bath", "cool_bath", "microwave", "hot_air", "table", "pour", "sieve"})


def line_of(order: Mapping[str, Any]) -> dict[str, Any]:
    """The line of the bench log, without its time, that says an order was carried out as it was told.

    Parameters
    ----------
    order
        As it stands in a reply. Melting (``heat_on``, ``melt_again``) takes many lines: this is the first portion.
    """
    if order["do"] in {"heat_on", "melt_again"}:
        return dict(PORTIONS[order.get("by") or "warm_bath"])
    what, names, usual = _LINES[order["do"]]
    return {"what": what, **usual, **{name: order[name] for name in names if order.get(name) is not None}}


def obeyed(
    order: Order, at_s: float, *, pieces_g: float = 0.0, vessel: ev.VesselSpec | None = None
) -> ev.BowlEvent | None:
    """The event of an order carried out at once; ``None`` where it changes nothing in the bowl, or takes long.

    Parameters
    ----------
    order
        As advised.
    at_s
        When it would be done.
    pieces_g
        Pieces believed to be in the bowl.
    vessel
        The bowl it is in: what is poured over goes into one like it.
    """
    line = line_of(order_json(order))
    if order.do in {"heat_on", "melt_again"} or line["what"] not in _CHANGES:
        return None
    if line["what"] == "sieve":
        if pieces_g <= 0.0:
            return None
        line["mass_g"] = SIEVED_SHARE * pieces_g
    if line["what"] == "seed":
        line.setdefault("size_mm", USUAL_SIZE_MM)
    event = event_from({**line, "at": at_s}).event
    assert not isinstance(event, ev.Start | ev.Correct)
    return replace(event, vessel=vessel) if isinstance(event, ev.Pour) and vessel is not None else event
