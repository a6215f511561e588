"""The bench log: from a line of JSON to an event, with errors that name field, value and what would be right."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, get_args

from bloomless.bench.fields import COMMON_FIELDS, EVENT_KINDS, EventKind, Field, is_required
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation import events as ev
from bloomless.materials.chocolates import LABEL_ROUNDING, MOST_COLOUR_SHARE
from bloomless.quantities import C_from_F, F_from_C

__all__ = ["COLOUR", "KINDS_OF_CHOCOLATE", "SHARES", "ChocolateBook", "Line", "event_from", "line_from_text"]

_ALWAYS = {"what", *(field.name for field in COMMON_FIELDS)}
SHARES = ("fat", "cocoa_butter", "milk_fat", "liquid_oil")
COLOUR = "colour"
"""Share of colour in coloured cocoa butter."""
KINDS_OF_CHOCOLATE = get_args(ev.ChocolateKind)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the log, read: the event, its id if it has one, its time as written."""

    event: ev.Event
    id: str | None
    when: datetime | None
    """ISO 8601 time, if that was given."""


ChocolateBook = Callable[[str], ev.Composition]
"""Finds a chocolate of the book by name; raises ``UnknownName``."""


def no_chocolates(name: str) -> ev.Composition:
    """The empty book: knows the four kinds only."""
    raise UnknownName("chocolate", name, KINDS_OF_CHOCOLATE)


def line_from_text(
    text: str, *, session_start: datetime | None = None, chocolates: ChocolateBook = no_chocolates
) -> Line:
    """Read one line of JSON.

    Parameters
    ----------
    text
        The line.
    session_start
        ISO time of the start of the session, where the start carried one; needed for lines with ``when``.
    chocolates
        Finds a chocolate of the book by its name.

    Raises
    ------
    ImpossibleInput
        With the code ``broken_json``, ``unknown_field``, ``missing_field``, ``out_of_range``, ``wrong_type`` …; the
        field, the value and what is accepted stand on it.
    """
    try:
        raw = json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError):
        raise ImpossibleInput("line", text[:80], "one JSON object", code="broken_json") from None
    return event_from(raw, session_start=session_start, chocolates=chocolates)


def _refuse_constant(name: str) -> float:
    raise ValueError(name)


def event_from(
    raw: object, *, session_start: datetime | None = None, chocolates: ChocolateBook = no_chocolates
) -> Line:
    """Read one event from its JSON value; see ``line_from_text``."""
    if not isinstance(raw, dict):
        raise ImpossibleInput("line", raw, "one JSON object", code="broken_json")
    if "what" not in raw:
        raise ImpossibleInput("what", None, f"one of {', '.join(EVENT_KINDS)}", code="missing_field")
    what = raw["what"]
    if not isinstance(what, str) or what not in EVENT_KINDS:
        raise UnknownName("what", what, EVENT_KINDS)
    when = _when(raw)
    at_s = _at(raw, what, when, session_start)
    values = _values(raw, EVENT_KINDS[what], _ALWAYS, chocolates, at_s)
    identity = raw.get("id")
    if identity is not None and not (isinstance(identity, str) and 0 < len(identity) <= 200):
        raise ImpossibleInput("id", identity, "a text of at most 200 characters", code="wrong_type")
    return Line(_make(EVENT_KINDS[what], at_s, values), identity, when)


def _make(kind: EventKind, at_s: float, values: dict[str, Any]) -> ev.Event:
    if kind.makes is ev.Bath:
        values["what"] = kind.what
    if kind.makes is ev.Correct:
        values.setdefault("event", None)  # null was written, or it would be missing
    if kind.makes is ev.Smear:
        _check_smear(at_s, values)
    event: ev.Event = kind.makes(at_s=at_s, **values)
    return event


def _check_smear(at_s: float, values: dict[str, Any]) -> None:
    values.setdefault("taken_at_s", at_s)
    if values["taken_at_s"] > at_s:
        raise ImpossibleInput(
            "taken_at", values["taken_at_s"], f"at most {at_s:g}, the time it is told", code="out_of_range"
        )
    if values.get("set_after_s") is not None and values.get("not_set_after_s") is not None:
        raise ImpossibleInput(
            "not_set_after_s", values["not_set_after_s"], "only one of set_after_s and not_set_after_s"
        )


