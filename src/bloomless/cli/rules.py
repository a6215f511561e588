"""``bloomless rules``: the law the program knows, as of a day, and where each piece of it stands."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table as RichTable

from bloomless.rules import NO_ADVICE, Figure, Law, Rule, Table, law_of
from bloomless.rules.law import JURISDICTIONS

__all__ = ["app"]

app = typer.Typer(help=f"Food law as data: list it, or explain one rule. {NO_ADVICE}", no_args_is_help=True)

Day = Annotated[
    datetime | None, typer.Option("--day", formats=["%Y-%m-%d"], help="As of this day; today unless given.")
]
Json = Annotated[bool, typer.Option("--json", help="JSON instead of text.")]


def _day(given: datetime | None) -> date:
    return (given or datetime.now(UTC)).date()


def _entry(entry: Rule | Figure | Table) -> dict[str, Any]:
    found: dict[str, Any] = {
        "id": entry.id, "jurisdiction": entry.jurisdiction, "topic": entry.topic, "citation": entry.citation,
        "in_force_from": None if entry.in_force_from == date.min else entry.in_force_from.isoformat(),
        "in_force_to": None if entry.in_force_to == date.max else entry.in_force_to.isoformat(),
        "source_status": str(entry.status), "source": entry.source, "verified_on": entry.verified_on.isoformat(),
        "note": entry.note,
    }  # fmt: skip
    if isinstance(entry, Rule):
        found |= {"kind": "rule", "severity": str(entry.severity), "applies": entry.applies,
                  "broken_when": entry.breach,
                  "message": entry.message, "cure": entry.cure}  # fmt: skip
    elif isinstance(entry, Figure):
        found |= {"kind": "figure", "value": f"{entry.value:f}", "unit": entry.unit}
    else:
        rows = [
            {name: value if isinstance(value, bool | str) else str(value) for name, value in row.items()}
            for row in entry.rows
        ]
        found |= {"kind": "table", "rows": rows}
    return found


def _entries(law: Law) -> tuple[Rule | Figure | Table, ...]:
    return (*law.rules, *law.figures, *law.tables)


@app.command("list")
def list_rules(
    jurisdiction: Annotated[str, typer.Argument(help=f"One of {', '.join(JURISDICTIONS)}; all unless given.")] = "",
    topic: Annotated[str, typer.Option(help="Such as identity, allergens, colours, label, hazards.")] = "",
    day: Day = None,
    as_json: Json = False,
) -> None:
    """List rules, figures and tables in force on a day."""
    found = [
        entry
        for entry in _entries(law_of(_day(day)))
        if (not jurisdiction or entry.jurisdiction == jurisdiction) and (not topic or entry.topic.startswith(topic))
    ]
    if as_json:
        typer.echo(
            json.dumps({"advice": NO_ADVICE, "day": _day(day).isoformat(), "law": [_entry(e) for e in found]}, indent=1)
        )
        return
    table = RichTable("id", "severity", "law", "known")
    for entry in found:
        grade = str(entry.severity) if isinstance(entry, Rule) else type(entry).__name__.lower()
        table.add_row(entry.id, grade, entry.citation, str(entry.status))
    Console().print(table)
    typer.echo(f"{len(found)} in force on {_day(day)}. {NO_ADVICE}")


@app.command()
def explain(
    rule: Annotated[str, typer.Argument(help="Id, such as us.milk.milk_fat.")], day: Day = None, as_json: Json = False
) -> None:
    """Explain one rule, figure or table: its predicate, its law, its dates, how it is known."""
    law = law_of(_day(day))
    by_id = {entry.id: entry for entry in _entries(law)}
    entry = by_id.get(rule) or law.rule(rule)
    found = _entry(entry)
    if as_json:
        typer.echo(json.dumps(found | {"advice": NO_ADVICE}, indent=1, ensure_ascii=False))
        return
    table = RichTable(show_header=False)
    for name, value in found.items():
        if value not in ("", None) and name != "rows":
            table.add_row(name.replace("_", " "), str(value))
    Console().print(table)
    if isinstance(entry, Table) and entry.rows:
        rows = RichTable(*entry.rows[0])
        for row in entry.rows:
            rows.add_row(*(str(value) for value in row.values()))
        Console().print(rows)
    typer.echo(NO_ADVICE)
