"""Recipes: from an idea to amounts that balance and keep.

Belongs here: composing, scaling to moulds, filling balance, water activity, keeping, yield, search, exchange as text.
May import: ``physics``, ``materials``, ``numerics``, ``sources``, ``quantities``, ``errors``.
Must never: know money or law, read a file or the clock, promise that something keeps.
"""

from bloomless.recipes.compose import Composed, Pantry, Portion, compose
from bloomless.recipes.recipe import KINDS, Cooking, Line, Measured, Recipe, Step

__all__ = ["KINDS", "Composed", "Cooking", "Line", "Measured", "Pantry", "Portion", "Recipe", "Step", "compose"]
