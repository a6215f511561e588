"""Pieces in a bar: how much fits, whether they sink or float, how much they cool the bowl, what to watch."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final, Literal, TypeAlias

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.moulds import Mould
from bloomless.recipes.findings import Finding
from bloomless.sources import Grade, Sourced, read_csv

__all__ = ["Inclusion", "InclusionPlan", "held_by_yield", "inclusions", "mixed_C", "plan_inclusions"]

Where: TypeAlias = Literal["inside", "back"]

LOOSE: Final = Sourced(0.55, "1", 0.05, "assumed", Grade.ASSUMED, note="share of volume of loosely poured pieces")
HELD: Final = Sourced(0.143, "1", 0.01, "tsamopoulos_2008", Grade.FROM_MEMORY, note="yield number that holds a sphere")
INSIDE_MOST: Final = Sourced(0.35, "1", 0.05, "common_practice", Grade.TRADE_PRACTICE, note="by volume, still pours")


@dataclass(frozen=True, slots=True)
class Inclusion:
    """Something to put in."""

    name: str
    words: str
    density_kg_m3: float
    heat_J_kgK: float
    conductivity_W_mK: float
    piece_mm: float
    least_C: float
    """Coldest at which it should meet the chocolate."""
    water_limit_pct: float
    allergens: tuple[str, ...]
    caution: str


@cache
def inclusions() -> dict[str, Inclusion]:
    """The usual ones by name; all values assumed, a weighed handful beats them."""
    found: dict[str, Inclusion] = {}
    for row in read_csv("bloomless.recipes", "inclusions.csv"):
        found[row["name"]] = Inclusion(
            name=row["name"],
            words=row["words"],
            density_kg_m3=float(row["density_kg_m3"]),
            heat_J_kgK=float(row["heat_J_kgK"]),
            conductivity_W_mK=float(row["conductivity_W_mK"]),
            piece_mm=float(row["piece_mm"]),
            least_C=float(row["least_C"]),
            water_limit_pct=float(row["water_limit_pct"]),
            allergens=tuple(a for a in row["allergens"].split(" ") if a),
            caution=row["caution"],
        )
    return found


def inclusion_named(name: str) -> Inclusion:
    """An inclusion of the table."""
    if name not in inclusions():
        raise UnknownName("inclusion", name, inclusions())
    return inclusions()[name]


def mixed_C(chocolate_C: float, inclusion_C: float, share_by_mass: float, heat_J_kgK: float = 2000.0) -> float:
    """Temperature after mixing, the heat of crystals left out.

    20 % of nuts (2.0 kJ/(kg K)) at 18 °C in chocolate of 31.5 °C (1.6) take it to 28.3 °C.
    """
    if not 0 <= share_by_mass < 1:
        raise ImpossibleInput("share_by_mass", share_by_mass, "0 to below 1")
    warm, cold = (1 - share_by_mass) * 1600.0, share_by_mass * heat_J_kgK
    return (warm * chocolate_C + cold * inclusion_C) / (warm + cold)


def held_by_yield(yield_Pa: float, inclusion: Inclusion, density_kg_m3: float = 1250.0) -> bool:
    """Whether the yield stress keeps a piece where it was put, until it is tapped: 3τ/(2gΔρR) above 0.143."""
    apart = abs(inclusion.density_kg_m3 - density_kg_m3)
    weight = 2 * 9.80665 * apart * inclusion.piece_mm / 2000
    return apart == 0 or 3 * yield_Pa / weight > HELD.value


@dataclass(frozen=True, slots=True)
class InclusionPlan:
    """Pieces for all moulds."""

    name: str
    words: str
    where: Where
    share_by_mass: float
    share_by_volume: float
    on_piece_g: float
    take_g: float
    most_on_piece_g: float
    """As much as fits."""
    moves: Literal["stays", "sinks", "floats"]
    least_C: float
    mixture_C: float | None
    """Temperature of bowl and pieces mixed; ``None`` on the back."""
    findings: tuple[Finding, ...]


def plan_inclusions(
    mould: Mould,
    moulds: int,
    name: str,
    *,
    share_by_mass: float,
    where: Where = "inside",
    chocolate_C: float = 31.5,
    inclusion_C: float = 22.0,
    working_low_C: float = 29.3,
    yield_Pa: float = 20.0,
    density_kg_m3: float = 1250.0,
) -> InclusionPlan:
    """Amount and handling of pieces in or on bars.

    Parameters
    ----------
    mould, moulds
        What is cast, and how many.
    name
        Inclusion of the table.
    share_by_mass
        Of the finished piece.
    where
        ``inside`` stirred in, or on the ``back`` of the poured bar.
    chocolate_C, inclusion_C, working_low_C
        Temperatures of both, and the lower end of the working window.
    yield_Pa, density_kg_m3
        Of the tempered chocolate.
    """
    inclusion = inclusion_named(name)
    if not 0 < share_by_mass <= 0.6:
        raise ImpossibleInput("share_by_mass", share_by_mass, "above 0 and at most 0.6")
    if where not in ("inside", "back"):
        raise ImpossibleInput("where", where, "inside or back")
    parts = share_by_mass / inclusion.density_kg_m3, (1 - share_by_mass) / density_kg_m3
    by_volume = parts[0] / sum(parts)
    piece_g = mould.cavity.volume_ml / 1000 / sum(parts)
    most = _most_g(mould, inclusion, where)
    on_piece = share_by_mass * piece_g
    mixture = mixed_C(chocolate_C, inclusion_C, share_by_mass, inclusion.heat_J_kgK) if where == "inside" else None
    held = held_by_yield(yield_Pa, inclusion, density_kg_m3)
    moves: Literal["stays", "sinks", "floats"] = (
        "stays" if held else "sinks" if inclusion.density_kg_m3 > density_kg_m3 else "floats"
    )
    found = _notice(mould, inclusion, where, on_piece, most, inclusion_C, mixture, working_low_C, moves)
    return InclusionPlan(
        name, inclusion.words, where, share_by_mass, by_volume, on_piece, on_piece * mould.cavities * moulds * 1.03,
        most, moves, inclusion.least_C, mixture, tuple(found),
    )  # fmt: skip


def _most_g(mould: Mould, inclusion: Inclusion, where: Where) -> float:
    """Grams that fit: by volume inside, as one loose layer on the back."""
    if where == "inside":
        return INSIDE_MOST.value * mould.cavity.volume_ml * inclusion.density_kg_m3 / 1000
    return LOOSE.value * mould.cavity.opening_cm2 * inclusion.piece_mm / 10 * inclusion.density_kg_m3 / 1000


def _notice(
    mould: Mould, inclusion: Inclusion, where: Where, on_piece_g: float, most_g: float, inclusion_C: float,
    mixture_C: float | None, low_C: float, moves: str,
) -> list[Finding]:  # fmt: skip
    found: list[Finding] = []
    if on_piece_g > most_g:
        found.append(
            Finding(
                "too_much_inclusion",
                "stop",
                f"{on_piece_g:.1f} g a piece do not fit {where}: about {most_g:.1f} g do.",
                on_piece_g,
                most_g,
                "assumed",
            )
        )
    if where == "inside" and inclusion.piece_mm > mould.cavity.depth_mm - 1.0:
        found.append(
            Finding(
                "inclusion_too_large",
                "care",
                f"“{inclusion.words}” of {inclusion.piece_mm:g} mm stand out of a cavity {mould.cavity.depth_mm:g} "
                "mm deep: "
                "chop them or put them on the back.",
                inclusion.piece_mm,
                mould.cavity.depth_mm,
                "derived",
            )
        )
    if inclusion_C < inclusion.least_C:
        found.append(
            Finding(
                "inclusion_cold",
                "care",
                f"“{inclusion.words}” at {inclusion_C:g} °C chill the chocolate around them: pale rims and pits. "
                f"Bring them to {inclusion.least_C:g} °C or more, dry.",
                inclusion_C,
                inclusion.least_C,
            )
        )
    if mixture_C is not None and mixture_C < low_C:
        found.append(
            Finding(
                "mixture_cold",
                "care",
                f"Stirred in, they take the bowl to {mixture_C:.1f} °C, below its window ({low_C:g} °C): it "
                "stiffens and "
                "holds bubbles. Warm the pieces to 26-28 °C, or stir them in in parts.",
                mixture_C,
                low_C,
                "derived",
            )
        )
    if moves != "stays":
        found.append(
            Finding(
                "inclusion_moves",
                "note",
                f"They {'sink' if moves == 'sinks' else 'float up'} until it sets: tap little.",
            )
        )
    return found + _cautions(inclusion)


def _cautions(inclusion: Inclusion) -> list[Finding]:
    """What can hurt someone."""
    found: list[Finding] = []
    if inclusion.allergens:
        found.append(
            Finding(
                "allergen",
                "care",
                f"Allergen on board: {', '.join(f'“{a}”' for a in inclusion.allergens)}. "
                "Label it, keep the rest of the bowl apart, wash moulds and tools before anything without it.",
            )
        )
    if inclusion.caution == "choking":
        found.append(Finding("choking", "care", "Whole nuts are not for children under about five years: say so."))
    if inclusion.caution == "moist":
        found.append(
            Finding(
                "moist_inclusion",
                "care",
                f"Their water matters: above about {inclusion.water_limit_pct:g} % it softens, crystallises "
                "sugar, and may "
                "let moulds grow. Dry them; a water activity measured by a laboratory decides, and local codes.",
            )
        )
    return found
