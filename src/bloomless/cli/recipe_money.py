"""``bloomless recipe``, money: the workshop's terms, packaging, what a piece costs and what moves it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Final, Literal

import typer

from bloomless.cli.book_access import AsJson, Data, opened, tell, write_bytes
from bloomless.errors import ImpossibleInput, UnknownName

__all__ = ["COMMANDS", "cost", "pack", "terms"]

COMMANDS: Final = ("terms", "pack", "cost")


def terms(
    wage: Annotated[str, typer.Option(help="An hour of hands, such as 17.50; empty shows what is kept.")] = "",
    currency: Annotated[str, typer.Option(help="Three letters.")] = "EUR",
    on_cost: Annotated[float, typer.Option(min=0.0, help="The employer's part on top, %.")] = 20.0,
    overhead_per_hour: Annotated[str, typer.Option(help="Roof and fees for an hour of hands.")] = "",
    overhead: Annotated[float, typer.Option(min=0.0, help="Or a share on top of all other costs, %.")] = 0.0,
    energy: Annotated[float, typer.Option(min=0.0, help="Power for one batch, kWh.")] = 0.0,
    energy_price: Annotated[str, typer.Option(help="A kilowatt hour.")] = "",
    policy: Annotated[
        Literal["latest", "oldest", "average"], typer.Option(help="Which lot sets the price.")
    ] = "latest",
    hands_exponent: Annotated[float, typer.Option(min=0.0, max=1.0, help="How hands grow with the batch.")] = 0.6,
    channel: Annotated[
        list[str] | None,
        typer.Option(
            help="name:margin %:fee %:tax %, or name:+mark-up %:fee %:tax %; repeat; the first pays the batch back."
        ),
    ] = None,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Show or keep the terms of cost and the ways of selling."""
    from bloomless.bench.cost_terms import channels_of, marked_up, save_terms, terms_of
    from bloomless.costing import Terms
    from bloomless.quantities import money

    with opened(data) as house:
        if wage:
            per_hour = money(overhead_per_hour, currency) if overhead_per_hour else None
            kWh = money(energy_price, currency) if energy_price else None
            made = Terms(
                money(wage, currency), on_cost / 100.0, per_hour, overhead / 100.0, energy, kWh, policy, hands_exponent
            )
            ways = [_channel(text) for text in channel] if channel else channels_of(house.book)
            by_markup = _marked_up(channel) if channel else marked_up(house.book)
            save_terms(house.book, made, ways, at=house.clock(), by_markup=by_markup)
        kept, ways = terms_of(house.book), channels_of(house.book)
    said = [
        {"name": c.name, "margin": f"{c.margin:.6g}", "mark_up": f"{c.markup:.6g}", "fee": str(c.fee_share)}
        for c in ways
    ]
    answer = {"wage": str(kept.wage), "per_hour": str(kept.per_hour), "policy": kept.policy,
              "overhead_per_hour": str(kept.overhead_per_hour or ""), "hands_exponent": kept.hands_exponent,
              "channels": said}  # fmt: skip
    named = "; ".join(
        f"{c.name} {100 * c.margin:.0f} % margin, {100 * c.markup:.0f} % mark-up, {100 * c.fee_share:.0f} % fee"
        for c in ways
    )
    tell(answer, f"{kept.per_hour} an hour of hands all in; {kept.policy} lot; {named}", as_json=as_json)


def _marked_up(channels: list[str]) -> list[str]:
    """Names of those whose first number is a mark-up."""
    return [name for name, _, shares in (text.partition(":") for text in channels) if shares.startswith("+")]


def _channel(text: str) -> Any:
    from decimal import Decimal, InvalidOperation

    from bloomless.costing.price import Channel, margin_of

    name, *shares = text.split(":")
    try:
        first, fee, *tax = (Decimal(share or "0") / 100 for share in [*shares, "0", "0"][: max(2, len(shares))])
        margin = margin_of(first, fee) if shares and shares[0].startswith("+") else first
        return Channel(name, margin, fee, *tax)
    except (InvalidOperation, TypeError):
        raise ImpossibleInput("channel", text, "name:margin %:fee %:tax %, or name:+mark-up %:fee %:tax %") from None


