"""Moulds on screen and over REST: a casting, "what if", the room today, what leaves the cold, own moulds."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from fastapi import APIRouter, Body, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, RedirectResponse, Response

from bloomless.bench.mould_filling import fill
from bloomless.bench.mould_inputs import SPACES
from bloomless.bench.mould_room import before_casting, keeping, leave_the_cold, room_today
from bloomless.bench.mould_whatif import what_if
from bloomless.bench.moulds import learn_place, list_moulds, measure_mould, predict
from bloomless.errors import BloomlessError
from bloomless.materials.chocolates import KINDS
from bloomless.sheets.mould_sheet import cooling_picture, cooling_sheet, what_if_picture
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)
api = APIRouter(prefix="/api/v1/moulds", tags=["moulds"])

_MEMBERS: Final = 120
_TEMPERATURES: Final = (
    ("temperature_C", 15.0, 60.0), ("mould_C", -30.0, 60.0), ("air_C", -30.0, 45.0), ("room_C", -10.0, 45.0),
)  # fmt: skip
_NUMBERS: Final = (
    ("form_v_pct_of_fat", 0.0, 50.0), ("air_speed_m_s", 0.0, 15.0), ("room_rh_pct", 1.0, 100.0), ("moulds", 1.0, 500.0),
    ("shell_mm", 0.3, 20.0),
)  # fmt: skip
_ASKED: Final = ("mould", "chocolate", "space", "standing", "cleanliness", "colour")


def _read(request: Request) -> tuple[Form, dict[str, Any]]:
    """The casting in the address: what was typed, and the document of it."""
    values = {key: str(value) for key, value in request.query_params.items()}
    form = Form(values, {}, request.state.view, request.state.gettext)
    said: dict[str, Any] = {name: values[name] for name in _ASKED if values.get(name)}
    for name, low, high in _TEMPERATURES:
        said[name] = form.temperature_C(name, at_least=low, at_most=high, required=False)
    for name, low, high in _NUMBERS:
        said[name] = form.number(name, at_least=low, at_most=high, required=False)
    said = {name: value for name, value in said.items() if value is not None}
    space = {"name": said.pop("space", "cabinet")}
    for name in ("air_C", "air_speed_m_s", "standing"):
        if name in said:
            space[name] = said.pop(name)
    return form, {**said, "space": space}


def _choices(request: Request) -> dict[str, Any]:
    book = request.app.state.house.book
    own = [entry.key for entry in book.latest("cooling_space")]
    return {
        "moulds": list_moulds(book),
        "spaces": [*own, *(name for name in SPACES if name not in own)],
        "kinds": KINDS,
    }


@router.get("/moulds")
async def moulds(request: Request) -> Response:
    """The form, and what the casting in the address will do."""
    form, document = _read(request)
    choices = await run_in_threadpool(_choices, request)
    told = room = leave = None
    if "mould" in document and form.ok:
        book = request.app.state.house.book
        try:
            told = await run_in_threadpool(predict, book, document, members=_MEMBERS)
        except BloomlessError as error:
            form.fail("mould", str(error))
    if told is not None and document.get("room_C") is not None:
        room = room_today(document["room_C"], document.get("room_rh_pct"), cold_C=told["space"]["air_C"])
        leave = leave_the_cold(
            {
                "chocolate": document.get("chocolate", "dark"), "from_C": min(told["space"]["air_C"], 30.0),
                "room_C": document["room_C"], "room_rh_pct": document.get("room_rh_pct"),
                "thickness_mm": min(told["mould"]["depth_mm"], 60.0),
            }
        )  # fmt: skip
    return render(
        request, "moulds.html", form=form, told=told, room=room, leave=leave, query=request.url.query,
        status=200 if form.ok else 422, **choices,
    )  # fmt: skip


@router.get("/moulds/what-if")
async def what_if_page(request: Request) -> Response:
    """The table and the picture over places, moulds and thicknesses."""
    _, document = _read(request)
    told = await run_in_threadpool(what_if, request.app.state.house.book, document)
    return render(request, "mould_whatif.html", told=told, query=request.url.query)


def _picture(make: Callable[[Mapping[str, Any]], str], told: Mapping[str, Any]) -> Response:
    return Response(make(told), media_type="image/svg+xml", headers={"Cache-Control": "private, max-age=60"})


@router.get("/moulds/cooling.svg")
async def cooling_svg(request: Request) -> Response:
    """Curves of the casting in the address."""
    _, document = _read(request)
    told = await run_in_threadpool(predict, request.app.state.house.book, document, members=_MEMBERS)
    return await run_in_threadpool(_picture, cooling_picture, told)


@router.get("/moulds/what-if.svg")
async def what_if_svg(request: Request) -> Response:
    """The what-if table as a picture."""
    _, document = _read(request)
    told = await run_in_threadpool(what_if, request.app.state.house.book, document)
    return await run_in_threadpool(_picture, what_if_picture, told)


@router.get("/moulds/sheet.pdf")
async def sheet(request: Request) -> Response:
    """The cooling sheet on paper."""
    _, document = _read(request)
    told = await run_in_threadpool(predict, request.app.state.house.book, document)
    made = await run_in_threadpool(cooling_sheet, told)
    return Response(
        made, media_type="application/pdf", headers={"Content-Disposition": 'inline; filename="cooling.pdf"'}
    )


@router.post("/moulds/measure")
async def measure(request: Request) -> Response:
    """Keep an own mould measured by water or by one piece."""
    form = await Form.posted(request)
    choices = await run_in_threadpool(_choices, request)
    name = form.choice("measured", [row["name"] for row in choices["moulds"]])
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
            form.fail("water", str(error))
    return render(
        request, "moulds.html", form=form, told=None, room=None, leave=None, query="", status=422, **choices
    )  # fmt: skip


@api.get("")
async def moulds_api(request: Request) -> JSONResponse:
    """Own moulds and the library, with what they hold."""
    return JSONResponse(await run_in_threadpool(list_moulds, request.app.state.house.book))


_JOBS: Final[dict[str, Callable[..., Any]]] = {"predict": predict, "what-if": what_if, "fill": fill}
_BOOKLESS: Final[dict[str, Callable[..., Any]]] = {
    "before-casting": before_casting, "leave": leave_the_cold, "keeping": keeping,
}  # fmt: skip


@api.post("/{job}")
async def job_api(request: Request, job: str, document: dict[str, Any] = Body(...)) -> JSONResponse:  # noqa: B008
    """Jobs ``predict``, ``what-if``, ``fill``, ``before-casting``, ``leave``, ``keeping`` on a plain document."""
    if job in _JOBS:
        return JSONResponse(await run_in_threadpool(_JOBS[job], request.app.state.house.book, document))
    if job in _BOOKLESS:
        return JSONResponse(await run_in_threadpool(_BOOKLESS[job], document))
    return JSONResponse({"title": "Not found", "status": 404, "detail": f"no job {job}"}, 404)


@api.post("/places/{name}/log")
async def learn_api(request: Request, name: str, document: dict[str, Any] = Body(...)) -> JSONResponse:  # noqa: B008
    """Learn a cooling space: ``casting`` as for ``predict``, ``log`` with ``at_s``, ``temperature_C``, ``place``."""
    house = request.app.state.house
    told = await run_in_threadpool(
        learn_place,
        house.book,
        name,
        dict(document.get("casting", {})),
        list(document.get("log", [])),
        at=house.clock(),
    )
    return JSONResponse(told)


router.include_router(api, include_in_schema=True)
FAMILY: Final = Family(router, links=(Link("/moulds", "Moulds", "Kitchen", 20),))
