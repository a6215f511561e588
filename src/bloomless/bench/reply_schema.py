"""The published JSON Schema of what a bench answers: a reply, a refusal, and their parts."""

from __future__ import annotations

from typing import Any, Final, get_args

from bloomless.advice.orders import Do
from bloomless.estimation import events as ev
from bloomless.estimation.answers import Severity

__all__ = ["advice_schema", "reply_definitions"]

Schema = dict[str, Any]


def _ref(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _or_null(schema: Schema, meaning: str) -> Schema:
    return {"anyOf": [schema, {"type": "null"}], "description": meaning}


def _number(meaning: str) -> Schema:
    return {"type": "number", "description": meaning}


def _unknown_number(meaning: str) -> Schema:
    return {"type": ["number", "null"], "description": meaning}


def _text(meaning: str) -> Schema:
    return {"type": "string", "description": meaning}


def _one_of(alias: Any, meaning: str) -> Schema:
    return {"enum": list(get_args(alias)), "description": meaning}


def _list_of(name: str, meaning: str) -> Schema:
    return {"type": "array", "items": _ref(name), "description": meaning}


def _object(meaning: str, properties: Schema, *, optional: tuple[str, ...] = ()) -> Schema:
    """An object that has these properties and no others; all are there but the optional ones."""
    return {
        "type": "object",
        "description": meaning,
        "properties": properties,
        "required": [name for name in properties if name not in optional],
        "additionalProperties": False,
    }


_ID: Final = _text("name of this one order: it is carried out once")
_DO: Final = _one_of(Do, "what to do")
_OF_ONE_KIND: Final[Schema] = {
    "mass_g": _number("how much goes in, g"),
    "size_mm": _number("size of the pieces, mm"),
    "form": _one_of(ev.SeedForm, "of the seed, where it is not tempered pieces of the same chocolate"),
    "temperature_C": _number("of what goes in, °C"),
    "bath_C": _number("temperature of the water, °C"),
    "seconds": _number("how long, s"),
    "watts": _number("power of the appliance, W"),
    "share": _number("part of the bowl on the stone, 0 to 1"),
    "vigour": _one_of(ev.Vigour, "how to stir"),
    "surface": _one_of(ev.Surface, "what to smear on"),
    "method": _text("how to check the thermometer"),
    "to_C": _number("what the thermometer shall show, °C"),
    "by": _text("by what means"),
    "vessel": _text("into which bowl"),
}
"""Fields that only some kinds of order have."""
_ORDER: Final[Schema] = {
    "id": _ID,
    "do": _DO,
    **_OF_ONE_KIND,
    "then_wait_s": _number("stir and wait so long after it before anything else is asked, s"),
    "chance_after": _unknown_number("chance of being in temper when the plan says use it, 0 to 1"),
    "minutes_after": _unknown_number("expected minutes until then"),
    "why": _text("the reason, in one sentence"),
}
_SOMETIMES: Final = ("id", *_OF_ONE_KIND)
_ORDER_NAME: Final = _object("the order an alert speaks of, as it was given", {"id": _ID, "do": _DO})
_ALERT: Final[Schema] = {
    "code": _text("what programs read"),
    "severity": _one_of(
        Severity, "say: worth knowing; check: look at this first; stop: someone or the batch is in danger"
    ),
    "text": _text("what people read"),
    "do": _text("what to do about it"),
    "order": _ORDER_NAME | {"description": "the order it speaks of: with was_it_done the one nothing was told of"},
}
_BELIEVED: Final[Schema] = {
    "chance_in_temper": _unknown_number("probability of being in temper, 0 to 1; never clipped"),
    "temperature_C": _or_null(_ref("band"), "the mixed bowl, °C"),
    "form_v_pct_of_fat": _or_null(_ref("band"), "form V with VI outside pieces, % of all fat"),
    "unstable_pct_of_fat": _or_null(_ref("band"), "unstable forms, % of all fat"),
    "seed_left_g": _or_null(_ref("band"), "pieces larger than 0.5 mm, g"),
    "batch_g": _or_null(_ref("band"), "what is in the bowl, g"),
}
_MINUTES: Final[Schema] = {
    "minutes_to_temper": _or_null(_ref("band"), "if the next order is obeyed, min"),
    "working_minutes_left": _or_null(_ref("band"), "until it first fails to be in temper if only stirred, min"),
}
_PLAN: Final = _list_of("order", "the steps after the next, without names")
_ALERTS: Final = _list_of("alert", "what the cook should know, each code once")


def reply_definitions() -> dict[str, Schema]:
    """``$defs`` of ``reply``, ``refusal`` and what they are made of; unknown quantities are ``null``."""
    instead = _list_of("order", "the two next best, without names")
    percentiles = {name: _number(f"{name[1:].lstrip('0')} % point") for name in ("p05", "p50", "p95")}
    refused = {
        "code": _text("what programs read"),
        "field": {"type": ["string", "null"], "description": "which field"},
        "value": {"description": "what stood there"},
        "text": _text("what people read"),
        "accepted": _text("what would be right"),
    }
    line = {"type": "integer", "minimum": 1, "description": "number of the input line that is answered"}
    reply = {
        "line": line,
        "at": _number("seconds since the start of the session"),
        **_BELIEVED,
        **_MINUTES,
        "next": _object("the next order", {**_ORDER, "instead": instead}, optional=_SOMETIMES),
        "plan": _PLAN,
        "alerts": _ALERTS,
        "before": _ref("before"),
    }
    return {
        "reply": _object("answer to a reading, look, smear or ask", reply, optional=("before",)),
        "refusal": _object(
            "answer to a line that was not taken",
            {"line": line, "error": _object("why", refused, optional=("accepted",))},
        ),
        "order": _object("one thing to do", _ORDER, optional=_SOMETIMES),
        "alert": _object("something the cook should know", _ALERT, optional=("order",)),
        "band": _object("what is believed of a quantity", percentiles),
        "before": _object(
            "what to melt and chop before the start",
            {
                "melt_g": _number("melt, g"),
                "seed_now_g": _number("seed that goes in, g"),
                "seed_reserve_g": _number("seed to keep beside it, g"),
                "size_mm": _number("size of the pieces, mm"),
                "minutes": _or_null(_ref("band"), "until it is in temper, min"),
            },
        ),
    }


def advice_schema() -> Schema:
    """What REST answers of the advice: a reply's part of it, with the number of the event it was made after."""
    return _object(
        "the next order, what would follow, and what else could be done",
        {
            "number": {"type": "integer", "description": "number of the newest event it knows"},
            "at": _number("seconds since the start of the session"),
            "next": _ref("order"),
            "instead": _list_of("order", "the two next best, without names"),
            "plan": _PLAN,
            "before": _or_null(_ref("before"), "before anything was done"),
            "alerts": _ALERTS,
            **_MINUTES,
        },
    )
