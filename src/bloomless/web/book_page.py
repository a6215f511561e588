"""The recipe book on screen: find, compose, weigh up, scale, change, print, and the batches made from it."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, RedirectResponse, Response

from bloomless.bench import recipes as jobs
from bloomless.bench.batch_sheet import BatchSheet, batch_sheet, quick_bar
from bloomless.bench.demo_book import demo_is_loaded, load_demo, remove_demo
from bloomless.costing import BatchCost, price_rise
from bloomless.costing.price import break_even_batch_pieces, channel_price, earned_per_hour
from bloomless.errors import BloomlessError, ImpossibleInput, UnknownName
from bloomless.materials.mould_library import library as mould_library
from bloomless.materials.mould_library import words_of
from bloomless.recipes import KINDS, Pantry, Recipe, Step
from bloomless.recipes.interchange import csv_of_recipe, schema_org
from bloomless.recipes.rebalance import Goal, Rebalanced, rebalance
from bloomless.recipes.recipe import PARTS_OF_A_PIECE
from bloomless.recipes.scaling import for_mass, for_pieces
from bloomless.sheets.batch_sheet import batch_sheet_pdf
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)

MOST_LINES: Final = 14
_PIECE_MOULDS: Final = ("bar", "tablet")


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_")[:60] or "recipe"


@router.get("/book")
async def book(request: Request) -> Response:
    """Every recipe, found as typed."""
    house = request.app.state.house

    def look() -> dict[str, Any]:
        pantry = jobs.pantry_of(house.book)
        stock_g = jobs.stock_of(house.book)
        able = {r.key: (size, first) for r, size, first in jobs.makeable(pantry, stock_g)} if stock_g else {}
        found = jobs.search_index(house.book, jobs.names_of(pantry)).find(request.query_params.get("q", ""), most=500)
        if request.query_params.get("can") == "now":
            found = [key for key in found if key in able]
        return {"recipes": [pantry.recipes[key] for key in found], "able": able, "example": demo_is_loaded(house.book)}

    shown = await run_in_threadpool(look)
    return render(
        request, "book.html", q=request.query_params.get("q", ""), can=request.query_params.get("can"), **shown
    )


@router.get("/book/find")
async def find(request: Request) -> Response:
    """Keys of the recipes that hold what is typed, best first."""
    house = request.app.state.house
    keys = await run_in_threadpool(
        lambda: jobs.search_index(house.book).find(request.query_params.get("q", "")[:200], most=500)
    )
    return JSONResponse({"keys": keys})


@router.post("/book/example")
async def example(request: Request) -> Response:
    """Put the example workshop in, or take it out in one step."""
    house = request.app.state.house
    form = await Form.posted(request)
    job = remove_demo if form.values.get("do") == "remove" else load_demo
    await run_in_threadpool(lambda: job(house.book, at=house.clock()))
    return RedirectResponse("/book", 303)


def _chocolates(pantry: Pantry) -> list[tuple[str, str]]:
    return [(k, i.name) for k, i in pantry.ingredients.items() if i.group.startswith("chocolate_")]


def _things(pantry: Pantry) -> list[tuple[str, str]]:
    return sorted(jobs.names_of(pantry).items(), key=lambda item: item[1].casefold())


def _new_bar_page(request: Request, form: Form, status: int = 200) -> Response:
    pantry = jobs.pantry_of(request.app.state.house.book)
    moulds = [("", request.state.gettext("no mould: by weight"))]
    moulds += [(name, words) for name, words in words_of().items() if name.startswith(_PIECE_MOULDS)]
    return render(
        request,
        "book_bar.html",
        status=status,
        form=form,
        chocolates=_chocolates(pantry),
        things=_things(pantry),
        moulds=moulds,
    )


@router.get("/book/new-bar")
async def new_bar(request: Request) -> Response:
    """Bars, from what a newcomer says."""
    return await run_in_threadpool(lambda: _new_bar_page(request, Form(view=request.state.view)))


@router.post("/book/new-bar")
async def make_bar(request: Request) -> Response:
    """Write the bar recipe and its first batch."""
    house = request.app.state.house
    form = await Form.posted(request)
    pantry = await run_in_threadpool(lambda: jobs.pantry_of(house.book))
    known = jobs.names_of(pantry)
    by_name = {name.casefold(): key for key, name in known.items()}
    name = form.text("name")
    chocolate = form.choice("chocolate", [key for key, _ in _chocolates(pantry)])
    bars = form.number("bars", at_least=1, at_most=10_000)
    mould = mould_library().get(form.values.get("mould", ""))
    piece_g = mould.piece_g(1270.0) if mould else form.mass_g("piece_g", at_least=1, at_most=5000)
    inclusions = []
    for n in (1, 2):
        typed = form.text(f"with{n}", required=False)
        if typed:
            key = by_name.get(typed.casefold(), typed)
            if key not in known:
                form.fail(f"with{n}", request.state.gettext("Nothing in the book has this name."))
            share = form.number(f"share{n}", at_least=0.1, at_most=49)
            inclusions.append((key, (share or 0.0) / 100.0))
    if not form.ok or name is None or chocolate is None or bars is None or piece_g is None:
        return await run_in_threadpool(lambda: _new_bar_page(request, form, 422))

    def write() -> str:
        made = quick_bar(
            pantry, chocolate=chocolate, bars=math.ceil(bars), piece_g=piece_g, inclusions=inclusions, name=name
        )
        jobs.save_recipe(house.book, made, at=house.clock())
        return _write_batch(house, made.key, made.pieces, None, mould.name if mould else "")

    try:
        code = await run_in_threadpool(write)
    except ImpossibleInput as error:
        form.fail("with1", error.text)
        return await run_in_threadpool(lambda: _new_bar_page(request, form, 422))
    return RedirectResponse(f"/book/batches/{code}", 303)


def _write_batch(house: Any, key: str, pieces: float | None, grams: float | None, mould: str) -> str:
    """Note a batch; its code is the day and a number."""
    now = house.clock()
    taken = {entry.key for entry in house.book.latest("batch")}
    number = next(n for n in range(1, 10_000) if f"B{now:%y%m%d}-{n}" not in taken)
    code = f"B{now:%y%m%d}-{number}"
    _, entry = jobs.recipe_named(house.book, key)
    document = {"recipe": key, "version": entry.version, "on": now.date().isoformat(), "mould": mould}
    document |= {"pieces": pieces} if pieces is not None else {}
    document |= {"grams": grams} if grams is not None else {}
    house.book.put("batch", code, document, at=now)
    return code


def _size(request: Request, recipe: Recipe, pantry: Pantry) -> tuple[Recipe, float | None, float | None]:
    """The recipe in the size asked for in the address."""
    form = Form(dict(request.query_params), {}, request.state.view, request.state.gettext)
    pieces = form.number("pieces", at_least=0.01, at_most=1e6, required=False) if recipe.pieces else None
    grams = form.mass_g("grams", at_least=0.1, at_most=1e7, required=False)
    for field, text in form.errors.items():
        raise ImpossibleInput(field, request.query_params.get(field), text)
    if pieces is not None:
        return for_pieces(recipe, pieces), pieces, None
    return (for_mass(recipe, grams, pantry), None, grams) if grams is not None else (recipe, None, None)


@router.get("/book/recipes/{key}")
async def recipe_page(request: Request, key: str) -> Response:
    """One recipe, weighed up in the size asked for."""
    house = request.app.state.house

    def look() -> dict[str, Any]:
        pantry = jobs.pantry_of(house.book)
        recipe, entry = jobs.recipe_named(house.book, key)
        sized, pieces, grams = _size(request, recipe, pantry)
        found = jobs.weigh_up(
            sized, pantry, terms=jobs.terms_of(house.book), packaging=jobs.packaging_of(house.book, recipe)
        )
        rise = price_rise(found.cost, pantry, 0.3, cocoa_butter=True)
        names = jobs.names_of(pantry)
        users = [r for r in pantry.recipes.values() if any(line.is_recipe and line.of == key for line in r.lines)]
        return {
            "recipe": sized, "written": recipe, "entry": entry, "found": found, "names": names, "users": users,
            "pieces": pieces, "grams": grams, "rise": rise, **_prices(found.cost),
        }  # fmt: skip

    return render(request, "book_recipe.html", **await run_in_threadpool(look))


def _prices(cost: BatchCost) -> dict[str, Any]:
    """Usual margins of three channels [trade practice], margin and mark-up kept apart."""
    each = cost.per_piece
    if each is None or not each.amount:
        return {"prices": [], "break_even": None, "earned": None}
    own, shops, market = Decimal("0.65"), Decimal("0.45"), Decimal("0.50")
    shown = [
        channel_price(each, "Sold by yourself", own),
        channel_price(each, "To shops", shops),
        channel_price(each, "At a market that keeps 20 %", market, fee_share=Decimal("0.20")),
    ]
    first = shown[0].net
    earned = earned_per_hour(cost, first) if cost.hands_min > 0 else None
    return {"prices": shown, "break_even": break_even_batch_pieces(cost, first), "earned": earned}


@router.post("/book/recipes/{key}/batches")
async def start_batch(request: Request, key: str) -> Response:
    """Note a batch in the size shown, for its sheet."""
    house = request.app.state.house
    form = await Form.posted(request)
    pieces = form.number("pieces", at_least=0.01, at_most=1e6, required=False)
    grams = form.number("grams", at_least=0.1, at_most=1e7, required=False)
    code = await run_in_threadpool(lambda: _write_batch(house, key, pieces, grams, ""))
    return RedirectResponse(f"/book/batches/{code}", 303)


def _sheet(request: Request, code: str) -> BatchSheet:
    house = request.app.state.house
    document = house.book.get("batch", code).document
    pantry = jobs.pantry_of(house.book)
    recipe, _ = jobs.recipe_named(house.book, document["recipe"], document.get("version"))
    if document.get("pieces") and recipe.pieces:
        recipe = for_pieces(recipe, float(document["pieces"]))
    elif document.get("grams"):
        recipe = for_mass(recipe, float(document["grams"]), pantry)
    address = str(request.url_for("batch_page", code=code))
    on = str(document.get("on") or document.get("made_on") or "")
    mould = mould_library().get(document.get("mould", ""))
    return batch_sheet(recipe, pantry, batch=code, on=on, address=address, mould=mould)


@router.get("/book/batches/{code}")
async def batch_page(request: Request, code: str) -> Response:
    """The batch sheet as a checklist on screen; the printed code leads here."""
    house = request.app.state.house
    sheet = await run_in_threadpool(lambda: _sheet(request, code))
    document = house.book.get("batch", code).document
    return render(request, "book_batch.html", sheet=sheet, document=document)


@router.get("/book/batches/{code}/sheet.pdf")
async def batch_pdf(request: Request, code: str) -> Response:
    """The batch sheet on A4, or on US Letter where that is used."""
    country = str(request.app.state.settings.current().get("country", "EU"))
    sheet = await run_in_threadpool(lambda: _sheet(request, code))
    made = await run_in_threadpool(lambda: batch_sheet_pdf(sheet, paper="us-letter" if country == "US" else "a4"))
    headers = {"content-disposition": f'inline; filename="{_slug(code)}.pdf"'}
    return Response(made, media_type="application/pdf", headers=headers)


@router.get("/book/recipes/{key}/versions")
async def versions(request: Request, key: str) -> Response:
    """What changed from version to version."""
    house = request.app.state.house

    def look() -> list[Any]:
        history = house.book.history("recipe", key)
        pairs = pairwise(history)
        return [(b, jobs.version_difference(house.book, key, a.version, b.version)) for a, b in pairs][::-1]

    changes = await run_in_threadpool(look)
    recipe, entry = await run_in_threadpool(lambda: jobs.recipe_named(house.book, key))
    return render(request, "book_versions.html", recipe=recipe, entry=entry, changes=changes)


@router.get("/book/recipes/{key}/export.{form}")
async def export(request: Request, key: str, form: str) -> Response:
    """The recipe as schema.org JSON-LD, or as a table."""
    house = request.app.state.house
    pantry = await run_in_threadpool(lambda: jobs.pantry_of(house.book))
    recipe, _ = jobs.recipe_named(house.book, key)
    if form == "csv":
        return Response(csv_of_recipe(recipe, pantry), media_type="text/csv; charset=utf-8")
    if form != "jsonld":
        raise UnknownName("form", form, ["csv", "jsonld"])
    text = json.dumps(schema_org(recipe, pantry), ensure_ascii=False, indent=1)
    return Response(text, media_type="application/ld+json; charset=utf-8")


@router.post("/book/recipes/{key}/variant")
async def variant(request: Request, key: str) -> Response:
    """Write it once more under another name."""
    house = request.app.state.house
    form = await Form.posted(request)
    name = form.text("name")
    if name is None:
        raise ImpossibleInput("name", None, "a name for the variant")
    new_key = _slug(name)
    await run_in_threadpool(lambda: jobs.duplicate(house.book, key, new_key, name, at=house.clock()))
    return RedirectResponse(f"/book/recipes/{new_key}/edit", 303)


@router.get("/book/recipes/{key}/change")
async def change(request: Request, key: str) -> Response:
    """What to change for a lower water activity or another firmness, and why."""
    house = request.app.state.house
    form = Form(dict(request.query_params), {}, request.state.view, request.state.gettext)
    found: Rebalanced | None = None
    if "quantity" in form.values:
        quantity = form.choice("quantity", [q for q, _ in _GOALS])
        low = form.number("low", at_least=0, at_most=1000, required=False)
        high = form.number("high", at_least=0, at_most=1000, required=False)
        if form.ok and quantity and (low is not None or high is not None):
            goal = Goal(quantity, -math.inf if low is None else low, math.inf if high is None else high)

            def solve() -> Rebalanced:
                return rebalance(jobs.recipe_named(house.book, key)[0], jobs.pantry_of(house.book), [goal])

            try:
                found = await run_in_threadpool(solve)
            except ImpossibleInput as error:
                form.fail("low", error.text)
    recipe, _ = await run_in_threadpool(lambda: jobs.recipe_named(house.book, key))
    goals = [(q, request.state.gettext(words)) for q, words in _GOALS]
    return render(request, "book_change.html", recipe=recipe, form=form, found=found, goals=goals)


_GOALS: Final = (
    ("water_activity", "Water activity"),
    ("water_g", "Water, %"),
    ("fat_g", "Fat, %"),
    ("cocoa_butter_g", "Cocoa butter, %"),
    ("fat_to_water", "Fat for one part of water"),
    ("sweetness", "Sweetness, % of sugar"),
    ("sucrose_saturation", "Sucrose over what the water holds"),
)


def _edit_page(request: Request, recipe: Recipe | None, form: Form, status: int = 200) -> Response:
    pantry = jobs.pantry_of(request.app.state.house.book)
    names = jobs.names_of(pantry)
    lines = list(recipe.lines) if recipe else []
    rows = [
        {
            "of": form.values.get(f"of{n}", names.get(lines[n].of, "") if n < len(lines) else ""),
            "g": form.values.get(f"g{n}", f"{lines[n].mass_g:g}" if n < len(lines) else ""),
            "part": form.values.get(f"part{n}", lines[n].part if n < len(lines) else ""),
        }
        for n in range(max(MOST_LINES, len(lines) + 4))
    ]
    steps = "\n".join(_step_text(step) for step in recipe.steps) if recipe else ""
    kinds = [(kind, kind.replace("_", " ")) for kind in KINDS]
    return render(
        request, "book_edit.html", status=status, form=form, recipe=recipe, rows=rows, steps=steps, kinds=kinds,
        things=_things(pantry), parts=PARTS_OF_A_PIECE,
    )  # fmt: skip


def _step_text(step: Step) -> str:
    numbers = [
        f"{step.temperature_C:g}" if step.temperature_C is not None else "",
        f"{step.hands_min:g}",
        f"{step.wait_min:g}",
    ]
    return " | ".join([step.text, *numbers])


def _steps_from(text: str) -> tuple[Step, ...]:
    found = []
    for number, line in enumerate((one for one in text.splitlines() if one.strip()), start=1):
        parts = [part.strip() for part in line.split("|")]
        try:
            values = [float(part.replace(",", ".")) if part else None for part in parts[1:4]]
        except ValueError:
            raise ImpossibleInput(
                f"steps[{number}]", line, "text | °C | minutes of work | minutes of waiting"
            ) from None
        values += [None] * (3 - len(values))
        found.append(Step(parts[0], values[0], values[1] or 0.0, values[2] or 0.0))
    return tuple(found)


@router.get("/book/new")
async def new_recipe(request: Request) -> Response:
    """A recipe line by line."""
    return await run_in_threadpool(lambda: _edit_page(request, None, Form(view=request.state.view)))


@router.get("/book/recipes/{key}/edit")
async def edit(request: Request, key: str) -> Response:
    """A recipe to be changed; saving makes a version."""
    house = request.app.state.house
    recipe, _ = await run_in_threadpool(lambda: jobs.recipe_named(house.book, key))
    return await run_in_threadpool(lambda: _edit_page(request, recipe, Form(view=request.state.view)))


@router.post("/book/new")
@router.post("/book/recipes/{key}/edit")
async def save(request: Request, key: str = "") -> Response:
    """Write the version, or say field by field what cannot be."""
    house = request.app.state.house
    form = await Form.posted(request)
    pantry = await run_in_threadpool(lambda: jobs.pantry_of(house.book))
    old = pantry.recipes.get(key)
    by_name = {name.casefold(): k for k, name in jobs.names_of(pantry).items()}
    name, kind = form.text("name"), form.choice("kind", KINDS)
    pieces = form.number("pieces", at_least=0.01, at_most=1e6, required=False)
    left = form.number("left", at_least=0, at_most=99, required=False)
    reject = form.number("reject", at_least=0, at_most=99, required=False)
    lines = []
    for n in range(200):
        typed = form.values.get(f"of{n}", "").strip()
        if not typed:
            continue
        of = by_name.get(typed.casefold(), typed)
        grams = form.number(f"g{n}", at_least=0, at_most=1e7)
        part = form.choice(f"part{n}", PARTS_OF_A_PIECE, required=False) or ""
        try:
            line = jobs.line_from(of, grams or 0.0, pantry, part=part)
        except UnknownName as error:
            form.fail(f"of{n}", error.text)
            continue
        known = next((one for one in (old.lines if old else ()) if (one.of, one.part) == (of, part)), None)
        lines.append(replace(known, mass_g=line.mass_g) if known else line)
    if not lines:
        form.fail("of0", request.state.gettext("At least one line, please."))

    def write() -> str:
        made = Recipe(
            key or _slug(name or ""), name or "", kind or "other", tuple(lines),
            _steps_from(form.values.get("steps", "")),
            cooking=old.cooking if old else None, left_behind_share=(left or 0.0) / 100.0,
            reject_share=(reject or 0.0) / 100.0, pieces=pieces,
            tags=tuple(t.strip() for t in form.values.get("tags", "").split(",") if t.strip()),
            keeping_risks=old.keeping_risks if old else (), variant_of=old.variant_of if old else "",
            note=form.values.get("note", "").strip(),
        )  # fmt: skip
        if not key and made.key in pantry.recipes:
            raise ImpossibleInput("name", name, "a name that no recipe has yet", code="taken")
        return jobs.save_recipe(house.book, made, at=house.clock()).key

    if form.ok:
        try:
            return RedirectResponse(f"/book/recipes/{await run_in_threadpool(write)}", 303)
        except BloomlessError as error:
            form.fail("steps" if "steps" in str(getattr(error, "field", "")) else "name", error.text)
    return await run_in_threadpool(lambda: _edit_page(request, old, form, 422))


FAMILY: Final = Family(router, links=(Link("/book", "Recipe book", "Kitchen", 10),))
