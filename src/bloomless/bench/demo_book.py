"""The example workshop: an invented sail loft on an invented coast, with recipes, stock, moulds, benches, batches.

It is kept apart by its own kind of mark, so that it cannot be mistaken for a person's own data and goes in one step.
"""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import Any, Final

from bloomless.bench.ports import Book
from bloomless.materials.mould_library import library, mould_to
from bloomless.sources import read_json

__all__ = ["demo_is_loaded", "load_demo", "remove_demo"]

MARK: Final = "example"
_DAY: Final = re.compile(r"^\d{4}-\d{2}-\d{2}(T|$)")
_PLAIN: Final = {
    "photos": "photo",
    "stock": "stock",
    "benches": "workbench",
    "batches": "batch",
    "packaging": "packaging",
}


def _entries(on: date) -> list[tuple[str, str, dict[str, Any]]]:
    """Everything of the example, its days moved so that it looks as if it were written up to yesterday."""
    written: dict[str, Any] = read_json("bloomless.bench", "demo_book.json")
    data = _moved(written, on - date.fromisoformat(written["workshop"]["today"]))
    found = [("ingredient", i["key"], i) for i in data["ingredients"]]
    found += [("recipe", r["key"], r) for r in data["recipes"]]
    found.append(("cost_terms", "workshop", data["cost_terms"]))
    for section, kind in _PLAIN.items():
        found += [(kind, key, document) for key, document in data[section].items()]
    for name, mould in data["moulds"].items():
        found.append(("mould", name, {**mould_to(library()[mould["like"]]), "count": mould["count"]}))
    return found


def _moved(value: Any, by: timedelta) -> Any:
    if isinstance(value, dict):
        return {key: _moved(part, by) for key, part in value.items()}
    if isinstance(value, list):
        return [_moved(part, by) for part in value]
    if isinstance(value, str) and _DAY.match(value):
        return (date.fromisoformat(value[:10]) + by).isoformat() + value[10:]
    return value


def load_demo(book: Book, *, at: datetime) -> int:
    """Write the example workshop into a book; returns how many things were written. Twice changes nothing."""
    if (since := _since(book)) is not None:
        return len(_entries(since))
    entries = _entries(at.date())
    for kind, key, document in entries:
        book.put(kind, key, document, at=at)
    keys = [[kind, key] for kind, key, _ in entries]
    book.put(
        MARK, "sail_loft", {"keys": keys, "on": at.date().isoformat(), "note": "invented; nothing in it is real"}, at=at
    )
    return len(entries)


def demo_is_loaded(book: Book) -> bool:
    """Whether the example workshop is in the book."""
    return _since(book) is not None


def _since(book: Book) -> date | None:
    """Day the example was put in; None if it is not there."""
    days = [entry.document["on"] for entry in book.latest(MARK) if entry.key == "sail_loft"]
    return date.fromisoformat(days[0]) if days else None


def remove_demo(book: Book, *, at: datetime) -> int:
    """Take the example out of use in one step; what a person has changed since stays."""
    since = _since(book)
    if since is None:
        return 0
    written = {(kind, key): document for kind, key, document in _entries(since)}
    removed = 0
    for (kind, key), document in written.items():
        latest = next((entry for entry in book.latest(kind) if entry.key == key), None)
        if latest is not None and dict(latest.document) == document:
            book.withdraw(kind, key, at=at)
            removed += 1
    book.withdraw(MARK, "sail_loft", at=at)
    return removed
