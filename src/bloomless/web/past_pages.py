"""Past benches: the list, the story of one, its curve with hindsight, two side by side, and what came of it."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, RedirectResponse, Response

from bloomless.assembly.trail import COLUMNS, thinned
from bloomless.errors import UnknownName
from bloomless.storage import SessionSummary
from bloomless.web.bench_api import bench_json, bowl_of
from bloomless.web.bench_page import bench_title
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY", "OUTCOMES", "OUTCOME_KIND", "to_be_asked"]

router = APIRouter(include_in_schema=False)
OUTCOME_KIND: Final = "bench_outcome"
OUTCOMES: Final = ("glossy", "streaks", "bloom", "soft", "stuck", "thick")
"""How the pieces came out, as seen the day after."""
_PAGE: Final = 60
SEEN_AFTER: Final = timedelta(hours=8)
ASKED_FOR: Final = timedelta(days=7)


def _outcome(request: Request, bench: str) -> dict[str, Any]:
    try:
        return dict(request.app.state.house.book.get(OUTCOME_KIND, bench).document)
    except UnknownName:
        return {}


def _row(request: Request, one: SessionSummary) -> dict[str, Any]:
    last = one.last.event
    finished = last.get("what") == "finish"
    at = last.get("at")
    passed_s = at if isinstance(at, int | float) else (one.last.stored_at - one.first.stored_at).total_seconds()
    return {
        "name": one.session,
        "title": bench_title(request, one),
        "day": request.state.view.day(one.first.stored_at),
        "minutes": passed_s / 60,
        "ended": ("used" if last.get("used", True) else "not_used") if finished else "open",
        "outcome": _outcome(request, one.session),
    }


def to_be_asked(request: Request) -> list[tuple[str, str]]:
    """Name and title of used benches of the last days whose pieces have set and of which nobody said how they are."""
    house = request.app.state.house
    now = house.clock()
    return [
        (one.session, bench_title(request, one))
        for one in reversed(house.log.summaries())
        if one.last.event.get("what") == "finish"
        and one.last.event.get("used", True)
        and SEEN_AFTER <= now - one.last.stored_at <= ASKED_FOR
        and not _outcome(request, one.session)
    ]


@router.get("/past")
async def past(request: Request, older: int = 0) -> Response:
    """The list, newest first."""
    older = max(0, older)

    def rows() -> tuple[list[dict[str, Any]], int]:
        summaries = list(reversed(request.app.state.house.log.summaries()))
        return [_row(request, one) for one in summaries[older : older + _PAGE]], len(summaries)

    shown, total = await run_in_threadpool(rows)
    return render(request, "past.html", rows=shown, total=total, older=older, page=_PAGE)


def _summary(request: Request, bench: str) -> SessionSummary:
    events = request.app.state.house.log.events(bench)
    return SessionSummary(bench, len(events), events[0], events[-1])


async def _story(request: Request, bench: str, form: Form, status: int = 200) -> Response:
    bowl = await bowl_of(request, bench)
    boot = await run_in_threadpool(bench_json, bowl)
    row = _row(request, await run_in_threadpool(_summary, request, bench))
    others = [one for one in (await run_in_threadpool(request.app.state.house.log.summaries)) if one.session != bench]
    return render(
        request,
        "story.html",
        status=status,
        form=form,
        row=row,
        boot=boot,
        outcomes=OUTCOMES,
        others=[(one.session, bench_title(request, one)) for one in others[-30:]][::-1],
        script_view=request.state.view.for_scripts(),
    )


@router.get("/past/{bench}")
async def story(request: Request, bench: str) -> Response:
    """The story of one bench."""
    return await _story(request, bench, Form(_outcome(request, bench)))


@router.post("/past/{bench}/outcome")
async def outcome(request: Request, bench: str) -> Response:
    """Keep how the pieces came out."""
    form = await Form.posted(request)
    seen = form.choice("seen", OUTCOMES)
    note = form.text("note", required=False, longest=1000)
    if not form.ok:
        return await _story(request, bench, form, 422)
    await bowl_of(request, bench)
    house = request.app.state.house
    document = {"seen": seen, "note": note or ""}
    await run_in_threadpool(lambda: house.book.put(OUTCOME_KIND, bench, document, at=house.clock()))
    return RedirectResponse(f"/past/{bench}", 303)


@router.get("/past/{bench}/again")
async def again(request: Request, bench: str) -> Response:
    """The curve with hindsight."""
    seen = await run_in_threadpool((await bowl_of(request, bench)).hindsight)
    return JSONResponse({"columns": COLUMNS, **seen, "rows": thinned(seen["rows"])})


@router.get("/past/{bench}/rows.csv")
async def rows(request: Request, bench: str) -> Response:
    """What was believed along the way, as a table."""
    bowl = await bowl_of(request, bench)
    sheet = io.StringIO()
    writer = csv.writer(sheet)
    writer.writerow(COLUMNS)
    writer.writerows(bowl.trail.rows)
    disposition = {"content-disposition": f'attachment; filename="bench-{bench}.csv"'}
    return Response(sheet.getvalue(), media_type="text/csv", headers=disposition)


@router.get("/compare")
async def compare(request: Request, a: str, b: str) -> Response:
    """Two benches, one curve over the other."""
    sides = []
    for name in (a, b):
        bowl = await bowl_of(request, name)
        row = _row(request, await run_in_threadpool(_summary, request, name))
        sides.append({"row": row, "boot": await run_in_threadpool(bench_json, bowl)})
    return render(request, "compare.html", sides=sides, script_view=request.state.view.for_scripts())


FAMILY: Final = Family(router, links=(Link("/past", "Past benches", "Bench", 30),))
