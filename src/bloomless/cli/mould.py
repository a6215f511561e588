"""``bloomless mould …``: moulds, filling, cooling and release, "what if", the room, taking out, keeping."""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer
from rich.console import Console
from rich.table import Table

from bloomless.errors import ImpossibleInput

if TYPE_CHECKING:
    from collections.abc import Callable

    from bloomless.bench.ports import Book

__all__ = ["app"]

app = typer.Typer(
    no_args_is_help=True, help="Moulds: how much, how to fill, how to cool, when they release, whether they bloom."
)

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
Standing = Annotated[str | None, typer.Option("--standing", help="rack, tray or stacked.")]
Count = Annotated[int, typer.Option("--moulds", help="Equal moulds.", min=1)]
Shell = Annotated[float | None, typer.Option("--shell-mm", help="Wall of shells, mm; solid unless given.")]
Colour = Annotated[str, typer.Option("--colour", help="none, tempered or untempered.")]
Clean = Annotated[str, typer.Option("--cleanliness", help="polished, clean, film or dirty.")]


def _with(data: Path | None, job: Callable[[Book], T]) -> T:
    """Do a job on the book. Jobs are imported where they are used, so that other commands start faster."""
    from bloomless.assembly import open_house, places

    house = open_house(places(data))
    try:
        return job(house.book)
    finally:
        house.close()


def _now() -> datetime:
    return datetime.now(UTC)


def _show(document: Any) -> None:
    typer.echo(json.dumps(document, indent=1, ensure_ascii=False))


def _band(band: dict[str, float] | None) -> str:
    return (
        "not within the time looked at"
        if band is None
        else f"{band['p50']:.0f} ({band['p05']:.0f}-{band['p95']:.0f}) min"
    )


def _findings(console: Console, findings: list[dict[str, Any]]) -> None:
    for finding in findings:
        console.print(f"  {finding['severity'].upper()}  {finding['text']}")


def _casting(
    name: str, kind: str, bowl_C: float | None, mould_C: float | None, form_v: float | None, unstable: float | None,
    space: dict[str, Any], count: int, room_C: float | None, rh: float | None, **more: Any,
) -> dict[str, Any]:  # fmt: skip
    said = {
        "mould": name, "chocolate": kind, "temperature_C": bowl_C, "mould_C": mould_C, "form_v_pct_of_fat": form_v,
        "unstable_pct_of_fat": unstable, "space": space, "moulds": count, "room_C": room_C, "room_rh_pct": rh, **more,
    }  # fmt: skip
    return {key: value for key, value in said.items() if value is not None}


@app.command("list")
def list_(as_json: Json = False, data: Data = None) -> None:
    """List own moulds and the library: what each cavity holds."""
    from bloomless.bench import moulds

    rows = _with(data, moulds.list_moulds)
    if as_json:
        _show(rows)
        return
    table = Table("name", "what", "cavities", "ml", "piece g", "mould g", "known")
    for row in rows:
        table.add_row(
            row["name"], row["words"], str(row["cavities"]), f"{row['volume_ml']:.2f}", f"{row['piece_g']:.1f}",
            f"{row['mould_g']:.0f}", f"{row['known']}, ± {row['spread_pct']:g} %",
        )  # fmt: skip
    Console().print(table)


@app.command()
def add(
    name: Annotated[str, typer.Argument(help="Name of the new mould.")],
    document: Annotated[
        str, typer.Option("--document", help='JSON, e.g. {"shape":"hemisphere","radius_mm":15,"cavities":24}.')
    ],
    as_json: Json = False,
    data: Data = None,
) -> None:
    """Keep an own mould: shapes frustum, hemisphere, cap, cone, cylinder, hollow, free."""
    from bloomless.bench import moulds
    from bloomless.bench.mould_inputs import mould_named

    try:
        said = json.loads(document)
    except json.JSONDecodeError as error:
        raise ImpossibleInput("document", document, f"JSON ({error.msg})") from error
    if not isinstance(said, dict):
        raise ImpossibleInput("document", document, "a JSON object")
    entry = _with(data, lambda book: moulds.keep_mould(book, name, said, at=_now()))
    told = _with(data, lambda book: moulds.describe(mould_named(book, name)))
    if as_json:
        _show({**told, "version": entry.version})
    else:
        typer.echo(f"{name}: {told['volume_ml']:.2f} ml, {told['piece_g']:.1f} g a piece (version {entry.version}).")


