"""Nutrients of a food from its recipe: losses of water, both meanings of carbohydrate, and how sure the figure is."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from decimal import Decimal

from bloomless.rules.common.composition import Leaf
from bloomless.rules.decimals import HUNDRED, ZERO, dec
from bloomless.rules.food import Food, Nutrients, Section, Substance, Use

__all__ = ["Calculated", "Doubt", "nutrients_of", "scaled"]


@dataclass(frozen=True, slots=True)
class Doubt:
    """How uncertain one nutrient is, and which ingredient makes it so."""

    nutrient: str
    sd: float
    """One standard deviation, in the unit of the nutrient, per 100 g."""
    largest: str
    """Key of the ingredient that brings most of the variance."""
    largest_share: float
    """Its share of the variance."""


@dataclass(frozen=True, slots=True)
class Calculated:
    """Nutrients per 100 g of the finished food, with what is not known."""

    per_100g: Nutrients | None
    unknown: tuple[str, ...]
    """Keys of ingredients whose nutrients nobody has stated: they block the panel."""
    doubts: tuple[Doubt, ...]

    def doubt(self, nutrient: str) -> Doubt:
        """The doubt of one nutrient."""
        return next(d for d in self.doubts if d.nutrient == nutrient)


def _stated(substance: Substance, mass_g: Decimal) -> list[Leaf]:
    # a compound's own nutrients beat those of its parts: the supplier measured them
    if substance.nutrients is not None or not substance.parts:
        return [Leaf(substance, mass_g)]
    return [leaf for part, share in substance.parts for leaf in _stated(part, mass_g * share)]


def _section_leaves(section: Section) -> list[Leaf]:
    def own(use: Use) -> list[Leaf]:
        return _stated(use.substance, use.mass_g)

    return [leaf for use in section.uses for leaf in own(use)]


_FIELDS = tuple(item.name for item in fields(Nutrients))


def nutrients_of(food: Food) -> Calculated:
    """Nutrients per 100 g.

    Mass that cooking takes away is water as long as there is water, then it is refused: the section's own yield is
    then wrong, and the panel is blocked by the unknown ``<section> yield``.
    """
    found = [leaf for section in food.sections for leaf in _section_leaves(section)]
    unknown = sorted({leaf.substance.key for leaf in found if leaf.substance.nutrients is None and leaf.mass_g > 0})
    total = food.finished_g
    for section in food.sections:
        lost = section.mixing_g - section.finished_g
        water = sum(
            (
                x.mass_g * x.substance.nutrients.water / HUNDRED
                for x in _section_leaves(section)
                if x.substance.nutrients
            ),
            ZERO,
        )
        if lost > water:
            unknown.append(f"{section.name or section.role} yield")
    if unknown or total <= 0:
        return Calculated(None, tuple(unknown or ("nothing in it",)), ())
    lost_g = sum((s.mixing_g - s.finished_g for s in food.sections), ZERO)
    amounts: dict[str, Decimal] = {}
    doubts = []
    for name in _FIELDS:
        parts = [
            (leaf, value * leaf.mass_g / total) for leaf in found if (value := getattr(leaf.substance.nutrients, name))
        ]
        amounts[name] = sum((part for _, part in parts), ZERO)
        doubts.append(_doubt(name, parts))
    amounts["water"] = max(ZERO, amounts["water"] - lost_g / total * HUNDRED)
    return Calculated(Nutrients(**amounts), (), tuple(doubts))


def _doubt(name: str, parts: list[tuple[Leaf, Decimal]]) -> Doubt:
    variance: dict[str, float] = {}
    for leaf, part in parts:
        variance.setdefault(leaf.substance.key, 0.0)
        variance[leaf.substance.key] += (float(part) * leaf.substance.spread_share) ** 2
    whole = sum(variance.values())
    if whole <= 0.0:
        return Doubt(name, 0.0, "", 0.0)
    largest = max(variance, key=lambda key: variance[key])
    return Doubt(name, math.sqrt(whole), largest, variance[largest] / whole)


def scaled(per_100g: Nutrients, mass_g: Decimal) -> Nutrients:
    """Nutrients of a mass [g]."""
    factor = mass_g / HUNDRED
    return Nutrients(**{item.name: dec(getattr(per_100g, item.name)) * factor for item in fields(Nutrients)})
