"""What a page family is: its routes, its places in the menu, who may open it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from fastapi import APIRouter

__all__ = ["Family", "Group", "Link"]

Group: TypeAlias = Literal["Bench", "Kitchen", "Shop", "House"]


@dataclass(frozen=True, slots=True)
class Link:
    """A place in the menu; ``label`` is English and found in the catalogue."""

    path: str
    label: str
    group: Group = "Kitchen"
    rank: int = 50
    """Small numbers stand first in their group."""


@dataclass(frozen=True, slots=True)
class Family:
    """Pages that belong together."""

    router: APIRouter
    links: tuple[Link, ...] = ()
    bench_paths: tuple[str, ...] = ()
    """Beginnings of paths that a device with the PIN may open; without them only the keeper of the book may."""
