"""``bloomless mould …``: moulds, filling, cooling and release, "what if"; the rest in ``mould_places``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from bloomless.cli import mould_places
from bloomless.cli.mould_options import (
    Air,
    AirC,
    BowlC,
    Cap,
    Clean,
    Colour,
    Count,
    Data,
    Filling,
    FillingC,
    Form,
    FormV,
    Inclusions,
    Json,
    Kind,
    MouldC,
    Name,
    Pours,
    Power,
    Rh,
    RoomC,
    Shell,
    Space,
    Standing,
    Then,
    Unstable,
    band_text,
    casting_of,
    inclusion_of,
    move_of,
    now,
    piece_of,
    show,
    show_findings,
    with_book,
)
from bloomless.errors import ImpossibleInput
from bloomless.quantities import two_figures

if TYPE_CHECKING:
    from bloomless.bench.ports import Book

__all__ = ["app"]

app = typer.Typer(
    no_args_is_help=True, help="Moulds: how much, how to fill, how to cool, when they release, whether they bloom."
)
app.add_typer(mould_places.app)


@app.command("list")
def list_(as_json: Json = False, data: Data = None) -> None:
    """List own moulds and the library: what each cavity holds."""
    from bloomless.bench import moulds

    rows = with_book(data, moulds.list_moulds)
    if as_json:
        show(rows)
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
    entry = with_book(data, lambda book: moulds.keep_mould(book, name, said, at=now()))
    told = with_book(data, lambda book: moulds.describe(mould_named(book, name)))
    if as_json:
        show({**told, "version": entry.version})
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
            book, name, at=now(), water_g=water_g, water_C=water_C, cavities_filled=filled, piece_g=piece_g
        )
        return moulds.describe(mould_named(book, name))

    told = with_book(data, job)
    if as_json:
        show(told)
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
        "flow": flow, "inclusions": [inclusion_of(text) for text in inclusion or ()],
        "colours": [dict(zip(("name", "way"), text.split(":"), strict=False)) for text in colour or ()],
    }  # fmt: skip
    told = with_book(data, lambda book: fill(book, {k: v for k, v in document.items() if v is not None}))
    if as_json:
        show(told)
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
    show_findings(console, told["findings"])


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
    power_W: Power = None,
    then: Then = None,
    count: Count = 1,
    form: Form = None,
    shell_mm: Shell = None,
    cap_mm: Cap = None,
    filling: Filling = None,
    filling_C: FillingC = None,
    inclusion: Inclusions = None,
    pour: Pours = None,
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

    place = {
        "name": space, "air_C": air_C, "air_speed_m_s": air_speed, "standing": standing, "power_W": power_W,
    }  # fmt: skip
    where = {k: v for k, v in place.items() if v is not None}
    document = casting_of(
        name, chocolate, bowl_C, mould_C, form_v, unstable, where, count, room_C, rh, colour=colour,
        cleanliness=cleanliness, then=[move_of(text) for text in then or ()],
        **piece_of(form, shell_mm, cap_mm, filling, filling_C, inclusion, pour),
    )  # fmt: skip
    told = with_book(data, lambda book: moulds.predict(book, document, seed=seed, minutes=minutes))
    if pdf is not None:
        from bloomless.sheets.mould_sheet import cooling_sheet

        pdf.write_bytes(cooling_sheet(told))
    if as_json:
        show(told)
        return
    console = Console(highlight=False)
    if told["space"]["power_W"] is not None:
        rise = told["space"]["air_rise_K"]
        console.print(f"its air warms by {rise['p50']:.1f} K ({rise['p05']:.1f}-{rise['p95']:.1f})")
    for move in told["space"]["then"]:
        console.print(f"carried on after {move['after_min']:g} min, to {move['air_C']:g} °C")
    console.print(f"set through   {band_text(told['set_min'])}")
    if told["piece"]["form"] == "shell":
        console.print(f"fill from     {band_text(told['out_min'])}")
    else:
        console.print(f"look for lifting from {band_text(told['look_min'])}")
        console.print(f"turn out      {band_text(told['out_min'])}")
    chance = "above 99 %" if told["chance"] > 0.99 else f"{100 * told['chance']:.0f} %"
    console.print(
        f"clean release {chance} a cavity, {told['clean_cavities']['expected']:g} of {told['clean_cavities']['of']}"
    )
    for risk in told["bloom"]:
        low, middle, high = (two_figures(days) for days in risk["days"])
        console.print(f"{risk['kind']:<13} in about {middle:.0f} days ({low:.0f}-{high:.0f}). {risk['reason']}")
    show_findings(console, told["findings"])
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
    form: Form = None,
    shell_mm: Shell = None,
    cap_mm: Cap = None,
    filling: Filling = None,
    filling_C: FillingC = None,
    inclusion: Inclusions = None,
    pour: Pours = None,
    room_C: RoomC = None,
    rh: Rh = None,
    as_json: Json = False,
    data: Data = None,
) -> None:
    """Compare cooling temperatures, air speeds, mould temperatures and thicknesses; recommend one, and say why."""
    from bloomless.bench.mould_whatif import what_if

    document = casting_of(
        name, chocolate, bowl_C, mould_C, form_v, None, {"name": space}, count, room_C, rh,
        **piece_of(form, shell_mm, cap_mm, filling, filling_C, inclusion, pour),
    )  # fmt: skip
    told = with_book(data, lambda book: what_if(book, document))
    if as_json:
        show(told)
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
