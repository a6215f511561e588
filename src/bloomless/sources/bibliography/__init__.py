"""The bibliography: one TOML file a field, one table a reference, keyed ``author_year``."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bloomless.errors import UnknownName
from bloomless.sources.tables import names_in, read_toml

__all__ = ["Bibliography", "Reference", "bibliography"]


@dataclass(frozen=True, slots=True)
class Reference:
    """One source: what it is, and how much of it was read."""

    key: str
    title: str
    """Authors, title, place and year in one line."""
    read: str
    """What was read of it: ``whole``, ``abstract``, ``table``, ``page``, ``nothing`` (recalled from memory)."""
    doi: str = ""
    note: str = ""


class Bibliography(dict[str, Reference]):
    """References by key; an unknown key is answered with the nearest known ones."""

    def __missing__(self, key: str) -> Reference:
        raise UnknownName("source", key, self)


@cache
def bibliography() -> Bibliography:
    """Every reference of the package; a key that stands in two files is an error."""
    found = Bibliography()
    for name in names_in("bloomless.sources.bibliography", ".toml"):
        for key, entry in read_toml("bloomless.sources.bibliography", name).items():
            if key in found:
                raise ValueError(f"reference {key} stands twice in the bibliography, again in {name}")
            found[key] = Reference(key=key, **entry)
    return found
