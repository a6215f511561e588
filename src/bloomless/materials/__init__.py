"""Materials: what things are made of.

Belongs here: ingredients, chocolates, fats, vessels, moulds: composition, melting, heat, flow, each table with source.
May import: ``sources``, ``quantities``, ``errors``. Must never: simulate, compose a recipe, know a law.
"""

__all__: list[str] = []
