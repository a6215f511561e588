"""Batches of the book: started in a size, made by their sheet, closed with what was weighed, which teaches own losses.

A batch keeps the versions of its recipes and the losses it was planned with, so that its sheet never changes; closed,
it keeps the lots it used and what it cost on that day.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Final

from bloomless.bench.cost_terms import packaging_of, terms_of
from bloomless.bench.ports import Book, Entry
from bloomless.bench.recipes import pantry_of, recipe_named
from bloomless.bench.stock import draw_from_stock, every_lot
from bloomless.costing import Terms, batch_cost
from bloomless.costing.cost import labour_by_step
from bloomless.errors import ImpossibleInput
from bloomless.lots import draw
from bloomless.recipes import Pantry, Recipe
from bloomless.recipes.own_losses import OwnShare, learned, left_behind_share
from bloomless.recipes.scaling import Batch, for_mass, for_pieces, plan, stock_needed
from bloomless.sources import Grade, Sourced

__all__ = [
    "OUTCOMES",
    "Closing",
    "Own",
    "close_batch",
    "lots_for",
    "newest_first",
    "own_losses",
    "planned",
    "start_batch",
    "to_weigh",
    "with_own",
    "working_pantry",
]

OUTCOMES: Final = ("good", "so so", "failed")
HANDS_SD: Final = Sourced(0.25, "1", 0.1, "assumed", Grade.ASSUMED, note="spread of one batch's minutes over another's")
REJECT_SD: Final = Sourced(0.03, "1", 0.02, "common_practice", Grade.TRADE_PRACTICE, note="bonbons 2-8 %, bars 1-3 %")


@dataclass(frozen=True, slots=True)
class Own:
    """What a person's own batches have taught of one recipe; None where nothing was written down."""

    left_behind: OwnShare | None = None
    reject: OwnShare | None = None
    hands: OwnShare | None = None
    """Minutes of hands over those the recipe says."""


@dataclass(frozen=True, slots=True)
class Closing:
    """What a person writes down when a batch is done."""

    outcome: str
    weighed_g: Mapping[str, float] = field(default_factory=dict)
    """Finished mass by the recipe it is of."""
    good: float | None = None
    """Pieces that can be sold."""
    hands_min: float | None = None
    note: str = ""
    from_stock: bool = True
    """Whether what the sheet says is taken out of the stock."""

    def __post_init__(self) -> None:
        if self.outcome not in OUTCOMES:
            raise ImpossibleInput("outcome", self.outcome, f"one of {', '.join(OUTCOMES)}")
        if self.hands_min is not None and not 0.0 < self.hands_min <= 100_000.0:
            raise ImpossibleInput("hands_min", self.hands_min, "minutes above 0")


def own_losses(book: Book) -> dict[str, Own]:
    """What the closed batches of the book teach, by recipe. Rejects of a batch that failed as a whole do not count."""
    shares: dict[str, dict[str, list[float]]] = {}
    for entry in book.latest("batch"):
        for key, found in entry.document.get("closed", {}).get("shares", {}).items():
            for name, share in found.items():
                shares.setdefault(key, {}).setdefault(name, []).append(share)
    written = {entry.key: entry.document for entry in book.latest("recipe")}
    return {key: _own(found, written[key]) for key, found in shares.items() if key in written}


def _own(found: Mapping[str, list[float]], recipe: Mapping[str, Any]) -> Own:
    left, reject, hands = (found.get(name) for name in ("left", "reject", "hands"))
    return Own(
        learned(recipe.get("left_behind_share", 0.0), left) if left else None,
        learned(recipe.get("reject_share", 0.0), reject, spread=REJECT_SD.value) if reject else None,
        learned(1.0, hands, spread=HANDS_SD.value, within=(0.1, 10.0)) if hands else None,
    )


def with_own(recipe: Recipe, own: Own | None) -> Recipe:
    """The recipe with the person's own losses and minutes in place of the written ones."""
    if own is None:
        return recipe
    if own.left_behind:
        recipe = replace(recipe, left_behind_share=own.left_behind.share)
    if own.reject:
        recipe = replace(recipe, reject_share=own.reject.share)
    if own.hands:
        factor = own.hands.share
        recipe = replace(recipe, steps=tuple(replace(s, hands_min=factor * s.hands_min) for s in recipe.steps))
    return recipe


def working_pantry(book: Book) -> Pantry:
    """The pantry to scale and to cost with: own losses in place of written ones."""
    pantry, own = pantry_of(book), own_losses(book)
    return Pantry(pantry.ingredients, {key: with_own(r, own.get(key)) for key, r in pantry.recipes.items()})


def start_batch(
    book: Book, key: str, *, at: datetime, pieces: float | None = None, grams: float | None = None, mould: str = ""
) -> str:
    """Note a batch in a size, as it is written if none is given; its code is the day and a number."""
    pantry = working_pantry(book)
    recipe, entry = recipe_named(book, key)
    _in_size(pantry.recipes.get(key, recipe), pantry, pieces, grams)  # what cannot be made is not noted
    taken = {one.key for one in book.latest("batch")}
    code = next(c for n in range(1, 10_000) if (c := f"B{at:%y%m%d}-{n}") not in taken)
    inside = sorted(_inside(recipe, pantry))
    document: dict[str, Any] = {"recipe": key, "version": entry.version, "on": at.date().isoformat(), "mould": mould}
    document["versions"] = {k: book.get("recipe", k).version for k in inside}
    losses = {k: _losses(pantry.recipes[k]) for k in (key, *inside)}
    document["losses"] = {k: shares for k, shares in losses.items() if any(shares.values())}
    document |= {name: value for name, value in (("pieces", pieces), ("grams", grams)) if value is not None}
    book.put("batch", code, document, at=at)
    return code


