"""Answers of the bench log as JSON: one object a line, numbers rounded to what they are worth, unknowns as ``null``."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, Final

from bloomless.advice.notes import not_against
from bloomless.advice.orders import Advice, Alternative, Before, Order
from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.estimation.answers import Alert, Band, Estimate

__all__ = ["alert_json", "band_json", "error_reply", "estimate_json", "order_json", "reply"]

_BANDS: Final = {
    "temperature_C": 2,
    "form_v_pct_of_fat": 3,
    "unstable_pct_of_fat": 3,
    "seed_left_g": 1,
    "batch_g": 1,
}
_ORDER_TAIL: Final = ("then_wait_s", "chance_after", "minutes_after", "why")


def band_json(band: Band | None, digits: int = 2) -> dict[str, float] | None:
    """A band as an object with ``p05``, ``p50``, ``p95``."""
    if band is None:
        return None
    return {"p05": round(band.p05, digits), "p50": round(band.p50, digits), "p95": round(band.p95, digits)}


def estimate_json(estimate: Estimate) -> dict[str, Any]:
    """The estimate without its time and alerts."""
    chance = estimate.chance_in_temper
    bands = {name: band_json(getattr(estimate, name), digits) for name, digits in _BANDS.items()}
    return {"chance_in_temper": None if chance is None else round(chance, 4), **bands}


def order_json(order: Order) -> dict[str, Any]:
    """An order with the fields its kind has."""
    shown: dict[str, Any] = {"id": order.id} if order.id else {}
    for field in fields(order):
        value = getattr(order, field.name)
        if field.name in ("id", *_ORDER_TAIL) or value is None:
            continue
        shown[field.name] = value
    chance, minutes = order.chance_after, order.minutes_after
    return shown | {
        "then_wait_s": order.then_wait_s,
        "chance_after": None if chance is None else round(chance, 4),
        "minutes_after": None if minutes is None else round(minutes, 1),
        "why": order.why,
    }


def alert_json(alert: Alert) -> dict[str, Any]:
    """An alert; ``order`` stands in it only where it speaks of one."""
    told = {"code": alert.code, "severity": alert.severity, "text": alert.text, "do": alert.do}
    return told if alert.order is None else told | {"order": {"id": alert.order.id, "do": alert.order.do}}


def _alternative_json(alternative: Alternative) -> dict[str, Any]:
    order = order_json(alternative.order)
    order["chance_after"] = round(alternative.chance_after, 4)
    order["minutes_after"] = round(alternative.minutes_after, 1)
    return order


def _before_json(before: Before) -> dict[str, Any]:
    return {
        "melt_g": before.melt_g,
        "seed_now_g": before.seed_now_g,
        "seed_reserve_g": before.seed_reserve_g,
        "size_mm": before.size_mm,
        "minutes": band_json(before.minutes, 1),
    }


def reply(line: int, estimate: Estimate, advice: Advice, *, with_before: bool = False) -> dict[str, Any]:
    """One answer: what is believed, the next order, the plan, the alerts.

    Parameters
    ----------
    line
        Number of the input line that is answered, from 1.
    estimate, advice
        Of the same moment.
    with_before
        Whether to add how much to melt and chop.
    """
    alerts = {alert.code: alert for alert in (*not_against(advice.next, estimate.alerts), *advice.alerts)}
    answer: dict[str, Any] = {
        "line": line,
        "at": estimate.at_s,
        **estimate_json(estimate),
        "minutes_to_temper": band_json(advice.minutes_to_temper, 1),
        "working_minutes_left": band_json(advice.working_minutes_left, 1),
        "next": order_json(advice.next) | {"instead": [_alternative_json(other) for other in advice.instead]},
        "plan": [order_json(order) for order in advice.plan],
        "alerts": [alert_json(alert) for alert in alerts.values()],
    }
    if with_before and advice.before is not None:
        answer["before"] = _before_json(advice.before)
    return answer


def error_reply(line: int, error: BloomlessError) -> dict[str, Any]:
    """The record of a refused line."""
    record: dict[str, Any] = {"code": error.code, "field": None, "value": None, "text": str(error)}
    if isinstance(error, ImpossibleInput):
        record |= {"field": error.field, "value": _plain(error.value), "accepted": error.accepted}
    return {"line": line, "error": record}


def _plain(value: object) -> object:
    """A value that JSON can carry, shortened where somebody sent a book."""
    if value is None or isinstance(value, bool | int | float):
        return value
    return str(value)[:200]
