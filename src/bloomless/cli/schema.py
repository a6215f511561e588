"""``bloomless schema``: the published schema of the bench log, and every default."""

from __future__ import annotations

import json
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from bloomless.bench.schema import bench_log_schema, defaults_table

__all__ = ["schema"]


def schema(
    defaults: Annotated[bool, typer.Option("--defaults", help="A table of every field and its default.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="With --defaults: the table as JSON.")] = False,
) -> None:
    """Print the JSON Schema of the bench log and of what is answered, or the table of every field with its default."""
    if not defaults:
        typer.echo(json.dumps(bench_log_schema(), indent=1))
        return
    names = ("what", "field", "default", "meaning")
    if as_json:
        typer.echo(json.dumps([dict(zip(names, row, strict=True)) for row in defaults_table()], indent=1))
        return
    table = Table(*names)
    for row in defaults_table():
        table.add_row(*row)
    Console().print(table)
