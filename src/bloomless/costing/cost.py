"""What a batch costs: ingredients with their losses, packaging, hands, energy, overhead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, TypeAlias, get_args

from bloomless.errors import ImpossibleInput
from bloomless.materials.ingredients import Ingredient
from bloomless.quantities import Money
from bloomless.recipes.compose import Pantry
from bloomless.recipes.recipe import Recipe
from bloomless.recipes.scaling import plan, stock_needed
from bloomless.sources import Grade, Sourced

__all__ = [
    "BatchCost",
    "CostLine",
    "Packaging",
    "Policy",
    "StepCost",
    "Terms",
    "batch_cost",
    "decimal_of",
    "labour_by_step",
    "per_gram",
]

Kind: TypeAlias = Literal["ingredient", "packaging", "labour", "energy", "overhead"]
Policy: TypeAlias = Literal["latest", "oldest", "average"]
HANDS_EXPONENT: Final = Sourced(
    0.6, "1", 0.15, "assumed", Grade.ASSUMED, note="twice the batch takes 2^0.6 = 1.5 times the hands"
)


def decimal_of(number: float) -> Decimal:
    """A binary number as a decimal of nine places, for multiplying money."""
    return Decimal(repr(round(number, 9)))


@dataclass(frozen=True, slots=True)
class Terms:
    """What a workshop's hour, power and roof cost."""

    wage: Money
    """Of one hour of hands."""
    on_cost_share: float = 0.2
    """Employer's part on top of the wage."""
    overhead_per_hour: Money | None = None
    """Rent, insurance, fees, depreciation for each hour of hands."""
    overhead_share: float = 0.0
    """Or overhead as a share of ingredients, packaging and labour."""
    energy_kWh: float = 0.0
    energy_price: Money | None = None
    """Of one kWh."""
    policy: Policy = "latest"
    """Which of the lots that are left sets the price: the latest, the oldest (first in, first out), or the average."""
    hands_exponent: float = HANDS_EXPONENT.value
    """How the minutes of hands grow with the batch: 1 in proportion, 0 not at all."""

    def __post_init__(self) -> None:
        for name in ("on_cost_share", "overhead_share"):
            if not 0.0 <= getattr(self, name) <= 5.0:
                raise ImpossibleInput(name, getattr(self, name), "a share from 0 to 5")
        if self.wage.amount < 0:
            raise ImpossibleInput("wage", str(self.wage), "a wage of 0 or more")
        if not 0.0 <= self.energy_kWh < 1e6:
            raise ImpossibleInput("energy_kWh", self.energy_kWh, "0 kWh or more")
        if not 0.0 <= self.hands_exponent <= 1.0:
            raise ImpossibleInput("hands_exponent", self.hands_exponent, "a number from 0 to 1")
        if self.policy not in get_args(Policy):
            raise ImpossibleInput("policy", self.policy, "latest, oldest or average")

    @property
    def per_hour(self) -> Money:
        """One hour of hands with what the employer adds."""
        return self.wage * decimal_of(1.0 + self.on_cost_share)


@dataclass(frozen=True, slots=True)
class Packaging:
    """One thing a piece is packed in."""

    name: str
    cost: Money
    """Of one."""
    per_piece: float = 1.0
    """How many a piece needs; a box of twelve is 1/12."""
    spoil_share: float = 0.03
    """Share that tears or is misprinted; 2–5 % [trade practice]."""

    def __post_init__(self) -> None:
        if not 0.0 <= self.per_piece <= 1e4:
            raise ImpossibleInput("per_piece", self.per_piece, "0 or more for each piece")
        if not 0.0 <= self.spoil_share < 1.0:
            raise ImpossibleInput("spoil_share", self.spoil_share, "a share from 0 to below 1")


@dataclass(frozen=True, slots=True)
class CostLine:
    """One part of the cost."""

    key: str
    name: str
    kind: Kind
    cost: Money
    share: float
    amount: str = ""


@dataclass(frozen=True, slots=True)
class BatchCost:
    """Cost of a batch; incomplete, and said so, while an ingredient has no price."""

    lines: tuple[CostLine, ...]
    """By falling cost."""
    total: Money
    good_pieces: float | None
    """Pieces that can be sold; None if the recipe makes a mass."""
    good_mass_g: float
    hands_min: float
    missing: tuple[str, ...]
    """Ingredients without a price in the currency of the terms: the true cost is higher."""

    @property
    def per_piece(self) -> Money | None:
        """Cost of one good piece."""
        return None if self.good_pieces is None else self.total / decimal_of(self.good_pieces)

    @property
    def per_kg(self) -> Money:
        """Cost of a kilogram that can be sold."""
        return self.total / decimal_of(self.good_mass_g / 1000.0)

    def of(self, kind: str) -> Money:
        """Sum of one kind of cost."""
        zero = Money(self.total.currency, Decimal(0))
        return sum((line.cost for line in self.lines if line.kind == kind), zero)


