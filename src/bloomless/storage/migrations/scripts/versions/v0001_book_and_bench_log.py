"""The book, the bench log, snapshots, secrets and sign-ins."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_NAME = sa.String(200)
_MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the first tables."""
    op.create_table(
        "book_entries",
        sa.Column("kind", _NAME, nullable=False),
        sa.Column("key", _NAME, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("at", _MOMENT, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.PrimaryKeyConstraint("kind", "key", "version", name="pk_book_entries"),
    )
    op.create_table(
        "bench_sessions",
        sa.Column("position", sa.BigInteger().with_variant(sa.Integer, "sqlite"), nullable=False),
        sa.Column("name", _NAME, nullable=False),
        sa.Column("last_number", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("position", name="pk_bench_sessions"),
        sa.UniqueConstraint("name", name="uq_bench_sessions_name"),
    )
    op.create_table(
        "bench_events",
        sa.Column("session", _NAME, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("id", _NAME, nullable=False),
        sa.Column("stored_at", _MOMENT, nullable=False),
        sa.Column("event", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("session", "number", name="pk_bench_events"),
        sa.UniqueConstraint("session", "id", name="uq_bench_events_session_id"),
        sa.ForeignKeyConstraint(["session"], ["bench_sessions.name"], name="fk_bench_events_session"),
    )
    op.create_table(
        "snapshots",
        sa.Column("session", _NAME, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("form", _NAME, nullable=False),
        sa.Column("payload", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("session", "number", name="pk_snapshots"),
        sa.ForeignKeyConstraint(["session"], ["bench_sessions.name"], name="fk_snapshots_session"),
    )
    op.create_table(
        "secrets",
        sa.Column("role", _NAME, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("changed_at", _MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("role", name="pk_secrets"),
    )
    op.create_table(
        "sign_ins",
        sa.Column("token_hash", sa.String(64), nullable=False),
        sa.Column("role", _NAME, nullable=False),
        sa.Column("device", _NAME, nullable=False),
        sa.Column("since", _MOMENT, nullable=False),
        sa.Column("last_seen", _MOMENT, nullable=False),
        sa.Column("until", _MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("token_hash", name="pk_sign_ins"),
    )


def downgrade() -> None:
    """Remove them; only for development, a book is never taken back."""
    for table in ("sign_ins", "secrets", "snapshots", "bench_events", "bench_sessions", "book_entries"):
        op.drop_table(table)
