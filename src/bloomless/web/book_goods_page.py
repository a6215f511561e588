"""Ingredients on screen: what each is made of and from where; own ones from a data sheet or from a wrapper."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench import recipes as jobs
from bloomless.errors import BloomlessError, ImpossibleInput, UnknownName
from bloomless.materials.chocolates import melting_shift_K
from bloomless.materials.data_sheet import DataSheet, ingredient_from_sheet, sheet_of
from bloomless.materials.ingredients import AllergenNote, Ingredient, ingredient_library
from bloomless.materials.wrapper import Wrapper, chocolate_for_the_bowl, chocolate_from_wrapper
from bloomless.recipes.keeping import ASKS_FOR_A_LABORATORY
from bloomless.sources import bibliography
from bloomless.web.book_view import at_field, names_said, slug
from bloomless.web.families import Family
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)

NUMBERS: Final = (
    ("water_g", "Water"),
    ("fat_g", "Fat"),
    ("saturated_fat_g", "of which saturates"),
    ("cocoa_butter_g", "of which cocoa butter"),
    ("milk_fat_g", "of which milk fat"),
    ("carbohydrate_g", "Carbohydrate"),
    ("sugars_g", "of which sugars"),
    ("lactose_g", "of which lactose"),
    ("polyols_g", "of which polyols"),
    ("fibre_g", "Fibre"),
    ("protein_g", "Protein"),
    ("salt_g", "Salt"),
    ("alcohol_g", "Alcohol, by mass"),
    ("energy_kcal", "Energy as printed, kcal"),
)
"""In the order data sheets print them."""
PRINTED: Final = ("cocoa_pct", "fat_g", "saturated_fat_g", "carbohydrate_g", "sugars_g", "fibre_g", "protein_g")
SHOWN: Final = (
    "water_g", "fat_g", "saturated_fat_g", "cocoa_butter_g", "milk_fat_g", "carbohydrate_g", "sugars_g", "sucrose_g",
    "lactose_g", "polyols_g", "fibre_g", "protein_g", "fat_free_cocoa_solids_g", "milk_solids_nonfat_g", "alcohol_g",
    "ash_g", "sodium_mg",
)  # fmt: skip
GROUPS: Final = tuple(sorted({one.group for one in ingredient_library().values()}))


@router.get("/book/ingredients")
async def ingredients(request: Request) -> Response:
    """Every ingredient, own ones first."""
    house = request.app.state.house
    pantry = await run_in_threadpool(house.shelf.written)
    names, typed = names_said(request, pantry), request.query_params.get("q", "").casefold()
    rows = [
        (key, names[key], one)
        for key, one in pantry.ingredients.items()
        if typed in names[key].casefold() or typed in one.name.casefold()
    ]
    rows.sort(key=lambda row: (row[0] in ingredient_library(), row[1].casefold()))
    return render(
        request,
        "book_ingredients.html",
        rows=rows,
        q=request.query_params.get("q", ""),
        library=set(ingredient_library()),
    )


@router.get("/book/ingredients/new")
async def new_ingredient(request: Request) -> Response:
    """An own ingredient from a supplier's data sheet."""
    return await run_in_threadpool(lambda: _sheet_page(request, None, Form(view=request.state.view)))


@router.get("/book/ingredients/wrapper")
async def wrapper_page(request: Request) -> Response:
    """A bought chocolate from what its wrapper says."""
    form = Form(dict(request.query_params), {}, request.state.view, request.state.gettext)
    return await run_in_threadpool(lambda: _wrapper_page(request, form))


def _read_wrapper(form: Form) -> Ingredient | None:
    if "kind" not in form.values:
        return None
    kind = form.choice("kind", ("dark", "milk", "white"))
    printed = {name: form.number(name, at_least=0, at_most=100, required=False) for name in PRINTED}
    if not form.ok or kind is None:
        return None
    name = form.values.get("name", "").strip()
    try:
        wrapper = Wrapper(kind, **printed)  # type: ignore[arg-type]  # one of the three
        return chocolate_from_wrapper(
            wrapper, key=slug(name or f"bought {kind}"), name=name or f"Bought {kind} chocolate"
        )
    except BloomlessError as error:
        at_field(form, error, {part: part for part in PRINTED}, "cocoa_pct")
        return None


def _wrapper_page(request: Request, form: Form, status: int = 200) -> Response:
    asked = Form({k: v for k, v in form.values.items() if k in ("kind", "name", *PRINTED)}, {}, form.view, form.gettext)
    found = _read_wrapper(asked)
    form.errors.update(asked.errors)
    shift_K = None
    try:
        shift_K = None if found is None else melting_shift_K(chocolate_for_the_bowl(found))
    except BloomlessError as error:
        form.fail("fat_g", error.text if isinstance(error, ImpossibleInput) else str(error))
    return render(
        request, "book_wrapper.html", status=status if form.ok else 422, form=form, found=found,
        shift_K=shift_K, printed=PRINTED, shown=SHOWN, words=_words(),
    )  # fmt: skip


