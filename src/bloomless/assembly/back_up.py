"""A backup of the house, and when the last one was made."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from bloomless.assembly.house import House
from bloomless.errors import UnknownName
from bloomless.storage import backup_to

__all__ = ["Backup", "back_up", "last_backup"]

KIND: Final = "backup"
KEY: Final = "last"


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was made."""

    at: datetime
    size_bytes: int


def back_up(house: House, target: Path) -> Backup:
    """Copy the whole book into a new file, and note in the book that it was done; see ``storage.backup_to``."""
    made = Backup(house.clock(), backup_to(house.engine, target))
    house.book.put(KIND, KEY, {"at": made.at.isoformat(), "bytes": made.size_bytes}, at=made.at)
    return made


def last_backup(house: House) -> Backup | None:
    """The backup that was made last, on whatever way; ``None`` if none was."""
    try:
        document = house.book.get(KIND, KEY).document
    except UnknownName:
        return None
    return Backup(datetime.fromisoformat(str(document["at"])), int(document["bytes"]))
