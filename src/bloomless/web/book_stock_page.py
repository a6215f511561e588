"""The stock on screen: what is there, what came, what it cost; a lot received, a lot counted; packaging and terms."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from bloomless.bench import cost_terms, stock
from bloomless.costing import Packaging, Terms
from bloomless.costing.cost import per_gram
from bloomless.costing.price import Channel, margin_of
from bloomless.errors import BloomlessError, UnknownName
from bloomless.lots import Lot, left_g, oldest_first
from bloomless.quantities import Money
from bloomless.web.book_view import (
    at_field,
    decimal_share,
    found_key,
    names_said,
    price_in,
    share_in,
    things_said,
    unknown_name,
)
from bloomless.web.families import Family, Link
from bloomless.web.forms import Form
from bloomless.web.render import render

__all__ = ["FAMILY"]

router = APIRouter(include_in_schema=False)

POLICIES: Final = ("latest", "oldest", "average")
MOST_CHANNELS: Final = 5
MOST_PACKAGING: Final = 4
MOST_MARKUP_PCT: Final = 2000.0
FITS_SHARE: Final = 0.002
"""A margin and a mark-up typed together may differ so much by rounding."""


def _stock_page(request: Request, form: Form, status: int = 200) -> Response:
    house = request.app.state.house
    pantry, terms = house.shelf.written(), cost_terms.terms_of(house.book)
    names = names_said(request, pantry)
    today = house.clock().date().isoformat()
    rows: list[dict[str, Any]] = []
    for key, lots in stock.every_lot(house.book).items():
        grams = left_g(lots)
        gram = per_gram(pantry.ingredients[key], terms) if key in pantry.ingredients else None
        worth = None if gram is None else gram * Decimal(repr(round(grams, 3)))
        here = [lot for lot in oldest_first(lots) if lot.left_g > 0.0]
        rows.append({"key": key, "name": names.get(key, key), "grams": grams, "worth": worth, "lots": here})
    rows.sort(key=lambda row: str(row["name"]).casefold())
    total = sum((r["worth"] for r in rows if r["worth"] is not None), Money(terms.wage.currency, Decimal(0)))
    return render(
        request, "book_stock.html", status=status, form=form, rows=rows, total=total, today=today,
        things=things_said(request, pantry, recipes=False), currency=terms.wage.currency,
    )  # fmt: skip


@router.get("/book/stock")
async def stock_page(request: Request) -> Response:
    """Everything that is there."""
    of = request.query_params.get("of", "")
    return await run_in_threadpool(
        lambda: _stock_page(request, Form({"of": of} if of else {}, view=request.state.view))
    )


@router.post("/book/stock")
async def receive(request: Request) -> Response:
    """Write down a lot that came."""
    house = request.app.state.house
    form = await Form.posted(request)
    pantry = await run_in_threadpool(house.shelf.written)
    currency = cost_terms.terms_of(house.book).wage.currency
    typed = form.text("of") or ""
    key = found_key(request, typed, pantry, recipes=False)
    if typed and key not in pantry.ingredients:
        form.fail("of", unknown_name(request, typed, pantry))
    mass_g = form.mass_g("mass", at_least=0.1, at_most=1e7)
    cost = price_in(form, "cost", currency, required=False)
    waste = share_in(form, "waste", at_most=95.0)
    today = house.clock().date().isoformat()
    texts = {name: form.text(name, required=False) or "" for name in ("code", "on", "best_before", "supplier")}

    def write() -> None:
        lots = stock.lots_of(house.book, key)
        code = texts["code"] or f"{today}/{len(lots) + 1}"
        lot = Lot(
            code, texts["on"] or today, mass_g or 0.0, mass_g or 0.0, cost, texts["supplier"], texts["best_before"],
            1.0 - waste,
        )  # fmt: skip
        stock.receive(house.book, key, lot, at=house.clock())

    if form.ok:
        try:
            await run_in_threadpool(write)
            return RedirectResponse(f"/book/stock/{key}", 303)
        except BloomlessError as error:
            at_field(form, error, {"code": "code", "best_before": "best_before", "on": "on"}, "mass")
    return await run_in_threadpool(lambda: _stock_page(request, form, 422))


def _goods_stock(request: Request, key: str, form: Form, status: int = 200) -> Response:
    house = request.app.state.house
    pantry = house.shelf.written()
    lots = stock.lots_of(house.book, key)
    if key not in pantry.ingredients:
        raise UnknownName("ingredient", key, pantry.ingredients)
    ingredient = pantry.ingredients[key]
    uses = [r for r in pantry.recipes.values() if any(line.of == key for line in r.lines)]
    return render(
        request, "book_lots.html", status=status, form=form, key=key, ingredient=ingredient, uses=uses,
        name=names_said(request, pantry)[key], lots=sorted(lots, key=lambda lot: lot.on, reverse=True),
        prices=[p for p in ingredient.prices if p.cost.currency == cost_terms.terms_of(house.book).wage.currency],
    )  # fmt: skip


@router.get("/book/stock/{key}")
async def lots_page(request: Request, key: str) -> Response:
    """Every lot of one thing, and how its price went."""
    return await run_in_threadpool(lambda: _goods_stock(request, key, Form(view=request.state.view)))


@router.post("/book/stock/{key}")
async def count(request: Request, key: str) -> Response:
    """Write down what is really left of a lot."""
    house = request.app.state.house
    form = await Form.posted(request)
    left = form.mass_g("left", at_least=0, at_most=1e7)
    code = form.text("code") or ""
    if form.ok and left is not None:
        await run_in_threadpool(lambda: stock.count_lot(house.book, key, code, left, at=house.clock()))
        return RedirectResponse(f"/book/stock/{key}", 303)
    return await run_in_threadpool(lambda: _goods_stock(request, key, form, 422))


def _costs_page(request: Request, form: Form, status: int = 200) -> Response:
    house = request.app.state.house
    terms, channels = cost_terms.terms_of(house.book), cost_terms.channels_of(house.book)
    led = cost_terms.marked_up(house.book)
    return render(
        request, "book_costs.html", status=status, form=form, terms=terms, most=MOST_CHANNELS,
        channels=[_way(request, channel, channel.name in led) for channel in channels],
        policies=POLICIES, scale=cost_terms.scale_of(house.book), script_view=request.state.view.for_scripts(),
    )  # fmt: skip


def _way(request: Request, channel: Channel, led: bool) -> dict[str, str]:
    """A way of selling as it is typed, and which of margin and mark-up was said."""
    sign = request.state.view.number(0.5, 1)[1]

    def pct(share: Decimal) -> str:
        return f"{100 * share:.1f}".removesuffix(".0").replace(".", sign)

    return {
        "name": request.state.gettext(channel.name), "margin": pct(channel.margin), "markup": pct(channel.markup),
        "fee": pct(channel.fee_share) if channel.fee_share else "",
        "tax": pct(channel.tax_share) if channel.tax_share else "", "by": "markup" if led else "margin",
    }  # fmt: skip


@router.get("/book/costs")
async def costs_page(request: Request) -> Response:
    """Wage, energy, roof, ways of selling, the scale."""
    return await run_in_threadpool(lambda: _costs_page(request, Form(view=request.state.view)))


def _terms_from(form: Form, currency: str) -> Terms | None:
    wage = price_in(form, "wage", currency)
    overhead = price_in(form, "overhead_per_hour", currency, required=False)
    energy = price_in(form, "energy_price", currency, required=False)
    kWh = form.number("energy_kWh", at_least=0, at_most=1e5, required=False) or 0.0
    exponent = form.number("hands_exponent", at_least=0, at_most=1, required=False)
    policy = form.choice("policy", POLICIES)
    on_cost = share_in(form, "on_cost", at_most=200.0, value=0.2)
    overhead_share = share_in(form, "overhead_share", at_most=200.0)
    if not form.ok or wage is None or policy is None:
        return None
    usual = Terms(wage).hands_exponent
    return Terms(
        wage, on_cost, overhead, overhead_share, kWh, energy, policy,  # type: ignore[arg-type]  # one of POLICIES
        usual if exponent is None else exponent,
    )  # fmt: skip


def _channels_from(form: Form) -> tuple[list[Channel], list[str]]:
    """The ways of selling, and the names of those that are led by their mark-up."""
    found, led = [], []
    for n in range(MOST_CHANNELS):
        name = form.text(f"channel{n}", required=False)
        if name:
            fee, tax = (decimal_share(form, f"{part}{n}") for part in ("fee", "tax"))
            margin, by_markup = _margin_from(form, n, fee)
            try:
                found.append(Channel(name, margin, fee, tax))
            except BloomlessError:
                form.fail(f"margin{n}", form.gettext("Margin and fee together leave nothing for the cost."))
            led += [name] if by_markup else []
    return found, led


def _margin_from(form: Form, n: int, fee: Decimal) -> tuple[Decimal, bool]:
    """Margin of a way, from the margin or the mark-up that is typed; and whether the mark-up leads.

    Both are there where one followed the other on the page; where they do not fit, nobody can know which is meant.
    """
    margin = decimal_share(form, f"margin{n}")
    pct = form.number(f"markup{n}", at_least=0, at_most=MOST_MARKUP_PCT, required=False)
    if pct is None:
        return margin, False
    markup = Decimal(repr(pct)) / 100
    follows = margin_of(markup, fee)
    if not form.values.get(f"margin{n}", "").strip():
        return follows, True
    if abs(follows - margin) > FITS_SHARE:
        said = form.gettext(
            "This mark-up is a margin of %(margin)s %%, not the one beside it: leave one of them empty."
        )
        form.fail(f"markup{n}", said % {"margin": form.view.number(float(100 * follows), 1)})
    led = form.values.get(f"by{n}") == "markup"
    return (follows, True) if led else (margin, False)


@router.post("/book/costs")
async def save_costs(request: Request) -> Response:
    """Keep the terms."""
    house = request.app.state.house
    form = await Form.posted(request)
    currency = (form.text("currency") or "").upper()
    if not (len(currency) == 3 and currency.isascii() and currency.isalpha()):
        form.fail("currency", form.gettext("Three letters such as EUR or USD."))
        currency = "EUR"
    terms, (channels, led) = _terms_from(form, currency), _channels_from(form)
    step_g = form.number("step", at_least=0.001, at_most=1000) or 1.0
    fine_g = form.number("fine_step", at_least=0.001, at_most=step_g, required=False)
    if not form.ok or terms is None:
        return await run_in_threadpool(lambda: _costs_page(request, form, 422))

    def write() -> None:
        cost_terms.save_terms(house.book, terms, channels, at=house.clock(), by_markup=led)
        cost_terms.save_scale(house.book, step_g, fine_g, at=house.clock())

    await run_in_threadpool(write)
    return RedirectResponse("/book/costs?saved=1", 303)


def _packaging_page(request: Request, key: str, form: Form, status: int = 200) -> Response:
    house = request.app.state.house
    recipes = house.shelf.written().recipes
    if key not in recipes:
        raise UnknownName("recipe", key, recipes)
    packed = cost_terms.packaging_of(house.book, key)
    currency = cost_terms.terms_of(house.book).wage.currency
    return render(
        request, "book_packaging.html", status=status, form=form, key=key, recipe=recipes[key], packed=packed,
        most=MOST_PACKAGING, currency=currency,
    )  # fmt: skip


@router.get("/book/recipes/{key}/packaging")
async def packaging_page(request: Request, key: str) -> Response:
    """What a piece is packed in."""
    return await run_in_threadpool(lambda: _packaging_page(request, key, Form(view=request.state.view)))


@router.post("/book/recipes/{key}/packaging")
async def save_packaging(request: Request, key: str) -> Response:
    """Keep what a piece is packed in."""
    house = request.app.state.house
    form = await Form.posted(request)
    currency = cost_terms.terms_of(house.book).wage.currency
    items = []
    for n in range(MOST_PACKAGING):
        name = form.text(f"name{n}", required=False)
        if not name:
            continue
        cost = price_in(form, f"cost{n}", currency)
        holds = form.number(f"holds{n}", at_least=0.001, at_most=10_000, required=False) or 1.0
        spoil = share_in(form, f"spoil{n}", at_most=90.0, value=0.03)
        if cost is not None:
            items.append(Packaging(name, cost, 1.0 / holds, spoil))
    if not form.ok:
        return await run_in_threadpool(lambda: _packaging_page(request, key, form, 422))
    await run_in_threadpool(lambda: cost_terms.save_packaging(house.book, key, items, at=house.clock()))
    return RedirectResponse(f"/book/recipes/{key}#cost", 303)


FAMILY: Final = Family(router, links=(Link("/book/stock", "Stock and prices", "Kitchen", 12),))
