"""``bloomless replay``: the story of a recorded bowl, with a picture."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer
from rich.console import Console
from rich.progress import Progress
from rich.table import Table

from bloomless.errors import BloomlessError, ImpossibleInput, StorageFailure

if TYPE_CHECKING:
    from bloomless.bench.story import Story
    from bloomless.estimation import events as ev

__all__ = ["replay"]


def replay(
    file: Annotated[Path, typer.Argument(help="A bench log (JSON Lines), or a CSV table with time and temperature.")],
    picture: Annotated[
        Path | None, typer.Option(help="Where the picture goes, .svg or .png; beside the file if not given.")
    ] = None,
    chocolate: Annotated[str, typer.Option(help="For a table: dark, milk, white or cocoa_butter.")] = "dark",
    mass_g: Annotated[float, typer.Option("--mass-g", help="For a table: chocolate in the bowl, in g.")] = 800.0,
    room_C: Annotated[float, typer.Option("--room-c", help="For a table: room temperature in °C.")] = 21.0,
    unit: Annotated[str | None, typer.Option(help="For a table whose header does not say: C or F.")] = None,
    members: Annotated[int, typer.Option(help="Size of the ensemble.", min=64, max=20_000)] = 1500,
    seed: Annotated[int, typer.Option(help="Seed of the ensemble.", min=0)] = 1,
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object instead of the table.")] = False,
) -> None:
    """Replay a recorded bowl: print its story and draw its picture.

    A bench log is what `bloomless bench --log` keeps. In a table the first row names the columns: a time (seconds,
    minutes, clock or ISO 8601) and a temperature (temperature_C, temp (°F) …); steps may be irregular, gaps are gaps.
    """
    if unit not in (None, "C", "F"):
        raise ImpossibleInput("--unit", unit, "C or F")
    errors = Console(stderr=True, highlight=False, markup=False)
    try:
        text = file.read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        raise StorageFailure(f"{file} cannot be read: {error.strerror}.") from error
    if text.lstrip("\ufeff \r\n\t").startswith("{"):
        events, ids, refused = _from_log(text)
    else:
        events, ids, refused = _from_table(
            text, chocolate, mass_g, room_C, "F" if unit == "F" else "C" if unit else None
        )
    for line, problem in refused:
        errors.print(f"line {line}: {problem}" if line else str(problem))
    story = _played(events, ids, seed, members)
    for place, problem in story.refused:
        errors.print(f"event {place + 1}: {problem}")
    target = picture or file.with_suffix(".svg")
    _draw(story, target)
    if as_json:
        sys.stdout.write(json.dumps(_as_json(story, target), ensure_ascii=False, allow_nan=False) + "\n")
    else:
        _print(story, target)


def _from_log(text: str) -> tuple[list[ev.Event], list[str | None], list[tuple[int, BloomlessError]]]:
    from bloomless.bench.contract import line_from_text

    events: list[ev.Event] = []
    ids: list[str | None] = []
    refused: list[tuple[int, BloomlessError]] = []
    session_start = None
    for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1):
        if not line.strip():
            continue
        try:
            read = line_from_text(line, session_start=session_start)
        except BloomlessError as error:
            refused.append((number, error))
            continue
        session_start = session_start or read.when
        events.append(read.event)
        ids.append(read.id)
    return events, ids, refused


def _from_table(
    text: str, chocolate: str, mass_g: float, room_C: float, unit: Literal["C", "F"] | None
) -> tuple[list[ev.Event], list[str | None], list[tuple[int, BloomlessError]]]:
    from bloomless.bench.contract import event_from
    from bloomless.bench.recorded import readings_from_csv

    readings, refused = readings_from_csv(text, unit=unit)
    start = event_from({"what": "start", "at": 0, "chocolate": chocolate, "mass_g": mass_g, "room_C": room_C}).event
    return [start, *readings], [], [(0, error) for error in refused]


def _played(events: list[ev.Event], ids: list[str | None], seed: int, members: int) -> Story:
    from bloomless.bench.story import tell

    # Progress goes to standard error, so that the story can be piped.
    with Progress(console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("playing the bowl", total=len(events))
        return tell(
            events, ids=ids, seed=seed, members=members, progress=lambda done: progress.update(task, completed=done)
        )


def _draw(story: Story, target: Path) -> None:
    from bloomless.bench.story import window_of
    from bloomless.sheets.curve import draw_story

    if target.suffix not in (".svg", ".png"):
        raise ImpossibleInput("--picture", str(target), "a file name that ends in .svg or .png")
    form: Literal["svg", "png"] = "svg" if target.suffix == ".svg" else "png"
    try:
        target.write_bytes(draw_story(story, window_of(story.start), form=form))
    except OSError as error:
        raise StorageFailure(
            f"{target} cannot be written: {error.strerror}. Name another file with --picture."
        ) from error


def _as_json(story: Story, target: Path) -> dict[str, object]:
    from bloomless.bench.replies import alert_json, estimate_json, order_json
    from bloomless.bench.story import in_words

    frames = [
        {
            "at": frame.at_s,
            "event": in_words(frame.event),
            **estimate_json(frame.estimate),
            "next": None if frame.order is None else order_json(frame.order),
            "alerts": [alert_json(alert) for alert in frame.estimate.alerts],
        }
        for frame in story.frames
    ]
    return {"picture": str(target), "frames": frames, "refused": len(story.refused)}


def _print(story: Story, target: Path) -> None:
    from bloomless.bench.story import in_words
    from bloomless.estimation import events as ev

    table = Table("min", "what happened", "bowl °C", "form V %", "pieces g", "chance", "advice then", box=None)
    shown_s = -1e9
    for frame in story.frames:
        if isinstance(frame.event, ev.Reading) and frame.at_s - shown_s < 60.0:
            continue
        shown_s = frame.at_s
        estimate = frame.estimate
        table.add_row(
            f"{frame.at_s / 60:.1f}",
            in_words(frame.event),
            *(
                "–" if band is None else f"{band.p50:.{digits}f}"
                for band, digits in (
                    (estimate.temperature_C, 1),
                    (estimate.form_v_pct_of_fat, 2),
                    (estimate.seed_left_g, 0),
                )
            ),
            "–" if estimate.chance_in_temper is None else f"{estimate.chance_in_temper:.2f}",
            "" if frame.order is None else frame.order.do.replace("_", " "),
        )
    console = Console()
    console.print(table)
    console.print(f"next: {story.last.next.why}", highlight=False, markup=False)
    console.print(f"picture: {target}", highlight=False, markup=False, soft_wrap=True)
