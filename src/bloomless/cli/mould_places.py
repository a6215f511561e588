"""``bloomless mould …``, second half: the room, moulds and colours in hand, taking out, keeping, cooling spaces."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console

from bloomless.cli.mould_options import (
    Air,
    AirC,
    BowlC,
    Count,
    Data,
    FormV,
    Json,
    Kind,
    MouldC,
    Rh,
    RoomC,
    casting_of,
    now,
    show,
    show_findings,
    with_book,
)
from bloomless.errors import ImpossibleInput
from bloomless.quantities import two_figures

__all__ = ["app"]

app = typer.Typer()


@app.command()
def room(
    room_C: Annotated[float, typer.Argument(help="Room, °C.")],
    rh: Rh = None,
    cold_C: Annotated[float, typer.Option("--cold-c", help="Cold place, °C.")] = 12.0,
    as_json: Json = False,
) -> None:
    """Today's room: go, care or not today, product by product."""
    from bloomless.bench import mould_room

    told = mould_room.room_today(room_C, rh, cold_C=cold_C)
    if as_json:
        show(told)
        return
    console = Console(highlight=False)
    for row in told["products"]:
        console.print(f"{row['product']}: {row['verdict']}. {row['reason']}")
    show_findings(console, told["findings"])


@app.command()
def leave(
    from_C: Annotated[float, typer.Argument(help="Cold place, °C.")],
    room_C: Annotated[float, typer.Argument(help="Room, °C.")],
    rh: Rh = None,
    chocolate: Kind = "dark",
    thickness_mm: Annotated[float, typer.Option("--thickness-mm", help="Of the piece, mm.")] = 10.0,
    as_json: Json = False,
) -> None:
    """May it leave the cold: how long to wait, how to wrap."""
    from bloomless.bench import mould_room

    told = mould_room.leave_the_cold(
        {"from_C": from_C, "room_C": room_C, "room_rh_pct": rh, "chocolate": chocolate, "thickness_mm": thickness_mm}
    )
    if as_json:
        show(told)
    else:
        typer.echo("\n".join([told["text"], *told["assumed"]]))


@app.command()
def keep(
    chocolate: Kind = "dark",
    temper: Annotated[str, typer.Option("--temper", help="good, slight or gross (out of temper).")] = "good",
    store_C: Annotated[float, typer.Option("--store-c", help="Store, °C.")] = 17.0,
    swing_K: Annotated[float, typer.Option("--swing-k", help="Daily swing, K.")] = 2.0,
    rh: Annotated[float | None, typer.Option("--store-rh", help="Humidity of the store, %.")] = None,
    nut_shell_mm: Annotated[float | None, typer.Option("--nut-shell-mm", help="Wall over a nut filling, mm.")] = None,
    seeded: Annotated[bool, typer.Option("--seeded-filling", help="Filling with crystallised cocoa butter.")] = False,
    warm_times: Annotated[int, typer.Option("--warm-times", help="How often it got above 31 °C.", min=0)] = 0,
    as_json: Json = False,
) -> None:
    """What can go grey, from what, in which time."""
    from bloomless.bench import mould_room

    told = mould_room.keeping(
        {
            "chocolate": chocolate, "temper": temper, "store_C": store_C, "swing_K": swing_K, "store_rh_pct": rh,
            "nut_shell_mm": nut_shell_mm, "seeded_filling": seeded, "warm_times": warm_times,
        }
    )  # fmt: skip
    if as_json:
        show(told)
        return
    for risk in told["risks"]:
        low, middle, high = (two_figures(days) for days in risk["days"])
        typer.echo(f"{risk['kind']}: about {middle:.0f} days ({low:.0f}-{high:.0f}). {risk['reason']} {risk['do']}")
    typer.echo("\n".join([*told["storage"], told["decides"]]))


