"""Sentences of the centre, which come in English with numbers in them, said in the language and units of a device."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from bloomless.quantities import F_from_C
from bloomless.web.view import View
from bloomless.web.words import translations

__all__ = ["NUMBER", "SENTENCE", "say", "say_template"]

NUMBER: Final = re.compile(r"“[^”]*”|(?<![\w.])[-−]?\d+(?:[.,]\d+)?")
"""What stands as ``{}`` in the catalogue: a number, or a name in quotation marks, which is said as it is."""
_PLACE: Final = re.compile(r"\{\}( ?°C/min| ?°C| ?K\b| ?g\b)?")
SENTENCE: Final = re.compile(r"(?<=[.!?]) (?=[A-Z“])")
"""Between two sentences."""
_F_PER_K: Final = 1.8


def say(text: str, view: View) -> str:
    """A sentence as the catalogue says it, its numbers put back in; the twin of ``say`` in ``words.js``.

    Numbers before °C, °C/min, K and g come out in the units of the view. Several sentences the catalogue does not know
    together are said one by one; what it does not know at all comes out in English, with its numbers in those units.
    """
    known = translations(view.language).gettext
    pattern = say_template(text)
    if known(pattern) == pattern and known(text) == text and len(parts := SENTENCE.split(text)) > 1:
        return " ".join(say(part, view) for part in parts)
    if not text:
        return ""  # the catalogue keeps its head under the empty text
    found = iter(NUMBER.findall(text))
    template = known(pattern) if known(pattern) != pattern or known(text) == text else known(text)
    return _PLACE.sub(lambda place: _with_unit(next(found, ""), place.group(1) or "", view), template)


def say_template(text: str) -> str:
    """A sentence as it stands in the catalogue: ``{}`` for each number and name."""
    return NUMBER.sub("{}", text)


def _with_unit(raw: str, unit: str, view: View) -> str:
    if raw.startswith("“"):
        named = translations(view.language).gettext(raw[1:-1])
        return (f"„{named}“" if view.language == "de" else raw) + unit
    if raw.startswith("0") and raw.isdigit() and raw != "0":
        return raw + unit  # minutes after an hour
    try:
        value = float(raw.replace("−", "-").replace(",", "."))
    except ValueError:
        return raw + unit
    digits = len(raw.partition(".")[2] or raw.partition(",")[2])
    scale = _F_PER_K if view.temperature == "F" else 1.0
    shown: dict[str, Callable[[], str]] = {
        "°C": lambda: f"{view.number(F_from_C(value) if scale > 1 else value, digits)}\u00a0°{view.temperature}",
        "°C/min": lambda: f"{view.number(value * scale, max(1, digits))}\u00a0°{view.temperature}/min",
        "K": lambda: f"{view.number(value * scale, digits)}\u00a0°{view.temperature}",
        "g": lambda: view.mass_text(value, digits),
    }
    return shown.get(unit.strip(), lambda: f"{view.number(value, digits)}{unit}")()
