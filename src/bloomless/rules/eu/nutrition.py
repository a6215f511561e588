"""The nutrition declaration of Regulation (EU) 1169/2011 and its UK twin: kJ and kcal apart, salt, rounding."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from bloomless.rules.common.bands import band, rounded
from bloomless.rules.common.nutrients import scaled
from bloomless.rules.decimals import HUNDRED, ONE, plain, round_to
from bloomless.rules.food import Nutrients
from bloomless.rules.law import Law

__all__ = ["EuLine", "carbohydrate_eu", "energy_eu", "eu_amount", "eu_panel", "salt_g", "tolerance_g"]

# name, line of the rounding table, indent
_LINES: Final = (
    ("fat", "fat", 0),
    ("saturated", "saturated", 1),
    ("carbohydrate", "fat", 0),
    ("sugars", "fat", 1),
    ("polyols", "fat", 1),
    ("fibre", "fat", 0),
    ("protein", "fat", 0),
    ("salt", "salt", 0),
)


@dataclass(frozen=True, slots=True)
class EuLine:
    """One line: its name, amounts per 100 g and per piece as printed, share of the reference intake."""

    nutrient: str
    per_100g: str
    per_piece: str
    intake: str
    indent: int


def carbohydrate_eu(amount: Nutrients) -> Decimal:
    """Carbohydrate [g] as the Union means it: metabolised, polyols in, fibre out (Annex I 8)."""
    return max(Decimal(0), amount.carbohydrate - amount.fibre)


def salt_g(sodium_mg: Decimal, law: Law) -> Decimal:
    """Salt [g] of sodium [mg], Annex I 11."""
    return sodium_mg / 1000 * law.figure("eu.salt_of_sodium")


def energy_eu(amount: Nutrients, law: Law) -> tuple[Decimal, Decimal]:
    """Energy [kJ] and [kcal], each from its own factors (Annex XIV), never converted."""
    rows = law.table("eu.energy").by("nutrient")
    acids = amount.organic_acids
    masses = {
        "carbohydrate": carbohydrate_eu(amount) - amount.polyols - acids,
        "polyols": amount.polyols,
        "protein": amount.protein,
        "fat": amount.fat,
        "alcohol": amount.alcohol,
        "organic_acids": acids,
        "fibre": amount.fibre,
    }
    kj = sum((mass * rows[name]["kj_per_g"] for name, mass in masses.items()), Decimal(0))
    kcal = sum((mass * rows[name]["kcal_per_g"] for name, mass in masses.items()), Decimal(0))
    return kj, kcal


def eu_amount(line: str, value: Decimal, law: Law, *, floor: bool = False) -> str:
    """Amount as printed by the guidance; ``floor`` prints ``<0.5 g`` where a zero would also be lawful."""
    row: Any = band("eu.rounding", value, law, line)
    if row["text"]:
        return str(row["floor"] if floor else row["text"])
    number, _ = rounded("eu.rounding", value, law, line)
    # a value that rounds up into the next band is printed as that band prints it: 9.96 is 10, 0.996 is 1.0
    step: Decimal = max(row["step"], band("eu.rounding", number, law, line)["step"])
    places = max(0, -int(step.normalize().as_tuple().exponent))
    return f"{number:.{places}f} g"


def eu_panel(per_100g: Nutrients, piece_g: Decimal | None, law: Law, *, fibre: bool = True) -> tuple[EuLine, ...]:
    """Lines in the order of Annex XV: energy, fat, saturates, carbohydrate, sugars, (fibre), protein, salt."""
    piece = scaled(per_100g, piece_g) if piece_g is not None else None
    intakes = {row["nutrient"]: row["value"] for row in law.rows("eu.reference_intakes")}

    def energy(amount: Nutrients) -> str:
        kj, kcal = energy_eu(amount, law)
        return f"{plain(round_to(kj, ONE))} kJ / {plain(round_to(kcal, ONE))} kcal"

    def value(amount: Nutrients, name: str) -> Decimal:
        if name == "carbohydrate":
            return carbohydrate_eu(amount)
        return salt_g(amount.sodium_mg, law) if name == "salt" else getattr(amount, name)

    def intake(amount: Nutrients | None, name: str) -> str:
        if amount is None or name not in intakes:
            return ""
        return f"{plain(round_to(value(amount, name) / intakes[name] * HUNDRED, ONE))} %"

    kcal_piece = energy_eu(piece, law)[1] if piece is not None else None
    share = "" if kcal_piece is None else f"{plain(round_to(kcal_piece / intakes['energy_kcal'] * HUNDRED, ONE))} %"
    lines = [EuLine("energy", energy(per_100g), energy(piece) if piece else "", share, 0)]
    for name, line, indent in _LINES:
        # polyols are voluntary: they stand where there are any (Annex XV), as a food with sweeteners is read for them
        if (name == "fibre" and not fibre) or (name == "polyols" and not per_100g.polyols):
            continue
        lines.append(
            EuLine(
                name,
                eu_amount(line, value(per_100g, name), law),
                eu_amount(line, value(piece, name), law) if piece is not None else "",
                intake(piece, name),
                indent,
            )
        )
    return tuple(lines)


def tolerance_g(line: str, declared: Decimal, law: Law) -> Decimal:
    """How far a laboratory's figure may lie from the declared one [g in 100 g] by the guidance (from memory).

    ``line`` is ``carbohydrate`` (also sugars, protein, fibre), ``fat``, ``saturated`` or ``salt``.
    """
    row: Any = band("eu.tolerance", declared, law, line)
    allowed: Decimal = row["absolute"] + declared * row["percent"] / HUNDRED
    return allowed
