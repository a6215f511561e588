"""Labels on screen: draft with findings beside it, confirmation, print, match of roll and tray, history, the law."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench import label_records as records
from bloomless.bench import labels
from bloomless.bench.label_documents import label_document, label_from_document
from bloomless.bench.recipes import pantry_of
from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.lots import lot_code
from bloomless.rules import NO_ADVICE, Rule, Severity, law_of
from bloomless.rules.common.identity import names_of
from bloomless.rules.common.markets import MARKETS
from bloomless.rules.common.words import phrase
from bloomless.sheets.labels import STOCKS, LabelSheet, Stock, label_pdf, label_pictures, lay_out, stock
from bloomless.sheets.specification import specification_pdf
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.label_form import GROUPS, boxed, changed, value_of
from bloomless.web.label_place import day_of, market_of, markets, stock_of
from bloomless.web.problems import Problem
from bloomless.web.render import render
from bloomless.web.sentences import say

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)

_BLANK: Final = re.compile(r"\{\w+\}")
"""Where a rule names what it found on a label."""
_SIDE_BY_SIDE: Final = ("us", "eu", "uk")


def _sheet(found: labels.Draft, day: date, on: str, **more: Any) -> LabelSheet | None:
    text = found.review.label
    return None if text is None else lay_out(text, found.food.pack, law_of(day), stock(on), **more)


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60]


@router.get("/labels")
async def all_labels(request: Request) -> Response:
    """Every label of the book; ``recipe`` in the address begins one for that recipe."""
    key = request.query_params.get("recipe", "")
    recipe = (await run_in_threadpool(pantry_of, request.app.state.house.book)).recipes.get(key) if key else None
    return await _list(request, Form({} if recipe is None else {"recipe": key, "name": recipe.name}))


async def _list(request: Request, form: Form, status: int = 200) -> Response:
    book = request.app.state.house.book

    def read() -> dict[str, Any]:
        pantry = pantry_of(book)
        bought = sorted(key for key, one in pantry.ingredients.items() if one.group.startswith("chocolate"))
        return {
            "entries": list(book.latest(labels.KIND)),
            "recipes": [(key, recipe.name) for key, recipe in sorted(pantry.recipes.items())],
            "bought": [(f"plain:{key}", pantry.ingredients[key].name) for key in bought],
        }

    return render(request, "labels.html", status=status, form=form, advice=NO_ADVICE, **await run_in_threadpool(read))


@router.post("/labels")
async def new_label(request: Request) -> Response:
    """Begin a label from a recipe of the book, or of a plain bar of one chocolate."""
    form = await Form.posted(request)
    name = form.text("name")
    recipe = form.text("recipe")
    if not form.ok or not name or not recipe or not _slug(name):
        form.fail("name", request.state.gettext("Please fill this in."))
        return await _list(request, form, 422)
    house = request.app.state.house
    product = _slug(name)

    def keep() -> None:
        what: Any = "" if recipe == "box:" else recipe
        if recipe.startswith("plain:"):
            chocolate = recipe.removeprefix("plain:")
            what = {
                "key": product, "name": name, "kind": "bar",
                "lines": [{"of": chocolate, "mass_g": 1000.0, "part": "shell"}],
            }  # fmt: skip
        now = house.clock()
        pack = {"packed_on": now.date().isoformat(), "lot": lot_code(now.date(), 1)}
        box = boxed(form.values.get("box", "")) if recipe == "box:" else []
        if recipe == "box:" and not box:
            raise ImpossibleInput("box", "", "products of the book and their pieces")
        label = label_from_document({"product": product, "name": name, "recipe": what, "box": box, "pack": pack})
        labels.judge(house.book, label, "eu", now.date())  # a recipe nobody has is told now, not later
        if product not in {entry.key for entry in house.book.latest(labels.KIND)}:
            labels.save(house.book, label, at=now)

    try:
        await run_in_threadpool(keep)
    except BloomlessError as error:
        form.fail("box" if recipe == "box:" else "recipe", str(error))
        return await _list(request, form, 422)
    return RedirectResponse(f"/labels/{product}", 303)


def _reserved(market: str, day: date, gettext: Any) -> list[tuple[str, str]]:
    """Reserved names of chocolates a person may choose, the one its composition gives first."""
    place = MARKETS[market].jurisdiction
    rows = names_of(place, law_of(day))
    barred = {"raw", "cocoa", "quality", "piece"}
    named = [(f"{place}:{key}", str(row["name"])) for key, row in rows.items() if row["family"] not in barred]
    return [(f"{place}:", gettext("the one its composition gives")), *named]


def _inside(found: labels.Draft) -> list[tuple[str, str]]:
    """Ingredients of the food by key and English name, to tick."""
    keys = {use.substance.key: use.substance.names.get("en", use.substance.key) for _, use in found.food.uses()}
    return sorted(keys.items(), key=lambda pair: pair[1])


async def _shown(request: Request, product: str, form: Form, *, status: int = 200, told: str = "") -> Response:
    market, day = market_of(request), day_of(request)
    on = stock_of(request, market)
    version = request.query_params.get("version", "")
    number = int(version) if version.isascii() and version.isdigit() else None

    def work() -> dict[str, Any]:
        found = labels.draft(request.app.state.house.book, product, market, day, version=number)
        sheet = _sheet(found, day, on)
        return {"found": found, "sheet": sheet, "document": label_document(found.label)}

    context = await run_in_threadpool(work)
    findings = [*context["found"].review.findings, *(context["sheet"].findings if context["sheet"] else ())]
    order = {Severity.BLOCK: 0, Severity.WARN: 1, Severity.INFO: 2}
    return render(
        request,
        "label.html",
        status=status,
        form=form,
        told=told,
        advice=NO_ADVICE,
        market=market,
        markets=markets(request),
        day=day,
        on=on,
        stocks=[(key, say(one.name, request.state.view)) for key, one in STOCKS.items()],
        findings=sorted(findings, key=lambda finding: order[finding.severity]),
        blocks=sum(1 for finding in findings if finding.severity is Severity.BLOCK),
        groups=GROUPS,
        value_of=value_of,
        jurisdiction=MARKETS[market].jurisdiction,
        reserved_options=_reserved(market, day, request.state.gettext),
        options_of=lambda one: [(code, request.state.gettext(text)) for code, text in one.options],
        inside=_inside(context["found"]),
        **context,
    )


@router.get("/labels/{product}")
async def one_label(request: Request, product: str) -> Response:
    """A label with its findings beside it."""
    return await _shown(request, product, Form())


@router.get("/labels/{product}/picture.png")
async def picture(request: Request, product: str) -> Response:
    """The label as it will be printed."""
    market, day = market_of(request), day_of(request)

    def draw() -> bytes:
        found = labels.draft(request.app.state.house.book, product, market, day)
        on = stock(stock_of(request, market))
        text = found.review.label
        if text is None:
            raise Problem(404, "no_label", request.state.gettext("There is no label for this market."))
        single = _alone(on)
        return label_pictures(lay_out(text, found.food.pack, law_of(day), single, cut_line=True), ppi=170)[0]

    return Response(await run_in_threadpool(draw), media_type="image/png", headers={"cache-control": "no-store"})


def _alone(on: Stock) -> Stock:
    """The stock as a single label, for the screen."""
    return replace(on, kind="roll", bleed_mm=1.0)


@router.post("/labels/{product}")
async def change(request: Request, product: str) -> Response:
    """Keep what was changed as a new version."""
    form = await Form.posted(request)
    house = request.app.state.house

    data = await request.form()
    lists = {name: [str(value) for value in data.getlist(name)] for name in ("emphasised", "varying")}

    def keep() -> None:
        found = label_from_document(house.book.get(labels.KIND, product).document)
        now = changed(found, form.values, lists)
        labels.judge(house.book, now, market_of(request), day_of(request))  # what cannot be judged is not kept
        labels.save(house.book, now, at=house.clock())

    try:
        await run_in_threadpool(keep)
    except BloomlessError as error:
        field = str(getattr(error, "field", ""))
        form.fail(field if field in form.values else "box" if form.values.get("box") else "name", str(error))
        return await _shown(request, product, form, status=422)
    return RedirectResponse(_back(request, product), 303)


def _back(request: Request, product: str, **more: str) -> str:
    kept = {**{k: v for k, v in request.query_params.items() if k in {"market", "on", "day"}}, **more}
    query = "&".join(f"{name}={value}" for name, value in kept.items())
    return f"/labels/{product}" + (f"?{query}" if query else "")


@router.post("/labels/{product}/confirm")
async def confirm(request: Request, product: str) -> Response:
    """Record the allergens a person has ticked one by one."""
    form = await Form.posted(request)
    market, day = market_of(request), day_of(request)
    house = request.app.state.house
    data = await request.form()
    present = [str(value) for value in data.getlist("present")]
    pairs = [str(value).partition(":")[::2] for value in data.getlist("absent")]

    def keep() -> None:
        found = labels.draft(house.book, product, market, day)
        by = form.values.get("by", "")
        labels.confirm(house.book, found, by=by, present=present, absent=pairs, at=house.clock())

    try:
        await run_in_threadpool(keep)
    except ImpossibleInput as error:
        form.fail("by" if error.field == "by" else "present", str(error))
        return await _shown(request, product, form, status=422)
    return RedirectResponse(_back(request, product), 303)


@router.post("/labels/{product}/print")
async def print_labels(request: Request, product: str) -> Response:
    """Release and print; refused while anything blocks."""
    form = await Form.posted(request)
    market, day = market_of(request), day_of(request)
    on = form.values.get("on", stock_of(request, market))
    house = request.app.state.house

    def work() -> bytes:
        count = form.values.get("count", "1")
        if not (count.isascii() and count.isdigit()):
            raise ImpossibleInput("count", count, "1 to 20,000 labels")
        found = labels.draft(house.book, product, market, day)
        by = form.values.get("by", "")
        if not found.may_print:  # the refusal names what blocks
            labels.release(house.book, found, count=int(count), by=by, at=house.clock())
        gtin = found.food.pack.gtin
        codes = (("ean13", gtin),) if len(gtin) == 13 else ()
        first = _sheet(found, day, on, codes=codes, count=int(count))
        if first is None or any(finding.severity is Severity.BLOCK for finding in first.findings):
            raise ImpossibleInput("on", on, "a label with room for the text at the height the law asks")
        released = labels.release(house.book, found, count=int(count), by=by, at=house.clock(), on=on)
        made = _sheet(found, day, on, codes=codes, count=int(count), roll_code=released.mark.text)
        return label_pdf(made) if made is not None else b""

    try:
        made = await run_in_threadpool(work)
    except BloomlessError as error:
        form.fail(getattr(error, "field", "count"), str(error))
        return await _shown(request, product, form, status=422, told=str(error))
    name = f"{product}-{market}.pdf"
    return Response(
        made, media_type="application/pdf", headers={"content-disposition": f'attachment; filename="{name}"'}
    )


@router.get("/labels/{product}/specification.pdf")
async def specification(request: Request, product: str) -> Response:
    """The specification sheet."""
    market, day = market_of(request), day_of(request)

    def work() -> bytes:
        found = labels.draft(request.app.state.house.book, product, market, day)
        return specification_pdf(found, page="us-letter" if market == "us" else "a4")

    return Response(await run_in_threadpool(work), media_type="application/pdf")


@router.get("/labels/{product}/side-by-side")
async def side_by_side(request: Request, product: str) -> Response:
    """The same product in the US, the Union and Great Britain."""
    day = day_of(request)

    def work() -> list[tuple[str, labels.Draft]]:
        book = request.app.state.house.book
        return [(MARKETS[code].name, labels.draft(book, product, code, day)) for code in _SIDE_BY_SIDE]

    columns = await run_in_threadpool(work)
    canada = await run_in_threadpool(records.canada, columns[0][1])
    return render(
        request, "label_side_by_side.html", product=product, columns=columns, advice=NO_ADVICE, words=phrase, day=day,
        canada=canada,
    )  # fmt: skip


@router.get("/labels/{product}/names")
async def names(request: Request, product: str) -> Response:
    """Reserved names its chocolate may carry, the distance to each limit, and the least change that would pass."""
    market, day = market_of(request), day_of(request)
    rows = await run_in_threadpool(
        lambda: labels.names(labels.draft(request.app.state.house.book, product, market, day))
    )
    return render(
        request,
        "label_names.html",
        product=product,
        rows=rows,
        market=market,
        place=request.state.gettext(MARKETS[market].name),
        day=day,
        advice=NO_ADVICE,
    )


# Topics of the law that a reader looks for in one place.
_SHELF: Final = {
    "identity_dark_milk": "identity", "identity_standard": "identity", "identity_edible": "identity",
    "identity_starch": "identity", "identity_piece": "identity", "dusts": "colours", "net_label": "net_quantity",
    "reference_test": "net_quantity", "nutrition_exempt": "nutrition", "nutrition_claim": "nutrition",
    "laboratory": "nutrition",
}  # fmt: skip


@router.get("/rules")
async def rules(request: Request) -> Response:
    """The law the program knows, as of a day."""
    day = day_of(request)
    law = law_of(day)
    wanted = request.query_params.get("jurisdiction", "")
    found = [rule for rule in law.rules if not wanted or rule.jurisdiction == wanted]
    topics: dict[str, list[Rule]] = {}
    for rule in found:
        topics.setdefault(_SHELF.get(rule.topic, rule.topic), []).append(rule)
    return render(
        request, "rules.html", day=day, wanted=wanted, topics=topics, advice=NO_ADVICE,
        unfilled=lambda message: _BLANK.sub("(…)", message),
        jurisdictions=[("", request.state.gettext("all")), ("us", "US"), ("eu", "EU"), ("uk", "UK"), ("codex", "Codex"),
                       ("ca", "Canada"), ("common", request.state.gettext("everywhere"))],
    )  # fmt: skip


FAMILY: Final = Family(
    router,
    links=(
        Link("/labels", "Labels", "Shop", 20),
        Link("/rules", "Food law", "House", 60),
    ),
)
