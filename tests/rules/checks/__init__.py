"""The checks by subject; importing the package gathers them all."""

from rules.checks import (
    allergens,
    codes_and_dates,
    colours,
    identity,
    limits,
    net_quantity,
    nutrition_eu,
    nutrition_us,
    paper_and_laboratory,
)
from rules.checks.register import CHECKS, MORE

__all__ = [
    "CHECKS",
    "MORE",
    "allergens",
    "codes_and_dates",
    "colours",
    "identity",
    "limits",
    "net_quantity",
    "nutrition_eu",
    "nutrition_us",
    "paper_and_laboratory",
]
