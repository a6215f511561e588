"""Hashes of the pass phrase and the PIN, and who is signed in. No secret itself is ever stored."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Engine, delete, insert, select, update

from bloomless.storage.engine import reading, writing
from bloomless.storage.tables import secrets, sign_ins

__all__ = ["SecretStore", "SignIn", "StoredSecret"]


@dataclass(frozen=True, slots=True)
class StoredSecret:
    """What lets a role in."""

    role: str
    hash: str
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class SignIn:
    """One device that is signed in."""

    token_hash: str
    role: str
    device: str
    since: datetime
    last_seen: datetime
    until: datetime


class SecretStore:
    """Secrets by role, sign-ins by the hash of their token."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def secret(self, role: str) -> StoredSecret | None:
        """What lets a role in, if anything was set."""
        with reading(self.engine) as connection:
            row = connection.execute(select(secrets).where(secrets.c.role == role)).one_or_none()
        return StoredSecret(row.role, row.hash, row.changed_at) if row else None

    def set_secret(self, role: str, hashed: str, *, at: datetime) -> None:
        """Put a new hash in the place of the old one and end every sign-in of that role."""
        with writing(self.engine) as connection:
            connection.execute(delete(secrets).where(secrets.c.role == role))
            connection.execute(insert(secrets).values(role=role, hash=hashed, changed_at=at))
            connection.execute(delete(sign_ins).where(sign_ins.c.role == role))

    def drop_secret(self, role: str) -> None:
        """Let nobody in by this role any more, and end its sign-ins."""
        with writing(self.engine) as connection:
            connection.execute(delete(secrets).where(secrets.c.role == role))
            connection.execute(delete(sign_ins).where(sign_ins.c.role == role))

    def begin(self, sign_in: SignIn) -> None:
        """Keep a new sign-in; those that ran out are swept away on the way."""
        with writing(self.engine) as connection:
            connection.execute(delete(sign_ins).where(sign_ins.c.until < sign_in.since))
            connection.execute(
                insert(sign_ins).values(
                    token_hash=sign_in.token_hash,
                    role=sign_in.role,
                    device=sign_in.device,
                    since=sign_in.since,
                    last_seen=sign_in.last_seen,
                    until=sign_in.until,
                )
            )

    def find(self, token_hash: str, *, at: datetime) -> SignIn | None:
        """The sign-in of a token, unless it ran out."""
        with reading(self.engine) as connection:
            row = connection.execute(
                select(sign_ins).where(sign_ins.c.token_hash == token_hash, sign_ins.c.until > at)
            ).one_or_none()
        return SignIn(**row._mapping) if row else None

    def seen(self, token_hash: str, *, at: datetime) -> None:
        """Note that a device was here."""
        with writing(self.engine) as connection:
            connection.execute(update(sign_ins).where(sign_ins.c.token_hash == token_hash).values(last_seen=at))

    def all(self, *, at: datetime) -> Sequence[SignIn]:
        """Everything that is signed in now, oldest first."""
        with reading(self.engine) as connection:
            rows = connection.execute(
                select(sign_ins).where(sign_ins.c.until > at).order_by(sign_ins.c.since, sign_ins.c.token_hash)
            ).all()
        return tuple(SignIn(**row._mapping) for row in rows)

    def end(self, token_hash: str) -> bool:
        """End one sign-in; ``False`` if there was none."""
        with writing(self.engine) as connection:
            done = connection.execute(delete(sign_ins).where(sign_ins.c.token_hash == token_hash))
            return bool(done.rowcount)