def _when(raw: Mapping[str, Any]) -> datetime | None:
    text = raw.get("when")
    if text is None:
        return None
    try:
        when = datetime.fromisoformat(text)
    except (TypeError, ValueError):
        raise ImpossibleInput("when", text, "a time as ISO 8601 with its zone", code="wrong_type") from None
    if when.tzinfo is None:
        raise ImpossibleInput("when", text, "a time with its zone, such as 2031-05-01T09:30:00+02:00")
    return when


def _at(raw: Mapping[str, Any], what: str, when: datetime | None, session_start: datetime | None) -> float:
    if raw.get("at") is not None:
        return _number(raw["at"], COMMON_FIELDS[0])
    if when is None:
        raise ImpossibleInput("at", None, "seconds since the start, or when as ISO 8601", code="missing_field")
    if what == "start":
        return 0.0
    if session_start is None:
        raise ImpossibleInput("when", raw["when"], "at, in seconds, because the start carried no when")
    return _number((when - session_start).total_seconds(), COMMON_FIELDS[0])


def _values(
    raw: Mapping[str, Any], kind: EventKind, besides: set[str], chocolates: ChocolateBook, at_s: float
) -> dict[str, Any]:
    names = _known_names(kind.fields)
    for name in raw:
        if name not in names and name not in besides:
            raise ImpossibleInput(
                name, raw[name], f"a field of {kind.what}: {', '.join(sorted(names | besides))}", code="unknown_field"
            )
    values = {}
    for field in kind.fields:
        value = _value(raw, field, chocolates, at_s)
        if value is not None:
            values[field.target] = value
        elif is_required(kind.makes, field) and not (field.kind == "event" and field.name in raw):
            raise ImpossibleInput(field.name, None, f"{_accepted(field)} ({field.meaning})", code="missing_field")
    return values


def _known_names(fields: tuple[Field, ...]) -> set[str]:
    names = {field.name for field in fields}
    return names | {_in_F(field.name) for field in fields if field.kind == "temperature"}


def _in_F(name: str) -> str:
    return name.removesuffix("_C") + "_F"


def _value(raw: Mapping[str, Any], field: Field, chocolates: ChocolateBook, at_s: float) -> Any:
    if field.kind == "temperature":
        return _temperature(raw, field)
    value = raw.get(field.name)
    if value is None:
        return None
    match field.kind:
        case "number":
            return _number(value, field)
        case "choice":
            return _choice(value, field)
        case "lumps":
            return {True: "some", False: "none"}[value] if isinstance(value, bool) else _choice(value, field)
        case "flag" if isinstance(value, bool):
            return value
        case "text" if isinstance(value, str | int) and not isinstance(value, bool) and 0 < len(str(value)) <= 200:
            return str(value)
        case "list" if isinstance(value, list):
            return tuple(dict.fromkeys(_choice(item, field) for item in value))
        case "object" if isinstance(value, dict):
            return _object(value, field, chocolates)
        case "chocolate":
            return _chocolate(value, chocolates)
        case "event" if isinstance(value, dict):
            return event_from({"at": at_s, **value}, chocolates=chocolates).event
    raise ImpossibleInput(field.name, value, _accepted(field), code="wrong_type")


def _object(value: Mapping[str, Any], field: Field, chocolates: ChocolateBook) -> Any:
    assert field.makes is not None
    kind = EventKind(field.name, field.makes, field.meaning, field.parts)
    return field.makes(**_values(value, kind, set(), chocolates, 0.0))


def _number(value: object, field: Field) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ImpossibleInput(field.name, value, _accepted(field), code="wrong_type")
    if not (-math.inf if field.low is None else field.low) <= value <= (math.inf if field.high is None else field.high):
        raise ImpossibleInput(field.name, value, _accepted(field), code="out_of_range")
    return float(value)


