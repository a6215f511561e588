"""Records around labels on screen: match, count, weigh, laboratory, made again, history."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from bloomless.bench import label_records as records
from bloomless.bench import labels
from bloomless.bench.weighings import weighed
from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.lots import TrayMark
from bloomless.quantities import number_from_text
from bloomless.rules import NO_ADVICE, law_of
from bloomless.rules.common.laboratory import ANALYTES
from bloomless.rules.common.markets import MARKETS
from bloomless.rules.decimals import dec
from bloomless.sheets.labels import label_pdf, lay_out, stock, tray_pdf
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.label_place import day_of, market_of, markets
from bloomless.web.problems import Problem
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)


@router.get("/labels/match")
async def match_page(request: Request) -> Response:
    """Scan a tray, then a roll."""
    return render(request, "label_match.html", form=Form(), found=None)


@router.post("/labels/match")
async def match(request: Request) -> Response:
    """The answer of a scan; a no has no button that overrules it."""
    form = await Form.posted(request)
    tray, roll, by = form.text("tray"), form.text("roll"), form.text("by")
    if not form.ok or not tray or not roll or not by:
        return render(request, "label_match.html", status=422, form=form, found=None)
    house = request.app.state.house
    try:
        found = await run_in_threadpool(labels.scan, house.book, tray, roll, by=by, at=house.clock())
    except ImpossibleInput as error:
        form.fail(error.field if error.field in {"tray", "roll"} else "roll", str(error))
        return render(request, "label_match.html", status=422, form=form, found=None)
    return render(request, "label_match.html", form=Form(values={"by": by}), found=found)


@router.get("/labels/weigh")
async def weigh_page(request: Request) -> Response:
    """Type weighings of packs."""
    return render(
        request,
        "label_weigh.html",
        form=Form(),
        found=None,
        advice=NO_ADVICE,
        markets=markets(request),
        market=market_of(request),
    )


@router.post("/labels/weigh")
async def weigh(request: Request) -> Response:
    """Judge weighings by the rules of net quantity, and tell the mass to aim at."""
    form = await Form.posted(request)
    market = form.choice("market", MARKETS) or "eu"
    found = None
    try:
        net = [
            number_from_text(text, field="net")
            for text in re.split(r"[\s;]+", form.values.get("net", "").strip())
            if text
        ]
        nominal = number_from_text(form.values.get("nominal", ""), field="nominal", at_least=1.0, at_most=10_000.0)
        batch = number_from_text(form.values.get("batch", ""), field="batch", at_least=1.0, at_most=1e6)
        day = request.app.state.house.clock().date()
        found = await run_in_threadpool(weighed, dec(nominal), net, market, day, batch=int(batch))
    except BloomlessError as error:
        named = getattr(error, "field", "net")
        form.fail({"net_g": "net", "nominal_g": "nominal"}.get(named, named), str(error))
    context = {"found": found, "advice": NO_ADVICE, "markets": markets(request), "market": market}
    return render(request, "label_weigh.html", status=200 if form.ok else 422, form=form, **context)


@router.get("/labels/tally")
async def tally_page(request: Request) -> Response:
    """Count labels after packing."""
    typed = {"roll": request.query_params.get("roll", "")}
    return render(request, "label_tally.html", form=Form(values=typed), found=None)


@router.post("/labels/tally")
async def tally(request: Request) -> Response:
    """Labels against pieces; what was printed is read from the records."""
    form = await Form.posted(request)
    roll, by = form.text("roll"), form.text("by")
    numbers = {name: form.number(name, at_least=0, at_most=100_000) for name in ("used", "spoiled", "left", "pieces")}
    found = None
    if form.ok and roll and by:
        house = request.app.state.house
        counted: dict[str, Any] = {name: int(number or 0) for name, number in numbers.items()}
        try:
            found = await run_in_threadpool(lambda: records.tally(house.book, roll, by=by, at=house.clock(), **counted))
        except ImpossibleInput as error:
            form.fail(error.field if error.field in {"roll", "by", *numbers} else "roll", str(error))
    shown = Form(values={"by": form.values.get("by", "")}) if found is not None else form
    return render(request, "label_tally.html", status=200 if form.ok else 422, form=shown, found=found)


def _(text: str) -> str:
    """Mark a text for translation; the template says it."""
    return text


_ANALYTE_WORDS: Final = {
    "calories": _("Energy"), "fat": _("Fat"), "saturated": _("Saturated fat"), "trans": _("Trans fat"),
    "cholesterol_mg": _("Cholesterol"), "sodium_mg": _("Sodium"), "carbohydrate": _("Carbohydrate"),
    "fibre": _("Fibre"), "sugars": _("Sugars"), "added_sugars": _("Added sugars"), "protein": _("Protein"),
    "salt": _("Salt"), "calcium_mg": _("Calcium"), "iron_mg": _("Iron"), "potassium_mg": _("Potassium"),
}  # fmt: skip


def _analytes(market: str) -> list[tuple[str, str]]:
    names = ANALYTES["us" if market == "us" else "eu"]
    return [(name, "kcal" if name == "calories" else "mg" if name.endswith("_mg") else "g") for name in names]


@router.get("/labels/{product}/laboratory")
async def laboratory_page(request: Request, product: str) -> Response:
    """Figures of a laboratory to type."""
    return await _laboratory(request, product, Form(), None)


async def _laboratory(
    request: Request, product: str, form: Form, found: records.Analysis | None, status: int = 200
) -> Response:
    market = market_of(request)
    name = await run_in_threadpool(lambda: request.app.state.house.book.get(labels.KIND, product).document["name"])
    return render(
        request, "label_laboratory.html", status=status, form=form, found=found, product=product, name=name,
        market=market, place=request.state.gettext(MARKETS[market].name), analytes=_analytes(market),
        words=_ANALYTE_WORDS, advice=NO_ADVICE,
    )  # fmt: skip


@router.post("/labels/{product}/laboratory")
async def laboratory(request: Request, product: str) -> Response:
    """Hold figures against the declared ones, and keep them."""
    form = await Form.posted(request)
    market, day, house = market_of(request), day_of(request), request.app.state.house
    typed = {name: form.number(name, at_least=0, at_most=100_000, required=False) for name, _ in _analytes(market)}
    sheet, by = form.text("sheet"), form.text("by")
    found = None
    if form.ok and sheet and by:
        figures: dict[str, Decimal] = {name: dec(value) for name, value in typed.items() if value is not None}

        def keep() -> records.Analysis:
            draft = labels.draft(house.book, product, market, day)
            return records.laboratory(house.book, draft, figures, sheet=sheet, by=by, at=house.clock())

        try:
            found = await run_in_threadpool(keep)
        except BloomlessError as error:
            form.fail("sheet", str(error))
    return await _laboratory(request, product, form, found, 200 if form.ok else 422)


@router.get("/labels/{product}/tray.pdf")
async def tray(request: Request, product: str) -> Response:
    """The card of the tray of this label's lot."""

    def work() -> bytes:
        document = request.app.state.house.book.get(labels.KIND, product).document
        lot = request.query_params.get("lot", "") or str(document["pack"].get("lot", ""))
        return tray_pdf(TrayMark(product, lot).text, str(document["name"]), lot)

    return Response(await run_in_threadpool(work), media_type="application/pdf")


