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
from bloomless.quantities import oz_from_g
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
MOST_LINES: Final = 200
COOKINGS: Final = ("", "temperature", "water", "weighed")


def edit_page(request: Request, recipe: Recipe | None, form: Form, status: int = 200) -> Response:
    """The form of a recipe: what was typed, else what the recipe says."""
    pantry = request.app.state.house.shelf.written()
    names, view = names_said(request, pantry), request.state.view
    lines = list(recipe.lines) if recipe else []
    typed = 1 + max((int(k[2:]) for k, v in form.values.items() if k[:2] == "of" and k[2:].isdigit() and v), default=-1)
    rows = [
        _row(n, lines[n] if n < len(lines) else None, form, names, view)
        for n in range(min(MOST_LINES, max(LEAST_LINES, len(lines) + 2, typed + 2)))
    ]
    kinds = [(kind, request.state.gettext(kind.replace("_", " "))) for kind in KINDS]
    own = request.app.state.house.shelf.own().get(recipe.key) if recipe else None
    return render(
        request, "book_edit.html", status=status, form=form, recipe=recipe, rows=rows, kinds=kinds, own=own,
        steps="\n".join(_step_text(step) for step in recipe.steps) if recipe else "",
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


def _step_text(step: Step) -> str:
    numbers = [
        f"{step.temperature_C:g}" if step.temperature_C is not None else "",
        f"{step.hands_min:g}",
        f"{step.wait_min:g}",
    ]
    return " | ".join([step.text, *numbers])


def _steps_from(text: str, old: Sequence[Step]) -> tuple[Step, ...]:
    found = []
    cautions = {step.text: step.caution for step in old}
    for number, line in enumerate((one for one in text.splitlines() if one.strip()), start=1):
        parts = [part.strip() for part in line.split("|")]
        try:
            values = [float(part.replace(",", ".")) if part else None for part in parts[1:4]]
        except ValueError:
            raise ImpossibleInput(
                f"steps[{number}]", line, "text | °C | minutes of work | minutes of waiting"
            ) from None
        values += [None] * (3 - len(values))
        found.append(Step(parts[0], values[0], values[1] or 0.0, values[2] or 0.0, cautions.get(parts[0], "")))
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
    lines = _lines_from(request, form, pantry)
    risks = tuple(risk for risk in ASKS_FOR_A_LABORATORY if form.values.get(f"risk-{risk}"))

    def write() -> str:
        made = Recipe(
            key or slug(name or ""), name or "", kind or "other", tuple(lines),
            _steps_from(form.values.get("steps", ""), old.steps if old else ()), cooking=cooking,
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
            fields = {"steps": "steps", "cooking": "cook_value", "end_temperature": "cook_value", "lines": "of0"}
            at_field(form, error, fields, "name")
    return await run_in_threadpool(lambda: edit_page(request, old, form, 422))


FAMILY: Final = Family(router)
