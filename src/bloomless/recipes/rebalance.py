"""What to change so that a recipe meets a target: the fewest changes, then the smallest.

The recipe is linearised, the fewest lines that reach the goals are searched (``fewest_moves``), and the amounts are
polished on fresh slopes until the true figures agree.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.composition import PARTS
from bloomless.recipes.balance import balance
from bloomless.recipes.compose import Composed, Pantry, compose
from bloomless.recipes.fewest_moves import FewestMoves
from bloomless.recipes.recipe import Line, Measured, Recipe
from bloomless.recipes.water_activity import water_activity

__all__ = ["HELPERS", "QUANTITIES", "Change", "Goal", "Rebalanced", "rebalance"]

HELPERS: Final[Mapping[str, float]] = {
    "cocoa_butter": 0.15,
    "glucose_syrup_de60": 0.15,
    "invert_paste": 0.15,
    "sorbitol_powder": 0.06,
    "cream_35": 0.40,
    "butter_unsalted": 0.20,
    "water": 0.10,
}
"""Ingredients that may be added if the recipe's own lines do not suffice, each with the largest share [assumed]."""
KEEPS_AT_LEAST: Final = 0.4
"""A line keeps this share of itself; beyond that it would be another recipe [assumed]."""
MOST_ROUNDS: Final = 12
TOLERANCE: Final = 1e-4

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Goal:
    """A quantity of the finished thing and the range it is to end in."""

    quantity: str
    low: float = -np.inf
    high: float = np.inf

    def __post_init__(self) -> None:
        if self.quantity not in QUANTITIES:
            raise UnknownName("quantity", self.quantity, QUANTITIES)
        if not self.low <= self.high:
            raise ImpossibleInput("low", self.low, f"at most high ({self.high:g})")


@dataclass(frozen=True, slots=True)
class Change:
    """One line with another amount."""

    key: str
    name: str
    before_g: float
    after_g: float
    why: str


@dataclass(frozen=True, slots=True)
class Rebalanced:
    """The changed recipe, what was changed and why, and whether every goal is met."""

    recipe: Recipe
    changes: tuple[Change, ...]
    before: Mapping[str, float]
    after: Mapping[str, float]
    met: bool
    missed: tuple[str, ...]
    """Quantities that no change within the allowed lines brings into their range."""


def _water_activity(made: Composed) -> float:
    found = water_activity(made, measured=_NOTHING_MEASURED)
    return found.value if found.value is not None else 0.5 * (found.low + found.high)


def _part(name: str) -> Callable[[Composed], float]:
    return lambda made: float(getattr(made.per_100g, name))


def _figure(name: str) -> Callable[[Composed], float]:
    return lambda made: float(getattr(balance(made), name) or 0.0)


_NOTHING_MEASURED = Measured()
QUANTITIES: Final[Mapping[str, Callable[[Composed], float]]] = {
    **{name: _part(name) for name in PARTS if name.endswith("_g")},
    **{
        name: _figure(name)
        for name in ("sweet_g", "fat_to_water", "oil_volume_share", "sweetness", "firmness_index", "sucrose_saturation")
    },
    "lactose_per_water": _figure("lactose_per_water"),
    "water_activity": _water_activity,
}
"""What a goal may be set for."""


def rebalance(
    recipe: Recipe,
    pantry: Pantry,
    goals: Sequence[Goal],
    *,
    locked: Sequence[str] = (),
    helpers: Sequence[str] = tuple(HELPERS),
) -> Rebalanced:
    """Find the fewest changes of a recipe that bring every goal into its range.

    Parameters
    ----------
    recipe, pantry
        The recipe and what it refers to; the mass that is put in stays as it is.
    goals
        Quantities and ranges.
    locked
        Keys of lines that must stay as they are.
    helpers
        Ingredients that may be added.

    Returns
    -------
    Rebalanced
        If no recipe meets every goal, the nearest one, with the goals it misses.
    """
    if not goals:
        raise ImpossibleInput("goals", 0, "at least one goal")
    added = [key for key in helpers if key in pantry.ingredients and all(line.of != key for line in recipe.lines)]
    widened = replace(recipe, lines=(*recipe.lines, *(Line(key, 0.0) for key in added)), declared_mass_g=None)
    problem = _Problem(widened, pantry, tuple(goals), frozenset(locked), len(recipe.lines))
    start = np.array([line.mass_g for line in widened.lines], dtype=np.float64)
    masses, missed = problem.solve(start)
    after = problem.figures(masses)
    before = problem.figures(start)
    made = replace(
        recipe,
        lines=tuple(
            replace(line, mass_g=float(g))
            for number, (line, g) in enumerate(zip(widened.lines, masses, strict=True))
            if g > 0.0 or number < len(recipe.lines)
        ),
    )
    return Rebalanced(
        recipe=made,
        changes=problem.changes(start, masses),
        before={g.quantity: float(v) for g, v in zip(goals, before, strict=True)},
        after={g.quantity: float(v) for g, v in zip(goals, after, strict=True)},
        met=not missed,
        missed=missed,
    )


