"""A problem of something that comes from outside: which field, what stands there, what would be accepted."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Problem"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One field that cannot be taken as it is; they are collected, so that a person mends them all at once."""

    field: str
    value: object
    accepted: str

    @property
    def text(self) -> str:
        """One sentence."""
        return f"{self.field}: {self.value!r} is not accepted; give {self.accepted}."
