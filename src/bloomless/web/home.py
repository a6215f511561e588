"""The first page, and the few choices of a first start."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.web.bench_page import bench_title, open_benches
from bloomless.web.families import Family
from bloomless.web.forms import Form
from bloomless.web.house_settings import COUNTRIES
from bloomless.web.past_pages import to_be_asked
from bloomless.web.render import render
from bloomless.web.words import LANGUAGES, language_name

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)


@router.get("/")
async def home(request: Request) -> Response:
    """Where everything begins; before the first choices were made, those."""
    if not request.app.state.settings.current() and request.state.role == "owner":
        return RedirectResponse("/welcome", 303)
    under_way = await run_in_threadpool(open_benches, request)
    asked = await run_in_threadpool(to_be_asked, request)
    bowls = [(one.session, bench_title(request, one)) for one in under_way[:6]]
    return render(request, "home.html", open_bowls=bowls, asked=asked[:2])


@router.get("/welcome")
async def welcome(request: Request) -> Response:
    """Language, degrees, weights and whose rules: sensible choices are made already."""
    view = request.state.view
    region = request.headers.get("accept-language", "").split(",")[0].partition("-")[2].upper()
    us = region == "US"
    chosen = {
        "language": view.language,
        "temperature": "F" if us else "C",
        "mass": "oz" if us else "g",
        "country": region if region in COUNTRIES else "EU",
    }
    return _welcome(request, Form(chosen))


@router.post("/welcome")
async def welcomed(request: Request) -> Response:
    """Keep the first choices."""
    form = await Form.posted(request)
    wishes = {
        "language": form.choice("language", LANGUAGES),
        "temperature": form.choice("temperature", ("C", "F")),
        "mass": form.choice("mass", ("g", "oz")),
        "country": form.choice("country", COUNTRIES),
    }
    if not form.ok:
        return _welcome(request, form, status=422)
    await run_in_threadpool(request.app.state.settings.change, {key: str(value) for key, value in wishes.items()})
    return RedirectResponse("/", 303)


def _welcome(request: Request, form: Form, status: int = 200) -> Response:
    languages = [(code, language_name(code)) for code in LANGUAGES]
    return render(request, "welcome.html", status=status, form=form, languages=languages, countries=COUNTRIES)


FAMILY: Final = Family(router, bench_paths=())
