"""Forms: what was typed is kept, and every field that cannot be says so beside it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from starlette.requests import Request

from bloomless.errors import ImpossibleInput
from bloomless.quantities import C_from_F, F_from_C, g_from_oz, number_from_text, oz_from_g
from bloomless.web.view import View

__all__ = ["Form"]


@dataclass
class Form:
    """The fields of one posted form; the reading methods note an error at the field and give ``None``."""

    values: Mapping[str, str] = field(default_factory=dict)
    errors: dict[str, str] = field(default_factory=dict)
    view: View = field(default_factory=View)
    gettext: Any = str

    @classmethod
    async def posted(cls, request: Request) -> Form:
        """The form in a request."""
        data = await request.form()
        values = {key: value for key, value in data.items() if isinstance(value, str)}
        return cls(values, {}, request.state.view, request.state.gettext)

    @property
    def ok(self) -> bool:
        """Whether every field read so far could be."""
        return not self.errors

    def fail(self, name: str, text: str) -> None:
        """Note an error at a field; the first one stays."""
        self.errors.setdefault(name, text)

    def text(self, name: str, *, required: bool = True, longest: int = 200) -> str | None:
        """A text without its outer spaces."""
        value = self.values.get(name, "").strip()
        if len(value) > longest:
            self.fail(name, self.gettext("At most %(n)s characters.") % {"n": longest})
        elif not value and required:
            self.fail(name, self.gettext("Please fill this in."))
        else:
            return value or None
        return None

    def choice(self, name: str, among: Iterable[str], *, required: bool = True) -> str | None:
        """One of a few."""
        value = self.values.get(name, "")
        if value in set(among):
            return value
        if value or required:
            self.fail(name, self.gettext("Please choose one."))
        return None

    def number(
        self, name: str, *, at_least: float = -math.inf, at_most: float = math.inf, required: bool = True
    ) -> float | None:
        """A typed number; comma or point."""
        typed = self.values.get(name, "").strip()
        if not typed and not required:
            return None
        try:
            return number_from_text(typed, field=name, at_least=at_least, at_most=at_most)
        except ImpossibleInput:
            low, high = (self.view.number(end, _digits(end)) for end in (at_least, at_most))
            finite = math.isfinite(at_least) and math.isfinite(at_most)
            said = self.gettext("A number from %(low)s to %(high)s.") if finite else self.gettext("A number, please.")
            self.fail(name, said % {"low": low, "high": high} if finite else said)
            return None

    def temperature_C(self, name: str, *, at_least: float, at_most: float, required: bool = True) -> float | None:
        """A temperature typed in the unit of the view, in °C; the range is in °C."""
        if self.view.temperature == "C":
            return self.number(name, at_least=at_least, at_most=at_most, required=required)
        typed = self.number(name, at_least=F_from_C(at_least), at_most=F_from_C(at_most), required=required)
        return None if typed is None else C_from_F(typed)

    def mass_g(self, name: str, *, at_least: float, at_most: float, required: bool = True) -> float | None:
        """A mass typed in the unit of the view, in g; the range is in g."""
        if self.view.mass == "g":
            return self.number(name, at_least=at_least, at_most=at_most, required=required)
        typed = self.number(name, at_least=oz_from_g(at_least), at_most=oz_from_g(at_most), required=required)
        return None if typed is None else g_from_oz(typed)


def _digits(value: float) -> int:
    """Decimals that a limit needs to be said as it is, three at most."""
    return next((n for n in range(3) if round(value, n) == round(value, 3)), 3) if math.isfinite(value) else 0
