"""What became of the order that stands: carried out, still to come, asked about, or overtaken by something else.

An order names one act and stands under its name until its event comes; then only stirring is asked until its waiting is
over (decision 0007). Melting is many acts: it stands until the thermometer shows what was asked. If nothing comes the
cook is asked (``was_it_done``), and a little later advice goes on from what is believed: the order counts as not done,
is never repeated under its old name, and a late entry of it is taken as any other event.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from bloomless.advice.orders import Order, Standing
from bloomless.estimation.events import Bath, BowlEvent, HotAir, Microwave, Smear, Table

__all__ = ["ASK_AFTER_S", "GO_ON_AFTER_S", "HEATS", "NEARLY_K", "fulfils", "lasts_s", "settle"]

HEATS = frozenset({"heat_on", "melt_again"})
"""Orders of many acts: done when the thermometer shows their ``to_C``."""
NEARLY_K = 1.5
ASK_AFTER_S = {"look": 45.0, "smear": 75.0, "check_thermometer": 150.0, "melt_again": 180.0, "heat_on": 180.0}
"""Seconds after which a missing event is asked about; 75 for the others."""
GO_ON_AFTER_S = 30.0
"""Seconds after the question when advice goes on without it."""
_USUAL_S = 75.0
USED_ON_S = 30.0

_EVENT_OF = {
    "pour_over": ("pour",),
    "add_seed": ("seed",),
    "add_melt": ("add",),
    "warm_bath": ("warm_bath",),
    "cool_bath": ("cool_bath",),
    "microwave": ("microwave",),
    "hot_air": ("hot_air",),
    "table": ("table",),
    "look": ("look",),
    "smear": ("smear",),
    "sieve": ("sieve",),
    "check_thermometer": ("probe_check",),
    "use_it": ("remove", "finish"),
    "heat_on": ("warm_bath", "microwave", "hot_air"),
    "melt_again": ("warm_bath", "microwave", "hot_air"),
}


def fulfils(order: Order, event: BowlEvent) -> bool:
    """Whether an event is the one an order asked for."""
    return event.what in _EVENT_OF.get(order.do, ())


def lasts_s(event: BowlEvent) -> float:
    """How long an act lasts from its time on, seconds."""
    return float(event.seconds) if isinstance(event, Bath | Microwave | HotAir | Table) else 0.0


def _evidence(event: BowlEvent) -> bool:
    """Whether an event only tells something and changes nothing in the bowl."""
    return event.what in {"look", "probe_check", "stir", "ask", "reading"} or isinstance(event, Smear)


def _heated(standing: Standing, fresh: Sequence[BowlEvent], shown_C: float | None) -> dict[str, Any]:
    """What became of an order to melt: every warming keeps it alive, the thermometer ends it."""
    order = standing.order
    assert order is not None
    if shown_C is not None and order.to_C is not None and shown_C >= order.to_C - NEARLY_K:
        return {"order": None, "asked_at_s": None}
    warmed = [event.at_s + lasts_s(event) for event in fresh if fulfils(order, event)]
    if warmed:
        return {"warmed_at_s": max(warmed), "asked_at_s": None}
    return {"order": None, "asked_at_s": None} if any(not _evidence(event) for event in fresh) else {}


def settle(
    standing: Standing, acts: Sequence[BowlEvent], at_s: float, shown_C: float | None = None
) -> tuple[Standing, bool]:
    """Bring the memory up to what the cook has done since; second answer: whether to ask "was it done?" now.

    Parameters
    ----------
    standing
        As left by the last advice.
    acts
        Every event but readings that the belief has taken, in the order taken.
    at_s
        Session time now.
    shown_C
        The thermometer's last reading.
    """
    fresh = acts[standing.seen_acts :]
    changes: dict[str, Any] = {"seen_acts": len(acts)}
    order = standing.order
    if order is not None and order.do in HEATS:
        changes |= _heated(standing, fresh, shown_C)
    elif order is not None and standing.carried_out_at_s is None:
        match = next((event for event in fresh if fulfils(order, event)), None)
        if match is not None:
            until = match.at_s + lasts_s(match) + order.then_wait_s
            changes |= {"carried_out_at_s": match.at_s, "wait_until_s": until, "asked_at_s": None}
        elif any(not _evidence(event) for event in fresh):
            # The cook did something else: plan anew.
            changes |= {"order": None, "asked_at_s": None, "wait_until_s": 0.0}
    did = {do for do, kinds in _EVENT_OF.items() if any(event.what in kinds for event in fresh)}
    changes["undone"] = tuple(do for do in standing.undone if do not in did)
    others = [event for event in fresh if order is None or not fulfils(order, event)]
    busy = max((event.at_s + lasts_s(event) for event in others if lasts_s(event) > 0.0), default=0.0)
    changes["wait_until_s"] = max(changes.get("wait_until_s", standing.wait_until_s), busy)
    standing = replace(standing, **changes)
    ask = False
    order = standing.order
    if order is not None and standing.carried_out_at_s is None and order.do != "stir":
        patience = ASK_AFTER_S.get(order.do, _USUAL_S)
        if standing.asked_at_s is None and at_s - max(standing.given_at_s, standing.warmed_at_s) >= patience:
            standing, ask = replace(standing, asked_at_s=at_s), True
        elif standing.asked_at_s is not None and at_s - standing.asked_at_s >= GO_ON_AFTER_S:
            standing = replace(standing, undone=(*standing.undone, order.do), order=None, asked_at_s=None)
    order = standing.order
    in_use = order is not None and order.do == "use_it" and any(event.what == "remove" for event in acts)
    if in_use and at_s - standing.given_at_s >= USED_ON_S:
        # A bowl in use is used on as moulds are ready: nobody is asked, the bowl is looked after meanwhile.
        standing, ask = replace(standing, order=None, asked_at_s=None), False
    done = standing.carried_out_at_s is not None and at_s >= standing.wait_until_s
    stirred = standing.order is not None and standing.order.do == "stir" and at_s >= standing.wait_until_s
    if done or stirred:
        standing = replace(standing, order=None, carried_out_at_s=None)
    return standing, ask