@router.post("/book/ingredients/wrapper")
async def keep_wrapper(request: Request) -> Response:
    """Keep the chocolate that was inferred, with what the pack says of allergens."""
    house = request.app.state.house
    form = await Form.posted(request)
    found = await run_in_threadpool(lambda: _read_wrapper(form))
    form.text("name")
    if found is None or not form.ok:
        return await run_in_threadpool(lambda: _wrapper_page(request, form, 422))
    notes = {note.substance: note for note in found.allergens} | {a.substance: a for a in _allergens(form)}
    may = tuple(_listed(form, "may_contain"))
    kept = replace(found, allergens=tuple(sorted(notes.values())), may_contain=may)
    await run_in_threadpool(lambda: jobs.save_ingredient(house.book, kept, at=house.clock()))
    return RedirectResponse(f"/book/ingredients/{kept.key}", 303)


def _words() -> Mapping[str, str]:
    return {**dict(NUMBERS), "cocoa_pct": "Cocoa, %", "sucrose_g": "Sucrose", "ash_g": "Ash", "sodium_mg": "Sodium, mg",
            "fat_free_cocoa_solids_g": "Fat-free cocoa", "milk_solids_nonfat_g": "Fat-free milk"}  # fmt: skip


@router.get("/book/ingredients/{key}")
async def ingredient_page(request: Request, key: str) -> Response:
    """One ingredient: composition with its source, allergens, where it is used."""
    house = request.app.state.house
    pantry = await run_in_threadpool(house.shelf.written)
    if key not in pantry.ingredients:
        raise UnknownName("ingredient", key, pantry.ingredients)
    one = pantry.ingredients[key]
    uses = [r for r in pantry.recipes.values() if any(line.of == key for line in r.lines)]
    return render(
        request, "book_ingredient.html", one=one, name=names_said(request, pantry)[key], uses=uses, shown=SHOWN,
        words=_words(), own=key not in ingredient_library(), source=bibliography().get(one.source),
    )  # fmt: skip


@router.get("/book/ingredients/{key}/edit")
async def edit_ingredient(request: Request, key: str) -> Response:
    """Put a supplier's sheet in place of what is known."""
    house = request.app.state.house
    pantry = await run_in_threadpool(house.shelf.written)
    if key not in pantry.ingredients:
        raise UnknownName("ingredient", key, pantry.ingredients)
    return await run_in_threadpool(lambda: _sheet_page(request, pantry.ingredients[key], Form(view=request.state.view)))


def _sheet_page(request: Request, old: Ingredient | None, form: Form, status: int = 200) -> Response:
    groups = [(group, request.state.gettext(group.replace("_", " "))) for group in GROUPS]
    return render(
        request, "book_sheet.html", status=status, form=form, old=old, numbers=NUMBERS, groups=groups,
        known=sheet_of(old) if old else {},
        risks=[(risk, request.state.gettext(risk)) for risk in ASKS_FOR_A_LABORATORY],
    )  # fmt: skip


def _listed(form: Form, name: str) -> list[str]:
    return [part.strip() for part in form.values.get(name, "").split(",") if part.strip()]


def _allergens(form: Form) -> tuple[AllergenNote, ...]:
    """Substances as typed, with commas; a question mark behind one: ask the supplier."""
    return tuple(AllergenNote(text.rstrip("? "), not text.endswith("?")) for text in _listed(form, "allergens"))


@router.post("/book/ingredients/new")
@router.post("/book/ingredients/{key}/edit")
async def keep_ingredient(request: Request, key: str = "") -> Response:
    """Keep an ingredient as its sheet says, or say field by field what cannot be."""
    house = request.app.state.house
    form = await Form.posted(request)
    pantry = await run_in_threadpool(house.shelf.written)
    old = pantry.ingredients.get(key) if key else None
    name, group = form.text("name"), form.choice("group", GROUPS)
    numbers = {part: form.number(part, at_least=0, at_most=1000, required=False) for part, _ in NUMBERS}
    density = form.number("density", at_least=200, at_most=3000, required=False)
    risk = form.choice("keeping_risk", ASKS_FOR_A_LABORATORY, required=False) or ""
    texts = {part: form.text(part, required=False) or "" for part in ("label_name", "sheet_name")}
    if not key and slug(name or "") in pantry.ingredients:
        form.fail("name", form.gettext("There is an ingredient of this name already."))

    def made() -> Ingredient:
        sheet = DataSheet(**numbers, fibre_within=form.values.get("fibre_within") == "yes")
        return ingredient_from_sheet(
            sheet, key=key or slug(name or ""), name=name or "", group=group or "composite", density_kg_m3=density,
            allergens=_allergens(form), may_contain=tuple(_listed(form, "may_contain")), keeping_risk=risk, old=old,
            **texts,
        )  # fmt: skip

    if form.ok:
        try:
            kept = made()
            await run_in_threadpool(lambda: jobs.save_ingredient(house.book, kept, at=house.clock()))
            return RedirectResponse(f"/book/ingredients/{kept.key}", 303)
        except BloomlessError as error:
            at_field(form, error, {part: part for part, _ in NUMBERS}, "water_g")
    return await run_in_threadpool(lambda: _sheet_page(request, old, form, 422))


FAMILY: Final = Family(router)
