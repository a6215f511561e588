"""Snapshots of a session's state, so that a long bench reopens at once; a cache that replaying can always rebuild."""

from __future__ import annotations

import io
import pickle
import zlib
from typing import Any, Final

from sqlalchemy import Engine, delete, insert, select

from bloomless.storage.engine import reading, writing
from bloomless.storage.tables import snapshots

__all__ = ["SnapshotStore"]

_KEEP: Final = 2
_NUMPY: Final = {
    ("numpy", "ndarray"),
    ("numpy", "dtype"),
    ("numpy", "float64"),
    ("numpy._core.multiarray", "_reconstruct"),
    ("numpy._core.multiarray", "scalar"),
    ("numpy._core.numeric", "_frombuffer"),
    ("builtins", "frozenset"),
    ("builtins", "set"),
}


class _OwnClasses(pickle.Unpickler):
    """Reads arrays and classes of this package and nothing else: a database is not a place to take code from."""

    def find_class(self, module: str, name: str) -> Any:
        """Class of a name, if it is one of ours or of an array."""
        found = super().find_class(module, name) if self._may(module, name) else None
        if found is None or (module.startswith("bloomless.") and not isinstance(found, type)):
            raise pickle.UnpicklingError(f"{module}.{name} does not belong into a snapshot")
        return found

    @staticmethod
    def _may(module: str, name: str) -> bool:
        return module.startswith("bloomless.") or (module, name) in _NUMPY


class SnapshotStore:
    """Keeps the two newest snapshots of each session."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def save(self, session: str, number: int, state: object, *, form: str) -> None:
        """Keep the state after event ``number``; ``form`` names the program version that can read it."""
        payload = zlib.compress(pickle.dumps(state, protocol=5), 1)
        mine = snapshots.c.session == session
        with writing(self.engine) as connection:
            connection.execute(delete(snapshots).where(mine, snapshots.c.number == number))
            connection.execute(insert(snapshots).values(session=session, number=number, form=form, payload=payload))
            newest = connection.scalars(
                select(snapshots.c.number).where(mine).order_by(snapshots.c.number.desc()).limit(_KEEP)
            ).all()
            connection.execute(delete(snapshots).where(mine, snapshots.c.number < newest[-1]))

    def load(self, session: str, *, form: str) -> tuple[int, Any] | None:
        """Newest readable snapshot: its event number and the state; ``None`` if all must be replayed."""
        query = (
            select(snapshots.c.number, snapshots.c.payload)
            .where(snapshots.c.session == session, snapshots.c.form == form)
            .order_by(snapshots.c.number.desc())
        )
        with reading(self.engine) as connection:
            rows = connection.execute(query).all()
        for number, payload in rows:
            try:
                return number, _OwnClasses(io.BytesIO(zlib.decompress(payload))).load()
            except (pickle.UnpicklingError, zlib.error, AttributeError, ImportError, EOFError, TypeError, ValueError):
                continue  # a snapshot is only a short cut: replaying takes its place
        return None
