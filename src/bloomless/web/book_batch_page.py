"""Batches on screen: started from a recipe, their sheet as a checklist and as paper, closed with what was weighed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench import batches
from bloomless.bench.batch_sheet import BatchSheet, batch_sheet
from bloomless.bench.cost_terms import scale_of
from bloomless.bench.mould_inputs import mould_named
from bloomless.errors import BloomlessError
from bloomless.recipes.scaling import Batch
from bloomless.sheets import PageSize
from bloomless.sheets.batch_sheet import batch_sheet_pdf
from bloomless.web.book_view import at_field, names_said, slug, weighed
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.render import render
from bloomless.web.sentences import say

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Shown:
    """A batch as its pages need it."""

    sheet: BatchSheet
    document: Mapping[str, Any]
    weigh: tuple[Batch, ...]
    made_pieces: float | None


def _shown(request: Request, code: str) -> Shown:
    house = request.app.state.house
    recipe, pantry, entry = batches.planned(house.book, code)
    d = entry.document
    used = {key: ", ".join(lot for lot, _ in rows) for key, rows in d.get("closed", {}).get("lots", {}).items()}
    lots = used or batches.lots_for(house.book, recipe, pantry)
    step_g, fine_step_g = scale_of(house.book)
    sheet = batch_sheet(
        recipe, pantry, batch=code, on=str(d.get("on", "")), address=str(request.url_for("batch_page", code=code)),
        mould=mould_named(house.book, d["mould"]) if d.get("mould") else None, lots=lots,
        step_g=step_g, fine_step_g=fine_step_g,
    )  # fmt: skip
    return Shown(sheet, d, batches.to_weigh(recipe, pantry), recipe.pieces)


@router.get("/book/batches")
async def all_batches(request: Request) -> Response:
    """Every batch, the newest first."""
    house = request.app.state.house

    def look() -> dict[str, Any]:
        entries = batches.newest_first(house.book.latest("batch"))
        return {"entries": entries, "names": names_said(request, house.shelf.written())}

    return render(request, "book_batches.html", **await run_in_threadpool(look))


@router.post("/book/recipes/{key}/batches")
async def start(request: Request, key: str) -> Response:
    """Note a batch in the size shown, for its sheet."""
    house = request.app.state.house
    form = await Form.posted(request)
    pieces = form.number("pieces", at_least=0.01, at_most=1e6, required=False)
    grams = form.number("grams", at_least=0.1, at_most=1e7, required=False)
    mould = form.text("mould", required=False) or ""
    code = await run_in_threadpool(
        lambda: batches.start_batch(house.book, key, at=house.clock(), pieces=pieces, grams=grams, mould=mould)
    )
    return RedirectResponse(f"/book/batches/{code}", 303)


def _batch_page(request: Request, code: str, form: Form, status: int = 200) -> Response:
    shown = _shown(request, code)
    names = names_said(request, request.app.state.house.shelf.written())
    return render(
        request, "book_batch.html", status=status, form=form, sheet=shown.sheet, document=shown.document,
        weigh=shown.weigh, made_pieces=shown.made_pieces, names=names, weighed=weighed,
    )  # fmt: skip


@router.get("/book/batches/{code}")
async def batch_page(request: Request, code: str) -> Response:
    """The batch sheet as a checklist on screen; the printed code leads here."""
    return await run_in_threadpool(lambda: _batch_page(request, code, Form(view=request.state.view)))


@router.get("/book/batches/{code}/sheet.pdf")
async def batch_pdf(request: Request, code: str) -> Response:
    """The batch sheet on A4, or on US Letter where that is used."""
    country = str(request.app.state.settings.current().get("country", "EU"))
    shown = await run_in_threadpool(lambda: _shown(request, code))
    paper: PageSize = "us-letter" if country == "US" else "a4"
    view = request.state.view
    made = await run_in_threadpool(
        lambda: batch_sheet_pdf(
            shown.sheet,
            paper=paper,
            say=lambda text: say(text, view),
            mass=lambda g, digits: weighed(view, g, digits),
            language=view.language,
        )
    )
    headers = {"content-disposition": f'inline; filename="{slug(code)}.pdf"'}
    return Response(made, media_type="application/pdf", headers=headers)


@router.post("/book/batches/{code}/close")
async def close(request: Request, code: str) -> Response:
    """Write down what the batch gave."""
    house = request.app.state.house
    form = await Form.posted(request)
    outcome = form.choice("outcome", batches.OUTCOMES)
    weighed = {
        name.removeprefix("weighed-"): form.mass_g(name, at_least=0.1, at_most=1e7, required=False)
        for name in form.values
        if name.startswith("weighed-")
    }
    good = form.number("good", at_least=0, at_most=1e6, required=False)
    hands = form.number("hands", at_least=0.1, at_most=100_000, required=False)
    note = form.text("note", required=False, longest=2000)
    if form.ok and outcome is not None:
        grams = {key: g for key, g in weighed.items() if g is not None}
        from_stock = bool(form.values.get("from_stock"))
        try:
            closing = batches.Closing(outcome, grams, good, hands, note or "", from_stock)
            await run_in_threadpool(lambda: batches.close_batch(house.book, code, closing, at=house.clock()))
            return RedirectResponse(f"/book/batches/{code}", 303)
        except BloomlessError as error:
            fields = {f"weighed_g.{key}": f"weighed-{key}" for key in grams}
            at_field(form, error, {**fields, "good": "good", "hands": "hands"}, "outcome")
    return await run_in_threadpool(lambda: _batch_page(request, code, form, 422))


FAMILY: Final = Family(router, links=(Link("/book/batches", "Batches", "Kitchen", 11),), bench_paths=("/book/batches",))
"""Who works at the bench may tick a sheet off and close its batch: the printed code leads there."""
