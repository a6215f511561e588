"""Compose: from lines and sub-recipes to what the finished thing is made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.composition import Composition, mix
from bloomless.materials.ingredients import AllergenNote, Ingredient
from bloomless.recipes.boiling import water_left_at_boiling_g
from bloomless.recipes.recipe import Line, Recipe
from bloomless.recipes.solutes import dissolved_moles

__all__ = ["Composed", "Leaf", "Pantry", "Portion", "compose"]

MOST_LEVELS = 12


@dataclass(frozen=True, slots=True)
class Pantry:
    """What recipes refer to: ingredients and other recipes, by key."""

    ingredients: Mapping[str, Ingredient]
    recipes: Mapping[str, Recipe] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Leaf:
    """So much of one bought ingredient, sub-recipes opened, alike ones added up."""

    ingredient: Ingredient
    mass_g: float


@dataclass(frozen=True, slots=True)
class Portion:
    """One line of the recipe as it ends up in the finished thing."""

    line: Line
    mass_g: float
    """As it was put in, less what was left behind; boiled-off water is not taken from single lines."""
    content: Ingredient | Composed
    """The ingredient, or the sub-recipe for this mass of it."""

    @property
    def ingredient(self) -> Ingredient | None:
        """The ingredient, if it is one."""
        return self.content if isinstance(self.content, Ingredient) else None

    @property
    def inside(self) -> Composed | None:
        """The sub-recipe, if it is one."""
        return self.content if isinstance(self.content, Composed) else None

    @property
    def name(self) -> str:
        """What a person calls it."""
        return self.content.name if isinstance(self.content, Ingredient) else self.content.recipe.name

    @property
    def composition(self) -> Composition:
        """Per 100 g."""
        return self.content.composition if isinstance(self.content, Ingredient) else self.content.per_100g

    def times(self, factor: float) -> Portion:
        """The same portion in another amount."""
        content = self.content if isinstance(self.content, Ingredient) else _resized(self.content, factor)
        return Portion(self.line, self.mass_g * factor, content)


@dataclass(frozen=True, slots=True)
class Composed:
    """What a recipe makes.

    Every mass is of the finished thing: what was left behind in bowl and bag is already gone from them in proportion,
    boiled-off water stands apart in ``water_lost_g``, so that the leaves add up to ``mass_g + water_lost_g``.
    """

    recipe: Recipe
    mass_g: float
    put_in_g: float
    water_lost_g: float
    """Water boiled off from what is in ``mass_g``, in this recipe and in its sub-recipes."""
    left_behind_g: float
    """Finished mass that stayed in bowl, bag and sieve of this recipe."""
    portions: tuple[Portion, ...]
    leaves: tuple[Leaf, ...]
    """By falling mass."""
    per_100g: Composition
    allergens: tuple[AllergenNote, ...]
    allergen_from: Mapping[str, tuple[str, ...]]
    """Substance → names of the ingredients that bring it."""
    may_contain: tuple[str, ...]
    keeping_risks: tuple[str, ...]

    @property
    def piece_g(self) -> float | None:
        """Mass of one piece, or None if the recipe makes no pieces."""
        return None if self.recipe.pieces is None else self.mass_g / self.recipe.pieces

    def shares(self) -> tuple[tuple[Ingredient, float], ...]:
        """Every bought ingredient with its share of all that went in, by falling share."""
        total_g = self.mass_g + self.water_lost_g
        return tuple((leaf.ingredient, leaf.mass_g / total_g) for leaf in self.leaves)

    def part(self, name: str) -> tuple[Portion, ...]:
        """The portions that end up in one part of the piece, such as ``shell`` or ``filling``."""
        return tuple(portion for portion in self.portions if portion.line.part == name)


def compose(recipe: Recipe, pantry: Pantry) -> Composed:
    """Work out what a recipe is made of, sub-recipes opened.

    Parameters
    ----------
    recipe
        The recipe.
    pantry
        Ingredients and recipes that its lines may name.

    Returns
    -------
    Composed
        Masses, composition per 100 g, allergens, and the tree that a label needs.

    Raises
    ------
    UnknownName
        If a line names nothing in the pantry.
    ImpossibleInput
        If the recipe contains itself, has nothing in it, or is to lose more water than it has; the field is named with
        the path to it.
    """
    return _compose(recipe, pantry, ())


def _compose(recipe: Recipe, pantry: Pantry, above: tuple[str, ...]) -> Composed:
    path = (*above, recipe.key)
    if recipe.key in above or len(path) > MOST_LEVELS:
        raise ImpossibleInput(
            f"{above[-1]}.lines", " → ".join(path), "sub-recipes that do not lead back to themselves", code="loop"
        )
    if not recipe.put_in_g > 0.0:
        raise ImpossibleInput(f"{recipe.key}.lines", recipe.put_in_g, "at least one line above 0 g", code="empty")
    full = [
        _portion(line, pantry, path, f"{recipe.key}.lines[{number}]")
        for number, line in enumerate(recipe.lines)
        if line.mass_g > 0.0
    ]
    boiled_g = _boiled_off_g(recipe, full)
    kept = 1.0 - recipe.left_behind_share
    portions = tuple(portion.times(kept) for portion in full)
    lost_g = kept * boiled_g + sum(p.inside.water_lost_g for p in portions if p.inside)
    leaves = _leaves(portions)
    per_100g = mix([(p.mass_g, p.composition) for p in portions], water_lost_g=kept * boiled_g)
    finished_g = kept * (recipe.put_in_g - boiled_g)
    allergen_from = _allergen_from(leaves)
    return Composed(
        recipe=recipe,
        mass_g=finished_g,
        put_in_g=recipe.put_in_g,
        water_lost_g=lost_g,
        left_behind_g=recipe.put_in_g - boiled_g - finished_g,
        portions=portions,
        leaves=leaves,
        per_100g=per_100g,
        allergens=_allergens(leaves),
        allergen_from=allergen_from,
        may_contain=tuple(
            sorted({s for leaf in leaves for s in leaf.ingredient.may_contain if s not in allergen_from})
        ),
        keeping_risks=_keeping_risks(recipe, portions),
    )


def _portion(line: Line, pantry: Pantry, path: tuple[str, ...], field_name: str) -> Portion:
    if not line.is_recipe:
        if line.of not in pantry.ingredients:
            raise UnknownName(f"{field_name}.of", line.of, pantry.ingredients)
        return Portion(line, line.mass_g, pantry.ingredients[line.of])
    if line.of not in pantry.recipes:
        raise UnknownName(f"{field_name}.of", line.of, pantry.recipes)
    whole = _compose(pantry.recipes[line.of], pantry, path)
    return Portion(line, line.mass_g, _resized(whole, line.mass_g / whole.mass_g))


def _resized(whole: Composed, factor: float) -> Composed:
    """The same thing in another amount; the recipe in it stays the one that was written."""
    return Composed(
        recipe=whole.recipe,
        mass_g=whole.mass_g * factor,
        put_in_g=whole.put_in_g * factor,
        water_lost_g=whole.water_lost_g * factor,
        left_behind_g=whole.left_behind_g * factor,
        portions=tuple(portion.times(factor) for portion in whole.portions),
        leaves=tuple(Leaf(leaf.ingredient, leaf.mass_g * factor) for leaf in whole.leaves),
        per_100g=whole.per_100g,
        allergens=whole.allergens,
        allergen_from=whole.allergen_from,
        may_contain=whole.may_contain,
        keeping_risks=whole.keeping_risks,
    )


def _boiled_off_g(recipe: Recipe, portions: list[Portion]) -> float:
    cooking = recipe.cooking
    if cooking is None:
        return 0.0
    put_in_g = recipe.put_in_g
    lost_g = 0.0
    water_g = sum(p.mass_g * p.composition.water_g / 100.0 for p in portions)
    if cooking.finished_g is not None:
        lost_g = put_in_g - cooking.finished_g
    elif cooking.final_water_share is not None:
        lost_g = put_in_g - (put_in_g - water_g) / (1.0 - cooking.final_water_share)
    elif cooking.end_temperature_C is not None:
        sugar_mol = dissolved_moles((leaf.ingredient, leaf.mass_g) for leaf in _leaves(tuple(portions)))
        left_g = water_left_at_boiling_g(cooking.end_temperature_C, sugar_mol, pressure_hPa=cooking.pressure_hPa)
        lost_g = water_g - left_g
    if not -1e-9 <= lost_g <= water_g + 1e-9:
        raise ImpossibleInput(
            f"{recipe.key}.cooking",
            round(put_in_g - lost_g, 3),
            f"a finished mass from {put_in_g - water_g:.4g} g (all water gone) to {put_in_g:.4g} g (none gone)",
            code="impossible_yield",
        )
    return min(max(lost_g, 0.0), water_g)


def _leaves(portions: tuple[Portion, ...]) -> tuple[Leaf, ...]:
    masses: dict[str, float] = {}
    known: dict[str, Ingredient] = {}
    for portion in portions:
        content = portion.content
        parts = (Leaf(content, portion.mass_g),) if isinstance(content, Ingredient) else content.leaves
        for leaf in parts:
            key = leaf.ingredient.key
            known[key] = leaf.ingredient
            masses[key] = masses.get(key, 0.0) + leaf.mass_g
    return tuple(Leaf(known[key], mass_g) for key, mass_g in sorted(masses.items(), key=lambda kv: -kv[1]))


def _allergen_from(leaves: tuple[Leaf, ...]) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for leaf in leaves:
        for note in leaf.ingredient.allergens:
            found.setdefault(note.substance, []).append(leaf.ingredient.name)
    return {substance: tuple(names) for substance, names in sorted(found.items())}


def _allergens(leaves: tuple[Leaf, ...]) -> tuple[AllergenNote, ...]:
    present: dict[str, bool] = {}
    for leaf in leaves:
        for note in leaf.ingredient.allergens:
            present[note.substance] = present.get(note.substance, False) or note.present
    return tuple(AllergenNote(substance, sure) for substance, sure in sorted(present.items()))


def _keeping_risks(recipe: Recipe, portions: tuple[Portion, ...]) -> tuple[str, ...]:
    risks = set(recipe.keeping_risks)
    for portion in portions:
        if portion.inside:
            risks.update(portion.inside.keeping_risks)
        elif portion.ingredient and portion.ingredient.keeping_risk:
            risks.add(portion.ingredient.keeping_risk)
    return tuple(sorted(risks))
