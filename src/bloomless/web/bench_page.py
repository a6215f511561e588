"""The bench on screen: every open bowl at a glance, one bowl live, and how a bowl is started."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Collection, Mapping
from datetime import timedelta
from typing import Any, Final, get_args

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.advice.notes import MELTING_MENDS
from bloomless.assembly.probes_at_work import ProbesAtWork
from bloomless.bench.book_chocolates import chocolates_of
from bloomless.bench.contract import COLOUR
from bloomless.bench.mould_room import room_today
from bloomless.bench.probe_register import Registration, probe_of, start_probe
from bloomless.estimation import events as ev
from bloomless.materials.chocolates import COLOUR_SHARE
from bloomless.materials.ingredients import Ingredient
from bloomless.storage import SessionSummary
from bloomless.web.bench_api import bench_json, bowl_of, bowls_of
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.render import render
from bloomless.web.view import View

__all__ = ["FAMILY", "bench_title", "open_benches"]

router = APIRouter(include_in_schema=False)
OPEN_FOR: Final = timedelta(hours=12)
"""A bench nobody finished counts as open this long."""
MEANS: Final = get_args(ev.Means)
MATERIALS: Final = get_args(ev.VesselMaterial)
KINDS: Final = get_args(ev.ChocolateKind)
COLOURED: Final = "coloured_cocoa_butter"
CHOICES: Final = (*KINDS, COLOURED)
PROBES: Final = get_args(ev.ProbeKind)


def _chosen(chocolate: object) -> str:
    """Which of the choices of the page the chocolate of a start is."""
    if not isinstance(chocolate, Mapping):
        return str(chocolate)
    return COLOURED if chocolate.get(COLOUR) else str(chocolate.get("kind", ""))


def bench_title(request: Request, summary: SessionSummary) -> str:
    """A bench in a few words: chocolate, amount, when it began."""
    gettext = request.state.gettext
    names = {
        "dark": gettext("Dark"),
        "milk": gettext("Milk"),
        "white": gettext("White"),
        "cocoa_butter": gettext("Cocoa butter"),
        COLOURED: gettext("Coloured cocoa butter"),
    }
    start = summary.first.event
    chocolate = start.get("chocolate")
    kind = _chosen(chocolate)
    mass_g = start.get("mass_g")
    amount = request.state.view.mass_text(float(mass_g)) if isinstance(mass_g, int | float) else ""
    return f"{names.get(kind, kind)} {amount} · {request.state.view.clock(summary.first.stored_at)}"


def open_benches(request: Request) -> list[SessionSummary]:
    """Benches that are under way, newest first."""
    house = request.app.state.house
    since = house.clock() - OPEN_FOR
    return [
        one
        for one in reversed(house.log.summaries())
        if one.last.event.get("what") != "finish" and one.last.stored_at >= since
    ]


@router.get("/bench")
async def benches(request: Request) -> Response:
    """Every open bowl, live."""
    found = await run_in_threadpool(open_benches, request)
    if not found:
        return RedirectResponse("/start", 303)
    tiles = [(one.session, bench_title(request, one)) for one in found]
    return render(request, "benches.html", tiles=tiles, script_view=request.state.view.for_scripts())


@router.get("/bench/{bench}")
async def bench(request: Request, bench: str) -> Response:
    """One bowl, live."""
    bowl = await bowl_of(request, bench)
    boot = await run_in_threadpool(bench_json, bowl)
    house = request.app.state.house
    first = (await run_in_threadpool(house.log.events, bench))[0]
    title = bench_title(request, SessionSummary(bench, bowl.number, first, first))
    view = request.state.view.for_scripts()
    return render(
        request,
        "bench.html",
        title=title,
        boot=boot,
        means=boot["start"].get("means", ()),
        script_view=view,
        words_version=view["version"],
        mended_by_melting=sorted(MELTING_MENDS),
        practice=False,
        speeds=(),
    )


# ---------------------------------------------------------------- starting
def _last_start(request: Request) -> dict[str, str]:
    """The form as it was filled in for the last bowl: most bowls are like the one before."""
    view = request.state.view
    chosen = {"chocolate": "dark", "mass_g": "800", "material": "steel", "room_C": "21", "state": "melted"}
    chosen["probe_kind"] = "needle"
    means = {"seed", "melt", "warm_bath", "cool_bath"}
    summaries = request.app.state.house.log.summaries()
    if summaries:
        start = summaries[-1].first.event
        kind = _chosen(start.get("chocolate"))
        if kind in CHOICES:
            chosen["chocolate"] = kind
        chosen["mass_g"] = str(start.get("mass_g", 800))
        chosen["room_C"] = str(start.get("room_C", 21))
        vessel = start.get("vessel")
        if isinstance(vessel, Mapping) and vessel.get("material") in MATERIALS:
            chosen["material"] = str(vessel["material"])
        probe = start.get("probe")
        if isinstance(probe, Mapping) and probe.get("kind") in PROBES:
            chosen["probe_kind"] = str(probe["kind"])
        means = set(start.get("means") or means)
    measured_C, rh_pct = request.app.state.probes.room()
    if measured_C is not None:
        chosen["room_C"] = str(measured_C)
    chosen["humidity"] = "" if rh_pct is None else view.number(rh_pct, 0)
    mass, room = float(chosen.pop("mass_g")), float(chosen.pop("room_C"))
    shown = {"mass": _typed_mass(view, mass),
             "room": view.degrees(room, 0), "temperature": view.degrees(45.0, 0)}  # fmt: skip
    return chosen | shown | dict.fromkeys(means, "on")


def _own_chocolates(request: Request) -> dict[str, Ingredient]:
    return chocolates_of(request.app.state.house.shelf.written().ingredients)


def _start_event(form: Form, own: Collection[str]) -> dict[str, Any]:
    """The start event of what was filled in; errors are noted at the fields. ``own``: chocolates of the book."""
    chocolate: Any = form.choice("own_chocolate", own, required=False) or form.choice("chocolate", CHOICES)
    if chocolate == COLOURED:
        chocolate = {"kind": "cocoa_butter", COLOUR: COLOUR_SHARE.value}
    event: dict[str, Any] = {
        "what": "start",
        "chocolate": chocolate,
        "state": form.choice("state", ("melted", "pieces", "part_melted")),
        "mass_g": form.mass_g("mass", at_least=20, at_most=20_000),
        "temperature_C": form.temperature_C("temperature", at_least=-10, at_most=80, required=False),
        "room_C": form.temperature_C("room", at_least=-5, at_most=45),
        "room_rh_pct": form.number("humidity", at_least=1, at_most=100, required=False),
        "vessel": {"material": form.choice("material", MATERIALS)},
        "probe": {"kind": form.choice("probe_kind", PROBES, required=False) or "needle"},
        "means": [one for one in MEANS if form.values.get(one)] or ["seed"],
    }
    return {
        key: round(value, 2) if isinstance(value, float) else value for key, value in event.items() if value is not None
    }


@router.get("/start")
async def start(request: Request) -> Response:
    """What is in front of the cook; ``of``, ``kind`` and ``grams`` in the address bring it from a batch."""
    return await run_in_threadpool(lambda: _start_page(request, Form(_last_start(request) | _asked(request))))


def _asked(request: Request) -> dict[str, str]:
    """The chocolate in the address and how much of it there is, as typed on this device; what cannot be is left out."""
    asked, brought = request.query_params, {}
    if asked.get("kind") in KINDS:
        brought["chocolate"] = asked["kind"]
    if asked.get("of") in _own_chocolates(request):
        brought["own_chocolate"] = asked["of"]
    if re.fullmatch(r"\d{2,5}", asked.get("grams", "")):
        brought["mass"] = _typed_mass(request.state.view, float(asked["grams"]))
    return brought


def _typed_mass(view: View, mass_g: float) -> str:
    """A mass in the unit of the device, as it would be typed there."""
    return view.mass_text(mass_g).split("\u00a0")[0].replace("," if view.language == "en" else ".", "")


def _start_page(
    request: Request,
    form: Form,
    *,
    before: dict[str, Any] | None = None,
    room: dict[str, Any] | None = None,
    status: int = 200,
) -> Response:
    names = [(probe.name, probe.name) for probe in _thermometers(request)]
    chocolates = sorted((request.state.gettext(one.name), key) for key, one in _own_chocolates(request).items())
    return render(
        request, "start.html", form=form, before=before, room=room, status=status, thermometers=names,
        chocolates=[(key, name) for name, key in chocolates],
    )  # fmt: skip


def _room_for(event: Mapping[str, Any], kind: str) -> dict[str, Any]:
    """Verdict on the room for bars of this kind of chocolate, or for colour in moulds."""
    rows = room_today(event["room_C"], event.get("room_rh_pct"))["products"]
    product = "coloured moulds" if kind == "cocoa_butter" else f"{kind} bars"
    return next((row for row in rows if row["product"] == product), rows[-1])


@router.post("/start")
async def begin(request: Request) -> Response:
    """Begin the bowl, or work out first what to melt and chop."""
    form = await Form.posted(request)
    own = await run_in_threadpool(_own_chocolates, request)
    event = _start_event(form, own)
    if not form.ok:
        return await run_in_threadpool(_start_page, request, form, status=422)
    thermometer = await run_in_threadpool(_with_thermometer, request, form, event)
    if "work_out" in form.values:
        before = await run_in_threadpool(_worked_out, request, event)
        named = event["chocolate"]
        kind = own[named].group.removeprefix("chocolate_") if isinstance(named, str) and named in own else named
        kind = "cocoa_butter" if kind == "colour" or isinstance(kind, Mapping) else kind
        return await run_in_threadpool(_start_page, request, form, before=before, room=_room_for(event, kind))
    bowl, future = await run_in_threadpool(bowls_of(request).begin, event, request.app.state.new_id())
    await asyncio.wrap_future(future)
    if thermometer:
        house = request.app.state.house
        await request.app.state.probes.give(thermometer, bowl.name, at=house.clock())
    return RedirectResponse(f"/bench/{bowl.name}", 303)


def _with_thermometer(request: Request, form: Form, event: dict[str, Any]) -> str:
    """Put what is known of the chosen thermometer into the start; its name, or nothing."""
    house, name = request.app.state.house, form.values.get("thermometer", "")
    if name not in {probe.name for probe in _thermometers(request)}:
        return ""
    event["probe"] = start_probe(house.book, probe_of(house.book, name), house.clock())
    return name


def _thermometers(request: Request) -> list[Registration]:
    probes: ProbesAtWork = request.app.state.probes
    return [probe for probe in probes.known() if probe.place == "bowl"]


def _worked_out(request: Request, event: Mapping[str, Any]) -> dict[str, Any]:
    return bowls_of(request).before(event)


FAMILY: Final = Family(
    router,
    links=(Link("/bench", "Bench", "Bench", 10), Link("/start", "Start a bowl", "Bench", 20)),
    bench_paths=("/bench", "/start"),
)
