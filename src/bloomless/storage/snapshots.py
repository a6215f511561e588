"""Snapshots of a session's state, so that a long bench reopens at once; a cache that replaying can always rebuild."""

from __future__ import annotations

import io
import pickle
import zlib
from typing import Any, Final

from sqlalchemy import Engine, delete, func, insert, select

from bloomless.bench.marks import worth_keeping
from bloomless.storage.engine import reading, writing
from bloomless.storage.tables import snapshots

__all__ = ["SnapshotStore"]

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
    """Keeps snapshots of each session: many of the last events, few of those long ago."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def save(self, session: str, number: int, state: object, *, form: str, step: int = 120) -> None:
        """Keep the state after event ``number``, and thin out the older ones.

        Parameters
        ----------
        session, number
            Whose state it is, and after which event.
        state
            Anything picklable made of arrays and classes of this package.
        form
            Name of the program version that can read it.
        step
            Two snapshots are at most about so many events apart.
        """
        payload = zlib.compress(pickle.dumps(state, protocol=5), 1)
        mine = snapshots.c.session == session
        with writing(self.engine, cache=True) as connection:
            numbers = connection.scalars(select(snapshots.c.number).where(mine).order_by(snapshots.c.number)).all()
            places = [*(known for known in numbers if known < number), number]
            kept = {places[index] for index in worth_keeping(places, step=step)} - {number}
            older = (snapshots.c.number <= number, snapshots.c.number.not_in(kept))
            connection.execute(delete(snapshots).where(mine, *older))
            connection.execute(insert(snapshots).values(session=session, number=number, form=form, payload=payload))

    def keep_newest(self, session: str) -> None:
        """Let all but the newest go: of a finished bench nobody corrects what is long past."""
        mine = snapshots.c.session == session
        newest = select(func.max(snapshots.c.number)).where(mine).scalar_subquery()
        with writing(self.engine, cache=True) as connection:
            connection.execute(delete(snapshots).where(mine, snapshots.c.number < newest))

    def load(self, session: str, *, form: str, before: int | None = None) -> tuple[int, Any] | None:
        """Newest readable snapshot (of those before an event): its event number and the state, or ``None``."""
        query = select(snapshots.c.number, snapshots.c.payload).where(
            snapshots.c.session == session, snapshots.c.form == form
        )
        if before is not None:
            query = query.where(snapshots.c.number < before)
        query = query.order_by(snapshots.c.number.desc()).limit(1)
        with reading(self.engine) as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            return None
        try:
            return row.number, _OwnClasses(io.BytesIO(zlib.decompress(row.payload))).load()
        except (pickle.UnpicklingError, zlib.error, AttributeError, ImportError, EOFError, TypeError, ValueError):
            return self.load(session, form=form, before=row.number)  # a short cut only: an older one, or replaying
