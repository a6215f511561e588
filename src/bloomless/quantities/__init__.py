"""Quantities: conversion of units and reading of typed numbers, at the border only.

Belongs here: °C/°F/K, g/oz, durations, shares, money as ``Decimal``; how a number is typed and shown.
May import: ``errors``. Must never: know chocolate, keep state, round silently.
"""

from bloomless.quantities.convert import (
    C_from_F,
    C_from_K,
    F_from_C,
    K_from_C,
    g_from_oz,
    oz_from_g,
)
from bloomless.quantities.money import Money, money
from bloomless.quantities.typed import number_from_text, two_figures

__all__ = [
    "C_from_F",
    "C_from_K",
    "F_from_C",
    "K_from_C",
    "Money",
    "g_from_oz",
    "money",
    "number_from_text",
    "oz_from_g",
    "two_figures",
]
