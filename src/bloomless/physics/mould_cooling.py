"""A filled mould in a cooling space: from its layers to temperature and crystals through thickness and time.

One-dimensional through the thickness, with areas that widen from the open side to the wall, so that a bar is exact and
other cavities keep their volume and both faces; ``mould_axisymmetric`` solves hemispheres and cylinders in two.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput, NumericalFailure
from bloomless.materials.moulds import Cavity, Hollow, Mould
from bloomless.physics.mould_films import Film, Standing, faces
from bloomless.physics.mould_kernel import Slab, cool_through
from bloomless.physics.mould_kinetics import HEAT_OF_FORM
from bloomless.physics.mould_melt import FIRST_C, PER_K, Melt, Rates, rate_table
from bloomless.sources import Grade, Sourced

__all__ = ["WIDE", "Cooling", "CoolingSpace", "Inert", "Layer", "Move", "Stack", "cool", "filled"]

Array = NDArray[np.float64]

FRIDGE_POWER_W = Sourced(
    75.0, "W", 20.0, "assumed", Grade.ASSUMED, note="household fridge, net of its own gains: 50-100 W"
)
FRIDGE_CAPACITY_J_K = Sourced(
    12e3, "J/K", 1.6, "assumed", Grade.ASSUMED, spread_is="factor", note="air, shelves and what stands in it nearby"
)
WIDE = Sourced(2.5, "1", 0.5, "derived", Grade.DERIVED, note="half width over depth; 2-D discs set within a tenth")
HOLDING_BAND_K = Sourced(5.0, "K", 2.0, "assumed", Grade.ASSUMED, note="full power this far above the temperature held")


@dataclass(frozen=True, slots=True)
class CoolingSpace:
    """Where moulds cool."""

    air_C: float
    """Of the air when the moulds go in."""
    air_speed_m_s: float = 0.0
    """Along the moulds: 0 still, about 1 m/s for a fan."""
    standing: Standing = "rack"
    moulds: int = 1
    """Equal moulds that go in together and share its power."""
    set_C: float | None = None
    """Temperature that it holds; as ``air_C`` unless given."""
    power_W: float | None = None
    """Cooling power net of its own gains; ``None``: as large as needed, the air keeps its temperature."""
    capacity_J_K: float = FRIDGE_CAPACITY_J_K.value
    """Heat capacity of its air and what follows the air quickly."""
    factor: float = 1.0
    """Multiplies convection: learned for this place, or drawn."""
    then: tuple[Move, ...] = ()
    """Where the moulds are carried later, in order of time: cold at first, then milder."""

    def __post_init__(self) -> None:
        if not -30 <= self.air_C <= 45:
            raise ImpossibleInput("air_C", self.air_C, "-30 to 45 °C")
        if self.moulds < 1:
            raise ImpossibleInput("moulds", self.moulds, "at least 1")
        if self.power_W is not None and not self.power_W >= 0:
            raise ImpossibleInput("power_W", self.power_W, "at least 0 W")
        if not (self.capacity_J_K > 0 and self.factor > 0):
            raise ImpossibleInput("capacity_J_K", self.capacity_J_K, "above 0, and a factor above 0")
        at = [move.after_min for move in self.then]
        if any(later <= earlier for earlier, later in pairwise([0.0, *at])):
            raise ImpossibleInput("then", at, "minutes above 0 that rise")
        if any(move.space.then for move in self.then):
            raise ImpossibleInput("then", at, "all moves in one list")

    def at(self, minutes: float) -> CoolingSpace:
        """Where the moulds stand at that minute."""
        return [self, *(move.space for move in self.then if move.after_min <= minutes)][-1]

    def films(self) -> tuple[Film, Film]:
        """Of the open face and the wall."""
        return faces(self.air_speed_m_s, self.standing, self.factor)


@dataclass(frozen=True, slots=True)
class Move:
    """Moulds carried to another place, their crystals and warmth with them."""

    after_min: float
    """Minutes after they went into the first place."""
    space: CoolingSpace


@dataclass(frozen=True, slots=True)
class Inert:
    """A material without crystals of cocoa butter: mould, filling, nut."""

    conductivity_W_mK: float
    volumetric_J_m3K: float


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer, from the open side down."""

    matter: Melt | Inert
    thickness_mm: float
    temperature_C: float
    cells: int
    solid: tuple[float, float, float] | None = None
    """Shares of the fat in V, IV and II at the start; as poured unless given."""


