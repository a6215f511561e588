"""The recipe book on screen: every recipe, found as typed; bars from a few questions; the example workshop."""

from __future__ import annotations

import math
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench import batches
from bloomless.bench import recipes as jobs
from bloomless.bench.batch_sheet import quick_bar
from bloomless.bench.demo_book import demo_is_loaded, load_demo, remove_demo
from bloomless.errors import ImpossibleInput
from bloomless.materials.mould_library import library as mould_library
from bloomless.materials.mould_library import words_of
from bloomless.recipes import Pantry
from bloomless.web.book_view import found_key, share_in, things_said, unknown_name
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)

MOST_SHOWN: Final = 50
_PIECE_MOULDS: Final = ("bar", "tablet")


def _found(request: Request) -> dict[str, Any]:
    """The recipes that hold what is asked for, best first; no more than a person looks through."""
    shelf, asked = request.app.state.house.shelf, request.query_params
    pantry, able = shelf.pantry(), shelf.makeable()
    keys = shelf.index(request.state.view.language, request.state.gettext).find(asked.get("q", "")[:200], most=10_000)
    if asked.get("can") == "now":
        keys = [key for key in keys if key in able]
    if asked.get("tag"):
        keys = [key for key in keys if asked["tag"] in pantry.recipes[key].tags]
    say = request.state.gettext
    rows = [(pantry.recipes[key], able.get(key)) for key in keys[:MOST_SHOWN]]
    shown = [
        (one, None if stock is None else (stock[1], say(pantry.ingredients[stock[2]].name))) for one, stock in rows
    ]
    return {"recipes": shown, "number": len(keys)}


@router.get("/book")
async def book(request: Request) -> Response:
    """Every recipe, found as typed."""
    house, asked = request.app.state.house, request.query_params
    found = await run_in_threadpool(_found, request)
    example = await run_in_threadpool(demo_is_loaded, house.book)
    words: dict[str, Any] = {name: asked.get(name, "") for name in ("q", "can", "tag")}
    recipes = house.shelf.pantry().recipes
    tags = sorted({tag for recipe in recipes.values() for tag in recipe.tags}, key=str.casefold)
    return render(request, "book.html", example=example, whole=len(recipes), tags=tags, **words, **found)


@router.get("/book/find")
async def find(request: Request) -> Response:
    """The rows of the recipes that hold what is typed, best first: a piece of the page."""
    found = await run_in_threadpool(_found, request)
    return render(request, "book_rows.html", **found)


@router.post("/book/example")
async def example(request: Request) -> Response:
    """Put the example workshop in, or take it out in one step."""
    house = request.app.state.house
    form = await Form.posted(request)
    job = remove_demo if form.values.get("do") == "remove" else load_demo
    await run_in_threadpool(lambda: job(house.book, at=house.clock()))
    return RedirectResponse("/book", 303)


def _chocolates(request: Request, pantry: Pantry) -> list[tuple[str, str]]:
    say = request.state.gettext
    return [(k, say(i.name)) for k, i in pantry.ingredients.items() if i.group.startswith("chocolate_")]


def _new_bar_page(request: Request, form: Form, status: int = 200) -> Response:
    pantry, say = request.app.state.house.shelf.written(), request.state.gettext
    moulds = [("", say("no mould: by weight"))]
    moulds += [(name, say(words)) for name, words in words_of().items() if name.startswith(_PIECE_MOULDS)]
    return render(
        request, "book_bar.html", status=status, form=form, chocolates=_chocolates(request, pantry),
        things=things_said(request, pantry), moulds=moulds,
    )  # fmt: skip


@router.get("/book/new-bar")
async def new_bar(request: Request) -> Response:
    """Bars, from what a newcomer says."""
    return await run_in_threadpool(lambda: _new_bar_page(request, Form(view=request.state.view)))


def _inclusions(request: Request, form: Form, pantry: Pantry) -> list[tuple[str, float]]:
    found = []
    for n in (1, 2):
        typed = form.text(f"with{n}", required=False)
        if typed:
            key = found_key(request, typed, pantry)
            if key not in pantry.ingredients and key not in pantry.recipes:
                form.fail(f"with{n}", unknown_name(request, typed, pantry))
            form.number(f"share{n}", at_least=0.1, at_most=49)
            found.append((key, share_in(form, f"share{n}")))
    return found


@router.post("/book/new-bar")
async def make_bar(request: Request) -> Response:
    """Write the bar recipe and its first batch."""
    house = request.app.state.house
    form = await Form.posted(request)
    pantry = await run_in_threadpool(house.shelf.written)
    name = form.text("name")
    chocolate = form.choice("chocolate", [key for key, _ in _chocolates(request, pantry)])
    bars = form.number("bars", at_least=1, at_most=10_000)
    mould = mould_library().get(form.values.get("mould", ""))
    piece_g = mould.piece_g(1270.0) if mould else form.mass_g("piece_g", at_least=1, at_most=5000)
    inclusions = _inclusions(request, form, pantry)
    if not form.ok or name is None or chocolate is None or bars is None or piece_g is None:
        return await run_in_threadpool(lambda: _new_bar_page(request, form, 422))

    def write() -> str:
        made = quick_bar(
            pantry, chocolate=chocolate, bars=math.ceil(bars), piece_g=piece_g, inclusions=inclusions, name=name
        )
        jobs.save_recipe(house.book, made, at=house.clock())
        where = mould.name if mould else ""
        return batches.start_batch(house.book, made.key, at=house.clock(), pieces=made.pieces, mould=where)

    try:
        code = await run_in_threadpool(write)
    except ImpossibleInput as error:
        form.fail("with1", error.text)
        return await run_in_threadpool(lambda: _new_bar_page(request, form, 422))
    return RedirectResponse(f"/book/batches/{code}", 303)


FAMILY: Final = Family(router, links=(Link("/book", "Recipe book", "Kitchen", 10),))
