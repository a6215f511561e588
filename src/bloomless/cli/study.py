"""``bloomless study``: many simulated kitchens, and how advised cooks fare in them."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn
from rich.table import Table

from bloomless.errors import ImpossibleInput
from bloomless.kitchens import FAULTS, KINDS
from bloomless.studies import COOKS, Study, run_study, summarise
from bloomless.studies.benched import bench
from bloomless.studies.report import write_report
from bloomless.studies.rescues import rescue_rows
from bloomless.studies.ways import way_rows

__all__ = ["study"]


def _names(text: str, known: tuple[str, ...], field: str) -> tuple[str, ...]:
    if text == "all":
        return known
    names = tuple(name.strip() for name in text.split(",") if name.strip())
    for name in names:
        if name not in known:
            raise ImpossibleInput(field, name, f"all, or some of {', '.join(known)}")
    return names


def _by_name(kitchens: int, seed: int, jobs: int, *, troubles: bool, as_json: bool) -> None:
    """Troubles, or ways of tempering: one row each."""
    if troubles:
        rows = list(rescue_rows(kitchens, seed, bench, jobs=jobs))
    else:
        ways = way_rows(kitchens, seed, bench, jobs=jobs)
        rows = [
            {"name": name, "end": "use_it", "kitchens": kitchens, "success": share, "minutes": minutes or None}
            for name, share, minutes in ways
        ]
    if as_json:
        typer.echo(json.dumps({"seed": seed, "rows": rows}))
        return
    table = Table("trouble" if troubles else "way", "ends as it must", "of", "minutes", "orders")
    for row in rows:
        share, minutes, orders = row["success"], row["minutes"], row.get("orders")
        shown = [
            "–" if share is None else f"{share:.0%}",
            str(row["kitchens"]),
            "–" if minutes is None else f"{minutes:.0f}",
            "–" if orders is None else f"{orders:.1f}",
        ]
        table.add_row(row["name"], *shown)
    Console().print(table)


def study(
    kitchens: Annotated[int, typer.Option(help="How many kitchens.", min=1)] = 100,
    jobs: Annotated[int, typer.Option(help="Processes on this machine; 0: one a core.", min=0)] = 0,
    seed: Annotated[int, typer.Option(help="Kitchen number i of a seed is the same in every study.", min=0)] = 1,
    kind: Annotated[str | None, typer.Option(help=f"Only one of {', '.join(KINDS)}.")] = None,
    faults: Annotated[str, typer.Option(help=f"One fault in each kitchen: all, or of {', '.join(FAULTS)}.")] = "",
    cooks: Annotated[str, typer.Option(help=f"all, or some of {', '.join(COOKS)}.")] = "all",
    wrong_constants: Annotated[
        bool, typer.Option("--wrong-constants", help="Draw the filter's constants from twice their prior spread.")
    ] = False,
    members: Annotated[int | None, typer.Option(help="Members of the ensemble; its own default otherwise.")] = None,
    troubles: Annotated[
        bool, typer.Option("--troubles", help="Bowls that come into trouble instead: so many kitchens of each.")
    ] = False,
    ways: Annotated[
        bool, typer.Option("--ways", help="Every way of tempering by hand instead: so many kitchens of each.")
    ] = False,
    scheduler: Annotated[str | None, typer.Option(help="Address of a Dask scheduler to run on.")] = None,
    out: Annotated[Path, typer.Option(help="Directory of records and report; a killed study goes on there.")] = Path(
        "study"
    ),
    as_json: Annotated[bool, typer.Option("--json", help="Print the whole summary as one JSON object.")] = False,
) -> None:
    """Run simulated kitchens with an advised cook, the taught rule, a practised hand and full knowledge.

    The kitchens run on physics that differs in structure from the filter's. Results are the same on any number of
    jobs. Writes kitchens.jsonl (one line a kitchen), study.json and study.html into the directory; with --troubles or
    --ways only a table is printed, the advised cook's alone.
    """
    if kind is not None and kind not in KINDS:
        raise ImpossibleInput("kind", kind, f"one of {', '.join(KINDS)}")
    if troubles or ways:
        _by_name(kitchens, seed, jobs or os.cpu_count() or 1, troubles=troubles, as_json=as_json)
        return
    plan = Study(
        kitchens=kitchens,
        seed=seed,
        kind=kind,
        faults=_names(faults, tuple(FAULTS), "faults"),
        cooks=_names(cooks, COOKS, "cooks"),
        wrong_constants=wrong_constants,
        members=members,
    )
    columns = (TextColumn("kitchens"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True)) as progress:
        task = progress.add_task("kitchens", total=kitchens)
        records = run_study(
            plan,
            out / "kitchens.jsonl",
            jobs=jobs or os.cpu_count() or 1,
            scheduler=scheduler,
            on_progress=lambda done, of: progress.update(task, completed=done, total=of),
        )
    summary = summarise(records)
    report = write_report(out, plan.setting, summary, records)
    if as_json:
        typer.echo(json.dumps({"study": plan.setting, "summary": summary}))
        return
    table = Table("cook", "in temper", "95 %", "minutes", "p95", "seed", "actions")
    for name, cook in summary["all"]["cooks"].items():
        share = cook["success"]
        table.add_row(
            name.replace("_", " "),
            f"{share['share']:.1%}",
            f"{100 * share['low']:.1f}–{100 * share['high']:.1f}",
            f"{cook['minutes_mean']:.1f}",
            f"{cook['minutes_p95']:.1f}",
            f"{cook['seed_share_mean']:.0%}",
            f"{cook['actions_mean']:.1f}",
        )
    console = Console()
    console.print(table)
    console.print(f"Report: {report[1]}", soft_wrap=True)
