"""More screens of the moulds: amounts, the room and moulds in hand, keeping, cooling spaces, own moulds."""

from __future__ import annotations

import re
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench.mould_filling import fill
from bloomless.bench.mould_room import before_casting, keeping, leave_the_cold, room_today
from bloomless.bench.moulds import keep_mould, learn_place, measure_mould, place_document
from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.materials.mould_library import SHAPES
from bloomless.materials.mould_walls import WALLS
from bloomless.quantities import C_from_F, number_from_text
from bloomless.web.forms import Form
from bloomless.web.mould_fields import (
    asked,
    casting_document,
    choices,
    fail,
    filling_document,
    keeping_document,
    room_document,
)
from bloomless.web.render import render

__all__ = ["router"]

router = APIRouter(include_in_schema=False)

_SHAPE_FIELDS: Final = (
    ("length_mm", 500.0), ("width_mm", 500.0), ("radius_mm", 250.0), ("tip_radius_mm", 250.0), ("depth_mm", 200.0),
    ("draft_deg", 59.0),
)  # fmt: skip


@router.get("/moulds/fill")
async def amounts(request: Request) -> Response:
    """Chocolate, filling, colours and pieces for a set of moulds, and whether this bowl makes the shell."""
    form, told = asked(request), None
    document = filling_document(form)
    if "mould" in document and form.ok:
        try:
            told = await run_in_threadpool(fill, request.app.state.house.book, document)
        except BloomlessError as error:
            fail(form, "mould", error)
    lists = await run_in_threadpool(choices, request)
    return render(request, "mould_fill.html", form=form, told=told, status=200 if form.ok else 422, **lists)


@router.get("/moulds/room")
async def room(request: Request) -> Response:
    """The room today, moulds and colours in hand, and what leaves the cold."""
    form = asked(request)
    said = room_document(form)
    today = hand = leave = None
    if form.ok and form.values:
        try:
            if "room_C" in said:
                cold = said.get("cold_C", 12.0)
                today = room_today(said["room_C"], said.get("room_rh_pct"), cold_C=cold)
                leave = leave_the_cold(
                    {**_only(said, "chocolate", "room_C", "room_rh_pct", "thickness_mm"), "from_C": cold}
                )
            if "mould_C" in said:
                names = ("mould_C", "room_C", "room_rh_pct", "chocolate", "colours", "brushed", "moulds")
                hand = before_casting(_only(said, *names))
        except BloomlessError as error:
            fail(form, "room_C", error)
    return render(
        request, "mould_room.html", form=form, today=today, hand=hand, leave=leave, status=200 if form.ok else 422
    )


def _only(document: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: document[name] for name in names if name in document}


@router.get("/moulds/keep")
async def keep(request: Request) -> Response:
    """What can go grey, from what, in which time."""
    form, told = asked(request), None
    document = keeping_document(form)
    if form.ok and form.values:
        try:
            told = keeping(document)
        except BloomlessError as error:
            fail(form, "store_C", error)
    return render(request, "mould_keep.html", form=form, told=told, status=200 if form.ok else 422)


async def _places(request: Request, form: Form, learned: Any = None) -> Response:
    lists = await run_in_threadpool(choices, request)
    book = request.app.state.house.book
    known = [place_document(book, name) for name in lists["spaces"]]
    return render(
        request, "mould_places.html", form=form, known=known, learned=learned, status=200 if form.ok else 422, **lists
    )


@router.get("/moulds/places")
async def places(request: Request) -> Response:
    """Cooling spaces and what was learned of them."""
    return await _places(request, asked(request))


@router.post("/moulds/places")
async def learn(request: Request) -> Response:
    """Learn a cooling space from one logged mould."""
    form = await Form.posted(request)
    name = form.text("place", longest=60)
    document = casting_document(form)
    log = _log(form)
    power = form.number("power_W", at_least=1, at_most=20_000, required=False)
    if not form.ok or name is None:
        return await _places(request, form)
    document["space"] = {key: value for key, value in document["space"].items() if key != "name"}
    if power is not None:
        document["space"]["power_W"] = power
    house = request.app.state.house
    try:
        learned = await run_in_threadpool(learn_place, house.book, name, document, log, at=house.clock())
    except BloomlessError as error:
        fail(form, "log", error)
        return await _places(request, form)
    return await _places(request, Form({}, {}, form.view, form.gettext), learned)


def _log(form: Form) -> list[dict[str, Any]]:
    """Lines of the log: minutes, temperature in the unit of the view, and where the thermometer is."""
    rows: list[dict[str, Any]] = []
    where = form.values.get("where") or "chocolate"
    for count, line in enumerate(form.values.get("log", "").splitlines(), start=1):
        cells = [cell for cell in re.split(r"[;\t ]+", line.strip()) if cell]
        if not cells:
            continue
        try:
            minutes = number_from_text(cells[0], field="log", at_least=0, at_most=1440)
            shown = number_from_text(cells[1], field="log", at_least=-60, at_most=200)
        except (ImpossibleInput, IndexError):
            form.fail("log", form.gettext("Line %(n)s: minutes and temperature, please.") % {"n": count})
            return rows
        at = C_from_F(shown) if form.view.temperature == "F" else shown
        rows.append({"at_s": 60 * minutes, "temperature_C": at, "place": cells[2] if len(cells) > 2 else where})
    if not rows:
        form.fail("log", form.gettext("Please fill this in."))
    return rows


async def _own(request: Request, form: Form) -> Response:
    lists = await run_in_threadpool(choices, request)
    return render(
        request, "mould_own.html", form=form, shapes=tuple(SHAPES), walls=tuple(WALLS),
        status=200 if form.ok else 422, **lists,
    )  # fmt: skip


@router.get("/moulds/own")
async def own(request: Request) -> Response:
    """Moulds: the library and one's own, measured or drawn."""
    return await _own(request, asked(request))


@router.post("/moulds/own")
async def add(request: Request) -> Response:
    """Keep an own mould by its sizes."""
    form = await Form.posted(request)
    name = form.text("name", longest=60)
    shape = form.choice("shape", ("frustum", "hemisphere", "cap", "cone", "cylinder"))
    document: dict[str, Any] = {"shape": shape, "material": form.choice("material", WALLS)}
    for field, most in _SHAPE_FIELDS:
        document[field] = form.number(field, at_least=0, at_most=most, required=False)
    document["cavities"] = form.number("cavities_new", at_least=1, at_most=500)
    if form.ok and name is not None:
        house = request.app.state.house
        try:
            await run_in_threadpool(keep_mould, house.book, name, document, at=house.clock())
            return RedirectResponse("/moulds/own", 303)
        except BloomlessError as error:
            fail(form, "shape", error)
    return await _own(request, form)


@router.post("/moulds/measure")
async def measure(request: Request) -> Response:
    """Keep an own mould measured by water or by one piece."""
    form = await Form.posted(request)
    lists = await run_in_threadpool(choices, request)
    name = form.choice("measured", [row["name"] for row in lists["moulds"]])
    water = form.mass_g("water", at_least=0.1, at_most=20_000, required=False)
    piece = form.mass_g("piece", at_least=0.1, at_most=5_000, required=False)
    count = form.number("cavities", at_least=1, at_most=500, required=False)
    if form.ok and name is not None:
        house = request.app.state.house
        try:
            await run_in_threadpool(
                measure_mould, house.book, name, at=house.clock(), water_g=water, piece_g=piece,
                cavities_filled=int(count or 1),
            )  # fmt: skip
            return RedirectResponse(f"/moulds?mould={name}", 303)
        except BloomlessError as error:
            fail(form, "water", error)
    return await _own(request, form)
