"""What every command of the recipe book shares: the opened book, an answer as text or JSON, a file read."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from bloomless.errors import ImpossibleInput, StorageFailure

__all__ = ["AsJson", "Data", "key_of", "opened", "read_bytes", "read_text", "tell", "write_bytes"]

Data = Annotated[Path | None, typer.Option("--data", help="Folder of the book, instead of the one of your user.")]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object.")]


@contextmanager
def opened(data: Path | None) -> Iterator[Any]:
    """The house of a folder, closed at the end."""
    from bloomless.assembly import open_house, places

    house = open_house(places(data))
    try:
        yield house
    finally:
        house.close()


def tell(answer: Any, text: str, *, as_json: bool) -> None:
    """Print an answer."""
    typer.echo(json.dumps(answer, ensure_ascii=False, indent=1) if as_json else text)


def read_bytes(file: Path) -> bytes:
    """Content of a file."""
    try:
        return file.read_bytes()
    except OSError as error:
        raise StorageFailure(f"{file.name} cannot be read: {error.strerror}.") from error


def read_text(file: Path) -> str:
    """Text of a file."""
    try:
        return read_bytes(file).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ImpossibleInput("file", file.name, "text in UTF-8", code="not_text") from None


def write_bytes(file: Path, body: bytes) -> None:
    """Write a file."""
    try:
        file.write_bytes(body)
    except OSError as error:
        raise StorageFailure(f"{file.name} cannot be written: {error.strerror}.") from error


def key_of(name: str) -> str:
    """A key made of a name."""
    return "".join(c if c.isalnum() else "_" for c in name.casefold()).strip("_")
