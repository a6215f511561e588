"""What a bowl brings into a casting: its temperature, its crystals with their bands, its chocolate, its room."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from bloomless.bench.contract import event_from
from bloomless.errors import Misuse
from bloomless.estimation import events as ev
from bloomless.estimation.begin import chocolate_of
from bloomless.materials.chocolates import chocolate

__all__ = ["casting_of_bowl"]


def casting_of_bowl(told: Sequence[Mapping[str, Any]], believed: Mapping[str, Any]) -> dict[str, Any]:
    """The part of a casting's document that the bowl knows; mould and cooling space are left to the cook.

    Parameters
    ----------
    told
        What was told of the bowl, the start first: ``id`` and ``event``, an event of the bench log, of each.
    believed
        Of the moment: ``temperature_C``, ``form_v_pct_of_fat``, ``unstable_pct_of_fat``, each a band with ``p05``,
        ``p50``, ``p95``, or ``None`` where nothing is believed.

    Returns
    -------
    dict
        Fields of ``mould_inputs.casting_from``: the temperature is the middle of its band, crystals keep theirs.
        Humidity only if the start told it.

    Raises
    ------
    Misuse
        If what was told does not begin with a start.
    """
    said = _start_told(told)
    start = event_from({"at": 0.0, **said}).event
    assert isinstance(start, ev.Start)
    document: dict[str, Any] = {"chocolate": _chocolate(start.chocolate), "room_C": start.room_C}
    if said.get("room_rh_pct") is not None:
        document["room_rh_pct"] = start.room_rh_pct
    if believed.get("temperature_C") is not None:
        document["temperature_C"] = believed["temperature_C"]["p50"]
    for name in ("form_v_pct_of_fat", "unstable_pct_of_fat"):
        if believed.get(name) is not None:
            document[name] = dict(believed[name])
    return document


def _start_told(told: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
    """The start as it is known now: told first, perhaps corrected."""
    if not told or told[0]["event"].get("what") != "start":
        raise Misuse("A casting takes its chocolate from a bowl that was started.", code="not_started")
    said: Mapping[str, Any] = told[0]["event"]
    for one in told[1:]:
        event = one["event"]
        if event.get("what") == "correct" and event.get("of") == told[0]["id"] and event.get("event"):
            said = event["event"]
    return said


def _chocolate(of: ev.Composition) -> str | dict[str, Any]:
    """The kind alone, where its fats are the usual ones."""
    made = chocolate_of(of)
    if made == chocolate(of.kind):
        return of.kind
    return {
        "kind": of.kind,
        "cocoa_butter_share": round(made.cocoa_butter_share, 4),
        "milk_fat_share": round(made.milk_fat_share, 4),
        "liquid_oil_share": round(made.liquid_oil_share, 4),
    }
