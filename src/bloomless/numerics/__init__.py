"""Numerics: algorithms that know no food.

Belongs here: integrators, particle filter, resampling, tridiagonal and enthalpy kernels.
May import: ``sources``, ``quantities``, ``errors``. Must never: hold a property of a material, name an ingredient.
"""