@router.get("/labels/{product}/again.pdf")
async def again(request: Request, product: str) -> Response:
    """A printed label, made again by the law and the book of its day."""
    roll = request.query_params.get("roll", "")

    def work() -> bytes:
        found = records.again(request.app.state.house.book, roll)
        text = found.draft.review.label
        if text is None or found.draft.product != product:
            raise Problem(404, "no_label", request.state.gettext("There is no label for this market."))
        on = stock(str(found.entry.document.get("on") or "a4_2x3"))
        return label_pdf(lay_out(text, found.draft.food.pack, law_of(found.draft.review.day), on, cut_line=True))

    return Response(await run_in_threadpool(work), media_type="application/pdf")


@router.get("/labels/{product}/history")
async def history(request: Request, product: str) -> Response:
    """Versions, confirmations, prints, scans, counts and analyses."""
    entries = await run_in_threadpool(records.history, request.app.state.house.book, product)
    return render(request, "label_history.html", product=product, entries=list(reversed(entries)), advice=NO_ADVICE)


FAMILY: Final = Family(
    router,
    links=(
        Link("/labels/match", "Match label and tray", "Shop", 25),
        Link("/labels/tally", "Count labels", "Shop", 26),
        Link("/labels/weigh", "Net weight", "Shop", 27),
    ),
    bench_paths=("/labels/match", "/labels/tally", "/labels/weigh"),
)
