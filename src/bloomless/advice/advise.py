"""The next step: what stands is followed up, what is due is planned, what must not be asked is not asked."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import takewhile

import numpy as np

from bloomless.advice.beginning import MELT_OUT_C
from bloomless.advice.notes import not_against, notes
from bloomless.advice.orders import Advice, Alternative, Given, Order, Standing
from bloomless.advice.outlook import SMEAR_SILENT_S, Outlook, working_band
from bloomless.advice.planner import Chosen, choose
from bloomless.advice.prices import PRICES, Prices
from bloomless.advice.rescue import hazard
from bloomless.advice.sentences import why
from bloomless.advice.standing import HEATS, news, settle
from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Alert, Band, OrderName
from bloomless.estimation.belief import Belief
from bloomless.estimation.events import BowlEvent, Smear, Table

__all__ = ["advise"]

SMEAR_REST_S = 600.0
"""Between two films: none is asked for so soon after one that has told."""
WORKED_EVERY_S = 30.0
NEARLY_WARM_K, NEARLY_WARM_S = 3.5, 600.0
"""So far below what was asked for so long melts out as well (assumed; crystal sheet 2.4: held for 10 to 30 min)."""


def _named(standing: Standing, order: Order, belief: Belief) -> tuple[Order, Standing]:
    """An order with its name, and the memory in which it stands."""
    number, at_s = standing.orders_given + 1, belief.at_s
    order = replace(order, id=f"n{number}")
    return order, replace(
        standing,
        orders_given=number,
        given=Given(order, at_s, belief.acts),
        asked_at_s=None,
        order=order,
        carried_out_at_s=None,
        wait_until_s=at_s + (order.seconds or 0.0) if order.do == "stir" else 0.0,
        asked=False,
        smear_ordered_at_s=at_s if order.do == "smear" else standing.smear_ordered_at_s,
        look_ordered_at_s=at_s if order.do == "look" else standing.look_ordered_at_s,
        check_ordered=standing.check_ordered or order.do == "check_thermometer",
    )


def _asked(order: Order) -> Alert:
    """The question whether an order was carried out."""
    return alert(
        "was_it_done", f"The order was: {order.do.replace('_', ' ')}.", order=OrderName(id=order.id, do=order.do)
    )


def _stopped(standing: Standing, why_stop: str, belief: Belief) -> tuple[Order, Standing]:
    """The order to stop: the one that stands, or a new one."""
    if standing.order is not None and standing.order.do == "stop":
        return standing.order, standing
    return _named(standing, Order("stop", why=why_stop), belief)


def _on_the_stone(belief: Belief) -> tuple[float, float] | None:
    """Until when the stone is worked, and what share of the bowl lies there; ``None`` if nothing does."""
    works = ((run.until_s, run.event.share) for run in reversed(belief.running) if isinstance(run.event, Table))
    return next(works, None)


def _meanwhile(standing: Standing, belief: Belief, outlook: Outlook) -> Order:
    """What is asked while an order and its waiting run: stir; first on the stone what lies there."""
    name = standing.order.id if standing.order is not None else f"n{standing.orders_given}"
    until_s, share = _on_the_stone(belief) or (standing.wait_until_s, None)
    seconds = float(5.0 * np.ceil(max(until_s - belief.at_s, 5.0) / 5.0))
    order = Order(do="stir", id=f"{name}-wait", vigour="steady", seconds=seconds, share=share)
    last = standing.last.next if standing.last is not None else order
    order = replace(order, chance_after=last.chance_after, minutes_after=last.minutes_after)
    return replace(order, why=why(order, outlook.numbers))


def _later(band: Band | None, seconds: float) -> Band | None:
    """A band of minutes as it stands some seconds later."""
    if band is None:
        return None
    past = seconds / 60.0
    return Band(*(max(q - past, 0.0) for q in (band.p05, band.p50, band.p95)))


def _evidence_since(given: Given | None, acts: tuple[BowlEvent, ...]) -> bool:
    """Whether a look, a smear's result or a check was told, or taken back, since an order was given."""
    return given is not None and any(
        event.what in {"look", "probe_check"} or (isinstance(event, Smear) and event.has_result)
        for events in news(given, acts)
        for event in events
    )


def _under_way_since_s(standing: Standing, now_s: float) -> float:
    """Since when what was planned goes on: an order that nobody has begun puts all of it off."""
    if standing.order is not None and standing.order.do != "stir":
        return now_s if standing.carried_out_at_s is None else standing.carried_out_at_s
    return now_s if standing.planned_at_s is None else standing.planned_at_s


def _shown_C(belief: Belief, standing: Standing) -> float | None:
    """The last reading; what was to be shown where the bowl has nearly been so warm for long.

    Water of 50 °C brings some bowls no further, and minutes a little below melt out as much.
    """
    order, kind = standing.order, belief.start.chocolate.kind
    if order is None or order.do not in HEATS or order.to_C is None or order.to_C < MELT_OUT_C[kind]:
        return belief.watch.last_C
    nearly_C = order.to_C - NEARLY_WARM_K
    warm = takewhile(lambda shot: float(belief.weight @ shot.mixed_C) >= nearly_C, reversed(belief.snapshots))
    since_s = min((shot.at_s for shot in warm), default=belief.at_s)
    return order.to_C if belief.at_s - since_s >= NEARLY_WARM_S else belief.watch.last_C


