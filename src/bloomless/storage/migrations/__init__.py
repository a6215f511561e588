"""Migrations of the tables, run by ``open_database``; a new one gets the next number and raises ``HEAD``."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from sqlalchemy import Connection

__all__ = ["HEAD", "upgrade"]

HEAD: Final = "0001"
"""The newest migration; kept here so that a start with nothing to do need not load Alembic."""


def upgrade(connection: Connection) -> None:
    """Run every migration that is missing, inside the transaction of ``connection``."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "scripts"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
