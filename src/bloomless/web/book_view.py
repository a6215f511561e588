"""What every page of the recipe book shares: names in the device's language, amounts as people type them, money."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from pathlib import PurePath
from typing import Final

from fastapi import Request

from bloomless.bench import recipes as jobs
from bloomless.bench.mould_inputs import mould_named
from bloomless.bench.moulds import list_moulds
from bloomless.bench.stock import cost_of, stock_of
from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.materials.ingredients import Ingredient
from bloomless.materials.mould_library import words_of
from bloomless.quantities import Money, number_from_text, oz_from_g
from bloomless.recipes import Pantry, Recipe, compose
from bloomless.recipes.scaling import UNITS_g, UNITS_ml, for_mass, for_pieces, from_stock, mass_from_amount
from bloomless.web.forms import Form
from bloomless.web.view import View

__all__ = [
    "Sized",
    "amount_g",
    "asked_form",
    "at_field",
    "decimal_share",
    "found_key",
    "moulds_said",
    "names_said",
    "price_in",
    "share_in",
    "sized",
    "slug",
    "things_said",
    "unknown_name",
    "uploaded",
    "weighed",
]

_AMOUNT: Final = re.compile(r"^\s*(?P<n>[\d.,\s]*\d)\s*(?P<unit>[a-z][a-z ]*)?\s*$", re.IGNORECASE)


def slug(name: str) -> str:
    """A key made of a name."""
    return re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_")[:60] or "recipe"


def names_said(request: Request, pantry: Pantry) -> dict[str, str]:
    """Name of every ingredient and recipe by key; those of the library in the language of the device."""
    say = request.state.gettext
    said = {key: say(one.name) for key, one in pantry.ingredients.items()}
    return said | {key: recipe.name for key, recipe in pantry.recipes.items()}


def things_said(request: Request, pantry: Pantry, *, recipes: bool = True) -> list[str]:
    """Names to choose from while typing, in order."""
    names = names_said(request, pantry)
    return sorted((n for k, n in names.items() if recipes or k in pantry.ingredients), key=str.casefold)


def found_key(request: Request, typed: str, pantry: Pantry, *, recipes: bool = True) -> str:
    """Key of what a typed name means: the device's name, the English one, or the key; else the typed text itself."""
    known = {name.casefold(): key for key, name in jobs.names_of(pantry).items()}
    known |= {name.casefold(): key for key, name in names_said(request, pantry).items()}
    key = known.get(typed.strip().casefold(), typed.strip())
    return key if recipes or key in pantry.ingredients or key not in pantry.recipes else typed.strip()


def unknown_name(request: Request, typed: str, pantry: Pantry) -> str:
    """What to say of a name that nothing has, with the nearest ones that something has."""
    names = {name.casefold(): name for name in names_said(request, pantry).values()}
    near = [names[n] for n in get_close_matches(typed.strip().casefold(), list(names), n=3)]
    text: str = request.state.gettext("Nothing in the book has this name.")
    return f"{text} {' / '.join(near)}?" if near else text


def weighed(view: View, mass_g: float, digits: int) -> str:
    """An amount as a scale shows it, with no digit lost."""
    if view.mass == "oz":
        return f"{view.number(oz_from_g(mass_g), 2)}\u00a0oz"
    return f"{view.number(mass_g, digits)}\u00a0g"


async def uploaded(request: Request, name: str) -> tuple[bytes, str]:
    """Content and name of a file that was sent with a form; empty if none was."""
    sent = (await request.form()).get(name)
    if sent is None or isinstance(sent, str):
        return b"", ""
    data = await sent.read()
    await sent.close()
    return data, PurePath(sent.filename or "").name[:80]


def asked_form(request: Request) -> Form:
    """The form of an address: what stands behind its question mark."""
    return Form(dict(request.query_params), {}, request.state.view, request.state.gettext)


@dataclass(frozen=True, slots=True)
class Sized:
    """A recipe in the size asked for, and how that is said when a batch of it is started."""

    recipe: Recipe
    pieces: float | None = None
    """Good pieces."""
    grams: float | None = None
    mould: str = ""
    moulds: float | None = None
    ends_first: str = ""
    """Key of what the stock ends with, if it set the size."""


