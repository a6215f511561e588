"""``bloomless recipe``, goods: the stock by lots with what they cost, own ingredients from a data sheet."""

from __future__ import annotations

from typing import Annotated, Any, Final

import typer

from bloomless.cli.book_access import AsJson, Data, key_of, opened, tell
from bloomless.errors import UnknownName

__all__ = ["COMMANDS", "count", "ingredient", "receive", "stock"]

COMMANDS: Final = ("receive", "count", "stock", "ingredient")
Number = Annotated[float | None, typer.Option(min=0.0, help="g in 100 g.")]


def receive(
    key: Annotated[str, typer.Argument(help="Key of the ingredient.")],
    grams: Annotated[float, typer.Argument(min=0.001, help="What came, g.")],
    cost: Annotated[str, typer.Option(help="What it cost, such as 31.20.")] = "",
    lot: Annotated[str, typer.Option(help="Lot; a code of the day if empty.")] = "",
    supplier: Annotated[str, typer.Option(help="From whom.")] = "",
    on: Annotated[str, typer.Option(help="Day it came, ISO 8601; today if empty.")] = "",
    best_before: Annotated[str, typer.Option(help="ISO 8601.")] = "",
    waste: Annotated[float, typer.Option(min=0.0, max=95.0, help="Of it cannot be used, %.")] = 0.0,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Put a lot on the shelf, with what it cost."""
    from bloomless.bench import stock as jobs
    from bloomless.bench.cost_terms import terms_of
    from bloomless.lots import Lot

    with opened(data) as house:
        known = house.shelf.written().ingredients
        if key not in known:
            raise UnknownName("key", key, known)
        today = house.clock().date().isoformat()
        paid = jobs.cost_of(cost, terms_of(house.book).wage.currency) if cost else None
        code = lot or f"{today}/{len(jobs.lots_of(house.book, key)) + 1}"
        made = Lot(code, on or today, grams, grams, paid, supplier, best_before, 1.0 - waste / 100.0)
        jobs.receive(house.book, key, made, at=house.clock())
        there = jobs.stock_of(house.book)[key]
    tell({"key": key, "lot": code, "there_g": there}, f"{key}: lot {code}, {there:.0f} g there now.", as_json=as_json)


def count(
    key: Annotated[str, typer.Argument(help="Key of the ingredient.")],
    lot: Annotated[str, typer.Argument(help="Lot.")],
    grams: Annotated[float, typer.Argument(min=0.0, help="What is really left, g.")],
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Write down what is left of a lot, after counting."""
    from bloomless.bench import stock as jobs

    with opened(data) as house:
        jobs.count_lot(house.book, key, lot, grams, at=house.clock())
        there = jobs.stock_of(house.book)[key]
    tell({"key": key, "there_g": there}, f"{key}: {there:.0f} g there now.", as_json=as_json)


def stock(data: Data = None, as_json: AsJson = False) -> None:
    """List what is there, lot by lot, with the price of a kilogram."""
    from bloomless.bench.stock import every_lot
    from bloomless.lots import oldest_first

    rows: list[dict[str, Any]] = []
    with opened(data) as house:
        for key, lots in every_lot(house.book).items():
            for lot in oldest_first(lots):
                price = lot.price
                per_kg = None if price is None else str((price.per_gram * 1000).rounded())
                rows.append({"key": key, "lot": lot.code, "on": lot.on, "left_g": lot.left_g, "per_kg": per_kg,
                             "best_before": lot.best_before, "supplier": lot.supplier})  # fmt: skip
    lines = [
        f"{r['key']:24} {r['lot']:14} {r['left_g']:8.0f} g  {r['per_kg'] or '–':>12}  {r['best_before']}" for r in rows
    ]
    tell({"lots": rows}, "\n".join(lines) or "Nothing yet.", as_json=as_json)


def ingredient(
    name: Annotated[str, typer.Argument(help="Its name; its key is made of it.")],
    fat: Annotated[float, typer.Option(min=0.0, help="g in 100 g.")],
    carbohydrate: Annotated[float, typer.Option(min=0.0, help="g in 100 g, without fibre as in Europe.")],
    protein: Annotated[float, typer.Option(min=0.0, help="g in 100 g.")],
    group: Annotated[str, typer.Option(help="Kind of goods: dairy, sugar, nut, fruit …")] = "composite",
    water: Number = None,
    saturates: Number = None,
    cocoa_butter: Number = None,
    milk_fat: Number = None,
    sugars: Number = None,
    lactose: Number = None,
    polyols: Number = None,
    fibre: Number = None,
    salt: Number = None,
    alcohol: Number = None,
    kcal: Annotated[float | None, typer.Option(min=0.0, help="Energy as printed.")] = None,
    density: Annotated[float | None, typer.Option(min=200.0, help="kg/m³.")] = None,
    allergen: Annotated[list[str] | None, typer.Option(help="Substance; a ? behind it: ask the supplier.")] = None,
    may_contain: Annotated[list[str] | None, typer.Option(help="Traces the supplier warns of.")] = None,
    sheet: Annotated[str, typer.Option(help="Which sheet, and of which day.")] = "",
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Keep an own ingredient as its supplier's data sheet says."""
    from bloomless.bench.recipes import save_ingredient
    from bloomless.materials.data_sheet import DataSheet, ingredient_from_sheet
    from bloomless.materials.ingredients import AllergenNote

    printed = DataSheet(
        water, fat, saturates, cocoa_butter, milk_fat, carbohydrate, sugars, lactose, polyols, fibre, protein, salt,
        alcohol, kcal,
    )  # fmt: skip
    notes = tuple(AllergenNote(text.rstrip("? "), not text.endswith("?")) for text in allergen or ())
    with opened(data) as house:
        made = ingredient_from_sheet(
            printed, key=key_of(name), name=name, group=group, allergens=notes, may_contain=tuple(may_contain or ()),
            density_kg_m3=density, sheet_name=sheet, old=house.shelf.written().ingredients.get(key_of(name)),
        )  # fmt: skip
        save_ingredient(house.book, made, at=house.clock())
    c = made.composition
    text = f"{made.key}: adds up to {c.added_up_g:.1f} g, {c.energy_kcal:.0f} kcal."
    tell({"key": made.key, "adds_up_to_g": c.added_up_g, "energy_kcal": c.energy_kcal}, text, as_json=as_json)
