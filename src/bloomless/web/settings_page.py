"""Settings: this device, the house, its backup, who may come in."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Final

from fastapi import APIRouter, Request
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, RedirectResponse, Response

from bloomless.assembly.back_up import Backup, back_up, last_backup
from bloomless.errors import ImpossibleInput
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.house_settings import COUNTRIES
from bloomless.web.problems import Problem
from bloomless.web.render import render
from bloomless.web.sign_in import SHORTEST, set_secret
from bloomless.web.view import COOKIE
from bloomless.web.words import LANGUAGES, language_name

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)
_YEAR_s: Final = 365 * 24 * 3600


@router.get("/settings")
async def settings(request: Request) -> Response:
    """Everything that can be set."""
    return await _page(request, Form())


async def _page(request: Request, form: Form, status: int = 200) -> Response:
    house = request.app.state.house
    now = house.clock()
    sign_ins = await run_in_threadpool(house.secrets.all, at=now) if request.state.role == "owner" else ()
    set_roles = [role for role in SHORTEST if await run_in_threadpool(house.secrets.secret, role)]
    return render(
        request,
        "settings.html",
        status=status,
        form=form,
        languages=[(code, language_name(code)) for code in LANGUAGES],
        countries=COUNTRIES,
        house=request.app.state.settings.current(),
        places=house.places,
        door=request.app.state.door,
        sign_ins=sign_ins,
        set_roles=set_roles,
        mine=getattr(request.state, "sign_in", None),
        backup=_said(request, await run_in_threadpool(last_backup, house)),
    )


def _said(request: Request, made: Backup | None) -> dict[str, str]:
    """When a backup was made and how large it is, for programs and for people; empty texts if there is none."""
    if made is None:
        return {"at": "", "said": ""}
    view = request.state.view
    said = f"{view.day(made.at)} {view.clock(made.at)} ({view.number(made.size_bytes / 1e6, 1)}\u00a0MB)"
    return {"at": made.at.isoformat(), "said": said}


def _keeper_only(request: Request) -> None:
    if request.state.role != "owner":
        raise Problem(403, "bench_only", request.state.gettext("Only the keeper of the book can change this."))


@router.post("/settings/device")
async def device(request: Request) -> Response:
    """How this device shows things; kept in the device."""
    form = await Form.posted(request)
    view = request.state.view.with_(dict(form.values))
    answer = RedirectResponse("/settings", 303)
    answer.set_cookie(COOKIE, view.cookie(), max_age=_YEAR_s, samesite="lax", secure=request.app.state.door.tls)
    return answer


@router.post("/settings/house")
async def house(request: Request) -> Response:
    """What the whole house is set to."""
    _keeper_only(request)
    form = await Form.posted(request)
    country = form.choice("country", COUNTRIES)
    if not form.ok:
        return await _page(request, form, 422)
    await run_in_threadpool(request.app.state.settings.change, {"country": str(country)})
    return RedirectResponse("/settings", 303)


@router.post("/settings/backup")
async def backup(request: Request) -> Response:
    """Make a backup and send it."""
    _keeper_only(request)
    house = request.app.state.house
    folder = tempfile.TemporaryDirectory(prefix="bloomless-backup-")
    file = Path(folder.name) / "bloomless.sqlite"
    try:
        made = await run_in_threadpool(back_up, house, file)
    except BaseException:
        folder.cleanup()
        raise
    name = f"bloomless-{made.at.astimezone():%Y-%m-%d-%H%M}.sqlite"
    sent = BackgroundTask(run_in_threadpool, folder.cleanup)
    return FileResponse(file, media_type="application/vnd.sqlite3", filename=name, background=sent)


@router.get("/settings/backup")
async def backup_made(request: Request) -> dict[str, str]:
    """When the last backup was made: for a page that has just sent for one."""
    _keeper_only(request)
    return _said(request, await run_in_threadpool(last_backup, request.app.state.house))


@router.post("/settings/secret/{role}")
async def secret(request: Request, role: str) -> Response:
    """Set the pass phrase or the PIN, or take the PIN away."""
    _keeper_only(request)
    form = await Form.posted(request)
    house = request.app.state.house
    field = "pass_phrase" if role == "owner" else "pin"
    if role not in SHORTEST:
        form.fail("role", request.state.gettext("Please choose one."))
    elif role == "bench" and "drop" in form.values:
        await run_in_threadpool(house.secrets.drop_secret, role)
    elif form.values.get(field, "") != form.values.get("again", ""):
        form.fail(field, request.state.gettext("The two are not the same."))
    else:
        try:
            await run_in_threadpool(set_secret, house, role, form.values.get(field, ""))
        except ImpossibleInput:
            phrase = request.state.gettext("At least 12 characters, not digits alone.")
            form.fail(field, phrase if role == "owner" else request.state.gettext("6 to 12 digits."))
    if not form.ok:
        return await _page(request, Form(errors=form.errors), 422)
    return RedirectResponse("/settings", 303)


@router.post("/settings/end-sign-in")
async def end_sign_in(request: Request) -> Response:
    """Sign another device out."""
    _keeper_only(request)
    form = await Form.posted(request)
    await run_in_threadpool(request.app.state.house.secrets.end, form.values.get("which", ""))
    return RedirectResponse("/settings", 303)


FAMILY: Final = Family(router, links=(Link("/settings", "Settings", "House", 90),), bench_paths=("/settings",))