@dataclass(frozen=True, slots=True)
class Stack:
    """Layers with the areas of the faces."""

    layers: tuple[Layer, ...]
    wall_area: float = 1.0
    """Area of the mould's face over the open one: 1 for a flat bar, 2 for a hemisphere."""
    open_m2: float = 0.0
    """Open area of a whole mould, m²; what a cooling space with limited power must know."""
    cautions: tuple[str, ...] = field(default=())
    """What this picture leaves out, and how much it matters."""


@dataclass(frozen=True, slots=True)
class Cooling:
    """What happened: times first, cells second, the open side at cell 0."""

    time_s: Array
    depth_mm: Array
    """Of the centres of the cells that hold chocolate."""
    weight: Array
    """Share of the chocolate in each of them."""
    temperature_C: Array
    form_v: Array
    form_iv: Array
    form_ii: Array
    """Shares of all fat."""
    mould_C: Array
    """Mean of the mould."""
    air_C: Array
    air_rise_K: float
    """Most that the moulds warmed the air of a place."""
    heat_out_J_m2: Array
    """Through both faces, for each m² of the open side."""
    energy_error: float
    """Heat not accounted for over heat that left."""
    steps: int
    melts: tuple[Melt, ...]
    """Chocolates, the one poured last first."""
    which: NDArray[np.int64]
    """Which of them a cell holds, shape (cells,)."""
    cautions: tuple[str, ...] = ()

    @property
    def melt(self) -> Melt:
        """The chocolate that was poured last."""
        return self.melts[0]

    @property
    def set_share(self) -> Array:
        """Solid share of the fat at which each cell counts as set, shape (cells,)."""
        return np.array([melt.set_share for melt in self.melts])[self.which]

    @property
    def is_set(self) -> NDArray[np.bool_]:
        """Whether every layer has set, shape (times,)."""
        return np.asarray(np.all(self.solid >= self.set_share, axis=1))

    def could_be_solid(self) -> Array:
        """Solid share of the fat at equilibrium with form V, shape (times, cells)."""
        share = self.melts[0].solid_share(self.temperature_C)
        for i, melt in enumerate(self.melts[1:], start=1):
            share[:, self.which == i] = melt.solid_share(self.temperature_C[:, self.which == i])
        return share

    @property
    def solid(self) -> Array:
        """Solid share of the fat, all forms, shape (times, cells)."""
        return self.form_v + self.form_iv + self.form_ii

    @property
    def mean_C(self) -> Array:
        """Mean temperature of the chocolate."""
        return self.temperature_C @ self.weight


