"""Today: is the room fit, for what, and why."""

from __future__ import annotations

from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from bloomless.assembly.probes_at_work import ProbesAtWork
from bloomless.bench.mould_room import room_today
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)
RANK: Final = {"go": 0, "care": 1, "not today": 2}


def _measured(request: Request) -> dict[str, str]:
    """What the room's own thermometers show, as it would be typed."""
    probes: ProbesAtWork = request.app.state.probes
    room_C, rh_pct = probes.room()
    view = request.state.view
    found = {"room": None if room_C is None else view.degrees(room_C, 1)}
    found["humidity"] = None if rh_pct is None else view.number(rh_pct, 0)
    return {name: shown for name, shown in found.items() if shown is not None}


def _told(form: Form) -> dict[str, Any] | None:
    room_C = form.temperature_C("room", at_least=-5, at_most=45)
    rh_pct = form.number("humidity", at_least=1, at_most=100, required=False)
    if room_C is None or not form.ok:
        return None
    told = room_today(room_C, rh_pct)
    verdicts = [row["verdict"] for row in told["products"]]
    worst = max(verdicts, key=RANK.__getitem__)
    told["overall"] = worst if len(set(verdicts)) == 1 else "care"
    return told


@router.get("/today")
async def today(request: Request) -> Response:
    """Two numbers in; go, care or not today out, with one reason."""
    asked = dict(request.query_params)
    values = asked or await run_in_threadpool(_measured, request)
    form = Form(values, {}, request.state.view, request.state.gettext)
    told = _told(form) if values else None
    return render(request, "today.html", form=form, told=told, status=200 if form.ok or not asked else 422)


FAMILY: Final = Family(router, links=(Link("/today", "The room today", "Bench", 25),), bench_paths=("/today",))
