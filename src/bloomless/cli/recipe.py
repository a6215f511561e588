"""``bloomless recipe``: the recipe book at the command line."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.table import Table

from bloomless.cli import recipe_goods, recipe_making, recipe_money, recipe_tools
from bloomless.cli.book_access import AsJson, Data, opened, read_text, write_bytes
from bloomless.errors import ImpossibleInput

__all__ = ["app"]

app = typer.Typer(help="The recipe book: compose, balance, scale, keep, cost, print.", no_args_is_help=True)
for _module in (recipe_goods, recipe_making, recipe_money, recipe_tools):
    for _name in _module.COMMANDS:
        app.command(_name.replace("_", "-"))(getattr(_module, _name))
Pieces = Annotated[float | None, typer.Option(min=0.001, help="So many good pieces, instead of the written size.")]
Grams = Annotated[float | None, typer.Option(min=0.001, help="So many grams, instead of the written size.")]


def _sized(house: Any, key: str, pieces: float | None, grams: float | None) -> tuple[Any, Any]:
    from bloomless.errors import UnknownName
    from bloomless.recipes.scaling import for_mass, for_pieces

    pantry = house.shelf.pantry()
    if key not in pantry.recipes:
        raise UnknownName("recipe", key, pantry.recipes)
    recipe = pantry.recipes[key]
    if pieces is not None:
        return for_pieces(recipe, pieces), pantry
    return (for_mass(recipe, grams, pantry) if grams is not None else recipe), pantry


@app.command("list")
def list_recipes(
    search: Annotated[str, typer.Argument(help="Words that stand somewhere in it.")] = "",
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """List recipes, or find them as typed."""
    from bloomless.bench.recipes import search_index

    with opened(data) as house:
        documents = {entry.key: entry.document for entry in house.book.latest("recipe")}
        found = search_index(house.book).find(search, most=10_000)
    rows = [
        {
            "key": key,
            "name": documents[key]["name"],
            "kind": documents[key]["kind"],
            "tags": documents[key].get("tags", []),
        }
        for key in found
    ]
    if as_json:
        typer.echo(json.dumps({"recipes": rows}, ensure_ascii=False, indent=1))
        return
    table = Table("key", "name", "kind", "tags")
    for row in rows:
        table.add_row(row["key"], row["name"], row["kind"].replace("_", " "), ", ".join(row["tags"]))
    Console().print(table)


@app.command()
def show(key: str, pieces: Pieces = None, grams: Grams = None, data: Data = None, as_json: AsJson = False) -> None:
    """Show what a recipe is made of: balance, water activity with its band, keeping, cost."""
    from bloomless.bench.cost_terms import packaging_of, terms_of
    from bloomless.bench.recipes import weigh_up

    with opened(data) as house:
        recipe, pantry = _sized(house, key, pieces, grams)
        terms, packed = terms_of(house.book), packaging_of(house.book, recipe.key)
    found = weigh_up(recipe, pantry, terms=terms, packaging=packed)
    if as_json:
        typer.echo(json.dumps(_figures(recipe, found), ensure_ascii=False, indent=1))
        return
    _print(recipe, found)


def _figures(recipe: Any, found: Any) -> dict[str, Any]:
    made, cost = found.made, found.cost
    return {
        "key": recipe.key,
        "name": recipe.name,
        "mass_g": made.mass_g,
        "pieces": recipe.pieces,
        "per_100g": made.per_100g.values() | {"energy_kcal": made.per_100g.energy_kcal},
        "unknown": sorted(made.per_100g.unknown),
        "allergens": [asdict(note) for note in made.allergens],
        "parts": [
            {
                "name": part.name or "whole",
                "of": part.made.recipe.name,
                "water_activity": {
                    "basis": part.water_activity.basis,
                    "value": part.water_activity.value,
                    "low": part.water_activity.low,
                    "high": part.water_activity.high,
                },
                "fat_to_water": part.balance.fat_to_water,
                "sweetness": part.balance.sweetness,
                "solid_fat_g": dict(part.balance.solid_fat_g),
                "findings": [asdict(f) for f in (*part.balance.findings, *part.keeping.findings)],
            }
            for part in found.parts
        ],
        "keeping_days": found.keeping.range_d,
        "keeping_note": found.keeping.note,
        "cost": {
            "total": str(cost.total.amount),
            "currency": cost.total.currency,
            "per_piece": None if cost.per_piece is None else str(cost.per_piece.amount),
            "per_kg": str(cost.per_kg.amount),
            "without_a_price": list(cost.missing),
        },
    }


def _print(recipe: Any, found: Any) -> None:
    console, made = Console(highlight=False), found.made
    size = f"{made.mass_g:.0f} g" + (f", {recipe.pieces:.0f} pieces of {made.piece_g:.1f} g" if made.piece_g else "")
    console.print(f"{recipe.name}: {size}")
    c = made.per_100g
    console.print(
        f"In 100 g: water {c.water_g:.1f}, fat {c.fat_g:.1f}, sugars {c.sugars_g:.1f} g, {c.energy_kcal:.0f} kcal"
    )
    console.print(
        "Allergens: " + (", ".join(n.substance + ("" if n.present else " (ask)") for n in made.allergens) or "–")
    )
    table = Table("part", "water activity", "fat : water", "findings")
    for part in found.parts:
        aw = part.water_activity
        value = "–" if aw.value is None else f"{aw.value:.2f}"
        notes = [f.text for f in (*part.balance.findings, *part.keeping.findings)]
        ratio = "–" if part.balance.fat_to_water is None else f"{part.balance.fat_to_water:.2f}"
        name = " ".join(filter(None, [part.name, part.made.recipe.name]))
        table.add_row(name, f"{value} ({aw.low:.2f}–{aw.high:.2f}, {aw.basis})", ratio, "\n".join(notes))
    console.print(table)
    days = found.keeping.range_d
    keeps = f"perhaps {days[0]:.0f}–{days[1]:.0f} days. " if days else "no time is proposed. "
    console.print(f"Keeping: {keeps}{found.keeping.note}")
    cost = found.cost
    each = "" if cost.per_piece is None else f", {cost.per_piece} a piece"
    missing = f"; without a price: {', '.join(cost.missing)}" if cost.missing else ""
    console.print(f"Cost: {cost.total}{each}, {cost.per_kg} a kg{missing}")


@app.command()
def sheet(
    key: str,
    out: Annotated[Path, typer.Argument(help="PDF to write.")],
    batch: Annotated[str, typer.Option(help="Code of the batch.")] = "L1",
    paper: Annotated[str, typer.Option(help="a4 or us-letter.")] = "a4",
    pieces: Pieces = None,
    grams: Grams = None,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Write the batch sheet as PDF."""
    from bloomless.bench.batch_sheet import batch_sheet
    from bloomless.sheets.batch_sheet import batch_sheet_pdf

    if paper not in ("a4", "us-letter"):
        raise ImpossibleInput("paper", paper, "a4 or us-letter")
    with opened(data) as house:
        recipe, pantry = _sized(house, key, pieces, grams)
        found = batch_sheet(recipe, pantry, batch=batch, on=house.clock().date().isoformat())
    write_bytes(out, batch_sheet_pdf(found, paper="us-letter" if paper == "us-letter" else "a4"))
    answer = {"file": out.name, "size": found.size, "temper": [asdict(t) for t in found.temper]}
    typer.echo(json.dumps(answer, ensure_ascii=False) if as_json else f"{out.name}: {found.title}, {found.size}")


