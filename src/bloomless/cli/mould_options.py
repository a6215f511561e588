"""Options and answers that the commands of ``bloomless mould`` share."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer
from rich.console import Console

from bloomless.errors import ImpossibleInput

if TYPE_CHECKING:
    from collections.abc import Callable

    from bloomless.bench.ports import Book

__all__ = [
    "Air",
    "AirC",
    "BowlC",
    "Cap",
    "Clean",
    "Colour",
    "Count",
    "Data",
    "Filling",
    "FillingC",
    "Form",
    "FormV",
    "Inclusions",
    "Json",
    "Kind",
    "MouldC",
    "Name",
    "Pours",
    "Power",
    "Rh",
    "RoomC",
    "Shell",
    "Space",
    "Standing",
    "Then",
    "Unstable",
    "band_text",
    "casting_of",
    "inclusion_of",
    "move_of",
    "now",
    "piece_of",
    "show",
    "show_findings",
    "with_book",
]

T = TypeVar("T")

Json = Annotated[bool, typer.Option("--json", help="One JSON object.")]
Data = Annotated[Path | None, typer.Option("--data", help="Folder of the book; the usual one unless given.")]
Name = Annotated[str, typer.Argument(help="Name of a mould; see `bloomless mould list`.")]
Kind = Annotated[str, typer.Option("--chocolate", help="dark, milk, white or cocoa_butter.")]
RoomC = Annotated[float | None, typer.Option("--room-c", help="Room, °C.")]
Rh = Annotated[float | None, typer.Option("--rh", help="Relative humidity of the room, %.")]
BowlC = Annotated[float | None, typer.Option("--bowl-c", help="Chocolate as it is poured, °C.")]
MouldC = Annotated[float | None, typer.Option("--mould-c", help="Mould as it is filled, °C.")]
FormV = Annotated[float | None, typer.Option("--form-v", help="Form V as % of the fat, as the bench says.")]
Unstable = Annotated[float | None, typer.Option("--unstable", help="Unstable forms as % of the fat.")]
Space = Annotated[
    str, typer.Option("--space", help="Cooling space: cabinet, fridge, cool_room, fan_in_room, room or own.")
]
AirC = Annotated[float | None, typer.Option("--air-c", help="Its air, °C.")]
Air = Annotated[float | None, typer.Option("--air-speed", help="Air along the moulds, m/s; 0 still, 1 a fan.")]
Power = Annotated[
    float | None, typer.Option("--power-w", help="Cooling power it has to spare, W; its air warms with the load.")
]
Then = Annotated[
    list[str] | None,
    typer.Option("--then", help="Carried on: minutes:space, minutes:space:°C or …:°C:m/s; repeat, e.g. 15:cool_room."),
]
Standing = Annotated[str | None, typer.Option("--standing", help="rack, tray or stacked.")]
Count = Annotated[int, typer.Option("--moulds", help="Equal moulds.", min=1)]
Form = Annotated[
    str | None, typer.Option("--form", help="solid, shell (turned out, empty), capped (with a filling) or layers.")
]
Shell = Annotated[float | None, typer.Option("--shell-mm", help="Wall of shells, mm; an empty shell if given alone.")]
Cap = Annotated[float | None, typer.Option("--cap-mm", help="Cap of capped pieces, mm.")]
Filling = Annotated[str | None, typer.Option("--filling", help="ganache, praline, caramel or jelly.")]
FillingC = Annotated[float | None, typer.Option("--filling-c", help="Filling when the cap is poured, °C.")]
Inclusions = Annotated[
    list[str] | None, typer.Option("--inclusion", help="name:share, or name:share:back; repeat, e.g. buckwheat:0.08.")
]
Pours = Annotated[
    list[str] | None, typer.Option("--pour", help="Layer from the mould up, chocolate:share of the depth; repeat.")
]
Colour = Annotated[str, typer.Option("--colour", help="none, tempered or untempered.")]
Clean = Annotated[str, typer.Option("--cleanliness", help="polished, clean, film or dirty.")]


def with_book(data: Path | None, job: Callable[[Book], T]) -> T:
    """Do a job on the book. Jobs are imported where they are used, so that other commands start faster."""
    from bloomless.assembly import open_house, places

    house = open_house(places(data))
    try:
        return job(house.book)
    finally:
        house.close()


def now() -> datetime:
    """The present, for what is kept in the book."""
    return datetime.now(UTC)


def show(document: Any) -> None:
    """A document as JSON."""
    typer.echo(json.dumps(document, indent=1, ensure_ascii=False))


def band_text(band: dict[str, float] | None) -> str:
    """A band of minutes in words."""
    return (
        "not within the time looked at"
        if band is None
        else f"{band['p50']:.0f} ({band['p05']:.0f}-{band['p95']:.0f}) min"
    )


def show_findings(console: Console, findings: list[dict[str, Any]]) -> None:
    """Findings, a line each."""
    for finding in findings:
        console.print(f"  {finding['severity'].upper()}  {finding['text']}")


def casting_of(
    name: str, kind: str, bowl_C: float | None, mould_C: float | None, form_v: float | None, unstable: float | None,
    space: dict[str, Any], count: int, room_C: float | None, rh: float | None, **more: Any,
) -> dict[str, Any]:  # fmt: skip
    """The casting as the document says it."""
    said = {
        "mould": name, "chocolate": kind, "temperature_C": bowl_C, "mould_C": mould_C, "form_v_pct_of_fat": form_v,
        "unstable_pct_of_fat": unstable, "space": space, "moulds": count, "room_C": room_C, "room_rh_pct": rh, **more,
    }  # fmt: skip
    return {key: value for key, value in said.items() if value is not None}


def piece_of(
    form: str | None, shell_mm: float | None, cap_mm: float | None, filling: str | None, filling_C: float | None,
    inclusions: list[str] | None, pours: list[str] | None,
) -> dict[str, Any]:  # fmt: skip
    """How a cavity is filled, as the document says it."""
    layers = [_pour(text) for text in pours or ()]
    return {
        "form": form or ("layers" if layers else None), "shell_mm": shell_mm, "cap_mm": cap_mm, "filling": filling,
        "filling_C": filling_C, "inclusions": [inclusion_of(text) for text in inclusions or ()], "layers": layers,
    }  # fmt: skip


def _pour(text: str) -> dict[str, Any]:
    kind, _, share = text.partition(":")
    try:
        return {"chocolate": kind, "share": float(share)}
    except ValueError as error:
        raise ImpossibleInput("pour", text, "chocolate:share of the depth, such as white:0.5") from error


def inclusion_of(text: str) -> dict[str, Any]:
    """Pieces of an option, ``name:share`` or ``name:share:back``."""
    parts = text.split(":")
    try:
        share = float(parts[1])
    except (IndexError, ValueError) as error:
        raise ImpossibleInput("inclusion", text, "name:share or name:share:back, such as buckwheat:0.08") from error
    return {"name": parts[0], "share_by_mass": share, "where": parts[2] if len(parts) > 2 else "inside"}


def move_of(text: str) -> dict[str, Any]:
    """Where moulds are carried, of an option ``minutes:space[:air °C[:air m/s]]``."""
    after, *place = text.split(":")
    if not 1 <= len(place) <= 3:
        raise ImpossibleInput("then", text, "minutes:space, such as 15:cool_room or 15:cool_room:15")
    try:
        numbers = dict(zip(("air_C", "air_speed_m_s"), map(float, place[1:]), strict=False))
        return {"after_min": float(after), "space": {"name": place[0], **numbers}}
    except ValueError as error:
        raise ImpossibleInput("then", text, "minutes:space, such as 15:cool_room or 15:cool_room:15") from error
