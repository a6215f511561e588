"""Labels on screen: draft with findings beside it, confirmation, print, match of roll and tray, history, the law."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench import labels
from bloomless.bench.label_documents import LabelDocument, label_document, label_from_document, pantry_of
from bloomless.bench.weighings import weighed
from bloomless.errors import BloomlessError, ImpossibleInput, UnknownName
from bloomless.lots import lot_code
from bloomless.quantities import number_from_text
from bloomless.rules import NO_ADVICE, Rule, Severity, law_of
from bloomless.rules.common.markets import MARKETS
from bloomless.rules.common.words import phrase
from bloomless.rules.decimals import dec
from bloomless.sheets.labels import STOCKS, LabelSheet, Stock, label_pdf, label_pictures, lay_out, stock
from bloomless.sheets.specification import specification_pdf
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.problems import Problem
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)

_PLAIN_FIELDS: Final = (
    "net_g", "pieces", "piece_g", "packed_on", "keeps_days", "keeps_because", "lot", "storage", "operator", "address",
    "origin", "primary_origin", "gtin", "largest_surface_cm2", "panel_in2", "country", "sale", "nutrition",
    "employees", "units_per_year", "typical_portion_g",
)  # fmt: skip
_FACTS: Final = ("filling_aw", "filling_ph")
_STOCK_OF: Final = {"us": "letter_2x2"}
_DEFAULT_STOCK: Final = "a4_2x3"
_SIDE_BY_SIDE: Final = ("us", "eu", "uk")


def _day(request: Request) -> date:
    given = request.query_params.get("day", "")
    try:
        return date.fromisoformat(given) if given else request.app.state.house.clock().date()
    except ValueError:
        raise ImpossibleInput("day", given, "a day such as 2026-11-25") from None


def _market(request: Request) -> str:
    country = request.app.state.settings.current().get("country", "EU")
    usual = {"US": "us", "GB": "uk"}.get(str(country), "eu")
    chosen = request.query_params.get("market", usual)
    if chosen not in MARKETS:
        raise UnknownName("market", chosen, MARKETS)
    return str(chosen)


def _stock_key(request: Request, market: str) -> str:
    return str(request.query_params.get("on", _STOCK_OF.get(market, _DEFAULT_STOCK)))


def _sheet(found: labels.Draft, day: date, on: str, **more: Any) -> LabelSheet | None:
    text = found.review.label
    return None if text is None else lay_out(text, found.food.pack, law_of(day), stock(on), **more)


def _slug(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60]


@router.get("/labels")
async def all_labels(request: Request) -> Response:
    """Every label of the book."""
    return await _list(request, Form())


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
        what: Any = recipe
        if recipe.startswith("plain:"):
            chocolate = recipe.removeprefix("plain:")
            what = {
                "key": product, "name": name, "kind": "bar",
                "lines": [{"of": chocolate, "mass_g": 1000.0, "part": "shell"}],
            }  # fmt: skip
        now = house.clock()
        pack = {"packed_on": now.date().isoformat(), "lot": lot_code(now.date(), 1)}
        label = label_from_document({"product": product, "name": name, "recipe": what, "pack": pack})
        labels.judge(house.book, label, "eu", now.date())  # a recipe nobody has is told now, not later
        if product not in {entry.key for entry in house.book.latest(labels.KIND)}:
            labels.save(house.book, label, at=now)

    try:
        await run_in_threadpool(keep)
    except BloomlessError as error:
        form.fail("recipe", str(error))
        return await _list(request, form, 422)
    return RedirectResponse(f"/labels/{product}", 303)


async def _shown(request: Request, product: str, form: Form, *, status: int = 200, told: str = "") -> Response:
    market, day = _market(request), _day(request)
    on = _stock_key(request, market)
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
        markets=_markets(),
        day=day,
        on=on,
        stocks=[(key, one.name) for key, one in STOCKS.items()],
        findings=sorted(findings, key=lambda finding: order[finding.severity]),
        blocks=sum(1 for finding in findings if finding.severity is Severity.BLOCK),
        pack=context["document"]["pack"],
        contacts=", ".join(" ".join(part for part in pair if part) for pair in context["document"]["cross_contact"]),
        **context,
    )


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
        markets=_markets(),
        market=_market(request),
    )


def _markets() -> list[tuple[str, str]]:
    return [(code, one.name) for code, one in MARKETS.items()]


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
    context = {"found": found, "advice": NO_ADVICE, "markets": _markets(), "market": market}
    return render(request, "label_weigh.html", status=200 if form.ok else 422, form=form, **context)


@router.get("/labels/{product}")
async def one_label(request: Request, product: str) -> Response:
    """A label with its findings beside it."""
    return await _shown(request, product, Form())


@router.get("/labels/{product}/picture.png")
async def picture(request: Request, product: str) -> Response:
    """The label as it will be printed."""
    market, day = _market(request), _day(request)

    def draw() -> bytes:
        found = labels.draft(request.app.state.house.book, product, market, day)
        on = stock(_stock_key(request, market))
        text = found.review.label
        if text is None:
            raise Problem(404, "no_label", request.state.gettext("There is no label for this market."))
        single = _alone(on)
        return label_pictures(lay_out(text, found.food.pack, law_of(day), single, cut_line=True), ppi=170)[0]

    return Response(await run_in_threadpool(draw), media_type="image/png", headers={"cache-control": "no-store"})


def _alone(on: Stock) -> Stock:
    """The stock as a single label, for the screen."""
    return replace(on, kind="roll", bleed_mm=1.0)


def _contact(text: str) -> list[str | None]:
    """One assessed cross-contact as typed: a source, and mg of its protein per kg if that was measured."""
    source, _, amount = text.strip().lower().rpartition(" ")
    return [source, amount] if source and amount[:1].isdigit() else [text.strip().lower(), None]


def _changed(found: LabelDocument, form: Form) -> LabelDocument:
    document = label_document(found)
    pack = dict(document["pack"])
    for name in _PLAIN_FIELDS:
        if name in form.values:
            typed = form.values[name].strip()
            if typed:
                pack[name] = typed
            else:
                pack.pop(name, None)
    document["pack"] = pack
    facts = dict(document["facts"])
    for name in _FACTS:
        if name in form.values:
            facts[name] = form.values[name].strip()
    document["facts"] = facts
    document["name"] = form.values.get("name", document["name"]).strip()
    for tongue in ("de", "fr"):
        if form.values.get(f"name_{tongue}", "").strip():
            document["names"] = {**document["names"], tongue: form.values[f"name_{tongue}"].strip()}
    if "cross_contact" in form.values:
        document["cross_contact"] = [_contact(text) for text in form.values["cross_contact"].split(",") if text.strip()]
        document["cross_contact_assessed"] = form.values.get("cross_contact_assessed", "").strip()
    if "rework_allergens" in form.values:
        named = form.values["rework_allergens"].split(",")
        document["rework_allergens"] = [text.strip().lower() for text in named if text.strip()]
    document["single_mouthful"] = "single_mouthful" in form.values
    return label_from_document(document)


@router.post("/labels/{product}")
async def change(request: Request, product: str) -> Response:
    """Keep what was changed as a new version."""
    form = await Form.posted(request)
    house = request.app.state.house

    def keep() -> None:
        found = label_from_document(house.book.get(labels.KIND, product).document)
        labels.save(house.book, _changed(found, form), at=house.clock())

    try:
        await run_in_threadpool(keep)
    except ImpossibleInput as error:
        form.fail(error.field, str(error))
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
    market, day = _market(request), _day(request)
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
    market, day = _market(request), _day(request)
    on = form.values.get("on", _stock_key(request, market))
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
        released = labels.release(house.book, found, count=int(count), by=by, at=house.clock())
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
    market, day = _market(request), _day(request)

    def work() -> bytes:
        found = labels.draft(request.app.state.house.book, product, market, day)
        return specification_pdf(found, page="us-letter" if market == "us" else "a4")

    return Response(await run_in_threadpool(work), media_type="application/pdf")


@router.get("/labels/{product}/side-by-side")
async def side_by_side(request: Request, product: str) -> Response:
    """The same product in the US, the Union and Great Britain."""
    day = _day(request)

    def work() -> list[tuple[str, labels.Draft]]:
        book = request.app.state.house.book
        return [(MARKETS[code].name, labels.draft(book, product, code, day)) for code in _SIDE_BY_SIDE]

    columns = await run_in_threadpool(work)
    return render(
        request, "label_side_by_side.html", product=product, columns=columns, advice=NO_ADVICE, words=phrase, day=day
    )


@router.get("/labels/{product}/names")
async def names(request: Request, product: str) -> Response:
    """Reserved names its chocolate may carry, the distance to each limit, and the least change that would pass."""
    market, day = _market(request), _day(request)
    rows = await run_in_threadpool(
        lambda: labels.names(labels.draft(request.app.state.house.book, product, market, day))
    )
    return render(
        request,
        "label_names.html",
        product=product,
        rows=rows,
        market=market,
        place=MARKETS[market].name,
        day=day,
        advice=NO_ADVICE,
    )


@router.get("/labels/{product}/history")
async def history(request: Request, product: str) -> Response:
    """Versions, confirmations and prints."""
    entries = await run_in_threadpool(labels.history, request.app.state.house.book, product)
    return render(request, "label_history.html", product=product, entries=list(reversed(entries)), advice=NO_ADVICE)


@router.get("/rules")
async def rules(request: Request) -> Response:
    """The law the program knows, as of a day."""
    day = _day(request)
    law = law_of(day)
    wanted = request.query_params.get("jurisdiction", "")
    found = [rule for rule in law.rules if not wanted or rule.jurisdiction == wanted]
    topics: dict[str, list[Rule]] = {}
    for rule in found:
        topics.setdefault(rule.topic.replace("_", " "), []).append(rule)
    return render(
        request, "rules.html", day=day, wanted=wanted, topics=topics, advice=NO_ADVICE,
        jurisdictions=[("", request.state.gettext("all")), ("us", "US"), ("eu", "EU"), ("uk", "UK"), ("codex", "Codex"),
                       ("ca", "Canada"), ("common", request.state.gettext("everywhere"))],
    )  # fmt: skip


FAMILY: Final = Family(
    router,
    links=(
        Link("/labels", "Labels", "Shop", 20),
        Link("/labels/match", "Match label and tray", "Shop", 25),
        Link("/labels/weigh", "Net weight", "Shop", 26),
        Link("/rules", "Food law", "House", 60),
    ),
    bench_paths=("/labels/match", "/labels/weigh"),
)
