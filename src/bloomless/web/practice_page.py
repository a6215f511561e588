"""Practice on screen: a simulated bowl with real controls, its truth shown at the end."""

from __future__ import annotations

from typing import Any, Final

from fastapi import APIRouter, Request
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, RedirectResponse, Response, StreamingResponse

from bloomless.advice.notes import MELTING_MENDS
from bloomless.assembly.practice import SPEEDS, PracticeRoom, PracticeTable
from bloomless.lessons import LEVELS
from bloomless.web.bench_api import bench_json, body_of
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.live import news_of
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)
KINDS: Final = ("dark", "milk", "white")
FIRST_SEED: Final = 5
"""Of the kitchen of the guided bowl: the same for everybody."""


def _room(request: Request) -> PracticeRoom:
    room: PracticeRoom = request.app.state.practice
    return room


def _json(table: PracticeTable) -> dict[str, Any]:
    boot = bench_json(table.live) | {"speed": table.speed, "hints": table.hints, "api": f"/practice/{table.name}/api"}
    return boot | {"verdict": table.verdict() if table.practice.over else None}


@router.get("/practice")
async def practice(request: Request) -> Response:
    """Choose a practice bowl."""
    return render(request, "practice.html", form=Form({"kind": "dark", "level": "calm", "hints": "yes"}))


@router.post("/practice")
async def begin(request: Request) -> Response:
    """Open it."""
    form = await Form.posted(request)
    kind, level = form.choice("kind", KINDS), form.choice("level", LEVELS)
    hints = form.values.get("hints") != "no"
    if kind is None or level is None:
        return render(request, "practice.html", form=form, status=422)
    table = await run_in_threadpool(lambda: _room(request).open(kind=kind, level=level, hints=hints))
    return RedirectResponse(f"/practice/{table.name}", 303)


@router.post("/practice/first")
async def first(request: Request) -> Response:
    """A first bowl in about a minute, every step explained."""
    table = await run_in_threadpool(lambda: _room(request).open(kind="dark", level="calm", seed=FIRST_SEED))
    table.set_speed(10)
    return RedirectResponse(f"/practice/{table.name}?guide=1", 303)


@router.get("/practice/{name}")
async def table(request: Request, name: str) -> Response:
    """A practice bowl, live."""
    found = _room(request).get(name)
    boot = await run_in_threadpool(_json, found)
    view = request.state.view.for_scripts()
    return render(
        request,
        "bench.html",
        title=request.state.gettext("Practice"),
        boot=boot,
        means=boot["start"].get("means", ()),
        script_view=view,
        words_version=view["version"],
        mended_by_melting=sorted(MELTING_MENDS),
        practice=True,
        speeds=SPEEDS,
    )


@router.get("/practice/{name}/api")
async def state(request: Request, name: str) -> Response:
    """State of a practice bowl."""
    return JSONResponse(await run_in_threadpool(_json, _room(request).get(name)))


@router.get("/practice/{name}/api/live")
async def live(request: Request, name: str) -> Response:
    """News of a practice bowl; its time runs while somebody listens."""
    found = _room(request).get(name)
    headers = {"cache-control": "no-store", "x-accel-buffering": "no"}
    return StreamingResponse(news_of([found.live], request), media_type="text/event-stream", headers=headers)


@router.post("/practice/{name}/api/events")
async def act(request: Request, name: str) -> Response:
    """Do something in the simulated kitchen."""
    found = _room(request).get(name)
    body = await body_of(request)
    await run_in_threadpool(found.act, body, str(body.get("id") or request.app.state.new_id()))
    if found.practice.over:
        found.live.announce("verdict", await run_in_threadpool(found.verdict))
    return JSONResponse({"done": True}, 201)


class Speed(BaseModel):
    """How fast time runs."""

    speed: int


@router.post("/practice/{name}/api/speed")
async def speed(request: Request, name: str, wish: Speed) -> Response:
    """Let time run faster or slower."""
    found = _room(request).get(name)
    found.set_speed(wish.speed)
    return JSONResponse({"speed": found.speed})


FAMILY: Final = Family(router, links=(Link("/practice", "Practice", "Bench", 40),), bench_paths=("/practice",))
