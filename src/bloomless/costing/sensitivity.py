"""What moves the cost: a price rise of one thing, more or less of everything in turn, the size of the batch."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from bloomless.costing.cost import BatchCost, Packaging, Terms, batch_cost, decimal_of
from bloomless.errors import ImpossibleInput
from bloomless.materials.ingredients import Ingredient
from bloomless.quantities import Money
from bloomless.recipes.compose import Pantry
from bloomless.recipes.recipe import Recipe

__all__ = ["PriceRise", "Swing", "by_batch_size", "cocoa_butter_share_of_price", "price_rise", "swings"]

MOST_REJECT = 0.95


@dataclass(frozen=True, slots=True)
class PriceRise:
    """What a price rise does to a batch."""

    what: str
    rise_share: float
    before: Money
    after: Money
    cost_rise_share: float
    """Rise of the whole cost: the share of what got dearer, times its rise."""


def cocoa_butter_share_of_price(ingredient: Ingredient) -> float:
    """Share of an ingredient's price that moves with cocoa butter: its share of the mass [assumed]."""
    if ingredient.key == "cocoa_butter":
        return 1.0
    cocoa = ingredient.group.startswith("chocolate_") or ingredient.group in ("cocoa", "colour", "composite")
    return ingredient.composition.cocoa_butter_g / 100.0 if cocoa else 0.0


def price_rise(
    cost: BatchCost, pantry: Pantry, rise_share: float, *, of: Collection[str] = (), cocoa_butter: bool = False
) -> PriceRise:
    """What it does to the cost when ingredients get dearer.

    Parameters
    ----------
    rise_share
        0.3 for 30 % more, −0.1 for 10 % less.
    of
        Keys of the ingredients.
    cocoa_butter
        True: cocoa butter, and what holds it in proportion.
    """
    if not -1.0 <= rise_share <= 10.0:
        raise ImpossibleInput("rise_share", rise_share, "a share from −1 to 10")
    moved = cost.total * decimal_of(0.0)
    for line in cost.lines:
        if line.kind != "ingredient":
            continue
        ingredient = pantry.ingredients[line.key]
        part = cocoa_butter_share_of_price(ingredient) if cocoa_butter else float(line.key in of)
        moved += line.cost * decimal_of(part * rise_share)
    what = "cocoa butter" if cocoa_butter else ", ".join(sorted(of))
    after = cost.total + moved
    share = float(moved.amount / cost.total.amount) if cost.total.amount else 0.0
    return PriceRise(what, rise_share, cost.total, after, share)


@dataclass(frozen=True, slots=True)
class Swing:
    """How the cost of a unit moves when one thing is less, or more, than it is now."""

    what: str
    """Name of an ingredient or a thing, or ``labour``, ``energy``, ``overhead``, ``losses``."""
    kind: str
    less: Money
    """Cost of a unit if it is less."""
    more: Money

    @property
    def width(self) -> Money:
        """From less to more."""
        return self.more - self.less


def unit_cost(cost: BatchCost) -> Money:
    """Of a good piece; of a kilogram if the recipe makes a mass."""
    return cost.per_kg if cost.per_piece is None else cost.per_piece


def swings(
    recipe: Recipe, pantry: Pantry, terms: Terms, packaging: Sequence[Packaging] = (), *, change_share: float = 0.2
) -> tuple[Swing, ...]:
    """Everything that moves the cost of a unit, each moved alone by the same share, the widest first.

    Prices and minutes are moved by ``change_share`` of themselves, so is what is lost: rejects, and what stays
    in bowl and bag of the recipe and of every sub-recipe.
    """
    if not 0.0 < change_share <= 1.0:
        raise ImpossibleInput("change_share", change_share, "a share above 0 and up to 1")
    now = batch_cost(recipe, pantry, terms, packaging)
    units = unit_cost(now).amount / now.total.amount if now.total.amount else decimal_of(0.0)
    found = []
    for line in now.lines:
        carried = 0.0 if line.kind == "overhead" else terms.overhead_share  # overhead as a share follows the rest
        step = line.cost * units * decimal_of(change_share * (1.0 + carried))
        found.append(Swing(line.name, line.kind, unit_cost(now) - step, unit_cost(now) + step))
    ends = [_with_losses(recipe, pantry, terms, packaging, 1.0 + sign * change_share) for sign in (-1.0, 1.0)]
    if ends[0] != ends[1]:
        found.append(Swing("Losses and rejects", "losses", *ends))
    return tuple(sorted(found, key=lambda swing: -swing.width.amount))


def _with_losses(recipe: Recipe, pantry: Pantry, terms: Terms, packaging: Sequence[Packaging], factor: float) -> Money:
    def lossy(one: Recipe) -> Recipe:
        left, reject = (min(MOST_REJECT, factor * x) for x in (one.left_behind_share, one.reject_share))
        return replace(one, left_behind_share=left, reject_share=reject)

    others = {key: lossy(one) for key, one in pantry.recipes.items()}
    return unit_cost(batch_cost(lossy(recipe), Pantry(pantry.ingredients, others), terms, packaging))


def by_batch_size(
    recipe: Recipe,
    pantry: Pantry,
    terms: Terms,
    packaging: Sequence[Packaging] = (),
    factors: Sequence[float] = (0.5, 1.0, 2.0, 4.0),
) -> tuple[tuple[float, BatchCost], ...]:
    """The cost in several sizes: hands do not grow as fast as the batch."""
    return tuple((factor, batch_cost(recipe.times(factor), pantry, terms, packaging)) for factor in factors)
