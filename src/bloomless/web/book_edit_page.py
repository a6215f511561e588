"""Writing a recipe on screen: lines, cooking, steps, losses; what was typed is kept until it can be saved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench import recipes as jobs
from bloomless.errors import BloomlessError, ImpossibleInput, UnknownName
from bloomless.quantities import F_from_C, oz_from_g
from bloomless.recipes import KINDS, Cooking, Line, Pantry, Recipe, Step
from bloomless.recipes.keeping import ASKS_FOR_A_LABORATORY
from bloomless.recipes.recipe import PARTS_OF_A_PIECE
from bloomless.web.book_view import amount_g, at_field, found_key, names_said, share_in, slug, things_said, unknown_name
from bloomless.web.families import Family
from bloomless.web.forms import Form
from bloomless.web.render import render
from bloomless.web.view import View

__all__ = ["FAMILY", "edit_page"]

router = APIRouter(include_in_schema=False)

LEAST_LINES: Final = 8
LEAST_STEPS: Final = 3
MOST_LINES: Final = 200
MINUTES: Final = ("hands", "wait")
STEP_FIELDS: Final = ("step", "warm", *MINUTES)
COOKINGS: Final = ("", "temperature", "water", "weighed")


def edit_page(request: Request, recipe: Recipe | None, form: Form, status: int = 200) -> Response:
    """The form of a recipe: what was typed, else what the recipe says."""
    pantry = request.app.state.house.shelf.written()
    names, view = names_said(request, pantry), request.state.view
    lines = list(recipe.lines) if recipe else []
    rows = [
        _row(n, lines[n] if n < len(lines) else None, form, names, view)
        for n in range(min(MOST_LINES, max(LEAST_LINES, len(lines) + 2, _typed_rows(form, "of") + 2)))
    ]
    kinds = [(kind, request.state.gettext(kind.replace("_", " "))) for kind in KINDS]
    own = request.app.state.house.shelf.own().get(recipe.key) if recipe else None
    return render(
        request, "book_edit.html", status=status, form=form, recipe=recipe, rows=rows, kinds=kinds, own=own,
        steps=_step_rows(recipe, form, view),
        things=things_said(request, pantry), parts=PARTS_OF_A_PIECE, cooking=_cooking_values(recipe, view),
        risks=ASKS_FOR_A_LABORATORY,
    )  # fmt: skip


def _row(n: int, line: Line | None, form: Form, names: Mapping[str, str], view: View) -> dict[str, Any]:
    written = {
        "of": names.get(line.of, line.of) if line else "",
        "g": _in_unit(line.mass_g, view) if line else "",
        "part": line.part if line else "",
        "prep": line.preparation if line else "",
        "trim": _plain(100 * line.trim_share) if line and line.trim_share else "",
    }
    row: dict[str, Any] = {name: form.values.get(f"{name}{n}", value) for name, value in written.items()}
    row["base"] = bool(form.values.get(f"base{n}")) if form.values else bool(line and line.base)
    return row


def _plain(value: float) -> str:
    return f"{round(value, 6):.10g}"


def _in_unit(mass_g: float, view: View) -> str:
    return _plain(mass_g) if view.mass == "g" else f"{oz_from_g(mass_g):.5g}"


def _cooking_values(recipe: Recipe | None, view: View) -> dict[str, str]:
    cooking = recipe.cooking if recipe else None
    if cooking is None:
        return {"cooking": "", "cook_value": "", "pressure": ""}
    pressure = _plain(cooking.pressure_hPa) if cooking.pressure_hPa != Cooking(finished_g=1.0).pressure_hPa else ""
    if cooking.end_temperature_C is not None:
        shown = {"cooking": "temperature", "cook_value": view.degrees(cooking.end_temperature_C, 1)}
    elif cooking.final_water_share is not None:
        shown = {"cooking": "water", "cook_value": _plain(100 * cooking.final_water_share)}
    else:
        shown = {"cooking": "weighed", "cook_value": _in_unit(cooking.finished_g or 0.0, view)}
    return {**shown, "pressure": pressure}


def _typed_rows(form: Form, prefix: str) -> int:
    """One more than the number of the last row that was begun."""
    numbers = [key.removeprefix(prefix) for key, value in form.values.items() if key.startswith(prefix) and value]
    return 1 + max((int(number) for number in numbers if number.isdigit()), default=-1)


def _step_rows(recipe: Recipe | None, form: Form, view: View) -> list[dict[str, str]]:
    steps = list(recipe.steps) if recipe else []
    most = max(LEAST_STEPS, len(steps) + 1, 1 + max(_typed_rows(form, name) for name in STEP_FIELDS))
    return [_step_row(n, steps[n] if n < len(steps) else None, form, view) for n in range(min(MOST_LINES, most))]


def _step_row(n: int, step: Step | None, form: Form, view: View) -> dict[str, str]:
    warm_C = step.temperature_C if step else None
    written = {
        "step": step.text if step else "",
        "warm": "" if warm_C is None else _plain(warm_C if view.temperature == "C" else F_from_C(warm_C)),
        "hands": _plain(step.hands_min) if step and step.hands_min else "",
        "wait": _plain(step.wait_min) if step and step.wait_min else "",
    }
    return {name: form.values.get(f"{name}{n}", "" if form.values else value) for name, value in written.items()}


def _steps_from(form: Form, old: Sequence[Step]) -> tuple[Step, ...]:
    found = []
    cautions = {step.text: step.caution for step in old}
    for n in range(MOST_LINES):
        text = form.text(f"step{n}", required=False, longest=2000)
        warm_C = form.temperature_C(f"warm{n}", at_least=-40, at_most=250, required=False)
        hands, wait = (form.number(f"{name}{n}", at_least=0, at_most=100_000, required=False) for name in MINUTES)
        if text:
            found.append(Step(text, warm_C, hands or 0.0, wait or 0.0, cautions.get(text, "")))
        elif any(form.values.get(f"{name}{n}", "").strip() for name in ("warm", *MINUTES)):
            form.fail(f"step{n}", form.gettext("What is done? Please fill this in."))
    return tuple(found)


def _cooking_from(form: Form) -> Cooking | None:
    how = form.choice("cooking", COOKINGS, required=False)
    if not how:
        return None
    pressure = form.number("pressure", at_least=500, at_most=1100, required=False) or 1013.25
    if how == "temperature":
        end_C = form.temperature_C("cook_value", at_least=95, at_most=170)
        return None if end_C is None else Cooking(end_temperature_C=end_C, pressure_hPa=pressure)
    if how == "water":
        water = form.number("cook_value", at_least=0, at_most=99)
        return None if water is None else Cooking(final_water_share=water / 100.0)
    finished_g = form.mass_g("cook_value", at_least=0.1, at_most=1e7)
    return None if finished_g is None else Cooking(finished_g=finished_g)


def _lines_from(request: Request, form: Form, pantry: Pantry) -> list[Line]:
    lines = []
    for n in range(MOST_LINES):
        typed = form.values.get(f"of{n}", "").strip()
        if not typed:
            if form.values.get(f"g{n}", "").strip():
                form.fail(f"of{n}", form.gettext("Of what? Please fill this in."))
            continue
        of = found_key(request, typed, pantry)
        grams = amount_g(form, f"g{n}", pantry.ingredients.get(of))
        trim = share_in(form, f"trim{n}", at_most=95.0)
        more: dict[str, Any] = {"part": form.choice(f"part{n}", PARTS_OF_A_PIECE, required=False) or ""}
        more |= {"preparation": form.text(f"prep{n}", required=False) or "", "trim_share": trim}
        try:
            lines.append(jobs.line_from(of, grams or 0.0, pantry, base=bool(form.values.get(f"base{n}")), **more))
        except UnknownName:
            form.fail(f"of{n}", unknown_name(request, typed, pantry))
    if not lines and form.ok:
        form.fail("of0", form.gettext("At least one line, please."))
    return lines


@router.get("/book/new")
async def new_recipe(request: Request) -> Response:
    """A recipe line by line."""
    return await run_in_threadpool(lambda: edit_page(request, None, Form(view=request.state.view)))


@router.get("/book/recipes/{key}/edit")
async def edit(request: Request, key: str) -> Response:
    """A recipe to be changed; saving makes a version."""
    house = request.app.state.house
    recipe, _ = await run_in_threadpool(lambda: jobs.recipe_named(house.book, key))
    return await run_in_threadpool(lambda: edit_page(request, recipe, Form(view=request.state.view)))


@router.post("/book/new")
@router.post("/book/recipes/{key}/edit")
async def save(request: Request, key: str = "") -> Response:
    """Write the version, or say field by field what cannot be."""
    house = request.app.state.house
    form = await Form.posted(request)
    pantry = await run_in_threadpool(house.shelf.written)
    old = pantry.recipes.get(key)
    name, kind = form.text("name"), form.choice("kind", KINDS)
    pieces = form.number("pieces", at_least=0.01, at_most=1e6, required=False)
    left, reject = share_in(form, "left"), share_in(form, "reject")
    note = form.text("note", required=False, longest=4000)
    cooking = _cooking_from(form)
    lines, steps = _lines_from(request, form, pantry), _steps_from(form, old.steps if old else ())
    risks = tuple(risk for risk in ASKS_FOR_A_LABORATORY if form.values.get(f"risk-{risk}"))

    def write() -> str:
        made = Recipe(
            key or slug(name or ""), name or "", kind or "other", tuple(lines),
            steps, cooking=cooking,
            left_behind_share=left, reject_share=reject, pieces=pieces,
            tags=tuple(t.strip() for t in form.values.get("tags", "").split(",") if t.strip()),
            keeping_risks=risks, note=note or "",
        )  # fmt: skip
        if old is not None:
            kept = {name: getattr(old, name) for name in ("variant_of", "photo", "author", "measured")}
            made = replace(made, **kept)
        if not key and made.key in pantry.recipes:
            raise ImpossibleInput("name", name, "a name that no recipe has yet", code="taken")
        return jobs.save_recipe(house.book, made, at=house.clock()).key

    if form.ok:
        try:
            return RedirectResponse(f"/book/recipes/{await run_in_threadpool(write)}", 303)
        except BloomlessError as error:
            fields = {"cooking": "cook_value", "end_temperature": "cook_value", "lines": "of0"}
            at_field(form, error, fields, "name")
    return await run_in_threadpool(lambda: edit_page(request, old, form, 422))


FAMILY: Final = Family(router)