def _losses(recipe: Recipe) -> dict[str, float]:
    return {"left_behind_share": recipe.left_behind_share, "reject_share": recipe.reject_share}


def _inside(recipe: Recipe, pantry: Pantry) -> set[str]:
    found = {line.of for line in recipe.lines if line.is_recipe}
    return found.union(*(_inside(pantry.recipes[key], pantry) for key in found))


def _in_size(recipe: Recipe, pantry: Pantry, pieces: float | None, grams: float | None) -> Recipe:
    if pieces is not None and recipe.pieces is not None:
        return for_pieces(recipe, pieces)
    return recipe if grams is None else for_mass(recipe, grams, pantry)


def planned(book: Book, code: str) -> tuple[Recipe, Pantry, Entry]:
    """The recipe of a batch in its size, the pantry as it was when the batch was started, and the batch itself."""
    entry = book.get("batch", code)
    d, pantry = entry.document, pantry_of(book)
    versions = {d["recipe"]: d.get("version"), **d.get("versions", {})}
    kept = {key: recipe_named(book, key, version)[0] for key, version in versions.items()}
    kept = {key: replace(one, **d.get("losses", {}).get(key, {})) for key, one in kept.items()}
    then = Pantry(pantry.ingredients, {**pantry.recipes, **kept})
    return _in_size(kept[d["recipe"]], then, d.get("pieces"), d.get("grams")), then, entry


def to_weigh(recipe: Recipe, pantry: Pantry) -> tuple[Batch, ...]:
    """The parts of a batch whose finished mass can be put on a scale: all that is not counted in pieces."""
    return tuple(part for part in plan(recipe, pantry) if part.recipe.pieces is None)


def lots_for(book: Book, recipe: Recipe, pantry: Pantry) -> dict[str, str]:
    """Codes of the lots that go first, by ingredient, for the sheet."""
    lots, found = every_lot(book), {}
    for key, mass_g in stock_needed(recipe, pantry).items():
        taken = draw(lots.get(key, ()), mass_g).taken
        if taken:
            found[key] = ", ".join(code for code, _ in taken)
    return found


def close_batch(book: Book, code: str, closing: Closing, *, at: datetime) -> Entry:
    """Write down what a batch gave, take its goods out of the stock, and keep lots and cost with it.

    Raises
    ------
    ImpossibleInput
        If it is closed already, or a weighing cannot be of this batch; nothing is written then.
    """
    recipe, pantry, entry = planned(book, code)
    if "closed" in entry.document:
        raise ImpossibleInput("batch", code, "a batch that is still open", code="closed_already")
    terms = terms_of(book)
    shares = _taught(recipe, pantry, closing, terms)
    cost = batch_cost(recipe, pantry, terms, packaging_of(book, recipe.key))
    done: dict[str, Any] = {"at": at.isoformat(), "outcome": closing.outcome, "shares": shares}
    more = {"good": closing.good, "hands_min": closing.hands_min, "note": closing.note}
    done |= {name: value for name, value in more.items() if value not in (None, "")}
    done["weighed_g"] = dict(closing.weighed_g)
    done["cost"] = {"amount": f"{cost.total.rounded(4).amount:f}", "currency": cost.total.currency}
    if closing.from_stock:
        drawn = draw_from_stock(book, stock_needed(recipe, pantry), at=at)
        done["lots"] = {key: [list(pair) for pair in one.taken] for key, one in drawn.items()}
        done["missing_g"] = {key: one.missing_g for key, one in drawn.items() if one.missing_g > 0.0}
    return book.put("batch", code, {**entry.document, "closed": done}, at=at)


def _taught(recipe: Recipe, pantry: Pantry, closing: Closing, terms: Terms) -> dict[str, dict[str, float]]:
    taught: dict[str, dict[str, float]] = {}
    parts = {part.recipe.key: part.made for part in to_weigh(recipe, pantry)}
    for key, weighed_g in closing.weighed_g.items():
        if key not in parts:
            raise ImpossibleInput(f"weighed_g.{key}", weighed_g, f"one of {', '.join(parts)}")
        try:
            share = left_behind_share(parts[key].mass_g + parts[key].left_behind_g, weighed_g)
        except ImpossibleInput as error:
            raise ImpossibleInput(f"weighed_g.{key}", weighed_g, error.accepted) from None
        taught.setdefault(key, {})["left"] = round(share, 5)
    mine = taught.setdefault(recipe.key, {})
    if closing.good is not None:
        if recipe.pieces is None or not 0.0 <= closing.good <= recipe.pieces + 0.5:
            accepted = f"0 to the {recipe.pieces:.0f} pieces made" if recipe.pieces else "nothing: it makes no pieces"
            raise ImpossibleInput("good", closing.good, accepted)
        if closing.outcome != "failed":
            mine["reject"] = round(max(0.0, 1.0 - closing.good / recipe.pieces), 5)
    expected_min = sum(step.hands_min for step in labour_by_step(recipe, pantry, terms))
    if closing.hands_min is not None and expected_min > 0.0:
        for part in plan(recipe, pantry):
            taught.setdefault(part.recipe.key, {})["hands"] = round(closing.hands_min / expected_min, 4)
    return {key: found for key, found in taught.items() if found}


def newest_first(batches: Iterable[Entry]) -> list[Entry]:
    """Batches, the newest first."""
    return sorted(batches, key=lambda entry: (entry.document.get("on", ""), entry.key), reverse=True)
