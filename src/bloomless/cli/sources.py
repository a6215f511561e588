"""``bloomless sources``: the bibliography, and what a number rests on."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from bloomless.sources import bibliography

__all__ = ["sources"]


def sources(
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object: key → reference.")] = False,
) -> None:
    """Print the bibliography: every source that a number of this program names, and how much of it was read."""
    references = bibliography()
    if as_json:
        typer.echo(json.dumps({key: asdict(reference) for key, reference in sorted(references.items())}, indent=1))
        return
    table = Table("key", "source", "read")
    for key, reference in sorted(references.items()):
        table.add_row(key, reference.title, reference.read)
    Console().print(table)
