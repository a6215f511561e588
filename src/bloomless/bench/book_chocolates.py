"""Chocolates and coloured cocoa butters of the recipe book as a bowl takes them, in the words of the bench log."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from bloomless.bench.contract import COLOUR, KINDS_OF_CHOCOLATE
from bloomless.errors import UnknownName
from bloomless.materials.chocolates import MOST_COLOUR_SHARE
from bloomless.materials.ingredients import Ingredient
from bloomless.materials.wrapper import chocolate_for_the_bowl

__all__ = ["chocolates_of", "named_in"]

GROUPS: Final = tuple(f"chocolate_{kind}" for kind in KINDS_OF_CHOCOLATE)
USUAL_LECITHIN_SHARE: Final = 0.005
"""What nearly every chocolate holds: the melting of the usual ones includes it [common practice, no source]."""


def chocolates_of(ingredients: Mapping[str, Ingredient]) -> dict[str, Ingredient]:
    """Those of the ingredients that a bowl can be started with, by key: chocolates and coloured cocoa butters."""
    return {key: one for key, one in ingredients.items() if one.group in GROUPS or _coloured(one)}


def _coloured(one: Ingredient) -> bool:
    """Whether it is colour in cocoa butter, and flows."""
    return one.group == "colour" and one.composition.cocoa_butter_g >= 100.0 * (1.0 - MOST_COLOUR_SHARE)


def named_in(start: Mapping[str, Any], ingredients: Mapping[str, Ingredient]) -> dict[str, Any]:
    """A start event whose chocolate, if it is one of the book, is spelt out, so that the log needs no book.

    Parameters
    ----------
    start
        The event as it came; ``chocolate`` may be a kind, an object, or the key of an ingredient.
    ingredients
        Of the book, by key.

    Raises
    ------
    UnknownName
        If it is a name that is neither a kind nor a chocolate of the book.
    """
    name = start.get("chocolate")
    if not isinstance(name, str) or name in KINDS_OF_CHOCOLATE:
        return dict(start)
    known = chocolates_of(ingredients)
    if name not in known:
        raise UnknownName("chocolate", name, [*KINDS_OF_CHOCOLATE, *known])
    return {**start, "chocolate": _fats_of(known[name])}


def _fats_of(chocolate: Ingredient) -> dict[str, Any]:
    """Kind and shares of the fats, without the lecithin that the usual ones of each kind hold too."""
    if _coloured(chocolate):
        return {"kind": "cocoa_butter", COLOUR: round(1.0 - chocolate.composition.fat_g / 100.0, 4)}
    of = chocolate_for_the_bowl(chocolate)
    return {
        "kind": of.kind,
        "cocoa_butter": round(of.cocoa_butter_share, 4),
        "milk_fat": round(of.milk_fat_share, 4),
        "liquid_oil": round(max(of.liquid_oil_share - USUAL_LECITHIN_SHARE, 0.0), 4),
    }
