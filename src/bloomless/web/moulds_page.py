"""Moulds on screen and over REST: a casting, "what if", the room today, what leaves the cold, own moulds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any, Final

from fastapi import APIRouter, Body, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, RedirectResponse, Response

from bloomless.bench.mould_bowl import casting_of_bowl
from bloomless.bench.mould_filling import fill
from bloomless.bench.mould_room import before_casting, keeping, leave_the_cold
from bloomless.bench.mould_whatif import what_if
from bloomless.bench.moulds import learn_place, list_moulds, predict
from bloomless.errors import BloomlessError
from bloomless.sheets.mould_sheet import cooling_picture, cooling_sheet, profile_picture, what_if_picture
from bloomless.storage import SessionSummary
from bloomless.web.bench_api import bowl_of
from bloomless.web.bench_page import bench_title, open_benches
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.mould_fields import asked, bowl_values, casting_document, choices, fail
from bloomless.web.mould_jobs_page import router as jobs
from bloomless.web.render import render
from bloomless.web.sentences import say

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)
api = APIRouter(prefix="/api/v1/moulds", tags=["moulds"])

_MEMBERS: Final = 120


async def _from_bowl(request: Request, form: Form) -> tuple[Form, dict[str, Any] | None]:
    """The form, filled from the bowl in the address until a mould is asked for; and which bowl that is."""
    name = form.values.get("bowl", "")
    if not name:
        return form, None
    house, bowl = request.app.state.house, await bowl_of(request, name)
    craft = bowl.craft
    assert craft is not None
    first = (await run_in_threadpool(house.log.events, name))[0]
    told_at = (bowl.started_at or first.stored_at) + timedelta(seconds=craft.now_s)
    shown = {"name": name, "title": bench_title(request, SessionSummary(name, bowl.number, first, first)),
             "at": request.state.view.clock(told_at)}  # fmt: skip
    if "mould" in form.values:
        return form, shown
    document = casting_of_bowl(bowl.trail.told, await run_in_threadpool(craft.believed))
    room_C, rh_pct = request.app.state.probes.room()
    now = {"room_C": room_C, "room_rh_pct": rh_pct}
    document |= {name: value for name, value in now.items() if value is not None}
    return replace(form, values={**form.values, **bowl_values(document, form.view)}), shown


def _bowls(request: Request) -> list[tuple[str, str]]:
    """Name and title of the bowls a casting may be poured from."""
    return [(one.session, bench_title(request, one)) for one in open_benches(request)]


@router.get("/moulds")
async def moulds(request: Request) -> Response:
    """The form, and what the casting in the address will do; ``bowl`` in the address fills it from a bench."""
    form, bowl = await _from_bowl(request, asked(request))
    document = casting_document(form)
    lists = await run_in_threadpool(choices, request)
    told = leave = None
    if "mould" in document and form.ok:
        book = request.app.state.house.book
        try:
            told = await run_in_threadpool(predict, book, document, members=_MEMBERS, minutes=120.0)
        except BloomlessError as error:
            fail(form, "mould", error)
    if told is not None and document.get("room_C") is not None:
        leave = leave_the_cold(
            {
                "chocolate": told["chocolate"], "from_C": min(told["space"]["leaves_C"], 30.0),
                "room_C": document["room_C"], "room_rh_pct": document.get("room_rh_pct"),
                "thickness_mm": min(told["mould"]["depth_mm"], 60.0),
            }
        )  # fmt: skip
    return render(
        request, "moulds.html", form=form, told=told, leave=leave, query=request.url.query, bowl=bowl,
        bowls=[] if bowl else await run_in_threadpool(_bowls, request), status=200 if form.ok else 422, **lists,
    )  # fmt: skip


@router.get("/moulds/what-if")
async def what_if_page(request: Request) -> Response:
    """The table and the picture over places, moulds and thicknesses."""
    form = asked(request)
    document = casting_document(form)
    if not form.ok:
        return RedirectResponse(f"/moulds?{request.url.query}", 303)
    told = await run_in_threadpool(what_if, request.app.state.house.book, document)
    return render(request, "mould_whatif.html", told=told, query=request.url.query)


async def _picture(request: Request, make: Callable[..., str], job: Callable[..., Any], **more: Any) -> Response:
    """A picture of the casting in the address, its words in the language of the device."""
    document = casting_document(asked(request))
    told = await run_in_threadpool(job, request.app.state.house.book, document, **more)
    view = request.state.view

    def words(text: str) -> str:
        return say(text, view)

    narrow = "narrow" in request.query_params
    made = await run_in_threadpool(make, told, words, view.temperature == "F", narrow)
    return Response(made, media_type="image/svg+xml", headers={"Cache-Control": "private, max-age=60"})


@router.get("/moulds/cooling.svg")
async def cooling_svg(request: Request) -> Response:
    """Curves of the casting in the address."""
    return await _picture(request, cooling_picture, predict, members=_MEMBERS, minutes=120.0)


@router.get("/moulds/profile.svg")
async def profile_svg(request: Request) -> Response:
    """Temperature and solid fat through the thickness over time."""
    return await _picture(request, profile_picture, predict, members=_MEMBERS, minutes=120.0)


@router.get("/moulds/what-if.svg")
async def what_if_svg(request: Request) -> Response:
    """The what-if table as a picture."""
    return await _picture(request, lambda told, words, _, narrow: what_if_picture(told, words, narrow), what_if)


@router.get("/moulds/sheet.pdf")
async def sheet(request: Request) -> Response:
    """The cooling sheet on paper."""
    document = casting_document(asked(request))
    told = await run_in_threadpool(predict, request.app.state.house.book, document)
    view = request.state.view

    def words(text: str) -> str:
        return say(text, view)

    made = await run_in_threadpool(cooling_sheet, told, words, view.temperature == "F")
    return Response(
        made, media_type="application/pdf", headers={"Content-Disposition": 'inline; filename="cooling.pdf"'}
    )


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
router.include_router(jobs)
FAMILY: Final = Family(router, links=(Link("/moulds", "Moulds", "Kitchen", 20),))