@dataclass(frozen=True, slots=True)
class _Problem:
    """A recipe with all its allowed lines, and the goals."""

    recipe: Recipe
    pantry: Pantry
    goals: tuple[Goal, ...]
    locked: frozenset[str]
    old_lines: int

    def figures(self, masses: Array) -> Array:
        lines = tuple(replace(line, mass_g=float(g)) for line, g in zip(self.recipe.lines, masses, strict=True))
        made = compose(replace(self.recipe, lines=lines), self.pantry)
        return np.array([QUANTITIES[goal.quantity](made) for goal in self.goals])

    def slopes(self, masses: Array, at: Array) -> Array:
        """Change of every figure for one gram more of a line (the mass is not held; the program holds it)."""
        step = 1e-4 * masses.sum()
        columns = []
        for number in range(masses.size):
            moved = masses.copy()
            moved[number] += step
            columns.append((self.figures(moved) - at) / step)
        return np.array(columns).T

    def scales(self) -> Array:
        """What counts as one unit of missing a goal."""
        return np.array([_SCALE.get(goal.quantity, 1.0) for goal in self.goals])

    def gap(self, figures: Array) -> Array:
        low = np.array([goal.low for goal in self.goals])
        high = np.array([goal.high for goal in self.goals])
        return np.asarray(np.maximum(0.0, np.maximum(low - figures, figures - high)) / self.scales())

    def solve(self, start: Array) -> tuple[Array, tuple[str, ...]]:
        """Linearise, find the fewest lines that reach the goals, then polish how much on fresh slopes."""
        best, best_gap, best_moved = start, self.gap(self.figures(start)), 0.0
        if best_gap.max() <= TOLERANCE:
            return start, ()
        at, support = start, None
        for _ in range(MOST_ROUNDS):
            program = self._linearised(start, at)
            moves = None if support is None else program.fewest_moves_in(support)
            if moves is None:
                support, moves = program.fewest()
            masses = np.where(np.abs(moves) < 1e-9, start, np.maximum(0.0, start + moves * start.sum()))
            gap, moved = self.gap(self.figures(masses)), float(np.abs(moves).sum())
            meets, met = gap.max() <= TOLERANCE, best_gap.max() <= TOLERANCE
            if (meets and (not met or moved < best_moved)) or (not met and gap.sum() < best_gap.sum() - 1e-9):
                best, best_gap, best_moved = masses, gap, moved
            if np.abs(masses - at).max() < 1e-6 * start.sum():
                break
            at = masses
        missed = tuple(g.quantity for g, miss in zip(self.goals, best_gap, strict=True) if miss > 10 * TOLERANCE)
        return best, missed

    def _linearised(self, start: Array, at: Array) -> FewestMoves:
        total, figures = float(start.sum()), self.figures(at)
        slope = self.slopes(at, figures) * total / self.scales()[:, None]
        x0 = start / total
        offset = figures / self.scales() - slope @ (at / total) + slope @ x0
        low = np.array([goal.low for goal in self.goals]) / self.scales() - offset
        high = np.array([goal.high for goal in self.goals]) / self.scales() - offset
        free = np.array([line.of not in self.locked for line in self.recipe.lines])
        most = np.array([HELPERS.get(line.of, 1.0) for line in self.recipe.lines])
        return FewestMoves(
            slope,
            low + 0.2 * TOLERANCE,
            high - 0.2 * TOLERANCE,
            least=-1.0 * free * x0 * (1.0 - KEEPS_AT_LEAST),
            most=free * np.maximum(0.0, most - x0),
            dear=np.arange(start.size) >= self.old_lines,
        )

    def changes(self, start: Array, masses: Array) -> tuple[Change, ...]:
        """What changed, largest first, each with the goal it serves most."""
        total = float(start.sum())
        figures = self.figures(start)
        slope = self.slopes(start, figures)
        unmet = self.gap(figures) > TOLERANCE
        found = []
        for number, line in enumerate(self.recipe.lines):
            moved_g = float(masses[number] - start[number])
            if abs(moved_g) <= 1e-6 * total:
                continue
            name = self.pantry.recipes[line.of].name if line.is_recipe else self.pantry.ingredients[line.of].name
            effect = slope[:, number] * moved_g
            found.append(Change(line.of, name, float(start[number]), float(masses[number]), self._why(effect, unmet)))
        return tuple(sorted(found, key=lambda change: -abs(change.after_g - change.before_g)))

    def _why(self, effect: Array, unmet: NDArray[np.bool_]) -> str:
        weight = np.abs(effect) / self.scales() * np.where(unmet, 1.0, 0.3)
        most = int(np.argmax(weight))
        quantity = self.goals[most].quantity
        if weight[most] < 0.02:
            return "makes room so that the mass stays the same"
        verb = "raises" if effect[most] > 0 else "lowers"
        digits = 3 if quantity == "water_activity" else 2
        word = WORDS.get(quantity, quantity.removesuffix("_g").replace("_", " "))
        return f"{verb} {word} by {abs(effect[most]):.{digits}f}"


_SCALE: Final = {
    "water_activity": 0.01,
    "fat_to_water": 0.1,
    "oil_volume_share": 0.01,
    "sucrose_saturation": 0.1,
    "lactose_per_water": 0.05,
}
WORDS: Final = {
    "sweet_g": "sugars and sweeteners",
    "fat_to_water": "fat to water",
    "oil_volume_share": "the oil's share of the volume",
    "water_activity": "water activity",
    "firmness_index": "firmness",
    "sucrose_saturation": "sucrose saturation",
    "lactose_per_water": "lactose in the water",
}
