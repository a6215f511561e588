"""One recipe on screen: weighed up in a size, its versions, a variant, what to change, measured values, its photo."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench import batches, photos
from bloomless.bench import recipes as jobs
from bloomless.bench.cost_terms import channels_of, packaging_of, terms_of
from bloomless.costing import BatchCost, by_batch_size, price_rise, swings
from bloomless.costing.cost import labour_by_step
from bloomless.costing.price import Channel, break_even_batch_pieces, earned_per_hour
from bloomless.errors import BloomlessError, ImpossibleInput, UnknownName
from bloomless.recipes import Measured, Pantry, Recipe
from bloomless.recipes.freezing import FREEZING
from bloomless.recipes.interchange import csv_of_recipe, schema_org
from bloomless.recipes.rebalance import Goal, Rebalanced, rebalance
from bloomless.sheets.sensitivity import sensitivity_svg
from bloomless.storage.photos import photo_from
from bloomless.web.book_view import asked_form, at_field, moulds_said, names_said, sized, slug, uploaded
from bloomless.web.families import Family
from bloomless.web.forms import Form
from bloomless.web.render import render
from bloomless.web.sentences import say

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)
RISES: Final = (0.1, 0.3, 0.6, 1.0)


@router.get("/book/recipes/{key}")
async def recipe_page(request: Request, key: str) -> Response:
    """One recipe, weighed up in the size asked for."""
    return await run_in_threadpool(lambda: _recipe_page(request, key, asked_form(request)))


def _recipe_page(request: Request, key: str, form: Form, status: int = 200) -> Response:
    house = request.app.state.house
    pantry: Pantry = house.shelf.pantry()
    written, entry = jobs.recipe_named(house.book, key)
    if key not in pantry.recipes:
        raise UnknownName("recipe", key, pantry.recipes)
    size = sized(request, pantry.recipes[key], pantry)
    recipe = size.recipe
    terms, packed = terms_of(house.book), packaging_of(house.book, key)
    found = jobs.weigh_up(recipe, pantry, terms=terms, packaging=packed)
    users = [r for r in pantry.recipes.values() if any(line.is_recipe and line.of == key for line in r.lines)]
    view = request.state.view
    picture = sensitivity_svg(
        swings(recipe, pantry, terms, packed), say=lambda text: say(text, view), number=view.number, themed=True,
    )  # fmt: skip
    rises = [(share, price_rise(found.cost, pantry, share, cocoa_butter=True)) for share in RISES]
    made = [b for b in batches.newest_first(house.book.latest("batch")) if b.document["recipe"] == key][:5]
    label = next((one.key for one in house.book.latest("label") if one.document.get("recipe") == key), None)
    return render(
        request, "book_recipe.html", status=status, form=form, recipe=recipe, label=label, written=written, entry=entry,
        found=found, names=names_said(request, pantry), users=users, size=size, rises=rises,
        moulds=moulds_said(request) if recipe.pieces else [],
        own=house.shelf.own().get(key, batches.Own()), freezing=FREEZING, picture=picture, batches=made, packed=packed,
        currency=terms.wage.currency, steps=labour_by_step(recipe, pantry, terms),
        sizes=by_batch_size(recipe, pantry, terms, packed), **_prices(found.cost, channels_of(house.book)),
    )  # fmt: skip


def _prices(cost: BatchCost, channels: Sequence[Channel]) -> dict[str, Any]:
    """Prices of every way of selling, margin and mark-up kept apart; the first one pays the batch back."""
    each = cost.per_piece
    if each is None or not each.amount or not channels:
        return {"prices": [], "break_even": None, "earned": None}
    shown = [channel.price(each) for channel in channels]
    first = shown[0].net
    earned = earned_per_hour(cost, first) if cost.hands_min > 0 else None
    return {"prices": shown, "break_even": break_even_batch_pieces(cost, first), "earned": earned}


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


@router.post("/book/recipes/{key}/versions")
async def back_to(request: Request, key: str) -> Response:
    """Write an old version once more, as the newest."""
    house = request.app.state.house
    form = await Form.posted(request)
    number = form.number("version", at_least=1, at_most=1e6)
    recipe, _ = await run_in_threadpool(lambda: jobs.recipe_named(house.book, key, int(number or 0)))
    await run_in_threadpool(lambda: jobs.save_recipe(house.book, recipe, at=house.clock()))
    return RedirectResponse(f"/book/recipes/{key}", 303)


@router.get("/book/recipes/{key}/export.{form}")
async def export(request: Request, key: str, form: str) -> Response:
    """The recipe as schema.org JSON-LD, or as a table."""
    house = request.app.state.house
    pantry = await run_in_threadpool(house.shelf.written)
    recipe, _ = await run_in_threadpool(lambda: jobs.recipe_named(house.book, key))
    names = {"content-disposition": f'attachment; filename="{slug(key)}.{form}"'}
    if form == "csv":
        return Response(csv_of_recipe(recipe, pantry), media_type="text/csv; charset=utf-8", headers=names)
    if form != "jsonld":
        raise UnknownName("form", form, ["csv", "jsonld"])
    text = json.dumps(schema_org(recipe, pantry), ensure_ascii=False, indent=1)
    return Response(text, media_type="application/ld+json; charset=utf-8", headers=names)


@router.post("/book/recipes/{key}/variant")
async def variant(request: Request, key: str) -> Response:
    """Write it once more under another name."""
    house = request.app.state.house
    form = await Form.posted(request)
    name = form.text("variant")
    new_key = slug(name or "")
    try:
        if name is not None:
            await run_in_threadpool(lambda: jobs.duplicate(house.book, key, new_key, name, at=house.clock()))
    except ImpossibleInput:
        form.fail("variant", form.gettext("There is a recipe of this name already."))
    if not form.ok:
        return await run_in_threadpool(lambda: _recipe_page(request, key, form, 422))
    return RedirectResponse(f"/book/recipes/{new_key}/edit", 303)


@router.post("/book/recipes/{key}/withdraw")
async def withdraw(request: Request, key: str) -> Response:
    """Take a recipe out of use; it stays in the history. One that others name stays."""
    house = request.app.state.house
    form = await Form.posted(request)
    pantry = await run_in_threadpool(house.shelf.written)
    users = [r.name for r in pantry.recipes.values() if any(line.is_recipe and line.of == key for line in r.lines)]
    if users:
        form.fail("withdraw", form.gettext("It goes into other recipes: change those first.") + " " + ", ".join(users))
        return await run_in_threadpool(lambda: _recipe_page(request, key, form, 422))
    await run_in_threadpool(lambda: house.book.withdraw("recipe", key, at=house.clock()))
    return RedirectResponse("/book", 303)


@router.post("/book/recipes/{key}/measured")
async def measured(request: Request, key: str) -> Response:
    """Write down what a meter or a laboratory said; it overrides every prediction."""
    house = request.app.state.house
    form = await Form.posted(request)
    aw = form.number("aw", at_least=0.01, at_most=1.0, required=False)
    sd = form.number("sd", at_least=0.001, at_most=0.2, required=False)
    ph = form.number("ph", at_least=0, at_most=14, required=False)
    at_C = form.temperature_C("at", at_least=0, at_most=60, required=False)
    day, instrument = form.text("on", required=False), form.text("instrument", required=False)
    if form.ok and aw is None and ph is None and form.values.get("do") != "remove":
        form.fail("aw", form.gettext("A water activity, a pH, or both."))

    def write() -> None:
        recipe, _ = jobs.recipe_named(house.book, key)
        what = Measured(aw, sd or 0.02, ph, day or house.clock().date().isoformat(), instrument or "", at_C or 25.0)
        now = None if form.values.get("do") == "remove" else what
        jobs.save_recipe(house.book, replace(recipe, measured=now), at=house.clock())

    if form.ok:
        try:
            await run_in_threadpool(write)
        except BloomlessError as error:
            at_field(form, error, {"on": "on", "ph": "ph"}, "aw")
    if not form.ok:
        return await run_in_threadpool(lambda: _recipe_page(request, key, form, 422))
    return RedirectResponse(f"/book/recipes/{key}#keeping", 303)


@router.post("/book/recipes/{key}/photo")
async def put_photo(request: Request, key: str) -> Response:
    """Keep a photo, made small and without what the camera wrote into it; or take it away."""
    house = request.app.state.house
    form = await Form.posted(request)
    data, _ = await uploaded(request, "photo")

    def write() -> None:
        if form.values.get("do") == "remove":
            photos.remove_photo(house.book, key, at=house.clock())
        else:
            photos.keep_photo(house.book, key, photo_from(data), at=house.clock())

    try:
        await run_in_threadpool(write)
    except ImpossibleInput as error:
        form.fail("photo", say(error.accepted.capitalize() + ".", request.state.view))
        return await run_in_threadpool(lambda: _recipe_page(request, key, form, 422))
    return RedirectResponse(f"/book/recipes/{key}", 303)


@router.get("/book/photos/{name}.jpg")
async def photo(request: Request, name: str) -> Response:
    """A photo, large or small; its name is made of its content, so a browser may keep it for ever."""
    house = request.app.state.house
    small = "small" in request.query_params
    body = await run_in_threadpool(lambda: photos.photo_bytes(house.book, name, small=small))
    return Response(body, media_type="image/jpeg", headers={"cache-control": "private, max-age=31536000, immutable"})


_GOALS: Final = (
    ("water_activity", "Water activity"),
    ("water_g", "Water, %"),
    ("fat_g", "Fat, %"),
    ("cocoa_butter_g", "Cocoa butter, %"),
    ("fat_to_water", "Fat for one part of water"),
    ("sweetness", "Sweetness, % of sugar"),
    ("sucrose_saturation", "Sucrose over what the water holds"),
)


def _changed(request: Request, recipe: Recipe, form: Form) -> Rebalanced | None:
    """What the form asks for, worked out; what it asks for that cannot be is noted at its field."""
    if "quantity" not in form.values:
        return None
    quantity = form.choice("quantity", [q for q, _ in _GOALS])
    low = form.number("low", at_least=0, at_most=1000, required=False)
    high = form.number("high", at_least=0, at_most=1000, required=False)
    if form.ok and low is None and high is None:
        form.fail("high", form.gettext("A lower end, an upper end, or both."))
    if not form.ok or quantity is None:
        return None
    locked = [line.of for line in recipe.lines if form.values.get(f"lock-{line.of}")]
    try:
        goal = Goal(quantity, -math.inf if low is None else low, math.inf if high is None else high)
        return rebalance(recipe, request.app.state.house.shelf.written(), [goal], locked=locked)
    except ImpossibleInput as error:
        form.fail("low", error.text)
        return None


@router.get("/book/recipes/{key}/change")
async def change(request: Request, key: str) -> Response:
    """What to change for a lower water activity or another firmness, and why."""
    house, form = request.app.state.house, asked_form(request)
    recipe, _ = await run_in_threadpool(lambda: jobs.recipe_named(house.book, key))
    found = await run_in_threadpool(lambda: _changed(request, recipe, form))
    goals = [(q, request.state.gettext(words)) for q, words in _GOALS]
    names = names_said(request, house.shelf.written())
    return render(request, "book_change.html", recipe=recipe, form=form, found=found, goals=goals, names=names)


@router.post("/book/recipes/{key}/change")
async def take_change(request: Request, key: str) -> Response:
    """Write the changes that were shown as a new version."""
    house = request.app.state.house
    form = await Form.posted(request)

    def write() -> None:
        recipe, _ = jobs.recipe_named(house.book, key)
        found = _changed(request, recipe, form)
        if found is not None and found.changes:
            jobs.save_recipe(house.book, found.recipe, at=house.clock())

    await run_in_threadpool(write)
    return RedirectResponse(f"/book/recipes/{key}", 303)


FAMILY: Final = Family(router)
