"""How one device shows things: language, °C or °F, g or oz, contrast; and numbers written that way."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import datetime
from typing import Any, Final, Literal
from urllib.parse import parse_qs, urlencode

from babel.dates import format_date, format_time
from babel.numbers import format_decimal
from starlette.requests import Request

from bloomless.quantities import F_from_C, oz_from_g, two_figures
from bloomless.web.words import LANGUAGES, chosen_language, words_version

__all__ = ["COOKIE", "View", "view_of"]

COOKIE: Final = "view"
_CHOICES: Final = {
    "language": LANGUAGES,
    "temperature": ("C", "F"),
    "mass": ("g", "oz"),
    "contrast": ("auto", "day", "night", "bright"),
}


@dataclass(frozen=True, slots=True)
class View:
    """What a device was told to show."""

    language: str = "en"
    temperature: Literal["C", "F"] = "C"
    mass: Literal["g", "oz"] = "g"
    contrast: Literal["auto", "day", "night", "bright"] = "auto"

    def with_(self, wishes: dict[str, str]) -> View:
        """The view with those wishes that can be; others are passed over."""
        known = {name: wishes[name] for name, allowed in _CHOICES.items() if wishes.get(name) in allowed}
        changed: dict[str, Any] = dict(known)
        return replace(self, **changed)

    def cookie(self) -> str:
        """The view as the text of a cookie."""
        return urlencode({field.name: getattr(self, field.name) for field in fields(self)})

    def number(self, value: float | None, digits: int = 1) -> str:
        """A number with so many decimals, in the language's way; a dash for unknown."""
        if value is None:
            return "–"
        pattern = "#,##0" + ("." + "0" * digits if digits else "")
        return str(format_decimal(value, format=pattern, locale=self.language)).replace("-", "\u2212")

    def roughly(self, value: float | None) -> str:
        """A whole number of two figures that count, for what is known to a factor."""
        return self.number(None if value is None else two_figures(value), 0)

    def degrees(self, temperature_C: float | None, digits: int = 1) -> str:
        """A temperature [°C] in the unit of the view, without the unit."""
        if temperature_C is None:
            return "–"
        return self.number(F_from_C(temperature_C) if self.temperature == "F" else temperature_C, digits)

    def temperature_text(self, temperature_C: float | None, digits: int = 1) -> str:
        """A temperature [°C] with its unit."""
        return f"{self.degrees(temperature_C, digits)}\u00a0°{self.temperature}"

    def mass_text(self, mass_g: float | None, digits: int | None = None) -> str:
        """A mass [g] with its unit, as exact as a kitchen scale, or in grams with so many digits."""
        if mass_g is None:
            return "–"
        if self.mass == "oz":
            ounces = oz_from_g(mass_g)
            return f"{self.number(ounces, 1 if ounces >= 2 else 2)}\u00a0oz"
        return f"{self.number(mass_g, (0 if mass_g >= 20 else 1) if digits is None else digits)}\u00a0g"

    def percent(self, share: float | None, digits: int = 0) -> str:
        """A share (0…1) in percent."""
        return "–" if share is None else f"{self.number(share * 100, digits)}\u00a0%"

    def day(self, moment: datetime) -> str:
        """The day of a moment, in the machine's time zone."""
        return format_date(moment.astimezone(), "medium", locale=self.language)

    def clock(self, moment: datetime) -> str:
        """The time of day of a moment, 24 h, in the machine's time zone."""
        return format_time(moment.astimezone(), "HH:mm", locale=self.language)

    def for_scripts(self) -> dict[str, str]:
        """What the ES modules need to know."""
        return {
            "language": self.language,
            "temperature": self.temperature,
            "mass": self.mass,
            "version": words_version(self.language),
        }


def view_of(request: Request, house_wishes: dict[str, str]) -> View:
    """View of the device that asks: its own cookie, then the house's settings, then the browser's language."""
    own = {key: values[-1] for key, values in parse_qs(request.cookies.get(COOKIE, "")).items()}
    language = own.get("language") or house_wishes.get("language")
    view = View().with_(house_wishes).with_(own)
    return replace(view, language=chosen_language(language, request.headers.get("accept-language", "")))