def _standing_answer(belief: Belief, standing: Standing, outlook: Outlook, alerts: tuple[Alert, ...]) -> Advice | None:
    """The answer while an order stands or a waiting runs; ``None`` if something new is due."""
    order, now = standing.order, belief.at_s
    last = standing.last if standing.last is not None else Advice(Order("stir"))
    aged = replace(
        last,
        minutes_to_temper=_later(last.minutes_to_temper, now - _under_way_since_s(standing, now)),
        working_minutes_left=standing.working,
        alerts=alerts,
        before=None,
    )
    unbegun = standing.carried_out_at_s is None and not standing.asked
    if order is not None and unbegun and (order.do != "stir" or now <= standing.given_at_s):
        # The same order under the same name, until its event comes: a busy cook sees it when free.
        if order.do == "heat_on":
            # Melting takes long, and what was so at its beginning is so no more.
            order = replace(order, why=why(order, outlook.numbers))
        return replace(aged, next=order, before=last.before if now <= standing.given_at_s else None)
    if order is not None or now < standing.wait_until_s:
        return replace(aged, next=_meanwhile(standing, belief, outlook))
    return None


def _worked(standing: Standing, outlook: Outlook, at_s: float) -> Standing:
    """The memory with the working minutes, which are reckoned anew every so often only: that takes long."""
    if standing.worked_at_s is not None and at_s - standing.worked_at_s < WORKED_EVERY_S:
        return standing
    return replace(standing, working=working_band(outlook), worked_at_s=at_s)


def _smear_allowed(belief: Belief, standing: Standing) -> bool:
    """Whether the last film is long enough ago for another; one that has not told is first waited for and given up."""
    smears = [event for event in belief.acts if isinstance(event, Smear)]
    since = [smear.taken_at_s for smear in smears]
    since += [] if standing.smear_ordered_at_s is None else [standing.smear_ordered_at_s]
    told_s = max((smear.taken_at_s for smear in smears if smear.has_result), default=-math.inf)
    return all(belief.at_s - at_s >= (SMEAR_REST_S if at_s <= told_s else SMEAR_SILENT_S) for at_s in since)


def _advice_from(chosen: Chosen, outlook: Outlook, alerts: tuple[Alert, ...], working: Band | None) -> Advice:
    instead = tuple(
        Alternative(replace(r.order, why=why(r.order, outlook.numbers)), round(r.chance_after, 3), r.minutes_after)
        for r in chosen.others[:2]
    )
    return Advice(
        next=chosen.order,
        instead=instead,
        plan=chosen.after,
        before=chosen.before,
        alerts=alerts,
        minutes_to_temper=chosen.minutes_to_temper,
        working_minutes_left=working,
    )


def advise(belief: Belief, standing: Standing | None = None, *, prices: Prices = PRICES) -> tuple[Advice, Standing]:
    """The next order, and what the planner remembers.

    Parameters
    ----------
    belief
        After the last event.
    standing
        From the last advice of this bowl; ``None`` at the beginning.
    prices
        What things cost; another set makes another cook.

    Returns
    -------
    tuple
        The advice, and the memory to hand in next time. Pure: the same belief and memory give the same answer.
    """
    standing = Standing() if standing is None else standing
    fresh_evidence = _evidence_since(standing.given, belief.acts)
    same_time = standing.order is not None and belief.at_s <= standing.given_at_s
    standing, ask = settle(standing, belief.acts, belief.at_s, _shown_C(belief, standing))
    outlook = Outlook(belief)
    alerts: tuple[Alert, ...] = outlook.alerts
    if ask and standing.order is not None:
        alerts = (*alerts, _asked(standing.order))
    standing = _worked(standing, outlook, belief.at_s)
    danger = hazard(belief, outlook)
    if danger is not None:
        order, standing = _stopped(standing, danger, belief)
        advice = _noted(Advice(order, alerts=alerts), belief, outlook)
        return advice, replace(standing, last=advice)
    standing_do = None if standing.order is None else standing.order.do
    unseen = standing_do == "look" and standing.carried_out_at_s is None
    if fresh_evidence and (same_time or standing_do == "stir" or unseen):
        # What was asked before this was known is asked anew.
        standing = replace(standing, order=None, wait_until_s=min(standing.wait_until_s, belief.at_s))
    held = _standing_answer(belief, standing, outlook, alerts)
    if held is not None:
        return _noted(held, belief, outlook), standing
    chosen = choose(belief, standing, outlook, prices, smear_allowed=_smear_allowed(belief, standing))
    order = replace(chosen.order, why=why(chosen.order, outlook.numbers))
    order, standing = _named(standing, order, belief)
    advice = _advice_from(replace(chosen, order=order), outlook, alerts, standing.working)
    standing = replace(standing, last=advice, planned_at_s=belief.at_s)
    return _noted(advice, belief, outlook), standing


def _noted(advice: Advice, belief: Belief, outlook: Outlook) -> Advice:
    """The advice with what is worth saying beside it, once a code."""
    said = {one.code: one for one in (*notes(belief, outlook, advice.next), *advice.alerts)}
    return replace(advice, alerts=not_against(advice.next, said.values()))