def per_gram(ingredient: Ingredient, terms: Terms) -> Money | None:
    """Cost of a usable gram by the policy of the terms; None without a price in their currency.

    Lots that are used up do not count, unless all are. Water costs nothing unless it has a price.
    """
    known = [price for price in ingredient.prices if price.cost.currency == terms.wage.currency]
    prices = sorted((p for p in known if p.left_g != 0.0), key=lambda p: p.on) or sorted(known, key=lambda p: p.on)[-1:]
    if not prices:
        return Money(terms.wage.currency, Decimal(0)) if ingredient.group == "water" else None
    if terms.policy != "average":
        return prices[-1 if terms.policy == "latest" else 0].per_gram
    masses = [decimal_of(p.pack_g if p.left_g is None else p.left_g) or Decimal(1) for p in prices]
    worth = sum((p.per_gram * g for p, g in zip(prices, masses, strict=True)), Money(terms.wage.currency, Decimal(0)))
    return worth / sum(masses)


def batch_cost(recipe: Recipe, pantry: Pantry, terms: Terms, packaging: Sequence[Packaging] = ()) -> BatchCost:
    """Cost of a recipe in the size it has.

    Parameters
    ----------
    recipe, pantry
        The recipe in the size to be made; minutes of its steps are those of the size written in the pantry.
    terms
        Wage, overhead, energy, and which lots set the price.
    packaging
        What each good piece is packed in; for a recipe that makes a mass, each kilogram.
    """
    currency = terms.wage.currency
    zero = Money(currency, Decimal(0))
    made = plan(recipe, pantry)[-1].made
    good = None if recipe.pieces is None else recipe.pieces * (1.0 - recipe.reject_share)
    good_mass_g = made.mass_g * (1.0 - recipe.reject_share)
    found: list[tuple[str, str, Kind, Money, str]] = []
    missing = []
    for key, grams in stock_needed(recipe, pantry).items():
        ingredient = pantry.ingredients[key]
        gram = per_gram(ingredient, terms)
        if gram is None:
            missing.append(ingredient.name)
        else:
            found.append((key, ingredient.name, "ingredient", gram * decimal_of(grams), f"{grams:.0f} g"))
    units = good if good is not None else good_mass_g / 1000.0
    for item in packaging:
        if item.cost.currency != currency:
            missing.append(item.name)
            continue
        number = units * item.per_piece / (1.0 - item.spoil_share)
        found.append((item.name, item.name, "packaging", item.cost * decimal_of(number), f"{number:.0f}"))
    hands_min = sum(step.hands_min for step in labour_by_step(recipe, pantry, terms))
    hours = decimal_of(hands_min / 60.0)
    labour = terms.per_hour * hours
    found.append(("labour", "Labour", "labour", labour, f"{hands_min:.0f} min"))
    if terms.energy_price is not None:
        energy = terms.energy_price * decimal_of(terms.energy_kWh)
        found.append(("energy", "Energy", "energy", energy, f"{terms.energy_kWh:.1f} kWh"))
    prime = sum((cost for *_, cost, _ in found), zero)
    overhead = prime * decimal_of(terms.overhead_share)
    if terms.overhead_per_hour is not None:
        overhead += terms.overhead_per_hour * hours
    found.append(("overhead", "Overhead", "overhead", overhead, ""))
    total = prime + overhead
    lines = tuple(
        CostLine(key, name, kind, cost, float(cost.amount / total.amount) if total.amount else 0.0, amount)
        for key, name, kind, cost, amount in sorted(found, key=lambda item: -item[3].amount)
        if cost.amount > 0
    )
    return BatchCost(lines, total, good, good_mass_g, hands_min, tuple(missing))


@dataclass(frozen=True, slots=True)
class StepCost:
    """Hands of one step of a batch."""

    recipe: str
    step: str
    hands_min: float
    cost: Money


def labour_by_step(recipe: Recipe, pantry: Pantry, terms: Terms) -> tuple[StepCost, ...]:
    """Minutes and cost of every step, sub-recipes first, in the size the recipe has.

    Minutes are those of the size written in the pantry, times (size/written)^``hands_exponent``.
    """
    found = []
    for batch in plan(recipe, pantry):
        written = pantry.recipes.get(batch.recipe.key, batch.recipe)
        factor = (batch.recipe.put_in_g / written.put_in_g) ** terms.hands_exponent
        for step in batch.recipe.steps:
            if step.hands_min > 0.0:
                minutes = factor * step.hands_min
                cost = terms.per_hour * decimal_of(minutes / 60.0)
                found.append(StepCost(batch.recipe.name, step.text, minutes, cost))
    return tuple(found)
