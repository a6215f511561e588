"""Serving sizes of 21 CFR 101.9(b): pieces, bars and fractions against the reference amount."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from bloomless.errors import UnknownName
from bloomless.rules.common.bands import band, rounded
from bloomless.rules.decimals import HUNDRED, ONE, plain, round_to
from bloomless.rules.law import Law

__all__ = ["Serving", "package_rule", "racc_g", "serving"]


@dataclass(frozen=True, slots=True)
class Serving:
    """A serving as it is declared."""

    words: str
    """Such as ``3 pieces (30g)`` or ``1/3 bar (33g)``."""
    mass_g: Decimal
    """Unrounded mass the column is calculated for."""
    servings: str
    """Such as ``about 4`` or ``1``."""
    dual_column: bool
    alternatives: tuple[str, ...] = ()
    """Other lawful servings."""


def racc_g(category: str, law: Law) -> Decimal:
    """Reference amount customarily consumed [g]; raises ``UnknownName``."""
    rows = law.table("us.racc").by("category")
    if category not in rows:
        raise UnknownName("category", category, rows)
    grams: Decimal = rows[category]["grams"]
    return grams


def package_rule(net_g: Decimal, racc: Decimal, law: Law) -> str:
    """``single``, ``dual_column`` or ``multiple`` by the pack's share of the reference amount, (b)(6) and (b)(12)."""
    row: Any = band("us.package_servings", net_g / racc * HUNDRED, law)
    return str(row["rule"])


def _grams(mass_g: Decimal, law: Law) -> str:
    return plain(rounded("us.serving_grams", mass_g, law, "grams")[0])


def _count(servings: Decimal, law: Law) -> str:
    number = rounded("us.servings", servings, law, "servings")[0]
    return plain(number) if number == servings else f"about {plain(number)}"


def _pieces(unit_g: Decimal, racc: Decimal, law: Law) -> tuple[int, tuple[int, ...]]:
    """Pieces in a serving and other lawful numbers of them, (b)(2)(i)."""
    row: Any = band("us.units_per_serving", unit_g / racc, law)
    if row["rule"] == "nearest":
        return max(1, int(round_to(racc / unit_g, ONE))), ()
    others: dict[str, tuple[int, ...]] = {"one": (), "one_or_two": (2,)}
    return 1, others[row["rule"]]


def _fraction(net_g: Decimal, racc: Decimal, law: Law) -> int:
    """Denominator of the allowed fraction whose mass is nearest the reference amount, (b)(2)(ii)."""
    return int(min(law.rows("us.fractions"), key=lambda row: abs(net_g / row["denominator"] - racc))["denominator"])


def serving(
    net_g: Decimal, pieces: int, law: Law, *, category: str = "candy", unit: str = "piece", divisible: bool = True
) -> Serving:
    """The serving of a pack.

    Parameters
    ----------
    net_g
        Net mass of the pack [g].
    pieces
        Discrete units in it; 1 is a bar.
    law
        The law in force.
    category
        Row of the table of reference amounts.
    unit
        Word for one unit: ``piece``, ``bar``.
    divisible
        Whether one large unit can be broken into the fractions of (b)(2)(ii).
    """
    racc = racc_g(category, law)
    rule = package_rule(net_g, racc, law)
    if rule == "single":
        words = f"1 {unit} ({_grams(net_g, law)}g)" if pieces == 1 else f"{pieces} {unit}s ({_grams(net_g, law)}g)"
        return Serving(words, net_g, "1", dual_column=False)
    if pieces == 1 and divisible:
        parts = _fraction(net_g, racc, law)
        mass_g = net_g / parts
        words = f"1/{parts} {unit} ({_grams(mass_g, law)}g)"
        return Serving(words, mass_g, str(parts), dual_column=rule == "dual_column")
    unit_g = net_g / pieces
    number, others = _pieces(unit_g, racc, law)
    mass_g = unit_g * number

    def said(n: int) -> str:
        return f"{n} {unit}{'' if n == 1 else 's'} ({_grams(unit_g * n, law)}g)"

    return Serving(
        said(number), mass_g, _count(net_g / mass_g, law), rule == "dual_column", tuple(said(n) for n in others)
    )
