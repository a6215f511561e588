"""The thermometers on screen: what is seen, live or lost; try before saving; to which bowl; checks and their record."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Any, Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.assembly.probe_trial import Trial, try_probe
from bloomless.bench import probe_register as register
from bloomless.bench.probe_register import Registration
from bloomless.errors import BloomlessError, ImpossibleInput, UnknownName
from bloomless.physics.calibration import Check, CheckMethod
from bloomless.probes.kinds import KINDS, Kind, Setting, kind_named, settings_from_text
from bloomless.probes.wiring import SENSORS
from bloomless.storage import SignIn
from bloomless.web.bench_page import bench_title, open_benches
from bloomless.web.door import token_hash
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.probes_api import probe_rows, probes_of_request
from bloomless.web.problems import Problem
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)
SORTS: Final = ("needle", "stick", "glass", "infrared")
PLACES: Final = ("bowl", "room")
METHODS: Final = tuple(method.value for method in CheckMethod)
NOT_ON_SCREEN: Final = frozenset({"points", "faults", "sysfs", "poll_s", "name"})
"""Settings that are given by the command only."""
PLAIN: Final = frozenset(
    {"host", "topic", "path", "port", "address", "bus", "sensor", "serial_port", "unit", "tcp_port"}
)
"""Settings shown at once; the others stand under "more"."""
FACTS: Final = (
    ("resolution_K", "display_step", 0.001, 5.0),
    ("check_every_d", "check_days", 1.0, 1000.0),
    ("emissivity", "emissivity", 0.3, 1.0),
)
"""What may be said of the instrument itself: its name in the register and in the form, its limits."""
KEY_LASTS: Final = timedelta(days=365)
TRY_s: Final = {"bluetooth": 25.0, "mqtt": 15.0}
"""How long a trial listens; looking for a radio takes a while, and some senders are slow."""


def _open(request: Request) -> list[tuple[str, str]]:
    return [(one.session, bench_title(request, one)) for one in open_benches(request)]


# ---------------------------------------------------------------- all of them
@router.get("/thermometers")
async def thermometers(request: Request) -> Response:
    """Every thermometer, live."""
    rows = await run_in_threadpool(probe_rows, request)
    bowls = await run_in_threadpool(_open, request)
    return render(
        request, "thermometers.html", rows=rows, bowls=bowls, kinds=KINDS, script_view=request.state.view.for_scripts()
    )


@router.post("/thermometers/{name}/bowl")
async def give(request: Request, name: str) -> Response:
    """Say to which bowl it belongs; a first thermometer brings its known error along as a check."""
    form = await Form.posted(request)
    bowls = [bowl for bowl, _ in await run_in_threadpool(_open, request)]
    bowl = form.choice("bowl", ("", *bowls)) or ""
    if not form.ok:
        raise ImpossibleInput("bowl", form.values.get("bowl"), "a bowl that is under way")
    probes = probes_of_request(request)
    probe = await probes.give(name, bowl, at=request.app.state.house.clock())
    if bowl:
        await run_in_threadpool(_bring_error, request, probe)
    return RedirectResponse("/thermometers", 303)


def _bring_error(request: Request, probe: Registration) -> None:
    """Tell the bowl what the checks say of this thermometer, once, as a comparison at 31 °C."""
    house = request.app.state.house
    if not any(not one.void for one in register.checks_of(house.book, probe.name)):
        return
    spec = register.spec_of(house.book, probe, house.clock())
    event = {
        "what": "probe_check",
        "method": "second_probe",
        "shown_C": round(31.0 + spec.offset_C, 2),
        "reference_C": 31.0,
        "doubt_K": max(spec.offset_sd_C, 0.02),
        "probe": probe.as_probe,
    }
    bowl = request.app.state.bowls.get(probe.bowl)
    bowl.tell(event, f"known error of {probe.name} {spec.offset_C:+.2f}").result()


# ---------------------------------------------------------------- one of them
async def _probe(request: Request, name: str) -> Registration:
    return await run_in_threadpool(register.probe_of, request.app.state.house.book, name)


def _page_of(name: str) -> RedirectResponse:
    return RedirectResponse(f"/thermometers/{quote(name)}", 303)


@router.get("/thermometers/{name}")
async def thermometer(request: Request, name: str) -> Response:
    """One thermometer: live, its checks, its lag."""
    return await _one(request, name, Form({"method": "ice", "shown": ""}))


async def _one(
    request: Request, name: str, form: Form, *, findings: tuple[str, ...] = (), key: str = "", status: int = 200
) -> Response:
    house = request.app.state.house
    probe = await _probe(request, name)
    row = next(one for one in await run_in_threadpool(probe_rows, request) if one["name"] == name)
    now = house.clock()
    spec = await run_in_threadpool(register.spec_of, house.book, probe, now)
    return render(
        request,
        "thermometer.html",
        status=status,
        probe=probe,
        row=row,
        kind=kind_named(probe.kind),
        form=form,
        findings=findings,
        key=key,
        record=await run_in_threadpool(register.checks_of, house.book, name),
        calibration=await run_in_threadpool(register.calibration_of, house.book, probe, now),
        spec=spec,
        cooler_K=register.COOLER_K,
        settles_s=register.settles_s(spec.lag_s or 0.0),
        due=await run_in_threadpool(register.due, house.book, probe, now),
        others=[p.name for p in probes_of_request(request).known() if p.name != name and p.place == "bowl"],
        script_view=request.state.view.for_scripts(),
    )


@router.post("/thermometers/{name}/check")
async def check(request: Request, name: str) -> Response:
    """Record a check."""
    form = await Form.posted(request)
    probe = await _probe(request, name)
    method = form.choice("method", METHODS)
    shown_C = form.temperature_C("shown", at_least=-30, at_most=130)
    reference_C = form.temperature_C(
        "reference", at_least=-30, at_most=130, required=method in ("second_probe", "skin_warm")
    )
    pressure = form.number("pressure", at_least=300, at_most=1100, required=False)
    altitude = form.number("altitude", at_least=-430, at_most=8000, required=False)
    if method == "boiling" and pressure is None and altitude is None:
        form.fail("pressure", request.state.gettext("The air pressure here, or the height above the sea."))
    if not form.ok or method is None or shown_C is None:
        return await _one(request, name, form, status=422)
    book, now = request.app.state.house.book, request.app.state.house.clock()
    other = form.values.get("other", "")
    sd = None
    if method == "second_probe" and other and reference_C is not None:
        compared = await run_in_threadpool(register.probe_of, book, other)
        calibration = await run_in_threadpool(register.calibration_of, book, compared, now)
        reference_C, sd = calibration.true_C(reference_C)
    true_C, doubt = register.reference_for(
        CheckMethod(method), pressure_hPa=pressure, altitude_m=altitude, reference_C=reference_C, other_sd_K=sd,
        resolution_K=probe.resolution_K,
    )  # fmt: skip
    made = Check(CheckMethod(method), round(shown_C, 2), round(true_C, 3), doubt)
    who, note = form.text("who", required=False, longest=60) or "", form.text("note", required=False) or ""
    findings = await run_in_threadpool(lambda: register.take_check(book, probe, made, at=now, who=who, note=note))
    probes_of_request(request).check_made(name)
    if findings:
        return await _one(request, name, Form({"method": method, "shown": ""}), findings=findings)
    return _page_of(name)


@router.post("/thermometers/{name}/void")
async def void(request: Request, name: str) -> Response:
    """A check does not count."""
    form = await Form.posted(request)
    house = request.app.state.house
    number = int(form.number("number", at_least=1, at_most=1e6) or 0)
    await run_in_threadpool(lambda: register.void_check(house.book, name, number, at=house.clock()))
    probes_of_request(request).check_made(name)
    return _page_of(name)


@router.post("/thermometers/{name}/fell")
async def fell(request: Request, name: str) -> Response:
    """It was knocked or fell."""
    house = request.app.state.house
    probe = await _probe(request, name)
    await probes_of_request(request).save(replace(probe, fell_at=house.clock().isoformat()), at=house.clock())
    return _page_of(name)


@router.post("/thermometers/{name}/lag")
async def lag(request: Request, name: str) -> dict[str, Any]:
    """Keep the lag that its last readings show."""
    probe = await _probe(request, name)
    found = await run_in_threadpool(probes_of_request(request).lag_seen, name)
    if found is None:
        raise ImpossibleInput(
            "lag", None, "a dip in its last readings: at rest, then at once into water at least 15 °C warmer, stirred"
        )
    kept = replace(probe, lag_s=round(found.lag_s, 2), lag_sd_s=round(found.sd_s, 2))
    await probes_of_request(request).save(kept, at=request.app.state.house.clock())
    settles_s = round(register.settles_s(found.lag_s))
    return {"lag_s": kept.lag_s, "sd_s": kept.lag_sd_s, "settles_s": settles_s, "readings": found.readings}


@router.post("/thermometers/{name}/key")
async def key(request: Request, name: str) -> Response:
    """Make a key for a program that posts; shown once, ended in Settings like any sign-in."""
    _keeper_only(request)
    house = request.app.state.house
    probe = await _probe(request, name)
    token, now = secrets.token_urlsafe(32), house.clock()
    sign_in = SignIn(token_hash(token), "bench", f"thermometer {probe.name}", now, now, now + KEY_LASTS)
    await run_in_threadpool(house.secrets.begin, sign_in)
    return await _one(request, name, Form({"method": "ice", "shown": ""}), key=token)


@router.post("/thermometers/{name}/forget")
async def forget(request: Request, name: str) -> Response:
    """Take it out of use."""
    _keeper_only(request)
    await probes_of_request(request).forget(name, at=request.app.state.house.clock())
    return RedirectResponse("/thermometers", 303)


# ---------------------------------------------------------------- a new one
def _keeper_only(request: Request) -> None:
    if request.state.role != "owner":
        raise Problem(403, "bench_only", request.state.gettext("Only the keeper of the book can change this."))


def _settings(kind: Kind) -> tuple[list[Setting], list[Setting]]:
    seen = [s for s in kind.settings() if s.name not in NOT_ON_SCREEN]
    plain = PLAIN - {"sensor"} if kind.takes_wiring else PLAIN
    first = [s for s in seen if s.required or s.name in plain]
    return first, [s for s in seen if s not in first]


@router.get("/thermometer-new")
async def new(request: Request, kind: str = "") -> Response:
    """Which kind, then its settings; settings of a found one may stand in the address."""
    _keeper_only(request)
    if kind not in KINDS:
        return render(request, "thermometer_kinds.html", kinds=KINDS, script_view=request.state.view.for_scripts())
    given = {name: value for name, value in request.query_params.items() if name != "kind"}
    return _new_page(request, kind_named(kind), Form({"sort": "needle", "place": "bowl", **given}))


def _new_page(request: Request, kind: Kind, form: Form, trial: Trial | None = None, status: int = 200) -> Response:
    first, more = _settings(kind)
    return render(
        request,
        "thermometer_new.html",
        status=status,
        kind=kind,
        form=form,
        first=first,
        more=more,
        trial=trial,
        sensors=[(sensor, sensor.replace("_", " ")) for sensor in SENSORS],
        choices_of={s.name: [(choice, choice) for choice in s.choices] for s in (*first, *more)},
    )


def _settings_of(form: Form, kind: Kind) -> Mapping[str, Any]:
    found: dict[str, Any] = {}
    for setting in kind.settings():
        text = form.values.get(setting.name, "").strip()
        if setting.name == "name" or (text == "" and not setting.required):
            continue
        try:
            found |= settings_from_text(kind.name, {setting.name: text})
        except ImpossibleInput as error:
            form.fail(setting.name, str(error))
        if setting.required and text == "":
            form.fail(setting.name, form.gettext("Please fill this in."))
    return found


def _facts_of(form: Form) -> dict[str, float]:
    """What a person may say of the instrument itself; what is left empty is as usual."""
    said = {name: form.number(there, at_least=low, at_most=high, required=False) for name, there, low, high in FACTS}
    return {name: value for name, value in said.items() if value is not None}


@router.post("/thermometer-new")
async def save(request: Request, kind: str) -> Response:
    """Try it, or save it."""
    _keeper_only(request)
    chosen = kind_named(kind)
    form = await Form.posted(request)
    settings = _settings_of(form, chosen)
    wants_try = "try" in form.values
    label = form.text("label", required=not wants_try, longest=60)
    sort, place = form.choice("sort", SORTS), form.choice("place", PLACES)
    facts = _facts_of(form)
    if form.ok and not wants_try and label is not None:
        known = {probe.name for probe in probes_of_request(request).known()}
        if label in known:
            form.fail("label", form.gettext("There is one of this name already."))
    if not form.ok:
        return _new_page(request, chosen, form, status=422)
    try:
        if wants_try:
            return _new_page(request, chosen, form, await try_probe(kind, settings, TRY_s.get(kind, 6.0)))
        probe = Registration(str(label), kind, dict(settings), sort=sort, place=place, **facts)  # type: ignore[arg-type]
        await probes_of_request(request).save(probe, at=request.app.state.house.clock())
    except (ImpossibleInput, UnknownName) as error:
        form.fail({"name": "label"}.get(error.field, error.field), str(error))
        return _new_page(request, chosen, form, status=422)
    except BloomlessError as error:
        form.fail("label", str(error))
        return _new_page(request, chosen, form, status=422)
    return _page_of(str(label))


FAMILY: Final = Family(
    router,
    links=(Link("/thermometers", "Thermometers", "Bench", 40),),
    bench_paths=("/thermometers",),
)
