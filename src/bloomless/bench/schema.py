"""The published JSON Schema of the bench log, made from the table of fields; what is answered stands beside it."""

from __future__ import annotations

from dataclasses import MISSING
from typing import Any, Final

from bloomless.bench.contract import COLOUR, KINDS_OF_CHOCOLATE, SHARES
from bloomless.bench.fields import COMMON_FIELDS, EVENT_KINDS, EventKind, Field, default_of, is_required
from bloomless.bench.reply_schema import reply_definitions
from bloomless.materials.chocolates import MOST_COLOUR_SHARE
from bloomless.quantities import F_from_C

__all__ = ["SCHEMA_VERSION", "bench_log_schema", "defaults_table", "event_definitions"]

SCHEMA_VERSION: Final = "1.1"


def event_definitions() -> dict[str, Any]:
    """``$defs`` of every kind of event, by its name."""
    return {what: _event_schema(kind) for what, kind in EVENT_KINDS.items()}


def bench_log_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of one line of the bench log; ``$defs`` has the lines of answers as well."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "One event of a bench session",
        "description": (
            "A bench log is JSON Lines: one such object a line, UTF-8, in the order it was told. "
            "What a bench answers is a line of $defs/reply, or of $defs/refusal."
        ),
        "version": SCHEMA_VERSION,
        "oneOf": [{"$ref": f"#/$defs/{what}"} for what in EVENT_KINDS],
        "$defs": event_definitions() | reply_definitions(),
    }


def _event_schema(kind: EventKind) -> dict[str, Any]:
    fields: tuple[Field, ...] = (*COMMON_FIELDS, *kind.fields)
    properties: dict[str, Any] = {"what": {"const": kind.what}}
    for field in fields:
        properties |= _properties(kind.makes, field)
    needed: list[dict[str, Any]] = [{"anyOf": [{"required": ["at"]}, {"required": ["when"]}]}]
    needed += [_needs(field) for field in kind.fields if is_required(kind.makes, field)]
    return {
        "type": "object",
        "description": kind.meaning,
        "properties": properties,
        "required": ["what"],
        "allOf": needed,
        "additionalProperties": False,
    }


def _needs(field: Field) -> dict[str, Any]:
    if field.kind == "temperature":
        return {"anyOf": [{"required": [field.name]}, {"required": [field.name.removesuffix("_C") + "_F"]}]}
    return {"required": [field.name]}


def _properties(makes: type, field: Field) -> dict[str, Any]:
    schema = _type_of(field) | {"description": field.meaning}
    default = MISSING if field in COMMON_FIELDS else default_of(makes, field)
    if default is not MISSING and default is not None and not field.parts:
        schema["default"] = list(default) if isinstance(default, tuple) else default
    if field.kind != "temperature":
        return {field.name: schema}
    in_F = dict(schema)
    for bound in ("minimum", "maximum", "default"):
        if bound in in_F:
            in_F[bound] = round(F_from_C(in_F[bound]), 6)
    return {field.name: schema, field.name.removesuffix("_C") + "_F": in_F}


def _type_of(field: Field) -> dict[str, Any]:
    match field.kind:
        case "number" | "temperature":
            bounds = {"minimum": field.low, "maximum": field.high}
            return {"type": ["number", "null"]} | {name: bound for name, bound in bounds.items() if bound is not None}
        case "choice":
            return {"enum": [*field.choices, None]}
        case "lumps":
            return {"enum": [*field.choices, True, False, None]}
        case "flag":
            return {"type": ["boolean", "null"]}
        case "text":
            return {"type": ["string", "integer", "null"], "minLength": 1, "maxLength": 200}
        case "list":
            return {"type": ["array", "null"], "items": {"enum": list(field.choices)}}
        case "object":
            assert field.makes is not None
            parts: dict[str, Any] = {}
            for part in field.parts:
                parts |= _properties(field.makes, part)
            return {"type": ["object", "null"], "properties": parts, "additionalProperties": False}
        case "chocolate":
            return {"anyOf": [{"type": "string"}, _composition_schema()]}
        case "event":
            return {"anyOf": [{"type": "null"}, {"type": "object", "required": ["what"]}]}


def _composition_schema() -> dict[str, Any]:
    shares = {name: {"type": ["number", "null"], "minimum": 0, "maximum": 1} for name in SHARES}
    percents = {f"{name}_pct": {"type": ["number", "null"], "minimum": 0, "maximum": 100} for name in SHARES}
    shares[COLOUR] = {"type": ["number", "null"], "minimum": 0, "maximum": MOST_COLOUR_SHARE}
    percents[f"{COLOUR}_pct"] = {"type": ["number", "null"], "minimum": 0, "maximum": 100.0 * MOST_COLOUR_SHARE}
    kind = {"kind": {"enum": list(KINDS_OF_CHOCOLATE)}}
    return {"type": "object", "properties": kind | shares | percents, "additionalProperties": False}


def defaults_table() -> list[tuple[str, str, str, str]]:
    """Every field with its default: (event, field, default, meaning), objects opened up."""
    rows: list[tuple[str, str, str, str]] = []
    for kind in EVENT_KINDS.values():
        for field in kind.fields:
            _add_rows(rows, kind.what, kind.makes, field, "")
    return rows


def _add_rows(rows: list[tuple[str, str, str, str]], what: str, makes: type, field: Field, prefix: str) -> None:
    if field.parts and field.makes is not None:
        for part in field.parts:
            _add_rows(rows, what, field.makes, part, f"{prefix}{field.name}.")
        return
    default = "required" if is_required(makes, field) else default_of(makes, field)
    if field.name == "taken_at":
        default = "at"
    text = ", ".join(default) if isinstance(default, tuple) else "–" if default is None else str(default)
    rows.append((what, prefix + field.name, text, field.meaning))
