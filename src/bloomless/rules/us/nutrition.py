"""Nutrition Facts of 21 CFR 101.9: energy, rounding, daily values, lines of the panel."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from bloomless.rules.common.bands import rounded
from bloomless.rules.common.nutrients import scaled
from bloomless.rules.decimals import HUNDRED, ONE, plain, round_to
from bloomless.rules.food import Nutrients
from bloomless.rules.law import Law

__all__ = [
    "EnergyMethod",
    "PanelLine",
    "UsPanel",
    "daily_percent",
    "energy_kcal",
    "line_text",
    "us_panel",
    "vitamin_line",
]

EnergyMethod = Literal["general", "less_fibre"]

# line name of the rounding table, field, words, unit, indent, has a daily value
_LINES: Final = (
    ("fat", "fat", "Total Fat", "g", 0, True),
    ("fat", "saturated", "Saturated Fat", "g", 1, True),
    ("fat", "trans", "Trans Fat", "g", 1, False),
    ("cholesterol", "cholesterol_mg", "Cholesterol", "mg", 0, True),
    ("sodium", "sodium_mg", "Sodium", "mg", 0, True),
    ("carbohydrate", "carbohydrate", "Total Carbohydrate", "g", 0, True),
    ("carbohydrate", "fibre", "Dietary Fiber", "g", 1, True),
    ("carbohydrate", "sugars", "Total Sugars", "g", 1, False),
    ("carbohydrate", "added_sugars", "Includes {} Added Sugars", "g", 2, True),
    ("carbohydrate", "polyols", "Sugar Alcohol", "g", 1, False),
    ("carbohydrate", "protein", "Protein", "g", 0, False),
)


@dataclass(frozen=True, slots=True)
class PanelLine:
    """One line of a panel: words, amount as printed, percent of the daily value as printed."""

    nutrient: str
    label: str
    amount: str
    percent: str
    indent: int


@dataclass(frozen=True, slots=True)
class UsPanel:
    """A column of Nutrition Facts for one mass."""

    mass_g: Decimal
    calories: str
    lines: tuple[PanelLine, ...]
    vitamins: tuple[PanelLine, ...]


def energy_kcal(amount: Nutrients, law: Law, method: EnergyMethod = "general") -> Decimal:
    """Energy [kcal] of nutrients.

    ``general``: 4/4/9 on protein, total carbohydrate and fat, (c)(1)(i)(B). ``less_fibre``: carbohydrate less fibre
    and polyols, polyols at the factor of sorbitol, (c)(1)(i)(C) and (F); soluble fibre is then counted as none.
    """
    factors = {row["nutrient"]: row["kcal_per_g"] for row in law.rows("us.energy")}
    carbohydrate = amount.carbohydrate
    extra = amount.alcohol * law.figure("us.energy_alcohol")
    if method == "less_fibre":
        special = {row["nutrient"]: row["kcal_per_g"] for row in law.rows("us.energy_special")}
        carbohydrate -= amount.fibre + amount.polyols
        extra += amount.polyols * special["sorbitol"]
    energy: Decimal = (
        amount.protein * factors["protein"]
        + carbohydrate * factors["carbohydrate"]
        + amount.fat * factors["fat"]
        + extra
    )
    return energy


def line_text(line: str, value: Decimal, unit: str, law: Law) -> str:
    """Amount of a line as it is printed, such as ``13 g``, ``less than 5 mg`` or ``180``."""
    number, words = rounded("us.rounding", value, law, line)
    return words or f"{plain(number)} {unit}".strip()


def daily_percent(nutrient: str, value: Decimal, law: Law, *, of_rounded: str = "") -> str:
    """Percent of the daily value, nearest whole.

    Parameters
    ----------
    nutrient, value
        Field of ``Nutrients`` and its unrounded amount.
    law
        The law in force.
    of_rounded
        Line of the rounding table when the percentage is taken of the rounded amount; both are lawful, (d)(7)(ii)
        [from memory].
    """
    reference = {row["nutrient"]: row["value"] for row in law.rows("us.daily_values")}
    if nutrient not in reference:
        return ""
    amount = rounded("us.rounding", value, law, of_rounded)[0] if of_rounded else value
    return f"{plain(round_to(amount / reference[nutrient] * HUNDRED, ONE))}%"


def vitamin_line(nutrient: str, value: Decimal, law: Law) -> PanelLine:
    """A vitamin or mineral: its amount by the size of the daily value, its percentage in the steps of (c)(8)(iii)."""
    row = law.table("us.vitamin_amount").by("nutrient")[nutrient]
    reference = {r["nutrient"]: r["value"] for r in law.rows("us.daily_values")}[nutrient]
    number, words = rounded("us.vitamin_percent", value / reference * HUNDRED, law, "percent")
    amount = f"{plain(round_to(value, row['step']))}{row['unit']}"
    return PanelLine(nutrient, row["label"], amount, words or f"{plain(number)}%", 0)


def us_panel(
    per_100g: Nutrients,
    mass_g: Decimal,
    law: Law,
    *,
    method: EnergyMethod = "general",
    percent_of_rounded: bool = False,
) -> UsPanel:
    """One column of Nutrition Facts.

    Parameters
    ----------
    per_100g
        Nutrients of the finished food.
    mass_g
        Serving, or whole pack for the second column [g].
    law
        The law in force.
    method
        How energy is counted, see ``energy_kcal``.
    percent_of_rounded
        Whether percentages are of the printed amounts.
    """
    amount = scaled(per_100g, mass_g)
    lines = []
    for rounding, name, label, unit, indent, has_value in _LINES:
        value: Decimal = getattr(amount, name)
        if name == "polyols" and not value:  # due with a claim about sugars, allowed always, (c)(6)(iv) [from memory]
            continue
        text = line_text(rounding, value, unit, law).replace(" g", "g").replace(" mg", "mg")
        percent = ""
        if has_value:
            percent = daily_percent(name, value, law, of_rounded=rounding if percent_of_rounded else "")
        lines.append(PanelLine(name, label.format(text), text, percent, indent))
    present = {row["nutrient"] for row in law.rows("us.daily_values")}
    vitamins = tuple(
        vitamin_line(row["nutrient"], getattr(amount, row["nutrient"]), law)
        for row in law.rows("us.vitamin_amount")
        if row["nutrient"] in present
    )
    calories = line_text("calories", energy_kcal(amount, law, method), "", law)
    return UsPanel(mass_g, calories, tuple(lines), vitamins)
