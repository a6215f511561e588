"""A recipe as data: lines, steps, what cooking takes away, what is left behind."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from bloomless.errors import ImpossibleInput

__all__ = ["KINDS", "PARTS_OF_A_PIECE", "Cooking", "Line", "Measured", "Recipe", "Step"]

KINDS: Final = (
    "couverture_blend",
    "ganache",
    "caramel",
    "praline",
    "gianduja",
    "marzipan",
    "fruit_gel",
    "coloured_cocoa_butter",
    "inclusion",
    "bar",
    "bonbon",
    "bark",
    "other",
)
"""Kinds of recipe; bars, bonbons and bark are what is sold, the rest goes into them."""

PARTS_OF_A_PIECE: Final = ("", "shell", "filling", "cap", "colour", "inclusion")
"""Where a line ends up; parts that touch but do not mix keep a water activity of their own."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a recipe: so much of an ingredient, or of another recipe."""

    of: str
    """Key of the ingredient or of the recipe."""
    mass_g: float
    """What goes in, ready for use."""
    is_recipe: bool = False
    part: str = ""
    """One of ``PARTS_OF_A_PIECE``."""
    preparation: str = ""
    """What is done to it first: ``roasted, skinned, chopped``."""
    trim_share: float = 0.0
    """Share of what is taken from the stock that does not reach the bowl: skins, shells, seeds."""
    base: bool = False
    """True if the others are counted in per cent of this one (of the sum of these, if there are several)."""
    lot: str = ""
    """Lot of the goods that was used, if it is already known."""

    def __post_init__(self) -> None:
        if not self.of:
            raise ImpossibleInput("of", self.of, "the key of an ingredient or a recipe")
        if not 0.0 <= self.mass_g < 1e9:
            raise ImpossibleInput("mass_g", self.mass_g, "an amount of 0 g or more", code="impossible_amount")
        if not 0.0 <= self.trim_share < 1.0:
            raise ImpossibleInput("trim_share", self.trim_share, "a share from 0 to below 1")
        if self.part not in PARTS_OF_A_PIECE:
            raise ImpossibleInput("part", self.part, f"one of {', '.join(PARTS_OF_A_PIECE[1:])}, or nothing")

    @property
    def from_stock_g(self) -> float:
        """Mass to take from the stock, trimmings included, g."""
        return self.mass_g / (1.0 - self.trim_share)


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do."""

    text: str
    temperature_C: float | None = None
    hands_min: float = 0.0
    """Minutes that need a person."""
    wait_min: float = 0.0
    """Minutes that pass by themselves."""
    caution: str = ""
    """Key of a caution to show with it, such as ``burns``."""

    def __post_init__(self) -> None:
        if not self.text.strip():
            raise ImpossibleInput("text", self.text, "what is to be done")
        if self.temperature_C is not None and not -40.0 <= self.temperature_C <= 250.0:
            raise ImpossibleInput("temperature_C", self.temperature_C, "a temperature from −40 to 250 °C")
        for name in ("hands_min", "wait_min"):
            if not 0.0 <= getattr(self, name) <= 100_000.0:
                raise ImpossibleInput(name, getattr(self, name), "minutes, 0 or more")


@dataclass(frozen=True, slots=True)
class Cooking:
    """How far water is boiled off. Give one of the three; the person's own weighing is the surest."""

    finished_g: float | None = None
    """Mass after cooking, weighed."""
    final_water_share: float | None = None
    """Water in what is left, 0…1."""
    end_temperature_C: float | None = None
    """Boiling temperature at which cooking stops."""
    pressure_hPa: float = 1013.25
    """Air pressure of the kitchen itself; falls by about 12 hPa every 100 m."""

    def __post_init__(self) -> None:
        given = [n for n in ("finished_g", "final_water_share", "end_temperature_C") if getattr(self, n) is not None]
        if len(given) != 1:
            raise ImpossibleInput("cooking", given, "exactly one of finished_g, final_water_share, end_temperature_C")
        if self.finished_g is not None and not 0.0 < self.finished_g < 1e9:
            raise ImpossibleInput("finished_g", self.finished_g, "a mass above 0 g")
        if self.final_water_share is not None and not 0.0 <= self.final_water_share < 1.0:
            raise ImpossibleInput("final_water_share", self.final_water_share, "a share from 0 to below 1")
        if self.end_temperature_C is not None and not 95.0 <= self.end_temperature_C <= 170.0:
            raise ImpossibleInput("end_temperature_C", self.end_temperature_C, "a boiling point from 95 to 170 °C")
        if not 500.0 <= self.pressure_hPa <= 1100.0:
            raise ImpossibleInput("pressure_hPa", self.pressure_hPa, "an air pressure from 500 to 1100 hPa")


