"""Files into the book and out of it: a recipe from elsewhere, a spreadsheet, a food table, a whole book."""

from __future__ import annotations

from pathlib import PurePath
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from bloomless.bench.exchange import export_book, import_book, kind_of_file, save_foods
from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.recipes.interchange import (
    Draft,
    draft_from_schema_org,
    draft_from_table,
    headings_of,
    ingredients_from_food_csv,
)
from bloomless.recipes.problems import Problem
from bloomless.storage.photos import photo_from
from bloomless.web.book_edit_page import edit_page
from bloomless.web.book_view import names_said, uploaded
from bloomless.web.families import Family
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)
ROLES: Final = ("name", "amount", "unit")


def _page(
    request: Request, form: Form, *, status: int = 200, problems: tuple[Problem, ...] = (), **more: Any
) -> Response:
    shown = {"headings": [], "taken": None} | more
    return render(request, "book_import.html", status=status, form=form, problems=problems, roles=ROLES, **shown)


@router.get("/book/import")
async def import_page(request: Request) -> Response:
    """Choose a file, or paste its text."""
    return _page(request, Form(view=request.state.view))


async def _text_of(request: Request, form: Form) -> tuple[str, str]:
    """Text and name of what was sent: a file, or what was pasted (and is kept for the second step)."""
    data, filename = await uploaded(request, "file")
    if not data:
        return form.values.get("text", ""), form.values.get("filename", "")
    try:
        return data.decode("utf-8-sig"), filename
    except UnicodeDecodeError:
        form.fail("file", form.gettext("This is no text in UTF-8. Save the spreadsheet as CSV, UTF-8."))
        return "", ""


@router.post("/book/import")
async def take(request: Request) -> Response:
    """Take it, all or nothing; a recipe is laid out to be looked over before it is saved."""
    form = await Form.posted(request)
    text, filename = await _text_of(request, form)
    if form.ok and not text.strip():
        form.fail("file", form.gettext("Choose a file, or paste its text."))
    if not form.ok:
        return _page(request, form, status=422)
    form = Form({**form.values, "text": text, "filename": filename}, form.errors, form.view, form.gettext)
    jobs = {"book": _take_book, "schema.org": _take_recipe, "table": _take_table}
    try:
        return await run_in_threadpool(lambda: jobs[kind_of_file(text)](request, form, text))
    except BloomlessError as error:
        form.fail("file", error.text if isinstance(error, ImpossibleInput) else str(error))
        return _page(request, form, status=422)


def _take_book(request: Request, form: Form, text: str) -> Response:
    house = request.app.state.house
    recipes, ingredients, problems = import_book(house.book, text, at=house.clock(), redraw=photo_from)
    if problems:
        return _page(request, form, status=422, problems=problems)
    return _page(request, Form(view=form.view), taken=(recipes, ingredients))


def _take_recipe(request: Request, form: Form, text: str) -> Response:
    return _lay_out(request, form, draft_from_schema_org(text, request.app.state.house.shelf.written()))


def _take_table(request: Request, form: Form, text: str) -> Response:
    house = request.app.state.house
    headings = headings_of(text)
    columns = {role: form.values[f"column-{role}"] for role in ROLES if form.values.get(f"column-{role}")}
    what = form.values.get("what", "")
    if what == "foods":
        found, problems = ingredients_from_food_csv(text)
        if problems:
            return _page(request, form, status=422, problems=problems, headings=headings)
        save_foods(house.book, found, at=house.clock())
        return _page(request, Form(view=form.view), taken=(0, len(found)))
    if what != "recipe" or not columns.keys() >= {"name", "amount"}:
        return _page(request, form, headings=headings)
    name = form.values.get("recipe_name", "").strip() or PurePath(form.values.get("filename", "")).stem
    unit = form.values.get("plain_unit", "g")
    return _lay_out(request, form, draft_from_table(text, columns, house.shelf.written(), name=name, unit=unit))


def _lay_out(request: Request, form: Form, draft: Draft) -> Response:
    """The form of a new recipe, filled with what was read; what could not be read stands there to be mended."""
    names = names_said(request, request.app.state.house.shelf.written())
    values: dict[str, str] = {"name": draft.name, "kind": "other", "steps": "\n".join(draft.steps)}
    values["pieces"] = f"{draft.pieces:g}" if draft.pieces else ""
    laid = Form(values, {}, form.view, form.gettext)
    for n, line in enumerate(draft.lines):
        values[f"of{n}"] = names.get(line.of, line.of) if line.of else _name_in(line.text)
        values[f"g{n}"] = "" if line.mass_g is None else f"{round(line.mass_g, 3):.8g} g"
        if not line.of:
            laid.fail(f"of{n}", form.gettext("Not known here. Choose what it is:") + f" “{line.text[:80]}”")
        elif line.mass_g is None:
            laid.fail(f"g{n}", form.gettext("How many grams?") + f" “{line.text[:80]}”")
    if not draft.name:
        laid.fail("name", form.gettext("Please fill this in."))
    return edit_page(request, None, laid)


def _name_in(text: str) -> str:
    return text.strip()[:120]


@router.get("/book/export.json")
async def export(request: Request) -> Response:
    """The whole book: recipes, own ingredients, photos."""
    house = request.app.state.house
    text = await run_in_threadpool(lambda: export_book(house.book))
    headers = {"content-disposition": 'attachment; filename="recipe-book.json"'}
    return Response(text, media_type="application/json; charset=utf-8", headers=headers)


FAMILY: Final = Family(router)