def _temperature(raw: Mapping[str, Any], field: Field) -> float | None:
    name_F = _in_F(field.name)
    in_C, in_F = raw.get(field.name), raw.get(name_F)
    if in_C is not None and in_F is not None:
        raise ImpossibleInput(name_F, in_F, f"only one of {field.name} and {name_F}")
    if in_F is None:
        return None if in_C is None else _number(in_C, field)
    assert field.low is not None
    assert field.high is not None
    in_F_field = Field(name_F, "number", field.meaning, F_from_C(field.low), F_from_C(field.high))
    return C_from_F(_number(in_F, in_F_field))


def _choice(value: object, field: Field) -> str:
    if not isinstance(value, str) or value not in field.choices:
        raise ImpossibleInput(field.name, value, f"one of {', '.join(field.choices)}", code="unknown_name")
    return value


def _chocolate(value: object, chocolates: ChocolateBook) -> ev.Composition:
    if isinstance(value, str):
        return ev.Composition(value) if value in KINDS_OF_CHOCOLATE else chocolates(value)  # type: ignore[arg-type]  # checked
    if not isinstance(value, dict):
        raise ImpossibleInput("chocolate", value, "a kind, a name of the book or an object", code="wrong_type")
    return _composition(value)


def _composition(raw: Mapping[str, Any]) -> ev.Composition:
    known = {"kind", *(f"{name}{unit}" for name in (*SHARES, COLOUR) for unit in ("", "_pct"))}
    for name in raw:
        if name not in known:
            raise ImpossibleInput(
                f"chocolate.{name}",
                raw[name],
                f"a field of chocolate: {', '.join(sorted(known))}",
                code="unknown_field",
            )
    shares = {name: _share(raw, name) for name in SHARES}
    fat, parts = shares["fat"], [shares[name] or 0.0 for name in SHARES[1:]]
    if fat is not None and sum(parts) > fat + LABEL_ROUNDING:
        raise ImpossibleInput(
            "chocolate.fat", fat, f"at least the sum of its parts, {sum(parts):g}", code="out_of_range"
        )
    colour = _share(raw, COLOUR, MOST_COLOUR_SHARE)
    usual = "milk" if shares["milk_fat"] else "dark"
    kind = raw.get("kind", usual if colour is None else "cocoa_butter")
    if kind not in KINDS_OF_CHOCOLATE:
        raise UnknownName("chocolate.kind", kind, KINDS_OF_CHOCOLATE)
    if colour is not None and (kind != "cocoa_butter" or fat is not None or sum(parts) > 0.0):
        wants = "only with cocoa butter, and no other share: what is not colour is cocoa butter"
        raise ImpossibleInput("chocolate.colour", colour, wants, code="out_of_range")
    return replace(ev.Composition(kind, *(shares[name] for name in SHARES)), colour_share=colour)


def _share(raw: Mapping[str, Any], name: str, most: float = 1.0) -> float | None:
    """A share 0…``most`` under ``name``, or a percentage under ``name_pct``."""
    share, percent = raw.get(name), raw.get(f"{name}_pct")
    if share is not None:
        return _number(share, Field(f"chocolate.{name}", "number", "share of the chocolate", 0.0, most))
    if percent is not None:
        return (
            _number(percent, Field(f"chocolate.{name}_pct", "number", "percent of the chocolate", 0.0, 100.0 * most))
            / 100.0
        )
    return None


def _accepted(field: Field) -> str:
    match field.kind:
        case "number" | "temperature":
            return "a number" if field.low is None else f"a number from {field.low:g} to {field.high:g}"
        case "choice" | "lumps":
            return f"one of {', '.join(field.choices)}" + (", true or false" if field.kind == "lumps" else "")
        case "list":
            return f"a list of {', '.join(field.choices)}"
        case "flag":
            return "true or false"
        case "text":
            return "a text of at most 200 characters"
        case "object":
            return f"an object with {', '.join(part.name for part in field.parts)}"
        case "chocolate":
            return f"one of {', '.join(KINDS_OF_CHOCOLATE)}, a chocolate of the book, or an object"
        case "event":
            return "an event, or null if nothing happened"
