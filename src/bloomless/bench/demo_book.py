"""The example workshop: an invented sail loft on an invented coast, with recipes, stock, moulds, benches, batches.

It is kept apart by its own kind of mark, so that it cannot be mistaken for a person's own data and goes in one step.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final

from bloomless.bench.ports import Book
from bloomless.materials.mould_library import library, mould_to
from bloomless.sources import read_json

__all__ = ["demo_is_loaded", "load_demo", "remove_demo"]

MARK: Final = "example"
_PLAIN: Final = {"benches": "workbench", "batches": "batch", "packaging": "packaging"}


def _entries() -> list[tuple[str, str, dict[str, Any]]]:
    data = read_json("bloomless.bench", "demo_book.json")
    found = [("ingredient", i["key"], i) for i in data["ingredients"]]
    found += [("recipe", r["key"], r) for r in data["recipes"]]
    found += [("stock", key, {"mass_g": grams}) for key, grams in data["stock"].items()]
    found.append(("cost_terms", "workshop", data["cost_terms"]))
    for section, kind in _PLAIN.items():
        found += [(kind, key, document) for key, document in data[section].items()]
    for name, mould in data["moulds"].items():
        found.append(("mould", name, {**mould_to(library()[mould["like"]]), "count": mould["count"]}))
    return found


def load_demo(book: Book, *, at: datetime) -> int:
    """Write the example workshop into a book; returns how many things were written. Twice changes nothing."""
    entries = _entries()
    for kind, key, document in entries:
        book.put(kind, key, document, at=at)
    keys = [[kind, key] for kind, key, _ in entries]
    book.put(MARK, "sail_loft", {"keys": keys, "note": "invented; nothing in it is real"}, at=at)
    return len(entries)


def demo_is_loaded(book: Book) -> bool:
    """Whether the example workshop is in the book."""
    return any(entry.key == "sail_loft" for entry in book.latest(MARK))


def remove_demo(book: Book, *, at: datetime) -> int:
    """Take the example out of use in one step; what a person has changed since stays."""
    if not demo_is_loaded(book):
        return 0
    written = {(kind, key): document for kind, key, document in _entries()}
    removed = 0
    for (kind, key), document in written.items():
        latest = next((entry for entry in book.latest(kind) if entry.key == key), None)
        if latest is not None and dict(latest.document) == document:
            book.withdraw(kind, key, at=at)
            removed += 1
    book.withdraw(MARK, "sail_loft", at=at)
    return removed