def sized(request: Request, recipe: Recipe, pantry: Pantry) -> Sized:
    """The recipe in the size asked for in the address: pieces, moulds, grams, or all the stock allows.

    What cannot be is an error with its field.
    """
    form, book = asked_form(request), request.app.state.house.book
    mould = form.values.get("mould", "") if recipe.pieces else ""
    moulds = form.number("moulds", at_least=0.01, at_most=500, required=False) if mould else None
    pieces = form.number("pieces", at_least=0.01, at_most=1e6, required=False) if recipe.pieces else None
    grams = form.mass_g("grams", at_least=0.1, at_most=1e7, required=False)
    for field, text in form.errors.items():
        raise ImpossibleInput(field, request.query_params.get(field), text)
    if form.values.get("all") == "stock":
        size, first = from_stock(recipe, stock_of(book), pantry)
        if size is None:
            return Sized(recipe, ends_first=first)
        good = None if size.pieces is None else size.pieces * (1.0 - size.reject_share)
        return Sized(size, good, None if good else compose(size, pantry).mass_g, ends_first=first)
    if mould and moulds is not None:
        pieces = moulds * mould_named(book, mould).cavities * (1.0 - recipe.reject_share)
    if pieces is not None:
        return Sized(for_pieces(recipe, pieces), pieces, mould=mould, moulds=moulds)
    return Sized(recipe) if grams is None else Sized(for_mass(recipe, grams, pantry), grams=grams)


def moulds_said(request: Request) -> list[tuple[str, str]]:
    """Moulds to choose from, own ones first, with their cavities."""
    say = request.state.gettext
    rows = list_moulds(request.app.state.house.book)
    return [(row["name"], f"{say(words_of().get(row['name'], row['name']))} ({row['cavities']})") for row in rows]


def amount_g(form: Form, name: str, ingredient: Ingredient | None) -> float | None:
    """An amount typed with its unit or without: ``250``, ``1.5 kg``, ``40 ml``; a bare number is in the view's unit."""
    typed = form.values.get(name, "").strip()
    found = _AMOUNT.match(typed)
    unit = ((found["unit"] if found else "") or "").strip().lower()
    if found is None or (unit and unit not in UNITS_g and unit not in UNITS_ml):
        units = ", ".join([*UNITS_g, *UNITS_ml])
        form.fail(name, form.gettext("A number, with one of the units %(units)s or none.") % {"units": units})
        return None
    if not unit:
        return form.mass_g(name, at_least=0, at_most=1e7)
    try:
        return mass_from_amount(number_from_text(found["n"].strip(), field=name), unit, ingredient)
    except ImpossibleInput as error:
        no_density = form.gettext("Millilitres need a density, and nobody wrote one down for this; weigh it.")
        form.fail(name, no_density if error.code == "no_density" else form.gettext("A number, please."))
        return None


def price_in(form: Form, name: str, currency: str, *, required: bool = True) -> Money | None:
    """A sum of money as typed."""
    typed = form.values.get(name, "").strip()
    if not typed and not required:
        return None
    try:
        found = cost_of(typed, currency)
    except BloomlessError:
        form.fail(name, form.gettext("A sum such as 12.50."))
        return None
    if not 0 <= found.amount < 10**7:
        form.fail(name, form.gettext("A sum such as 12.50."))
        return None
    return found


def share_in(form: Form, name: str, *, at_most: float = 99.0, value: float = 0.0) -> float:
    """A share typed in per cent, as 0…1."""
    typed = form.number(name, at_least=0, at_most=at_most, required=False)
    return value if typed is None else typed / 100.0


def decimal_share(form: Form, name: str, *, at_most: float = 99.0) -> Decimal:
    """A share typed in per cent, as an exact number."""
    return Decimal(repr(round(share_in(form, name, at_most=at_most), 6)))


def at_field(form: Form, error: BloomlessError, fields: Mapping[str, str], otherwise: str) -> None:
    """Put an error of the centre at the field of the form it speaks of."""
    named = str(getattr(error, "field", ""))
    name = next((mine for part, mine in fields.items() if part in named), otherwise)
    form.fail(name, error.text)
