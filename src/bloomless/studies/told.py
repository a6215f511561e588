"""Faults as they were told: how many, how soon, and how often there was nothing to tell."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any, Final

import numpy as np

from bloomless.kitchens import FAULTS, Hands
from bloomless.sources import read_csv
from bloomless.studies.intervals import wilson

__all__ = ["curing", "faults_told", "first_told", "naming", "raised"]

Record = Mapping[str, Any]
LATEST_s: Final = 60.0
"""A fault that ends by itself counts as told up to so long after its end: the next readings show it."""

BY_NATURE: Final[dict[str, Callable[[Record], bool]]] = {
    "probe_off": lambda record: abs(record["probe_offset_K"]) >= 1.0,
    "room_warmer": lambda record: bool(record["room_error_K"] >= 2.0),
}
"""Kitchens as they come have thermometers that are off by more than a degree and rooms much warmer than said: to tell
of it is right there."""


@cache
def _codes(column: str) -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {fault: set() for fault in FAULTS}
    for row in read_csv("bloomless.studies", "fault_codes.csv"):
        if row[column] == "yes":
            found[row["fault"]].add(row["code"])
    return {fault: frozenset(codes) for fault, codes in found.items()}


def naming(fault: str) -> frozenset[str]:
    """Codes of the alerts that say what is wrong, or ask for what puts it right."""
    return _codes("names")[fault]


def curing(fault: str) -> frozenset[str]:
    """Codes of the alerts on which a cook finds the fault and puts it right."""
    return _codes("cures")[fault]


def raised(replies: Sequence[tuple[float, Mapping[str, Any]]]) -> list[tuple[float, str]]:
    """Each raising of an alert as (time [s], code): it stands in this reply and did not in the one before."""
    found: list[tuple[float, str]] = []
    before: set[str] = set()
    for at_s, reply in replies:
        codes = {alert["code"] for alert in reply.get("alerts") or ()}
        found += [(at_s, code) for code in sorted(codes - before)]
        before = codes
    return found


def first_told(hands: Hands, alerts: Sequence[tuple[float, str]]) -> dict[str, Any] | None:
    """When the kitchen's fault happened and when it was first told by name; ``None`` where none happened.

    Returns
    -------
    A JSON object: ``at_s`` (the fault), ``code``, ``after_s`` and ``readings`` (those taken since, that of the alert
    included), ``None`` where it was not told; ``instead``: the first alert that names another fault, if none was right.
    """
    fault, span = hands.world.kitchen.fault, hands.fault_s()
    if fault is None or span is None:
        return None
    codes, (from_s, until_s) = naming(fault.kind), span
    then = [(t, c) for t, c in alerts if from_s <= t <= until_s + LATEST_s]
    hit = next(((t, c) for t, c in then if c in codes), None)
    told: dict[str, Any] = {"at_s": round(from_s, 1), "code": None, "after_s": None, "readings": None, "instead": None}
    if hit is None:
        every = frozenset().union(*map(naming, FAULTS))
        told["instead"] = next((c for _, c in then if c in every), None)
    if hit is not None:
        readings = sum(line["what"] == "reading" and from_s <= line["at"] <= hit[0] for line in hands.log)
        told |= {"code": hit[1], "after_s": round(hit[0] - from_s, 1), "readings": readings}
    return told


def _right(record: Record, told: Record | None) -> dict[str, float]:
    """Codes that are right about this kitchen, with the time from which they are."""
    right = {code: 0.0 for fault, holds in BY_NATURE.items() if holds(record) for code in naming(fault)}
    if record["fault"] is not None and told is not None:
        right |= dict.fromkeys(naming(record["fault"]), float(told["at_s"]))
    return right


def _false(record: Record, codes: frozenset[str]) -> int:
    """Raisings of these codes that nothing in this kitchen answers for."""
    cook = record["cooks"]["advised"]
    right = _right(record, cook["fault"])
    return sum(code in codes and at_s < right.get(code, math.inf) for at_s, code in cook["alerts"])


def faults_told(records: Sequence[Record]) -> dict[str, Any]:
    """For each fault: share told, how soon, false alarms an hour.

    False alarms are the raisings of the codes that name a fault in kitchens of these records that have another fault
    or none, over the bowl time of those kitchens; a raising that is right about that kitchen is not counted.
    """
    records = [record for record in records if "advised" in record["cooks"]]
    if not records:
        return {}
    table: dict[str, Any] = {}
    for fault in FAULTS:
        mine = [record["cooks"]["advised"]["fault"] for record in records if record["fault"] == fault]
        happened = [told for told in mine if told is not None]
        others = [record for record in records if record["fault"] != fault]
        hours = sum(record["cooks"]["advised"]["watched_s"] for record in others) / 3600.0
        alarms = sum(_false(record, naming(fault)) for record in others)
        hits = [told for told in happened if told["after_s"] is not None]
        table[fault] = {
            "happened": len(happened),
            "told": wilson(len(hits), len(happened)) if happened else None,
            "told_as_another": sum(told["instead"] is not None for told in happened),
            "minutes_median": _quantile(hits, "after_s", 50, 60.0),
            "minutes_p90": _quantile(hits, "after_s", 90, 60.0),
            "readings_median": _quantile(hits, "readings", 50),
            "readings_p90": _quantile(hits, "readings", 90),
            "false_alarms": alarms,
            "hours_without_it": round(hours, 2),
            "false_alarms_an_hour": round(alarms / hours, 3) if hours else None,
        }
    return table


def _quantile(hits: Sequence[Record], name: str, per_cent: float, unit: float = 1.0) -> float | None:
    if not hits:
        return None
    return round(float(np.percentile([hit[name] for hit in hits], per_cent)) / unit, 2)
