"""JSON as text and names as keys, checked before they reach the database."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from bloomless.errors import ImpossibleInput
from bloomless.storage.tables import NAME_LENGTH

__all__ = ["checked_moment", "checked_name", "json_text"]


def json_text(document: Mapping[str, Any], field: str) -> str:
    """Document as JSON text; refuses what JSON cannot carry (NaN, infinity, dates, broken Unicode)."""
    try:
        text = json.dumps(document, ensure_ascii=False, allow_nan=False)
        text.encode()
    except (TypeError, ValueError) as error:
        raise ImpossibleInput(field, str(error), "what JSON can carry", code="not_json") from None
    return text


def checked_name(field: str, name: str) -> str:
    """Name if it can be a key: 1 to 200 characters, none of them a control character."""
    usable = 0 < len(name) <= NAME_LENGTH and name.isprintable()
    try:
        name.encode()
    except UnicodeEncodeError:
        usable = False
    if not usable:
        raise ImpossibleInput(field, name, f"1 to {NAME_LENGTH} printable characters", code="not_a_name")
    return name


def checked_moment(field: str, moment: datetime) -> datetime:
    """Moment if it knows its time zone."""
    if moment.tzinfo is None:
        raise ImpossibleInput(field, moment.isoformat(), "a time with its zone")
    return moment