@app.command("rebalance")
def rebalance_recipe(
    key: str,
    goal: Annotated[list[str], typer.Option(help="quantity:low:high, such as water_activity::0.85 or water_g:15:22.")],
    lock: Annotated[list[str] | None, typer.Option(help="Ingredient that must stay as it is.")] = None,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Find the fewest changes that bring a recipe into a target, and say why."""
    import math

    from bloomless.bench.recipes import pantry_of, recipe_named
    from bloomless.quantities import number_from_text
    from bloomless.recipes.rebalance import Goal, rebalance

    goals = []
    for text in goal:
        parts = text.split(":")
        if len(parts) != 3:
            raise ImpossibleInput("goal", text, "quantity:low:high, either end left empty")
        low, high = (number_from_text(p, field="goal") if p else None for p in parts[1:])
        goals.append(Goal(parts[0], -math.inf if low is None else low, math.inf if high is None else high))
    with opened(data) as house:
        recipe, _ = recipe_named(house.book, key)
        found = rebalance(recipe, pantry_of(house.book), goals, locked=lock or ())
    if as_json:
        answer = {
            "met": found.met,
            "missed": list(found.missed),
            "before": dict(found.before),
            "after": dict(found.after),
        }
        typer.echo(json.dumps(answer | {"changes": [asdict(c) for c in found.changes]}, ensure_ascii=False, indent=1))
    else:
        for change in found.changes:
            typer.echo(f"{change.name}: {change.before_g:.1f} → {change.after_g:.1f} g: {change.why}")
        typer.echo("met" if found.met else f"not met: {', '.join(found.missed)}")
    if not found.met:
        raise typer.Exit(1)


@app.command("export")
def export(
    key: Annotated[str, typer.Argument(help="Key of a recipe, or 'all' for the whole book.")],
    form: Annotated[str, typer.Option("--as", help="schema.org, csv or book.")] = "book",
    data: Data = None,
) -> None:
    """Write a recipe, or the book, to standard output."""
    from bloomless.bench.exchange import export_book
    from bloomless.bench.recipes import recipe_named
    from bloomless.recipes.interchange import csv_of_recipe, schema_org

    if form not in ("schema.org", "csv", "book"):
        raise ImpossibleInput("as", form, "schema.org, csv or book")
    with opened(data) as house:
        pantry = house.shelf.written()
        chosen = list(pantry.recipes.values()) if key == "all" else [recipe_named(house.book, key)[0]]
        text = export_book(house.book, "" if key == "all" else key)
    if form == "csv":
        text = "".join(csv_of_recipe(recipe, pantry) for recipe in chosen)
    elif form == "schema.org":
        made = [schema_org(recipe, pantry) for recipe in chosen]
        text = json.dumps(made if key == "all" else made[0], ensure_ascii=False, indent=1) + "\n"
    typer.echo(text, nl=False)


@app.command("import")
def import_file(
    file: Annotated[Path, typer.Argument(help="A file of the book's own form, or of public food data (CSV).")],
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Take recipes and ingredients from a file: all of it or nothing, every problem named by field."""
    from bloomless.bench.exchange import import_book, save_foods
    from bloomless.recipes.interchange import ingredients_from_food_csv
    from bloomless.storage.photos import photo_from

    text = read_text(file)
    with opened(data) as house:
        if file.suffix.lower() == ".csv":
            foods, problems = ingredients_from_food_csv(text)
            save_foods(house.book, foods, at=house.clock())
            recipes, ingredients = 0, len(foods)
        else:
            recipes, ingredients, problems = import_book(house.book, text, at=house.clock(), redraw=photo_from)
    answer = {"recipes": recipes, "ingredients": ingredients, "problems": [p.text for p in problems]}
    if as_json:
        typer.echo(json.dumps(answer, ensure_ascii=False, indent=1))
    else:
        for problem in problems:
            typer.echo(problem.text, err=True)
        typer.echo(f"{answer['recipes']} recipes and {answer['ingredients']} ingredients taken.")
    if problems:
        raise typer.Exit(3)


@app.command()
def schema() -> None:
    """Print the JSON Schema of the recipe book's files."""
    from bloomless.recipes.documents import book_schema

    typer.echo(json.dumps(book_schema(), ensure_ascii=False, indent=1))


@app.command()
def demo(
    remove: Annotated[bool, typer.Option("--remove", help="Take the example out again, in one step.")] = False,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Put the example workshop into the book: an invented sail loft with recipes, stock, moulds and batches."""
    from bloomless.bench.demo_book import load_demo, remove_demo

    with opened(data) as house:
        number = (remove_demo if remove else load_demo)(house.book, at=house.clock())
    word = "removed" if remove else "written"
    typer.echo(json.dumps({word: number}) if as_json else f"{number} things {word}.")
