"""How the first of its kind is made by command: said where a name is asked for and there is none yet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from bloomless.errors import BloomlessError, UnknownName

__all__ = ["in_words"]

FIRSTS: Final[Mapping[str, str]] = {
    "recipe": "Take the first from a file with bloomless recipe draft, write it on the screens of bloomless serve, or "
    "look around in the example of bloomless recipe demo.",
    "batch": "Begin the first with bloomless recipe batch.",
    "lot": "Write down what came with bloomless recipe receive.",
    "label": "Judge and keep the first with bloomless label check.",
    "label_print": "Print the first with bloomless label print.",
    "label_confirmation": "Confirm its allergens with bloomless label confirm.",
    "probe": "Save the first with bloomless probe add.",
    "check": "Record the first with bloomless probe calibrate.",
}
"""By what an ``UnknownName`` calls its field."""


def in_words(error: BloomlessError) -> str:
    """The sentence of an error, with how to make the first where there was nothing to choose from."""
    if isinstance(error, UnknownName) and not error.known and error.field in FIRSTS:
        return f"{error} {FIRSTS[error.field]}"
    return str(error)
