"""Canada's symbol on the front of the pack, for information [from memory]."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from bloomless.rules.common.bands import band
from bloomless.rules.common.nutrients import scaled
from bloomless.rules.decimals import HUNDRED, ONE, plain, round_to
from bloomless.rules.food import Nutrients
from bloomless.rules.law import Law

__all__ = ["front_symbol"]

_WORDS: Final = {"saturated": "saturated fat", "sugars": "sugars", "sodium_mg": "sodium"}


def front_symbol(per_100g: Nutrients, net_g: Decimal | None, law: Law) -> tuple[str, ...]:
    """What the symbol would name, such as ``sugars 21 %``: each at or above its share of the daily value.

    The amount is that of the reference amount, or of the pack where it is eaten at once and is larger (B.01.350).
    """
    reference = law.figure("ca.reference_g")
    mass_g = net_g if net_g is not None and reference < net_g < 2 * reference else reference
    row: Any = band("ca.front_symbol", reference, law)
    amount = scaled(per_100g, mass_g)
    found = []
    for value in law.rows("ca.daily_values"):
        name = value["nutrient"]
        grams = amount.saturated + amount.trans if name == "saturated" else getattr(amount, name)
        percent = grams / value["value"] * HUNDRED
        if percent >= row["percent_dv"]:
            found.append(f"{_WORDS[name]} {plain(round_to(percent, ONE))} %")
    return tuple(found)
