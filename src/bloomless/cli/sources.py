"""``bloomless sources``: the bibliography, and every number that a bowl rests on."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Annotated

import typer
from rich.console import Console
from rich.table import Table

from bloomless.sources import bibliography
from bloomless.sources.sourced import Sourced

__all__ = ["sources"]


def sources(
    bowl: Annotated[
        str | None,
        typer.Option(help="Print the numbers that a bowl of dark, milk, white or cocoa_butter rests on instead."),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="One JSON object: key → reference, or name → number with --bowl.")
    ] = False,
) -> None:
    """Print the bibliography: every source that a number of this program names, and how much of it was read.

    With --bowl: every number the estimate of such a bowl uses, with unit, spread, grade of evidence and source.
    """
    if bowl is not None:
        _numbers(bowl, as_json)
        return
    references = bibliography()
    if as_json:
        typer.echo(json.dumps({key: asdict(reference) for key, reference in sorted(references.items())}, indent=1))
        return
    table = Table("key", "source", "read")
    for key, reference in sorted(references.items()):
        table.add_row(key, reference.title, reference.read)
    Console().print(table)


def _spread(number: Sourced) -> str:
    return f"×/÷ {number.spread:g}" if number.spread_is == "factor" else f"± {number.spread:.3g}"


def _numbers(kind: str, as_json: bool) -> None:
    from bloomless.estimation.evidence import rests_on  # heavy: brings the whole bowl

    numbers = rests_on(kind)  # type: ignore[arg-type]  # an unknown kind is answered with the known ones
    if as_json:
        typer.echo(json.dumps({name: asdict(number) for name, number in numbers.items()}, indent=1, ensure_ascii=False))
        return
    table = Table()
    for head in ("number", "value", "unit", "spread", "known as", "source"):
        table.add_column(head, overflow="fold", no_wrap=head in ("value", "unit", "spread"))
    for name, number in numbers.items():
        table.add_row(name, f"{number.value:.4g}", number.unit, _spread(number), number.grade.value, number.source)
    Console().print(table)
    grades: dict[str, int] = {}
    for number in numbers.values():
        grades[number.grade.value] = grades.get(number.grade.value, 0) + 1
    counted = ", ".join(f"{count} {grade}" for grade, count in sorted(grades.items(), key=lambda pair: -pair[1]))
    Console().print(f"{len(numbers)} numbers: {counted}. Notes stand in --json.")