@app.command()
def measure(
    name: Name,
    water_g: Annotated[float | None, typer.Option("--water-g", help="Water the cavities held, g.")] = None,
    filled: Annotated[int, typer.Option("--cavities", help="How many cavities were filled.", min=1)] = 1,
    water_C: Annotated[float, typer.Option("--water-c", help="Water, °C.")] = 20.0,
    piece_g: Annotated[float | None, typer.Option("--piece-g", help="Or: one solid piece, g.")] = None,
    as_json: Json = False,
    data: Data = None,
) -> None:
    """Measure a mould by water or by weighing one piece; that beats any drawing."""
    from bloomless.bench import moulds
    from bloomless.bench.mould_inputs import mould_named

    def job(book: Book) -> dict[str, Any]:
        moulds.measure_mould(
            book, name, at=_now(), water_g=water_g, water_C=water_C, cavities_filled=filled, piece_g=piece_g
        )
        return moulds.describe(mould_named(book, name))

    told = _with(data, job)
    if as_json:
        _show(told)
    else:
        typer.echo(f"{name}: {told['volume_ml']:.2f} ml a cavity, {told['known']}, ± {told['spread_pct']:g} %.")


@app.command("fill")
def fill_(
    name: Name,
    kind: Annotated[str, typer.Option("--kind", help="solid, shell, layers or hollow.")] = "solid",
    count: Count = 1,
    chocolate: Kind = "dark",
    bowl_C: BowlC = None,
    form_v: FormV = None,
    wall_mm: Annotated[float, typer.Option("--wall-mm", help="Wall of shells, mm.")] = 1.5,
    cap_mm: Annotated[float, typer.Option("--cap-mm", help="Cap, mm.")] = 1.5,
    filling: Annotated[
        str, typer.Option("--filling", help="ganache, praline, caramel, jelly or own word.")
    ] = "ganache",
    filling_C: Annotated[float | None, typer.Option("--filling-c", help="Filling when it goes in, °C.")] = None,
    inclusion: Annotated[
        list[str] | None, typer.Option("--inclusion", help="name:share, or name:share:back; repeat.")
    ] = None,
    colour: Annotated[
        list[str] | None, typer.Option("--layer", help="Colour layer name:way (spray, splatter …); repeat.")
    ] = None,
    flow: Annotated[
        str | None, typer.Option("--flow", help="stiff, thick, bars, thin or spraying: untempered, 40 °C.")
    ] = None,
    as_json: Json = False,
    data: Data = None,
) -> None:
    """Plan amounts: chocolate, filling, colour, what comes back; and whether this bowl can make the shell."""
    from bloomless.bench.mould_filling import fill

    document = {
        "mould": name, "kind": kind, "moulds": count, "chocolate": chocolate, "temperature_C": bowl_C,
        "form_v_pct_of_fat": form_v, "wall_mm": wall_mm, "cap_mm": cap_mm, "filling": filling, "filling_C": filling_C,
        "flow": flow, "inclusions": [_inclusion(text) for text in inclusion or ()],
        "colours": [dict(zip(("name", "way"), text.split(":"), strict=False)) for text in colour or ()],
    }  # fmt: skip
    told = _with(data, lambda book: fill(book, {k: v for k, v in document.items() if v is not None}))
    if as_json:
        _show(told)
        return
    console = Console(highlight=False)
    console.print(
        f"{told['pieces']} pieces of {told['piece_g']:.1f} g ({100 * told['chocolate_share']:.0f} % chocolate)"
    )
    for part in told["parts"]:
        console.print(f"  {part['name']}: {part['in_pieces_g']:.0f} g in the pieces, have {part['take_g']:.0f} g ready")
    for amount in told["colours"]:
        low, high = amount["take_range_g"]
        console.print(
            f"  {amount['name']} ({amount['way']}): {amount['take_g']:.1f} g ({low:.1f}-{high:.1f}), "
            f"{amount['work_C']:g} °C"
        )
    for plan in told["inclusions"]:
        console.print(f"  {plan['words']}: {plan['take_g']:.0f} g, {plan['on_piece_g']:.1f} g a piece; {plan['moves']}")
    if told["shell"]:
        low, middle, high = told["shell"]["wall_mm"]
        console.print(
            f"  wall to expect: {middle:.1f} mm ({low:.1f}-{high:.1f}); wanted {told['shell']['wanted_mm']:g}"
        )
        for text in told["shell"]["say"]:
            console.print(f"  {text}")
    for step in told["steps"]:
        console.print(f"  · {step}")
    _findings(console, told["findings"])


def _inclusion(text: str) -> dict[str, Any]:
    parts = text.split(":")
    try:
        share = float(parts[1])
    except (IndexError, ValueError) as error:
        raise ImpossibleInput("inclusion", text, "name:share or name:share:back, such as buckwheat:0.08") from error
    return {"name": parts[0], "share_by_mass": share, "where": parts[2] if len(parts) > 2 else "inside"}


