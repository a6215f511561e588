"""The tree of named errors.

::

    BloomlessError
    ├── ImpossibleInput (ValueError)      a value that cannot be: says field, value and the accepted range
    │   └── UnknownName (KeyError)        a name nobody knows: says the nearest known ones
    ├── OutsideValidity (ValueError)      a formula asked outside the range its source covers
    ├── Misuse (RuntimeError)             a call in an order that makes no sense: an action before ``start``
    ├── NumericalFailure (ArithmeticError)  a solver that did not converge
    ├── DeviceFailure (OSError)           a thermometer, printer or scale that does not answer
    └── StorageFailure (OSError)          a book that cannot be read or written

Every error carries a stable ``code`` for programs and a sentence for people that says what was wrong, where, and what
would be right. Findings of rules (law, recipe balance, alerts at the bowl) are not errors: they are returned.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

__all__ = [
    "BloomlessError",
    "DeviceFailure",
    "ImpossibleInput",
    "Misuse",
    "NumericalFailure",
    "OutsideValidity",
    "StorageFailure",
    "UnknownName",
]


class BloomlessError(Exception):
    """Base of every error this package raises on purpose.

    Parameters
    ----------
    text
        One or two sentences for a person: what was wrong, where, and what would be right.
    code
        Stable short name for programs, ``lower_case``; defaults to the one of the class.
    """

    code: str = "error"

    def __init__(self, text: str, *, code: str | None = None) -> None:
        super().__init__(text)
        self.text = text
        if code is not None:
            self.code = code

    def __str__(self) -> str:
        return self.text


class ImpossibleInput(BloomlessError, ValueError):
    """A value from outside that cannot be, with the field it stood in and what would be accepted."""

    code = "impossible_input"

    def __init__(self, field: str, value: object, accepted: str, *, code: str | None = None) -> None:
        super().__init__(f"{field}: {value!r} is not accepted; give {accepted}.", code=code)
        self.field = field
        self.value = value
        self.accepted = accepted


_MOST_NAMED = 24
"""So many known names are said at most, where none is near."""


class UnknownName(ImpossibleInput, KeyError):
    """A name that is not in a list, with the nearest ones that are; where the list is empty, it says that."""

    code = "unknown_name"

    def __init__(self, field: str, value: object, known: Iterable[str]) -> None:
        names = sorted(known)
        near = get_close_matches(str(value), names, n=3) or names[:_MOST_NAMED]
        more = " …" if len(names) > len(near) == _MOST_NAMED else ""
        thing = field.replace("_", " ")
        accepted = f"one of {', '.join(near)}{more}" if names else f"a {thing} that is there; there is none yet"
        super().__init__(field, value, accepted)
        self.known = tuple(names)
        if not names:
            self.text = f"There is no {thing} yet, so “{value}” cannot be found."
            self.args = (self.text,)


class OutsideValidity(BloomlessError, ValueError):
    """A formula asked outside the range that its source covers."""

    code = "outside_validity"


class Misuse(BloomlessError, RuntimeError):
    """A call in an order that makes no sense, such as an action before the bowl was started."""

    code = "misuse"


class NumericalFailure(BloomlessError, ArithmeticError):
    """A solver that did not converge; never silently replaced by a guess."""

    code = "numerical_failure"


class DeviceFailure(BloomlessError, OSError):
    """A thermometer, printer or scale that does not answer or answers nonsense."""

    code = "device_failure"


class StorageFailure(BloomlessError, OSError):
    """A book that cannot be opened, read or written."""

    code = "storage_failure"
