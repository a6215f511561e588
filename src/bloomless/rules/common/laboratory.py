"""A laboratory's figures against the declared ones: tolerances of the Union's guidance, 80 and 120 % of the US."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Final

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules.common.bands import rounded
from bloomless.rules.decimals import HUNDRED, ZERO, plain
from bloomless.rules.eu.nutrition import carbohydrate_eu, eu_amount, salt_g, tolerance_g
from bloomless.rules.food import Nutrients
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding
from bloomless.rules.us.nutrition import energy_kcal

__all__ = ["ANALYTES", "Analysed", "eu_laboratory", "judge_laboratory", "us_laboratory"]

ANALYTES: Final = {
    "eu": ("fat", "saturated", "carbohydrate", "sugars", "fibre", "protein", "salt"),
    "us": ("calories", "fat", "saturated", "trans", "cholesterol_mg", "sodium_mg", "carbohydrate", "fibre", "sugars",
           "added_sugars", "protein", "calcium_mg", "iron_mg", "potassium_mg"),
}  # fmt: skip
"""What may be analysed for a market's label, in its order; g per 100 g unless named."""

_EU_LINE: Final = {"fat": "fat", "saturated": "saturated", "salt": "salt"}
_US_LINE: Final = {"calories": "calories", "fat": "fat", "saturated": "fat", "trans": "fat",
                   "cholesterol_mg": "cholesterol", "sodium_mg": "sodium"}  # fmt: skip

_SENSE: Final = {"at_least": True, "at_most": False}


@dataclass(frozen=True, slots=True)
class Analysed:
    """One figure found against the one declared, and the range the law leaves it."""

    analyte: str
    declared: Decimal
    found: Decimal
    least: Decimal | None
    most: Decimal | None

    @property
    def holds(self) -> bool:
        """Whether what was found lies in the range."""
        above = self.least is None or self.found >= self.least
        return above and (self.most is None or self.found <= self.most)

    @property
    def range_words(self) -> str:
        """The range in words."""
        if self.least is not None and self.most is not None:
            return f"{plain(self.least)} to {plain(self.most)}"
        return f"at least {plain(self.least)}" if self.least is not None else f"at most {plain(self.most or ZERO)}"


def _checked(market: str, found: Mapping[str, Decimal]) -> None:
    for name, value in found.items():
        if name not in ANALYTES[market]:
            raise UnknownName("analyte", name, ANALYTES[market])
        if not value.is_finite() or value < 0:
            raise ImpossibleInput(name, value, "a number of at least 0")


def eu_laboratory(per_100g: Nutrients, found: Mapping[str, Decimal], law: Law) -> tuple[Analysed, ...]:
    """Figures found [per 100 g] against the printed ones, by the Commission's tolerances [from memory].

    Raises ``UnknownName`` for an analyte the table does not declare.
    """
    _checked("eu", found)
    lines = []
    for name, value in found.items():
        true = carbohydrate_eu(per_100g) if name == "carbohydrate" else (
            salt_g(per_100g.sodium_mg, law) if name == "salt" else getattr(per_100g, name)
        )  # fmt: skip
        declared = Decimal(eu_amount(_EU_LINE.get(name, "fat"), true, law).removesuffix(" g"))
        allowed = tolerance_g(_EU_LINE.get(name, "carbohydrate"), declared, law)
        lines.append(Analysed(name, declared, value, max(ZERO, declared - allowed), declared + allowed))
    return tuple(lines)


def us_laboratory(
    per_100g: Nutrients, serving_g: Decimal, found: Mapping[str, Decimal], law: Law
) -> tuple[Analysed, ...]:
    """Figures found [per 100 g], taken to the serving, against the printed ones by 21 CFR 101.9(g) [from memory]."""
    _checked("us", found)
    shares = law.table("us.compliance").by("nutrient")
    part = serving_g / HUNDRED
    plain_fields = {item.name for item in fields(Nutrients)}
    lines = []
    for name, value in found.items():
        true = getattr(per_100g, name) if name in plain_fields else energy_kcal(per_100g, law)
        declared = true * part
        if name in _US_LINE or not name.endswith("_mg"):
            declared = rounded("us.rounding", true * part, law, _US_LINE.get(name, "carbohydrate"))[0]
        bound = declared * shares[name]["limit_pct"] / HUNDRED
        low = _SENSE[shares[name]["sense"]]
        # what prints the same as declared is declared right, however near zero it lies
        line = _US_LINE.get(name, "" if name.endswith("_mg") else "carbohydrate")
        if line and rounded("us.rounding", value * part, law, line) == rounded("us.rounding", true * part, law, line):
            bound = min(bound, value * part) if low else max(bound, value * part)
        lines.append(Analysed(name, declared, value * part, bound if low else None, None if low else bound))
    return tuple(lines)


def judge_laboratory(lines: tuple[Analysed, ...], jurisdiction: str, law: Law) -> tuple[Finding, ...]:
    """A finding for every figure outside its range."""
    found: list[Finding] = []
    for line in lines:
        facts = {
            "analyte": line.analyte.removesuffix("_mg").replace("_", " "), "declared": line.declared,
            "found": line.found, "range_words": line.range_words, "holds": line.holds,
        }  # fmt: skip
        found += law.judge(jurisdiction, "laboratory", facts)
    return tuple(found)