def pack(
    key: Annotated[str, typer.Argument(help="Key of the recipe.")],
    item: Annotated[
        list[str] | None, typer.Option(help="what:cost:holds, such as 'box of twelve:1.35:12'; none empties it.")
    ] = None,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Keep what a piece of a recipe is packed in."""
    from bloomless.bench.cost_terms import save_packaging, terms_of
    from bloomless.costing import Packaging
    from bloomless.quantities import money, number_from_text

    with opened(data) as house:
        known = house.shelf.written().recipes
        if key not in known:
            raise UnknownName("recipe", key, known)
        items = []
        for text in item or ():
            parts = text.split(":")
            if len(parts) not in (2, 3):
                raise ImpossibleInput("item", text, "what:cost:holds")
            holds = number_from_text(parts[2], field="item", at_least=0.001) if len(parts) == 3 else 1.0
            items.append(Packaging(parts[0], money(parts[1], terms_of(house.book).wage.currency), 1.0 / holds))
        save_packaging(house.book, key, items, at=house.clock())
    tell({"key": key, "items": len(items)}, f"{key}: {len(items)} kept.", as_json=as_json)


def cost(
    key: Annotated[str, typer.Argument(help="Key of the recipe.")],
    change: Annotated[float, typer.Option(min=0.1, max=100.0, help="Move everything by so many %.")] = 20.0,
    cocoa_butter: Annotated[float, typer.Option(min=-100.0, help="Cocoa butter dearer by so many %.")] = 30.0,
    picture: Annotated[Path | None, typer.Option(help="SVG to write.")] = None,
    data: Data = None,
    as_json: AsJson = False,
) -> None:
    """Say what a piece costs, what moves it, what it sells for, and what another batch size does."""
    from bloomless.bench.cost_terms import channels_of, packaging_of, terms_of
    from bloomless.costing import batch_cost, by_batch_size, price_rise, swings
    from bloomless.costing.sensitivity import unit_cost
    from bloomless.sheets.sensitivity import sensitivity_svg

    with opened(data) as house:
        pantry = house.shelf.pantry()
        if key not in pantry.recipes:
            raise UnknownName("recipe", key, pantry.recipes)
        recipe, kept, packed = pantry.recipes[key], terms_of(house.book), packaging_of(house.book, key)
        ways = channels_of(house.book)
    found = batch_cost(recipe, pantry, kept, packed)
    moved = swings(recipe, pantry, kept, packed, change_share=change / 100.0)
    rise = price_rise(found, pantry, cocoa_butter / 100.0, cocoa_butter=True)
    unit = unit_cost(found)
    prices = [way.price(unit) for way in ways] if unit.amount else []
    sizes = [(factor, unit_cost(one)) for factor, one in by_batch_size(recipe, pantry, kept, packed)]
    if picture is not None:
        write_bytes(picture, sensitivity_svg(moved, change_share=change / 100.0).encode())
    answer = {
        "unit": str(unit), "without_a_price": list(found.missing), "cocoa_butter_rise_share": rise.cost_rise_share,
        "swings": [{"what": s.what, "less": str(s.less.amount), "more": str(s.more.amount)} for s in moved],
        "prices": [{"channel": p.channel, "net": str(p.net), "margin": str(p.margin), "mark_up": str(p.markup)}
                   for p in prices],
        "sizes": {f"{factor:g}": str(each) for factor, each in sizes},
    }  # fmt: skip
    lines = [f"{unit} a {'piece' if found.per_piece else 'kilogram'}"]
    lines += [f"  {s.what}: {s.less.rounded().amount} … {s.more.rounded().amount}" for s in moved[:8]]
    lines += [f"  cocoa butter +{cocoa_butter:g} %: +{100 * rise.cost_rise_share:.1f} %"]
    lines += [f"  {p.channel}: {p.net}" for p in prices] + [f"  {f:g} × the batch: {each}" for f, each in sizes]
    tell(answer, "\n".join(lines), as_json=as_json)
