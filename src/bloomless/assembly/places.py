"""Where things are kept: a folder of the person's own, or a database the environment names."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import platformdirs

from bloomless.storage import database_file

__all__ = ["DATABASE_VARIABLE", "Places", "places"]

DATABASE_VARIABLE: Final = "BLOOMLESS_DATABASE_URL"


@dataclass(frozen=True, slots=True)
class Places:
    """Where the book, the certificate and copies of the book lie."""

    folder: Path
    database: Path | str
    """A SQLite file, or the URL of a database."""

    @property
    def shown(self) -> str:
        """The place of the book for a person; of a URL only the kind, because it may hold a password."""
        file = isinstance(self.database, Path) or self.database.startswith("sqlite")
        return str(self.database) if file else "PostgreSQL"


def places(data: Path | None = None, environment: Mapping[str, str] | None = None) -> Places:
    """Places for a run: ``--data`` wins over the environment, which wins over the user-data folder."""
    environment = os.environ if environment is None else environment
    folder = data or Path(platformdirs.user_data_dir("bloomless", appauthor=False))
    url = environment.get(DATABASE_VARIABLE)
    if data is None and url:
        return Places(folder, url)
    return Places(folder, database_file(folder))
