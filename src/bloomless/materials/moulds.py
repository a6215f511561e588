"""Moulds: cavities by geometry, walls by material; volume, depth, areas and what a shell of them holds.

Lengths in mm, areas in cm², volumes in ml. A cavity stands open side up; ``depth_mm`` is measured straight down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from bloomless.errors import ImpossibleInput
from bloomless.materials.mould_walls import Wall

__all__ = [
    "Cap",
    "Cavity",
    "Cone",
    "Cylinder",
    "FreeVolume",
    "Frustum",
    "Hemisphere",
    "Hollow",
    "Mould",
    "by_piece_mass",
    "by_water",
]


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise ImpossibleInput(name, value, "a number above 0")


@dataclass(frozen=True, slots=True)
class Frustum:
    """Truncated pyramid: a bar, a tablet with breaks, a square bonbon.

    Score lines and engraving take 2-6 % of the box [assumed]; weighing one piece beats any drawing.
    """

    length_mm: float
    """Of the open side."""
    width_mm: float
    depth_mm: float
    draft_deg: float = 10.0
    """Angle of the walls from the vertical."""
    breaks_share: float = 0.0
    """Share of the volume that score lines and engraving take away."""

    def __post_init__(self) -> None:
        _positive(length_mm=self.length_mm, width_mm=self.width_mm, depth_mm=self.depth_mm)
        if not 0 <= self.draft_deg < 60:
            raise ImpossibleInput("draft_deg", self.draft_deg, "0 to below 60 degrees")
        if not 0 <= self.breaks_share < 0.3:
            raise ImpossibleInput("breaks_share", self.breaks_share, "0 to below 0.3")
        if min(self.length_mm, self.width_mm) <= 2 * self.depth_mm * math.tan(math.radians(self.draft_deg)):
            raise ImpossibleInput("depth_mm", self.depth_mm, "a depth at which the slanting walls do not meet")

    @property
    def _floor_mm(self) -> tuple[float, float]:
        step = 2 * self.depth_mm * math.tan(math.radians(self.draft_deg))
        return self.length_mm - step, self.width_mm - step

    @property
    def volume_ml(self) -> float:
        """Prismoidal formula, exact for a frustum, less the breaks."""
        a, b = self.length_mm, self.width_mm
        a2, b2 = self._floor_mm
        middle = (a + a2) * (b + b2) / 4
        return self.depth_mm / 6 * (a * b + a2 * b2 + 4 * middle) * (1 - self.breaks_share) / 1000

    @property
    def opening_cm2(self) -> float:
        """Area of the open side."""
        return self.length_mm * self.width_mm / 100

    @property
    def wall_cm2(self) -> float:
        """Area of floor and walls."""
        a2, b2 = self._floor_mm
        slant = self.depth_mm / math.cos(math.radians(self.draft_deg))
        return (a2 * b2 + slant * (self.length_mm + a2 + self.width_mm + b2)) / 100

    @property
    def half_width_mm(self) -> float:
        """Half the smaller way across the open side."""
        return min(self.length_mm, self.width_mm) / 2

    def hollow_ml(self, wall_mm: float, cap_mm: float) -> float:
        """Room for a filling inside walls of ``wall_mm`` and under a cap of ``cap_mm``."""
        depth = self.depth_mm - wall_mm - cap_mm
        if depth <= 0:
            return 0.0
        slope = math.tan(math.radians(self.draft_deg))
        # The inner wall runs parallel to the outer one; its offset across is wall/cos(draft).
        across = 2 * (cap_mm * slope + wall_mm / math.cos(math.radians(self.draft_deg)))
        a, b = self.length_mm - across, self.width_mm - across
        a2, b2 = a - 2 * depth * slope, b - 2 * depth * slope
        if min(a2, b2) <= 0:
            return 0.0
        full = depth / 6 * (a * b + a2 * b2 + (a + a2) * (b + b2)) / 1000
        return full * (1 - self.breaks_share)


@dataclass(frozen=True, slots=True)
class Hemisphere:
    """Half of a ball."""

    radius_mm: float

    def __post_init__(self) -> None:
        _positive(radius_mm=self.radius_mm)

    @property
    def depth_mm(self) -> float:
        """The radius."""
        return self.radius_mm

    @property
    def draft_deg(self) -> float:
        """Mean angle of the wall from the vertical, weighted by area."""
        return 45.0

    @property
    def volume_ml(self) -> float:
        """2πR³/3."""
        return 2 * math.pi * self.radius_mm**3 / 3000

    @property
    def opening_cm2(self) -> float:
        """Area of the open side."""
        return math.pi * self.radius_mm**2 / 100

    @property
    def wall_cm2(self) -> float:
        """2πR²."""
        return 2 * math.pi * self.radius_mm**2 / 100

    @property
    def half_width_mm(self) -> float:
        """The radius."""
        return self.radius_mm

    def hollow_ml(self, wall_mm: float, cap_mm: float) -> float:
        """Room for a filling: the cap of a ball, π H²(3r - H)/3 with r = R - wall and H = r - cap."""
        r = self.radius_mm - wall_mm
        height = r - cap_mm
        return max(0.0, math.pi * height**2 * (3 * r - height) / 3000) if height > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Cap:
    """Part of a ball that is not its half: open radius and depth; deeper than its radius it bulges inside."""

    radius_mm: float
    """Of the open side."""
    depth_mm: float

    def __post_init__(self) -> None:
        _positive(radius_mm=self.radius_mm, depth_mm=self.depth_mm)

    @property
    def draft_deg(self) -> float:
        """Mean angle of the wall from the vertical; below 0 for a cavity that bulges (an undercut)."""
        return math.degrees(math.atan2(self.radius_mm, self.depth_mm)) if self.depth_mm <= self.radius_mm else -1.0

    @property
    def volume_ml(self) -> float:
        """πH(3a² + H²)/6."""
        return math.pi * self.depth_mm * (3 * self.radius_mm**2 + self.depth_mm**2) / 6000

    @property
    def opening_cm2(self) -> float:
        """Area of the open side."""
        return math.pi * self.radius_mm**2 / 100

    @property
    def wall_cm2(self) -> float:
        """π(a² + H²)."""
        return math.pi * (self.radius_mm**2 + self.depth_mm**2) / 100

    @property
    def half_width_mm(self) -> float:
        """Radius of the open side."""
        return self.radius_mm

    def hollow_ml(self, wall_mm: float, cap_mm: float) -> float:
        """Room for a filling: the ball of radius R - wall, cut off at the cap."""
        ball = (self.radius_mm**2 + self.depth_mm**2) / (2 * self.depth_mm)
        r = ball - wall_mm
        height = self.depth_mm - wall_mm - cap_mm
        if height <= 0 or r <= 0:
            return 0.0
        height = min(height, 2 * r)
        return math.pi * height**2 * (3 * r - height) / 3000


@dataclass(frozen=True, slots=True)
class Cone:
    """Truncated cone; with ``tip_radius_mm`` 0 a full one."""

    radius_mm: float
    """Of the open side."""
    depth_mm: float
    tip_radius_mm: float = 0.0

    def __post_init__(self) -> None:
        _positive(radius_mm=self.radius_mm, depth_mm=self.depth_mm)
        if not 0 <= self.tip_radius_mm <= self.radius_mm:
            raise ImpossibleInput("tip_radius_mm", self.tip_radius_mm, "0 to the radius of the open side")

    @property
    def draft_deg(self) -> float:
        """Angle of the wall from the vertical."""
        return math.degrees(math.atan2(self.radius_mm - self.tip_radius_mm, self.depth_mm))

    @property
    def volume_ml(self) -> float:
        """πH(R² + Rr + r²)/3."""
        a, b = self.radius_mm, self.tip_radius_mm
        return math.pi * self.depth_mm * (a * a + a * b + b * b) / 3000

    @property
    def opening_cm2(self) -> float:
        """Area of the open side."""
        return math.pi * self.radius_mm**2 / 100

    @property
    def wall_cm2(self) -> float:
        """Mantle and tip."""
        slant = math.hypot(self.depth_mm, self.radius_mm - self.tip_radius_mm)
        return math.pi * ((self.radius_mm + self.tip_radius_mm) * slant + self.tip_radius_mm**2) / 100

    @property
    def half_width_mm(self) -> float:
        """Radius of the open side."""
        return self.radius_mm

    def hollow_ml(self, wall_mm: float, cap_mm: float) -> float:
        """Room for a filling between walls of equal thickness, under the cap."""
        slope = (self.radius_mm - self.tip_radius_mm) / self.depth_mm
        across = wall_mm * math.hypot(1.0, slope)
        top = self.radius_mm - slope * cap_mm - across
        height = self.depth_mm - cap_mm - wall_mm
        if top <= 0 or height <= 0:
            return 0.0
        if slope > 0:
            height = min(height, top / slope)
        tip = top - slope * height
        return math.pi * height * (top * top + top * tip + tip * tip) / 3000


@dataclass(frozen=True, slots=True)
class Cylinder:
    """Upright cylinder."""

    radius_mm: float
    depth_mm: float

    def __post_init__(self) -> None:
        _positive(radius_mm=self.radius_mm, depth_mm=self.depth_mm)

    @property
    def draft_deg(self) -> float:
        """No draft."""
        return 0.0

    @property
    def volume_ml(self) -> float:
        """πR²H."""
        return math.pi * self.radius_mm**2 * self.depth_mm / 1000

    @property
    def opening_cm2(self) -> float:
        """Area of the open side."""
        return math.pi * self.radius_mm**2 / 100

    @property
    def wall_cm2(self) -> float:
        """Floor and mantle."""
        return math.pi * self.radius_mm * (self.radius_mm + 2 * self.depth_mm) / 100

    @property
    def half_width_mm(self) -> float:
        """The radius."""
        return self.radius_mm

    def hollow_ml(self, wall_mm: float, cap_mm: float) -> float:
        """Room for a filling."""
        r, height = self.radius_mm - wall_mm, self.depth_mm - wall_mm - cap_mm
        return math.pi * r * r * height / 1000 if r > 0 and height > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Hollow:
    """Figure of two halves that are clipped together: what it would hold solid, and the skin it has."""

    full_ml: float
    """Both halves filled, by water."""
    skin_cm2: float
    """Inner surface of both halves."""
    depth_mm: float
    """Deepest point of a half below its rim."""
    rim_cm2: float
    """Opening of one half."""

    def __post_init__(self) -> None:
        _positive(full_ml=self.full_ml, skin_cm2=self.skin_cm2, depth_mm=self.depth_mm, rim_cm2=self.rim_cm2)
        if self.skin_cm2 < 4.8 * self.full_ml ** (2 / 3):
            raise ImpossibleInput("skin_cm2", self.skin_cm2, "at least the surface of a ball of that volume")

    @property
    def draft_deg(self) -> float:
        """Figures bend and swing; taken as slight."""
        return 3.0

    @property
    def volume_ml(self) -> float:
        """Both halves full."""
        return self.full_ml

    @property
    def opening_cm2(self) -> float:
        """Opening of one half."""
        return self.rim_cm2

    @property
    def wall_cm2(self) -> float:
        """The skin of both halves."""
        return self.skin_cm2

    @property
    def half_width_mm(self) -> float:
        """Radius of a disc as large as the opening of a half."""
        return 10 * math.sqrt(self.rim_cm2 / math.pi)

    def hollow_ml(self, wall_mm: float, cap_mm: float) -> float:
        """What stays empty inside a wall: V - A·t + the curvature of an equal ball (Steiner); a figure has no cap."""
        del cap_mm
        ball_mm: float = (3000 * self.full_ml / (4 * math.pi)) ** (1 / 3)
        if wall_mm >= ball_mm:
            return 0.0
        rounder = 4 * math.pi * ball_mm**2 / (100 * self.skin_cm2)
        x = wall_mm / ball_mm
        return max(0.0, self.full_ml - self.skin_cm2 * wall_mm / 10 * (1 - rounder * x * (1 - x / 3)))


@dataclass(frozen=True, slots=True)
class FreeVolume:
    """A cavity of any form: measured volume, greatest depth, opening; taken as a frustum of these where areas count."""

    measured_ml: float
    depth_mm: float
    opening_cm2: float
    draft_deg: float = 10.0

    def __post_init__(self) -> None:
        _positive(measured_ml=self.measured_ml, depth_mm=self.depth_mm, opening_cm2=self.opening_cm2)
        most = self.opening_cm2 * self.depth_mm / 10
        if self.measured_ml > most * 1.001:
            raise ImpossibleInput("measured_ml", self.measured_ml, f"at most opening times depth, {most:.2f} ml")

    @property
    def volume_ml(self) -> float:
        """As measured."""
        return self.measured_ml

    @property
    def half_width_mm(self) -> float:
        """Radius of a disc as large as the opening."""
        return 10 * math.sqrt(self.opening_cm2 / math.pi)

    @property
    def _as_cone(self) -> Cone:
        """The truncated cone of the same opening, depth and volume (a full cone if it holds even less)."""
        r = self.half_width_mm
        rest = 3000 * self.measured_ml / (math.pi * self.depth_mm) - r * r
        tip = (-r + math.sqrt(max(0.0, r * r + 4 * rest))) / 2
        return Cone(r, self.depth_mm, min(r, max(0.0, tip)))

    @property
    def wall_cm2(self) -> float:
        """Of the truncated cone of the same opening, depth and volume."""
        return self._as_cone.wall_cm2

    def hollow_ml(self, wall_mm: float, cap_mm: float) -> float:
        """Of the truncated cone of the same opening, depth and volume, scaled to the volume measured."""
        cone = self._as_cone
        return cone.hollow_ml(wall_mm, cap_mm) * self.measured_ml / cone.volume_ml


Cavity: TypeAlias = Frustum | Hemisphere | Cap | Cone | Cylinder | Hollow | FreeVolume


@dataclass(frozen=True, slots=True)
class Mould:
    """A mould: equal cavities in a sheet of a material."""

    name: str
    cavity: Cavity
    cavities: int
    wall: Wall
    wall_mm: float
    """Thickness of the wall behind a cavity."""
    mass_g: float
    """Of the empty mould."""
    scratched: bool = False
    measured: str = ""
    """How the volume is known: empty for a drawing, else by water or by a weighed piece."""
    volume_spread_share: float = field(default=0.04)
    """One standard deviation of the volume over the volume: 4 % from a drawing, 1-2 % measured [assumed]."""

    def __post_init__(self) -> None:
        _positive(wall_mm=self.wall_mm, mass_g=self.mass_g)
        if self.cavities < 1:
            raise ImpossibleInput("cavities", self.cavities, "at least 1")

    @property
    def volume_ml(self) -> float:
        """All cavities."""
        return self.cavity.volume_ml * self.cavities

    def piece_g(self, density_kg_m3: float) -> float:
        """One cavity filled with chocolate of this density."""
        return self.cavity.volume_ml * density_kg_m3 / 1000

    def shell_g(self, density_kg_m3: float, wall_mm: float, cap_mm: float = 0.0) -> float:
        """Chocolate in the shell (and cap) of one piece."""
        if not (wall_mm > 0 and cap_mm >= 0):
            raise ImpossibleInput("wall_mm", wall_mm, "above 0, and a cap of at least 0")
        return (self.cavity.volume_ml - self.cavity.hollow_ml(wall_mm, cap_mm)) * density_kg_m3 / 1000

    @property
    def deeper_than_wide(self) -> bool:
        """True where heat leaves sideways as much as up and down, so that a flat layer is no picture of it."""
        return self.cavity.depth_mm > 2 * self.cavity.half_width_mm


def by_water(mould: Mould, water_g: float, *, cavities_filled: int = 1, water_C: float = 20.0) -> Mould:
    """Mould with the volume that water showed: level with the rim, dried and weighed before and after.

    Parameters
    ----------
    mould
        As drawn; depth, opening and draft are kept.
    water_g
        Water that ``cavities_filled`` cavities held.
    water_C
        Its temperature, 4…60.
    """
    _positive(water_g=water_g, cavities_filled=cavities_filled)
    # Density of water, kg/l: a parabola through 4 °C good to 0.1 % up to 60 °C [derived from Choi and Okos 1986].
    density = (997.18 + 3.1439e-3 * water_C - 3.7574e-3 * water_C**2) / 1000
    return _with_volume(mould, water_g / density / cavities_filled, "by water", 0.01)


def by_piece_mass(mould: Mould, piece_g: float, density_kg_m3: float) -> Mould:
    """Mould with the volume that one solid piece, weighed, shows.

    Parameters
    ----------
    mould
        As drawn.
    piece_g
        Mean mass of a level, solid piece.
    density_kg_m3
        Of the solid chocolate.
    """
    _positive(piece_g=piece_g, density_kg_m3=density_kg_m3)
    return _with_volume(mould, piece_g / density_kg_m3 * 1000, "by a weighed piece", 0.02)


def _with_volume(mould: Mould, volume_ml: float, how: str, spread: float) -> Mould:
    drawn = mould.cavity
    ratio = volume_ml / drawn.volume_ml
    if not 1 / 3 < ratio < 3:
        raise ImpossibleInput(
            "volume", round(volume_ml, 2), f"within a factor 3 of the drawing, {drawn.volume_ml:.2f} ml"
        )
    if isinstance(drawn, Hollow):
        cavity: Cavity = replace(drawn, full_ml=volume_ml, skin_cm2=drawn.skin_cm2 * max(1.0, ratio ** (2 / 3)))
    elif isinstance(drawn, Frustum) and 0 <= 1 - ratio * (1 - drawn.breaks_share) < 0.3:
        cavity = replace(drawn, breaks_share=1 - ratio * (1 - drawn.breaks_share))
    else:
        # The opening was seen; what the drawing got wrong is the depth, unless the volume does not fit below it.
        depth = max(drawn.depth_mm, volume_ml / drawn.opening_cm2 * 10)
        cavity = FreeVolume(volume_ml, depth, drawn.opening_cm2, max(0.0, drawn.draft_deg))
    return replace(mould, cavity=cavity, measured=how, volume_spread_share=spread)
