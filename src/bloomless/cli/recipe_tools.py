"""Smaller tools of ``bloomless recipe``: a wrapper read, chocolate thinned, a seized bowl, a meter, crispness."""

from __future__ import annotations

import math
from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any, Final, Literal

import typer

from bloomless.cli.book_access import AsJson, Data, key_of, opened, read_text, tell
from bloomless.errors import ImpossibleInput

__all__ = ["COMMANDS", "crisp", "draft", "meter", "seized", "thin", "wrapper"]

COMMANDS: Final = ("draft", "wrapper", "thin", "seized", "meter", "crisp")


def wrapper(
    kind: Annotated[Literal["dark", "milk", "white"], typer.Argument(help="dark, milk or white.")],
    cocoa: Annotated[float | None, typer.Option(help="Cocoa, %.")] = None,
    fat: Annotated[float | None, typer.Option(help="Fat, g in 100 g.")] = None,
    sugars: Annotated[float | None, typer.Option(help="Sugars, g in 100 g.")] = None,
    protein: Annotated[float | None, typer.Option(help="Protein, g in 100 g.")] = None,
    milk: Annotated[float | None, typer.Option(help="Milk solids, %.")] = None,
    save: Annotated[str, typer.Option(help="Name under which the book keeps it.")] = "",
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Infer what a bought chocolate is made of from its wrapper, with a range for everything inferred."""
    from bloomless.bench.recipes import save_ingredient
    from bloomless.materials.chocolates import melting_shift_K
    from bloomless.materials.wrapper import Wrapper, chocolate_for_the_bowl, chocolate_from_wrapper

    printed = Wrapper(kind, cocoa, fat_g=fat, sugars_g=sugars, protein_g=protein, milk_solids_pct=milk)
    found = chocolate_from_wrapper(printed, key=key_of(save) or "bought", name=save or f"Bought {kind} chocolate")
    if save:
        with opened(data) as house:
            save_ingredient(house.book, found, at=house.clock())
    shown = ("fat_g", "cocoa_butter_g", "milk_fat_g", "sucrose_g", "fat_free_cocoa_solids_g", "milk_solids_nonfat_g")
    shift_K = melting_shift_K(chocolate_for_the_bowl(found))
    parts = {n: {"value": getattr(found.composition, n), "range": found.ranges.get(n)} for n in shown}
    lines = [
        f"{n.removesuffix('_g').replace('_', ' ')}: {getattr(found.composition, n):.1f} g"
        + (f" ({found.ranges[n][0]:.1f}–{found.ranges[n][1]:.1f})" if n in found.ranges else "")
        for n in shown
    ]
    lines.append(f"melting shift against the reference: {shift_K:+.1f} K. {found.note}")
    tell({"per_100g": parts, "melting_shift_K": shift_K, "note": found.note}, "\n".join(lines), as_json=as_json)


def thin(
    mass: Annotated[float, typer.Argument(help="Chocolate, g.")],
    fat: Annotated[float, typer.Option(help="Its fat, %.")],
    times: Annotated[float, typer.Option(help="How many times thinner, 1 to 5.")] = 1.3,
    lecithin: Annotated[float, typer.Option(help="Lecithin in it, %.")] = 0.5,
    as_json: AsJson = False,
) -> None:
    """Say how much cocoa butter, or how much lecithin, makes a chocolate thinner."""
    from bloomless.recipes.fluidity import cocoa_butter_for_thinner_g, lecithin_to_add_g

    butter_g, lecithin_g = cocoa_butter_for_thinner_g(mass, fat, times), lecithin_to_add_g(mass, lecithin)
    text = (
        f"{butter_g:.0f} g of cocoa butter; or up to {lecithin_g:.1f} g of lecithin, beyond which it thickens again. "
        "Either changes the label; cocoa butter raises the temperatures of a milky chocolate."
    )
    tell({"cocoa_butter_g": butter_g, "lecithin_at_most_g": lecithin_g}, text, as_json=as_json)


def seized(
    mass: Annotated[float, typer.Argument(help="Chocolate in the bowl, g.")],
    water: Annotated[float, typer.Argument(help="Water that got in, g.")],
    as_json: AsJson = False,
) -> None:
    """Say what chocolate that water has seized can still become."""
    from bloomless.recipes.fluidity import seized_rescue

    found = seized_rescue(mass, water)
    tell({"ways": [asdict(one) for one in found]}, "\n".join(one.text for one in found), as_json=as_json)


def meter(
    reading: Annotated[list[str], typer.Option(help="salt:°C:shown, such as sodium_chloride:22:0.76; several times.")],
    as_json: AsJson = False,
) -> None:
    """Check a water activity meter over slurries of saturated salts."""
    from bloomless.quantities import number_from_text
    from bloomless.recipes.salts import check_meter

    readings = []
    for text in reading:
        parts = text.split(":")
        if len(parts) != 3:
            raise ImpossibleInput("reading", text, "salt:°C:shown")
        readings.append((parts[0], *(number_from_text(p, field="reading") for p in parts[1:])))
    found = check_meter(readings)  # type: ignore[arg-type]  # three parts each
    text = f"shows {found.offset:+.3f} too much; standard deviation {found.sd:.3f} for what you measure with it"
    tell(asdict(found), text, as_json=as_json)


def crisp(
    filling_aw: Annotated[float, typer.Argument(help="Water activity of the moist part.")],
    filling: Annotated[float, typer.Option(help="Its dry mass in one piece, g.")] = 6.0,
    piece: Annotated[float, typer.Option(help="Dry mass of the crisp part, g.")] = 1.0,
    crisp_aw: Annotated[float, typer.Option(help="Water activity of the crisp part now.")] = 0.2,
    life_at: Annotated[float | None, typer.Option(help="Also: 100 days at 18 °C are how many at so many °C?")] = None,
    as_json: AsJson = False,
) -> None:
    """Say where water ends between a moist and a crisp part that touch, and when the crunch is gone."""
    from bloomless.recipes.keeping import life_at_C
    from bloomless.recipes.moisture import MoistPart, equilibrium_aw, hours_until
    from bloomless.recipes.sorption import isotherms

    moist = MoistPart(filling, isotherms()["dried_fruit"], filling_aw)
    dry = MoistPart(piece, isotherms()["cereal"], crisp_aw)
    end, (low, high) = equilibrium_aw(moist, dry), hours_until(moist, dry)
    never = math.isinf(low)
    words = "it stays crisp" if never else f"the crunch is gone after {low:.0f} to {high:.0f} hours"
    answer: dict[str, Any] = {"ends_at": end, "hours": None if never else [low, high]}
    text = f"Both end at {end:.2f}: {words}; a coat of cocoa butter slows it."
    if life_at is not None:
        answer["days_instead_of_100"] = life_at_C(100.0, 18.0, life_at)
        text += f" 100 days at 18 °C are about {answer['days_instead_of_100']:.0f} at {life_at:g} °C."
    tell(answer, text, as_json=as_json)


def draft(
    file: Annotated[Path, typer.Argument(help="A schema.org Recipe (JSON), or a spreadsheet saved as CSV.")],
    kind: Annotated[str, typer.Option(help="Kind of recipe it becomes.")] = "other",
    name: Annotated[str, typer.Option(help="Name, for a spreadsheet.")] = "",
    column: Annotated[list[str] | None, typer.Option(help="name=…, amount=…, unit=…: headings of the table.")] = None,
    unit: Annotated[str, typer.Option(help="Unit of rows that have none.")] = "g",
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Take a recipe from a schema.org file or a spreadsheet; every line that cannot be taken is named."""
    from bloomless.bench.recipes import pantry_of, save_recipe
    from bloomless.recipes.interchange import draft_from_schema_org, draft_from_table

    text = read_text(file)
    columns = dict(pair.split("=", 1) for pair in column or () if "=" in pair)
    with opened(data) as house:
        pantry = pantry_of(house.book)
        if file.suffix.lower() == ".csv":
            found = draft_from_table(text, columns, pantry, name=name or file.stem, unit=unit)
        else:
            found = draft_from_schema_org(text, pantry)
        key = key_of(found.name)
        if not found.problems:
            save_recipe(house.book, found.recipe(key, kind), at=house.clock())
    problems = [problem.text for problem in found.problems]
    taken = f"{found.name} taken as {key}." if not problems else "Nothing taken:\n" + "\n".join(problems)
    tell({"key": None if problems else key, "problems": problems}, taken, as_json=as_json)
    if problems:
        raise typer.Exit(3)
