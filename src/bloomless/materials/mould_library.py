"""The library of moulds by geometry, and moulds to and from plain documents."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, Final

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.mould_walls import WALLS
from bloomless.materials.moulds import Cap, Cavity, Cone, Cylinder, FreeVolume, Frustum, Hemisphere, Hollow, Mould
from bloomless.sources import read_csv

__all__ = ["SHAPES", "library", "mould_from", "mould_to", "words_of"]

SHAPES: Final[dict[str, tuple[type[Any], tuple[str, ...]]]] = {
    "frustum": (Frustum, ("length_mm", "width_mm", "depth_mm", "draft_deg", "breaks_share")),
    "hemisphere": (Hemisphere, ("radius_mm",)),
    "cap": (Cap, ("radius_mm", "depth_mm")),
    "cone": (Cone, ("radius_mm", "depth_mm", "tip_radius_mm")),
    "cylinder": (Cylinder, ("radius_mm", "depth_mm")),
    "hollow": (Hollow, ("full_ml", "skin_cm2", "depth_mm", "rim_cm2")),
    "free": (FreeVolume, ("measured_ml", "depth_mm", "opening_cm2", "draft_deg")),
}
"""Shape in a document: the class and its fields."""

_OPTIONAL: Final = {"draft_deg", "breaks_share", "tip_radius_mm"}


def _cavity(document: Mapping[str, Any]) -> Cavity:
    shape = document.get("shape")
    if shape not in SHAPES:
        raise UnknownName("shape", shape, SHAPES)
    kind, names = SHAPES[shape]
    numbers: dict[str, float] = {}
    for name in names:
        value = document.get(name)
        if value is None and name in _OPTIONAL:
            continue
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ImpossibleInput(name, value, f"a number; a {shape} needs {', '.join(names)}")
        numbers[name] = float(value)
    made: Cavity = kind(**numbers)
    return made


def mould_from(name: str, document: Mapping[str, Any]) -> Mould:
    """Mould of a plain document.

    Parameters
    ----------
    name
        Its name.
    document
        ``shape`` with the fields of ``SHAPES``, ``cavities``, ``material``; ``wall_mm``, ``mass_g``, ``scratched``,
        ``measured`` and ``volume_spread_share`` may be left out.
    """
    cavity = _cavity(document)
    material = document.get("material", "polycarbonate")
    if material not in WALLS:
        raise UnknownName("material", material, WALLS)
    count = document.get("cavities", 1)
    if isinstance(count, bool) or not isinstance(count, int | float) or count != int(count):
        raise ImpossibleInput("cavities", count, "a whole number")
    thick = {"polycarbonate": 2.2, "thermoformed": 0.6, "silicone": 2.0, "steel": 0.4}[material]
    return Mould(
        name=name,
        cavity=cavity,
        cavities=int(count),
        wall=WALLS[material],
        wall_mm=float(document.get("wall_mm") or thick),
        mass_g=float(document.get("mass_g") or 500.0),
        scratched=bool(document.get("scratched", False)),
        measured=str(document.get("measured", "")),
        volume_spread_share=float(document.get("volume_spread_share", 0.04)),
    )


def mould_to(mould: Mould) -> dict[str, Any]:
    """Plain document of a mould; ``mould_from`` reads it back."""
    shape, (_, names) = next((s, entry) for s, entry in SHAPES.items() if isinstance(mould.cavity, entry[0]))
    return {
        "shape": shape,
        **{name: getattr(mould.cavity, name) for name in names},
        "cavities": mould.cavities,
        "material": mould.wall.name,
        "wall_mm": mould.wall_mm,
        "mass_g": mould.mass_g,
        "scratched": mould.scratched,
        "measured": mould.measured,
        "volume_spread_share": mould.volume_spread_share,
    }


def _row(row: Mapping[str, str]) -> dict[str, Any]:
    def number(column: str) -> float | None:
        return float(row[column]) if row[column] else None

    shape, a, b = row["shape"], number("a_mm"), number("b_mm")
    half = None if a is None else a / 2
    fields: dict[str, Any] = {
        "length_mm": a,
        "width_mm": b,
        "radius_mm": half,
        "tip_radius_mm": None if b is None else b / 2,
        "depth_mm": number("depth_mm"),
        "draft_deg": number("draft_deg"),
        "breaks_share": number("breaks_share"),
        "full_ml": number("volume_ml"),
        "measured_ml": number("volume_ml"),
        "skin_cm2": number("skin_cm2"),
        "rim_cm2": number("rim_cm2"),
        "opening_cm2": number("rim_cm2"),
    }
    return {
        "shape": shape,
        **{name: fields[name] for name in SHAPES[shape][1]},
        "cavities": int(row["cavities"]),
        "material": row["material"],
        "wall_mm": number("wall_mm"),
        "mass_g": number("mass_g"),
    }


@cache
def library() -> dict[str, Mould]:
    """Every mould of the library by name; a person's own moulds stand in the book."""
    rows = read_csv("bloomless.materials", "mould_library.csv")
    return {row["name"]: mould_from(row["name"], _row(row)) for row in rows}


@cache
def words_of() -> dict[str, str]:
    """What a mould of the library is, in words."""
    return {row["name"]: row["words"] for row in read_csv("bloomless.materials", "mould_library.csv")}