@dataclass(frozen=True, slots=True)
class Measured:
    """What a laboratory or a meter said of the finished thing; it overrides every prediction."""

    water_activity: float | None = None
    water_activity_sd: float = 0.02
    """Standard deviation of the instrument; a meter checked on salt slurries has about 0.02."""
    ph: float | None = None
    on: str = ""
    """Date, ISO 8601."""
    instrument: str = ""
    temperature_C: float = 25.0

    def __post_init__(self) -> None:
        if self.water_activity is not None and not 0.0 < self.water_activity <= 1.0:
            raise ImpossibleInput("water_activity", self.water_activity, "a number above 0 and at most 1")
        if not 0.0 < self.water_activity_sd <= 0.2:
            raise ImpossibleInput("water_activity_sd", self.water_activity_sd, "a number above 0 and at most 0.2")
        if self.ph is not None and not 0.0 <= self.ph <= 14.0:
            raise ImpossibleInput("ph", self.ph, "a number from 0 to 14")


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe: its lines make ``pieces`` pieces, or simply the mass that is left."""

    key: str
    name: str
    kind: str
    lines: tuple[Line, ...]
    steps: tuple[Step, ...] = ()
    cooking: Cooking | None = None
    left_behind_share: float = 0.0
    """Share of the finished mass that stays in bowl, bag, sieve or on the knife."""
    reject_share: float = 0.0
    """Share of the pieces that are not good enough to sell."""
    pieces: float | None = None
    """How many pieces the lines make; None if it is a mass."""
    tags: tuple[str, ...] = ()
    keeping_risks: tuple[str, ...] = ()
    """What the ingredients alone do not tell: ``oil infusion``, ``fresh herb``, ``garlic`` …"""
    measured: Measured | None = None
    photo: str = ""
    note: str = ""
    author: str = ""
    variant_of: str = ""
    declared_mass_g: float | None = None
    """Mass the writer says the lines make together; a line above it cannot be."""

    def __post_init__(self) -> None:
        if not self.key:
            raise ImpossibleInput("key", self.key, "a short name for the recipe")
        if not self.name.strip():
            raise ImpossibleInput("name", self.name, "a name for the recipe")
        if self.kind not in KINDS:
            raise ImpossibleInput("kind", self.kind, f"one of {', '.join(KINDS)}")
        for name in ("left_behind_share", "reject_share"):
            if not 0.0 <= getattr(self, name) < 1.0:
                raise ImpossibleInput(name, getattr(self, name), "a share from 0 to below 1")
        if self.pieces is not None and not 0.0 < self.pieces <= 1e6:
            raise ImpossibleInput("pieces", self.pieces, "a number of pieces above 0")
        if self.declared_mass_g is not None:
            for number, line in enumerate(self.lines):
                if line.mass_g > self.declared_mass_g + 1e-9:
                    raise ImpossibleInput(
                        f"lines[{number}].mass_g",
                        line.mass_g,
                        f"at most {self.declared_mass_g:g} g, all that the recipe is said to make",
                        code="impossible_amount",
                    )

    @property
    def put_in_g(self) -> float:
        """Sum of the lines, g."""
        return sum(line.mass_g for line in self.lines)

    def times(self, factor: float) -> Recipe:
        """The same recipe in another size; shares, steps and what was measured stay."""
        if not 0.0 < factor < 1e9:
            raise ImpossibleInput("factor", factor, "a number above 0")
        cooking = self.cooking
        if cooking is not None and cooking.finished_g is not None:
            cooking = replace(cooking, finished_g=cooking.finished_g * factor)
        return replace(
            self,
            lines=tuple(replace(line, mass_g=line.mass_g * factor) for line in self.lines),
            cooking=cooking,
            pieces=None if self.pieces is None else self.pieces * factor,
            declared_mass_g=None if self.declared_mass_g is None else self.declared_mass_g * factor,
        )
