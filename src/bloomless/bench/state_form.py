"""The form of what is kept: which fields a state is made of, so that one of other fields is not gone on from."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import get_args, get_type_hints

__all__ = ["form_of"]


def form_of(kind: type) -> str:
    """Short hash of the fields, by name and type, of a dataclass and of every dataclass it holds."""
    told = [f"{part.__qualname__}.{field.name}: {field.type}" for part in _parts(kind, set()) for field in fields(part)]
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:10]


def _parts(kind: object, known: set[object]) -> Iterator[type]:
    """The dataclasses that a type is made of, each once, the outer ones first."""
    for inner in get_args(kind):
        yield from _parts(inner, known)
    if isinstance(kind, type) and is_dataclass(kind) and kind not in known:
        known.add(kind)
        yield kind
        for hint in get_type_hints(kind).values():
            yield from _parts(hint, known)