@app.command()
def cool(
    name: Name,
    chocolate: Kind = "dark",
    bowl_C: BowlC = None,
    form_v: FormV = None,
    unstable: Unstable = None,
    mould_C: MouldC = None,
    space: Space = "cabinet",
    air_C: AirC = None,
    air_speed: Air = None,
    standing: Standing = None,
    count: Count = 1,
    shell_mm: Shell = None,
    colour: Colour = "none",
    cleanliness: Clean = "polished",
    room_C: RoomC = None,
    rh: Rh = None,
    minutes: Annotated[float, typer.Option("--minutes", help="How far to look.", min=5, max=600)] = 90.0,
    seed: Annotated[int, typer.Option("--seed", help="Of the draws.")] = 1,
    pdf: Annotated[Path | None, typer.Option("--pdf", help="Write the sheet here.")] = None,
    as_json: Json = False,
    data: Data = None,
) -> None:
    """Predict setting, release and trouble of one casting, with bands."""
    from bloomless.bench import moulds

    where = {
        k: v
        for k, v in {"name": space, "air_C": air_C, "air_speed_m_s": air_speed, "standing": standing}.items()
        if v is not None
    }
    document = _casting(
        name, chocolate, bowl_C, mould_C, form_v, unstable, where, count, room_C, rh, shell_mm=shell_mm, colour=colour,
        cleanliness=cleanliness,
    )  # fmt: skip
    told = _with(data, lambda book: moulds.predict(book, document, seed=seed, minutes=minutes))
    if pdf is not None:
        from bloomless.sheets.mould_sheet import cooling_sheet

        pdf.write_bytes(cooling_sheet(told))
    if as_json:
        _show(told)
        return
    console = Console(highlight=False)
    console.print(f"set through   {_band(told['set_min'])}")
    console.print(f"look for lifting from {_band(told['look_min'])}")
    console.print(f"turn out      {_band(told['out_min'])}")
    chance = "above 99 %" if told["chance"] > 0.99 else f"{100 * told['chance']:.0f} %"
    console.print(
        f"clean release {chance} a cavity, {told['clean_cavities']['expected']:g} of {told['clean_cavities']['of']}"
    )
    _findings(console, told["findings"])
    for text in told["assumed"]:
        console.print(f"  assumed  {text}")
    console.print(f"  {told['rests_on']}")


@app.command("what-if")
def what_if_(
    name: Name,
    chocolate: Kind = "dark",
    bowl_C: BowlC = None,
    form_v: FormV = None,
    mould_C: MouldC = None,
    space: Space = "cabinet",
    count: Count = 1,
    shell_mm: Shell = None,
    room_C: RoomC = None,
    rh: Rh = None,
    as_json: Json = False,
    data: Data = None,
) -> None:
    """Compare cooling temperatures, air speeds, mould temperatures and thicknesses; recommend one, and say why."""
    from bloomless.bench.mould_whatif import what_if

    document = _casting(
        name, chocolate, bowl_C, mould_C, form_v, None, {"name": space}, count, room_C, rh, shell_mm=shell_mm
    )
    told = _with(data, lambda book: what_if(book, document))
    if as_json:
        _show(told)
        return
    table = Table(
        "air", *(f"{air:g} °C" for air in told["air_C"]), title="minutes until out (! trouble, w wait before opening)"
    )
    for speed in told["air_speed_m_s"]:
        cells = [point for point in told["grid"] if point["air_speed_m_s"] == speed]
        table.add_row(f"{speed:g} m/s", *(_cell(point) for point in cells))
    console = Console(highlight=False)
    console.print(table)
    for point in told["mould_line"]:
        console.print(f"mould {point['mould_C']:g} °C: {_cell(point)} {', '.join(point['trouble'])}")
    for point in told["thickness_line"]:
        console.print(f"depth {point['depth_mm']:.1f} mm: {_cell(point)} {', '.join(point['trouble'])}")
    best = told["recommended"]
    console.print(
        "Nothing lets go in any of these places: look at the temper first."
        if best is None
        else f"Recommended: {best['air_C']:g} °C at {best['air_speed_m_s']:g} m/s: {best['why']}"
    )


def _cell(point: dict[str, Any]) -> str:
    minutes = "–" if point["out_min"] is None else f"{point['out_min']:.0f}"
    return minutes + ("!" if point["trouble"] else "") + ("w" if point["wait_before_opening"] else "")


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
        _show(told)
        return
    console = Console(highlight=False)
    for row in told["products"]:
        console.print(f"{row['product']}: {row['verdict']}. {row['reason']}")
    _findings(console, told["findings"])


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
        _show(told)
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
        _show(told)
        return
    for risk in told["risks"]:
        low, middle, high = risk["days"]
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
    document = _casting(mould_name, chocolate, bowl_C, mould_C, form_v, None, where, count, None, None)
    told = _with(data, lambda book: moulds.learn_place(book, name, document, rows, at=_now()))
    if as_json:
        _show(told)
        return
    after = told["after"]
    typer.echo(
        f"{name}: films {after['film_factor']:.2f} times the usual (×÷ {after['film_spread']:.2f}), power "
        f"{after['power_W']:.0f} W (×÷ {after['power_spread']:.2f}); misfit {after['misfit_K']:.1f} K."
    )
