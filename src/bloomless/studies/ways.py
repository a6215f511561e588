"""Every way of tempering that the trade uses by hand, each in kitchens that have only the means for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

from bloomless.kitchens import Hands, Kitchen, World, draw_kitchen
from bloomless.studies.advised import AdvisedCook, Adviser
from bloomless.studies.case import CaseSpec, chances_of
from bloomless.studies.work import each_named

__all__ = ["WAYS", "Way", "way_case", "way_rows"]

LIMIT_s: Final = 7200.0
"""Melting first, or waiting for crystals to come of themselves, takes more than the hour of a study."""
COLOUR: Final = (0.03, 0.10)
BATHS: Final = ("warm_bath", "cool_bath")


@dataclass(frozen=True, slots=True)
class Way:
    """A way of tempering: what is at hand, what stands in the bowl at the start, and how it is measured."""

    means: tuple[str, ...]
    kind: str | None = None
    state: str = "melted"
    solid: float = 0.0
    """Share of the bowl that is still tempered pieces."""
    melt_C: float | None = None
    """Temperature of the melt at the start, where it is not hot."""
    mass_kg: float | None = None
    probe: str = "needle"
    stated: bool = False
    """Whether the composition is told."""
    coloured: bool = False
    """Cocoa butter with 3 to 10 % of colour, as is written on its bottle."""


WAYS: Final[dict[str, Way]] = {
    "seeding, dark": Way(("seed", *BATHS), "dark"),
    "seeding, milk": Way(("seed", *BATHS), "milk"),
    "seeding, white": Way(("seed", *BATHS), "white"),
    "seeding, plain cocoa butter": Way(("seed", *BATHS), "cocoa_butter"),
    "seeding, composition stated": Way(("seed", *BATHS), "milk", stated=True),
    "seeding, nothing else at hand": Way(("seed",)),
    "seeding, infrared thermometer": Way(("seed", *BATHS), probe="infrared"),
    "cocoa butter crystals": Way(("cocoa_butter_crystals", *BATHS), "dark"),
    "cocoa butter crystals into cocoa butter": Way(("cocoa_butter_crystals", *BATHS), "cocoa_butter"),
    "cocoa butter crystals into coloured cocoa butter, 80 g": Way(
        ("cocoa_butter_crystals", *BATHS), "cocoa_butter", mass_kg=0.08, coloured=True
    ),
    "seeding, coloured cocoa butter, 80 g": Way(("seed", *BATHS), "cocoa_butter", mass_kg=0.08, coloured=True),
    "from pieces": Way(("seed", *BATHS), state="pieces", solid=0.95, melt_C=22.0, mass_kg=0.6),
    "direct, part melted": Way(BATHS, state="part_melted", solid=0.4, melt_C=36.0, mass_kg=0.8),
    "stone, without seed": Way(("table", "warm_bath"), "dark"),
    "cold bath and rewarm, without seed": Way(BATHS, "dark"),
}
"""Ways by name."""


def _kitchen(way: Way, spec: CaseSpec, chances: Any) -> Kitchen:
    colour = float(chances["kitchen"].uniform(*COLOUR)) if way.coloured else 0.0
    kitchen = draw_kitchen(chances["kitchen"], way.kind or spec.kind, mass_kg=way.mass_kg, colour_share=colour)
    said = {**kitchen.said, "means": list(way.means), "state": way.state}
    said.pop("seed_available_g", None)
    probe = kitchen.probe
    if way.probe == "infrared":
        # It sees the surface: quick, and a little cooler than the bowl, which its offset stands for.
        probe = replace(probe, kind="infrared", lag_s=1.0, offset_K=probe.offset_K - 0.4)
        said["probe"] = {"kind": "infrared"}
    if way.coloured:
        said["chocolate"] = {"kind": "cocoa_butter", "colour": round(colour, 2)}
    if way.stated:
        n = kitchen.numbers
        milk_fat = n["milk_fat_pct"] / 100.0
        said["chocolate"] = {
            "kind": kitchen.kind,
            "fat": round(n["fat_share"], 3),
            "cocoa_butter": round(n["fat_share"] * (1.0 - milk_fat) - 0.0005, 3),
            "milk_fat": round(n["fat_share"] * milk_fat - 0.0005, 3),
        }
    start_C = kitchen.start_C if way.melt_C is None else way.melt_C
    return replace(kitchen, said=said, probe=probe, start_C=start_C)


def way_case(name: str, spec: CaseSpec, bench: Callable[[CaseSpec, str, int], Adviser]) -> dict[str, Any]:
    """One kitchen that has only the means for one way, worked by the advised cook."""
    way, chances = WAYS[name], chances_of(spec)
    kitchen = _kitchen(way, spec, chances)
    hands = Hands(World.begin(kitchen, chances["advised"], solid=way.solid))
    adviser = bench(spec, kitchen.kind, int(chances["filter"].integers(2**31)))
    cook = AdvisedCook(hands, adviser, limit_s=LIMIT_s)
    ended = cook.work()
    return {
        "way": name,
        "kind": kitchen.kind,
        "success": ended.success,
        "used": ended.used,
        "wrong": list(ended.wrong),
        "minutes": round(hands.world.now_s / 60.0, 1),
    }


def way_rows(
    kitchens: int, seed: int, bench: Callable[[CaseSpec, str, int], Adviser], *, jobs: int = 1
) -> Iterator[tuple[str, float, float]]:
    """Name, success and mean minutes (from the start of the session) of every way."""
    for name, records in each_named(way_case, bench, tuple(WAYS), kitchens, seed, jobs=jobs).items():
        good = [record for record in records if record["success"]]
        minutes = sum(record["minutes"] for record in good) / max(len(good), 1)
        yield name, len(good) / kitchens, minutes
