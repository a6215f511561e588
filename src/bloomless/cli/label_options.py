"""Options that the commands about labels share."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from bloomless.assembly import House

__all__ = ["Data", "Day", "Json", "Language", "Market", "To", "day_of", "house_of"]

Market = Annotated[str, typer.Option("--market", help="us, eu, uk or ni.")]
Day = Annotated[
    datetime | None, typer.Option("--day", formats=["%Y-%m-%d"], help="Day whose law binds; today unless given.")
]
Json = Annotated[bool, typer.Option("--json", help="JSON instead of text.")]
Language = Annotated[str, typer.Option("--language", help="en-US, en-GB, de or fr; that of the country unless given.")]
Data = Annotated[Path | None, typer.Option("--data", help="Folder of the book.")]
To = Annotated[Path, typer.Option("--to", help="PDF to write.")]


def house_of(data: Path | None) -> House:
    """The house with its book; close it."""
    from bloomless.assembly import open_house, places

    return open_house(places(data))


def day_of(given: datetime | None) -> date:
    """The day given, or today."""
    return (given or datetime.now(UTC)).date()
