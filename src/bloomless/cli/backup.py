"""``bloomless backup``: a whole copy of the book in one file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from bloomless.cli.book_access import AsJson, Data, opened, tell

__all__ = ["backup"]


def backup(
    file: Annotated[Path, typer.Argument(help="File to write; one that exists is never written over.")],
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Copy recipes, stock, batches, labels and every bowl's log into one file, also while the book is in use.

    Pass phrase, PIN and sign-ins stay out: a copy that leaves the house lets nobody in. To use a copy, put it as
    bloomless.sqlite into a folder of its own and name that folder with --data.
    """
    from bloomless.assembly.back_up import back_up

    with opened(data) as house:
        size = back_up(house, file).size_bytes
    tell({"file": str(file), "bytes": size}, f"{file}: {size / 1e6:.1f} MB.", as_json=as_json)