def filled(
    mould: Mould,
    melt: Melt,
    *,
    mould_C: float,
    fill_share: float = 1.0,
    shell_mm: float | None = None,
    inclusion: tuple[Inert, float] | None = None,
    cells: int = 60,
) -> Stack:
    """Stack of one filled mould, cavity by cavity.

    Parameters
    ----------
    mould, melt
        What is filled with what.
    mould_C
        Temperature of the mould when it is filled.
    fill_share
        How full, 0…1.
    shell_mm
        Wall that stays after the mould was turned out; ``None`` for solid pieces.
    inclusion
        What stands in the chocolate and its share of the volume.
    cells
        Cells of chocolate.

    Raises
    ------
    ImpossibleInput
        If the mould is at or above the temperature of the chocolate.
    """
    if mould_C >= melt.temperature_C:
        raise ImpossibleInput("mould_C", mould_C, f"below the chocolate's {melt.temperature_C:g} °C")
    if not 0 < fill_share <= 1:
        raise ImpossibleInput("fill_share", fill_share, "above 0 and at most 1")
    cavity = mould.cavity
    cautions: list[str] = []
    if mould.deeper_than_wide:
        cautions.append(
            "The cavity is deeper than it is wide: heat leaves sideways too. The layer here keeps its volume and both "
            "areas; its times are scaled by a round piece in two dimensions, by up to a third."
        )
    skin = isinstance(cavity, Hollow) or shell_mm is not None
    if shell_mm is not None and not 0.2 <= shell_mm < cavity.depth_mm:
        raise ImpossibleInput("shell_mm", shell_mm, f"0.2 mm to below the depth, {cavity.depth_mm:g} mm")
    if skin:
        thickness = shell_mm or 3.0
        open_cm2 = _inner_cm2(cavity, thickness)
        widening = cavity.wall_cm2 / open_cm2
    elif cavity.half_width_mm >= WIDE.value * cavity.depth_mm:
        # The middle of a bar knows nothing of its edges and sets last: a flat layer of the full depth.
        thickness, widening = fill_share * cavity.depth_mm, 1.0
        open_cm2 = 10 * cavity.volume_ml / cavity.depth_mm
    else:
        widening = max(1.0, cavity.wall_cm2 / cavity.opening_cm2)
        thickness = 10 * fill_share * cavity.volume_ml / cavity.opening_cm2 / (0.5 * (1 + widening))
        open_cm2 = cavity.opening_cm2
    chocolate = Layer(melt, thickness, melt.temperature_C, cells)
    if inclusion is not None:
        chocolate = _with_inclusion(chocolate, melt, *inclusion)
    wall = Inert(mould.wall.conductivity_W_mK.value, mould.wall.volumetric_J_m3K)
    return Stack(
        (chocolate, Layer(wall, mould.wall_mm, mould_C, max(4, cells // 5))),
        wall_area=widening,
        open_m2=open_cm2 * mould.cavities / 1e4,
        cautions=tuple(cautions),
    )


def _inner_cm2(cavity: Cavity, wall_mm: float) -> float:
    """Area inside a wall: what is lost of the hollow when the wall grows; at least a third of the mould's face."""
    step = min(0.05, 0.5 * wall_mm)
    lost_ml = cavity.hollow_ml(wall_mm - step, 0.0) - cavity.hollow_ml(wall_mm + step, 0.0)
    return min(max(10.0 * lost_ml / (2.0 * step), cavity.wall_cm2 / 3.0), cavity.wall_cm2)


def _with_inclusion(layer: Layer, melt: Melt, matter: Inert, share: float) -> Layer:
    """Chocolate and pieces as one matter: heat capacities and conductivities by volume, less fat to set."""
    if not 0 <= share <= 0.45:
        raise ImpossibleInput("inclusion_share", share, "0 to 0.45 of the volume")
    rest = 1 - share
    volumetric = rest * melt.volumetric_J_m3K + share * matter.volumetric_J_m3K
    density = volumetric / melt.heat_J_kgK
    mixed = replace(
        melt,
        fat_share=melt.fat_share * rest * melt.density_kg_m3 / density,
        conductivity_W_mK=rest * melt.conductivity_W_mK + share * matter.conductivity_W_mK,
        density_kg_m3=density,
    )
    return replace(layer, matter=mixed)


def cool(
    stack: Stack,
    space: CoolingSpace,
    *,
    minutes: float = 60.0,
    rates: Rates | None = None,
    snapshots: int = 181,
    films: tuple[Film, Film] | None = None,
    tolerance_K: float = 0.02,
    longest_s: float = math.inf,
) -> Cooling:
    """Cool a filled mould.

    Parameters
    ----------
    stack
        Layers, see ``filled``.
    space
        Where it stands, and where it is carried later.
    minutes
        How long.
    rates
        Constants of the crystals.
    snapshots
        States kept, evenly in time, the start among them.
    films
        Films of the two faces instead of those of the space.
    tolerance_K, longest_s
        Error of one time step, and its longest length; with the default tolerance a run is good to some hundredths of
        a kelvin.

    Raises
    ------
    NumericalFailure
        If the steps become too short.
    """
    if not 0 < minutes <= 24 * 60:
        raise ImpossibleInput("minutes", minutes, "above 0 and at most a day")
    grid = _Grid.of(stack)
    times = np.linspace(0, 60 * minutes, snapshots)
    table = np.ascontiguousarray([rate_table(melt, rates or Rates()).T for melt in grid.melts])
    moves = [move for move in space.then if move.after_min < minutes]
    bounds = [0.0, *(60 * move.after_min for move in moves), times[-1]]
    every = np.union1d(times, bounds)
    ends = np.searchsorted(every, bounds)
    out, more = np.empty((every.size, 4, grid.T.size)), np.empty((every.size, 3))
    out[0], more[0] = (grid.T, grid.v, grid.iv, grid.ii), (0.0, 0.0, space.air_C)
    steps, rise = 0, 0.0
    for place, (first, last) in zip([space, *(move.space for move in moves)], pairwise(ends), strict=True):
        stay = slice(first + 1, last + 1)
        slab = _slab(grid, stack, place, films or place.films(), table)
        taken = cool_through(
            slab, out[first].copy(), float(place.air_C), every[stay] - every[first], tolerance_K, longest_s, out[stay],
            more[stay],
        )  # fmt: skip
        if taken < 0:
            raise NumericalFailure("The cooling of this stack asks for time steps too short to take.")
        more[stay, :2] += more[first, :2]
        steps, rise = steps + taken, max(rise, float(more[stay, 2].max()) - place.air_C)
    if moves:
        shown = np.isin(every, times)
        every, out, more = every[shown], out[shown], more[shown]
    return grid.told(every, out, more, steps, rise, stack)


def _slab(grid: _Grid, stack: Stack, space: CoolingSpace, films: tuple[Film, Film], table: Array) -> Slab:
    """What the kernel must know of cells in a place."""
    power = space.power_W
    limited = power is not None and stack.open_m2 > 0
    numbers = np.array(
        [
            space.air_C if space.set_C is None else space.set_C,
            power or 0.0,
            (power or 0.0) / HOLDING_BAND_K.value,
            space.capacity_J_K if limited else 0.0,
            stack.open_m2 * space.moulds,
        ]
    )
    return Slab(
        grid.capacity, grid.kelvin, grid.between, grid.ends, np.array([1.0, stack.wall_area]),
        np.stack([films[0].numbers(), films[1].numbers()]), numbers, grid.which, table, FIRST_C, PER_K,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Grid:
    """Layers as arrays for the kernel."""

    T: Array
    v: Array
    iv: Array
    ii: Array
    capacity: Array
    kelvin: Array
    between: Array
    ends: Array
    depth_mm: Array
    which: NDArray[np.int64]
    melts: tuple[Melt, ...]

    @classmethod
    def of(cls, stack: Stack) -> _Grid:
        columns: list[tuple[Array, ...]] = []
        if not any(isinstance(layer.matter, Melt) for layer in stack.layers):
            raise ImpossibleInput("layers", stack.layers, "at least one layer of chocolate")
        # The area widens from the open side to the wall of the mould, which is the last layer unless it is chocolate.
        inside = stack.layers[: -1 if isinstance(stack.layers[-1].matter, Inert) else None]
        deep = sum(layer.thickness_mm for layer in inside)
        above = 0.0
        melts = tuple(dict.fromkeys(layer.matter for layer in stack.layers if isinstance(layer.matter, Melt)))
        for layer in stack.layers:
            n, matter = layer.cells, layer.matter
            width = layer.thickness_mm / 1000 / n
            middle = above + (np.arange(n) + 0.5) * layer.thickness_mm / n
            area = 1 + (stack.wall_area - 1) * np.minimum(middle / deep, 1.0)
            if isinstance(matter, Melt):
                solid, kelvin = layer.solid or (matter.form_v, matter.unstable, 0.0), matter.kelvin
            else:
                solid, kelvin = (0.0, 0.0, 0.0), 0.0
            columns.append(
                (
                    np.full(n, melts.index(matter) if isinstance(matter, Melt) else 0),
                    np.full(n, layer.temperature_C), *(np.full(n, share) for share in solid),
                    area * width * matter.volumetric_J_m3K, np.full(n, kelvin),
                    0.5 * width / (matter.conductivity_W_mK * area), middle,
                )
            )  # fmt: skip
            above += layer.thickness_mm
        which, T, v, iv, ii, capacity, hot, half, depth = (np.concatenate(c) for c in zip(*columns, strict=True))
        ends = np.array([1 / half[0], 1 / half[-1]])
        return cls(
            T, v, iv, ii, capacity, hot, 1.0 / (half[:-1] + half[1:]), ends, depth, which.astype(np.int64), melts
        )

    def told(self, times: Array, out: Array, more: Array, steps: int, rise: float, stack: Stack) -> Cooling:
        """The run as it is handed out, with the energy account."""
        kept = self.kelvin > 0
        T, v, iv, ii = (out[:, row] for row in range(4))
        first, last = out[0], out[-1]
        gone = first[0] - last[0] - self.kelvin * (np.array(HEAT_OF_FORM) @ (first[1:] - last[1:]))
        lost = float(more[-1, 0] + more[-1, 1])
        weight = self.capacity[kept] / self.capacity[kept].sum()
        wall = np.arange(kept.size) > np.flatnonzero(kept)[-1]
        mould = self.capacity[wall]
        return Cooling(
            time_s=times,
            depth_mm=self.depth_mm[kept],
            weight=weight,
            temperature_C=T[:, kept],
            form_v=v[:, kept],
            form_iv=iv[:, kept],
            form_ii=ii[:, kept],
            mould_C=T[:, wall] @ mould / mould.sum() if mould.size else T[:, -1],
            air_C=more[:, 2],
            air_rise_K=rise,
            heat_out_J_m2=more[:, :2],
            energy_error=abs(float(gone @ self.capacity) - lost) / max(abs(lost), 1.0),
            steps=steps,
            melts=self.melts,
            which=self.which[kept],
            cautions=stack.cautions,
        )