@app.command()
def learn(
    name: Annotated[str, typer.Argument(help="Name of the cooling space.")],
    mould_name: Annotated[str, typer.Option("--mould", help="Mould that was logged.")],
    log: Annotated[Path, typer.Option("--log", help="JSON lines: at_s, temperature_C, place; - reads standard input.")],
    chocolate: Kind = "dark",
    bowl_C: BowlC = None,
    form_v: FormV = None,
    mould_C: MouldC = None,
    air_C: AirC = None,
    air_speed: Air = None,
    power_W: Annotated[
        float | None, typer.Option("--power-w", help="Power of the machine if it is limited, W.")
    ] = None,
    count: Count = 1,
    as_json: Json = False,
    data: Data = None,
) -> None:
    """Learn a cooling space from one logged mould and keep it."""
    from bloomless.bench import moulds

    text = sys.stdin.read() if str(log) == "-" else log.read_text(encoding="utf-8")
    rows = []
    for line_number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            try:
                rows.append(json.loads(line))
            except json.JSONDecodeError as error:
                raise ImpossibleInput(f"log line {line_number}", line[:40], f"a JSON object ({error.msg})") from error
    where = {k: v for k, v in {"air_C": air_C, "air_speed_m_s": air_speed, "power_W": power_W}.items() if v is not None}
    document = casting_of(mould_name, chocolate, bowl_C, mould_C, form_v, None, where, count, None, None)
    told = with_book(data, lambda book: moulds.learn_place(book, name, document, rows, at=now()))
    if as_json:
        show(told)
        return
    after = told["after"]
    typer.echo(
        f"{name}: films {after['film_factor']:.2f} times the usual (×÷ {after['film_spread']:.2f}), power "
        f"{after['power_W']:.0f} W (×÷ {after['power_spread']:.2f}); misfit {after['misfit_K']:.1f} K."
    )


@app.command()
def ready(
    mould_C: Annotated[float, typer.Argument(help="Mould in hand, °C.")],
    room_C: RoomC = None,
    rh: Rh = None,
    chocolate: Kind = "dark",
    colour: Annotated[
        list[str] | None, typer.Option("--colour", help="name:°C, or name:°C:thick if it drags; repeat.")
    ] = None,
    brushed: Annotated[bool, typer.Option("--brushed", help="Colour is in the moulds already.")] = False,
    count: Count = 1,
    as_json: Json = False,
) -> None:
    """Moulds and colours in hand: brush or cast now, or what first."""
    from bloomless.bench import mould_room

    document = {
        "mould_C": mould_C, "room_C": room_C, "room_rh_pct": rh, "chocolate": chocolate, "brushed": brushed,
        "moulds": count, "colours": [_colour(text) for text in colour or ()],
    }  # fmt: skip
    told = mould_room.before_casting({key: value for key, value in document.items() if value is not None})
    if as_json:
        show(told)
        return
    console = Console(highlight=False)
    console.print("Go on." if told["may_go_on"] else "Not yet.")
    show_findings(console, told["findings"])
    for step in told["steps"]:
        console.print(f"  · {step}")


def _colour(text: str) -> dict[str, Any]:
    name, *rest = text.split(":")
    try:
        return {"name": name, "temperature_C": float(rest[0]), "thick": rest[1:] == ["thick"]}
    except (IndexError, ValueError) as error:
        raise ImpossibleInput("colour", text, "name:°C, such as ochre:27.5 or ochre:27.5:thick") from error


@app.command()
def place(
    name: Annotated[str, typer.Argument(help="Name of a cooling space.")], as_json: Json = False, data: Data = None
) -> None:
    """What is believed of a cooling space, and from how many logs."""
    from bloomless.bench import moulds

    told = with_book(data, lambda book: moulds.place_document(book, name))
    if as_json:
        show(told)
        return
    moves = f"air moving at {told['air_speed_m_s']:g} m/s" if told["air_speed_m_s"] else "still air"
    typer.echo(
        f"{name}: {told['air_C']:g} °C, {moves}, moulds on {told['standing']}; heat leaves "
        f"{told['learned_film_factor']:.2f} times the usual (×÷ {told['learned_film_spread']:.2f}), "
        f"{told['learned_logs']} logged moulds."
    )
