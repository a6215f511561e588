"""A filled mould with everything that is not known: many runs, so that every time comes with a band.

Drawn are the temper the bowl really had, growth, heat of melting, melting points, conductivity, fill, films, air and
mould temperature, and the gap that release asks for. All but bars are run once in two dimensions as a round piece, and
the times of the flat members are scaled by what that run says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput
from bloomless.materials.chocolates import KIND_SHIFT_K
from bloomless.materials.moulds import Cavity, Cylinder, Frustum, Hemisphere, Hollow, Mould
from bloomless.materials.thermal import HEAT_OF_MELTING
from bloomless.physics.mould_axisymmetric import cool_piece
from bloomless.physics.mould_cooling import WIDE, Cooling, CoolingSpace, Stack, cool, filled
from bloomless.physics.mould_films import FAN_FACTOR, STILL_FACTOR
from bloomless.physics.mould_melt import GROWTH_COLD, GROWTH_HOLD, CONDUCTIVITY_W_mK, Melt, Rates
from bloomless.physics.mould_stacks import Core, capped
from bloomless.physics.release import CAPPED_REST_MIN, GAP_NEEDED_MM, Release, Surface, release
from bloomless.sources import Sourced

__all__ = ["Doubt", "Forecast", "Triple", "forecast", "skin_rate_K_min"]

Array = NDArray[np.float64]
Triple = tuple[float, float, float]
"""5 %, 50 % and 95 %."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is not known of one casting."""

    form_v: Triple
    """Share of the fat, as the bench estimates it."""
    unstable: Triple = (0.0, 0.0, 0.002)
    mould_sd_K: float = 1.0
    air_sd_K: float = 1.0
    film_factor: float | None = None
    """One sd of the film factor as a factor; by still or moving air unless learned."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """What to expect, each as 5 %, 50 %, 95 %; ``None`` where half of the runs do not get there."""

    set_min: Triple | None
    look_min: Triple | None
    """When to begin to look for lifting."""
    out_min: Triple | None
    """When to turn out."""
    released_share: float
    """Share of runs in which pieces let go within the time looked at."""
    chance: float
    """Of a clean release of one cavity."""
    hottest_C: Triple
    skin_rate_K_min: Triple
    """Fastest cooling of the skin at the mould between 27 and 22 °C."""
    form_v_of_solid: Triple
    air_most_C: Triple
    air_rise_K: Triple
    """Most that the moulds warmed the air of a place."""
    members: int
    shape_factor: float
    """Times of the two-dimensional piece over those of the flat layer; 1 for bars."""
    nominal: Cooling
    released: Release
    """Of the nominal run."""


def skin_rate_K_min(run: Cooling) -> float:
    """Fastest cooling of the skin at the mould between 27 and 22 °C (less the melting shift), K/min.

    Above some 2 K/min form IV may set in the skin [assumed]. Of every interval only the part of the fall inside the
    band counts, so that the touch of a mould of 22 °C does not, and that of a cold one does.
    """
    skin = run.temperature_C[:, -1] - run.melt.shift_K
    fall = np.minimum(skin[:-1], 27.0) - np.maximum(skin[1:], 22.0)
    return float(max((fall / np.diff(run.time_s)).max() * 60.0, 0.0))


def _skewed(triple: Triple, z: Array) -> Array:
    """Values with these three points for standard normal draws: halves of a normal, of the logarithm if above 0."""
    low, middle, high = triple
    if low > 0:
        ratio = np.where(z < 0, math.log(middle / low), math.log(high / middle)) / 1.645
        return np.asarray(middle * np.exp(z * ratio))
    side = np.where(z < 0, middle - low, high - middle) / 1.645
    return np.maximum(middle + z * side, 0.0)


def _quantiles(values: Array) -> Triple:
    a, b, c = np.quantile(values, [0.05, 0.5, 0.95])
    return float(a), float(b), float(c)


def _triple(values: Array, members: int) -> Triple | None:
    return None if values.size * 2 < members else _quantiles(values)


def forecast(
    mould: Mould,
    melt: Melt,
    space: CoolingSpace,
    surface: Surface,
    doubt: Doubt,
    generator: np.random.Generator,
    *,
    minutes: float = 90.0,
    shell_mm: float | None = None,
    members: int = 200,
    rates: Rates | None = None,
    stack: Stack | None = None,
    core: Core | None = None,
) -> Forecast:
    """Run the casting many times.

    Parameters
    ----------
    mould, melt, space, surface
        The casting as it is believed to be; ``surface.mould_C`` is the mould's temperature.
    doubt
        What is not known of it.
    generator
        Source of chance.
    minutes
        How far to look.
    shell_mm
        Wall of a shell; ``None`` for solid pieces.
    members
        Runs, 20…2000.
    rates
        Middle of the constants of growth.
    stack
        Layers other than the plain ones (layers, a bar with inclusions).
    core
        Filling of capped pieces: shell that has set, filling, cap just poured.
    """
    if not 20 <= members <= 2000:
        raise ImpossibleInput("members", members, "20 to 2000")
    usual = rates or Rates()

    def stack_of(cells: int) -> Stack:
        if stack is not None:
            return stack
        if core is not None:
            return capped(mould, melt, core, mould_C=surface.mould_C, cells=cells)
        return filled(mould, melt, mould_C=surface.mould_C, shell_mm=shell_mm, cells=cells)

    nominal = cool(stack_of(60), space, minutes=minutes, rates=usual)
    round_ = stack is None and shell_mm is None
    shape = 1.0
    if round_:
        # Both pictures stay in the first place: what counts is their ratio.
        here = replace(space, then=())
        flat = cool(stack_of(60), here, minutes=minutes, rates=usual) if space.then else nominal
        shape = _shape_factor(mould, melt, here, surface, flat, usual, minutes, core)
    rest_s = 0.0 if core is None else 60 * CAPPED_REST_MIN.value / shape
    z = generator.standard_normal((14, members))
    form_v = np.minimum(_skewed(doubt.form_v, z[0]), 0.4)
    unstable = np.minimum(_skewed(doubt.unstable, z[1]), 0.4)
    base = stack_of(24 if core is None else 36)
    rows: list[tuple[float, ...]] = []
    for i in range(members):
        poured = _poured(replace(melt, form_v=float(form_v[i]), unstable=float(unstable[i])), *z[2:5, i])
        drawn = Rates(
            usual.growth_cold * GROWTH_COLD.spread ** float(z[5, i]),
            usual.growth_hold * GROWTH_HOLD.spread ** float(z[6, i]),
            usual.unstable * 1.8 ** float(z[7, i]),
        )
        around = _around(space, doubt, *z[8:10, i])
        moved = _moved(
            base, melt, poured, doubt.mould_sd_K * float(z[10, i]), mould.volume_spread_share * float(z[11, i])
        )
        run = cool(moved, around, minutes=minutes, rates=drawn, snapshots=max(31, int(minutes) + 1), tolerance_K=0.2)
        gap, rest = GAP_NEEDED_MM.spread ** float(z[12, i]), rest_s * CAPPED_REST_MIN.spread ** float(z[13, i])
        rows.append(_told(run, release(run, mould, surface, gap_factor=gap, least_s=rest)))
    released = release(nominal, mould, surface, least_s=rest_s)
    return _summed(np.array(rows), members, shape, nominal, released)


def _poured(melt: Melt, shift: float, heat: float, conductivity: float) -> Melt:
    """One draw of what is poured, from standard normal numbers."""
    return replace(
        melt,
        shift_K=melt.shift_K + float(shift) * KIND_SHIFT_K[melt.kind].spread,
        heat_of_melting_J_kg=melt.heat_of_melting_J_kg * (1 + float(heat) * _relative(HEAT_OF_MELTING["form_v"])),
        conductivity_W_mK=melt.conductivity_W_mK * max(1 + float(conductivity) * _relative(CONDUCTIVITY_W_mK), 0.6),
    )


def _around(space: CoolingSpace, doubt: Doubt, film: float, air: float) -> CoolingSpace:
    """One draw of the place, and of those the moulds are carried to."""
    spread = doubt.film_factor or (FAN_FACTOR if space.air_speed_m_s > 0.1 else STILL_FACTOR).spread
    off = doubt.air_sd_K * float(air)
    return replace(
        space,
        factor=space.factor * spread ** float(film),
        air_C=space.air_C + off,
        set_C=None if space.set_C is None else space.set_C + off,
        then=tuple(replace(move, space=_around(move.space, doubt, film, air)) for move in space.then),
    )


def _relative(value: Sourced) -> float:
    return value.spread / value.value


def _moved(base: Stack, melt: Melt, poured: Melt, mould_K: float, fill: float) -> Stack:
    """The stack with one draw of its chocolates, its filling and the temperature of what stood in the mould."""
    heat = poured.heat_of_melting_J_kg / melt.heat_of_melting_J_kg
    conductivity = poured.conductivity_W_mK / melt.conductivity_W_mK
    layers = []
    for layer in base.layers:
        matter, fresh = layer.matter, layer.solid is None
        if isinstance(matter, Melt):
            matter = replace(
                matter, form_v=poured.form_v, unstable=poured.unstable,
                shift_K=matter.shift_K + poured.shift_K - melt.shift_K,
                heat_of_melting_J_kg=matter.heat_of_melting_J_kg * heat,
                conductivity_W_mK=matter.conductivity_W_mK * conductivity,
            )  # fmt: skip
            if fresh:
                layers.append(replace(layer, matter=matter, thickness_mm=layer.thickness_mm * max(1 + fill, 0.7)))
                continue
        cooler = min(layer.temperature_C + mould_K, poured.temperature_C - 0.1)
        layers.append(replace(layer, matter=matter, temperature_C=cooler))
    return replace(base, layers=tuple(layers))


def _told(run: Cooling, told: Release) -> tuple[float, ...]:
    """Figures of one member: minutes (NaN where it does not get there), chance, temperatures."""
    weight = run.weight
    solid = float(run.solid[-1] @ weight)
    return (
        *(np.nan if t is None else t / 60 for t in (told.set_s, told.look_s, told.out_s)),
        told.chance,
        float(run.temperature_C.max()),
        skin_rate_K_min(run),
        float(run.form_v[-1] @ weight) / max(solid, 1e-9),
        float(run.air_C.max()),
        run.air_rise_K,
    )


def _round(cavity: Cavity) -> Hemisphere | Cylinder | None:
    """The round piece that cools like a cavity: itself, or a disc of equal loss sideways; none for bars and figures."""
    if isinstance(cavity, Hemisphere | Cylinder):
        return cavity
    if isinstance(cavity, Hollow) or cavity.half_width_mm >= WIDE.value * cavity.depth_mm:
        return None
    radius = cavity.half_width_mm
    if isinstance(cavity, Frustum):  # twice the area over the perimeter
        radius = cavity.length_mm * cavity.width_mm / (cavity.length_mm + cavity.width_mm)
    return Cylinder(radius, 10 * cavity.volume_ml / cavity.opening_cm2)


def _shape_factor(
    mould: Mould, melt: Melt, space: CoolingSpace, surface: Surface, flat: Cooling, rates: Rates, minutes: float,
    core: Core | None,
) -> float:  # fmt: skip
    """Time to set of the two-dimensional piece over that of the flat layer, 0.5…2."""
    cavity = _round(mould.cavity)
    if cavity is None:
        return 1.0
    piece = cool_piece(
        replace(mould, cavity=cavity),
        melt,
        space,
        mould_C=surface.mould_C,
        minutes=minutes,
        rates=rates,
        cells=14 if core is None else 20,
        core=core,
        snapshots=int(minutes) * 2 + 1,
    )
    solid = np.where(piece.chocolate, piece.solid, 1.0).min(axis=(1, 2))
    limit = melt.set_share
    if solid[-1] < limit or not flat.is_set[-1]:
        return 1.0
    round_s = float(piece.time_s[int(np.argmax(solid >= limit))])
    flat_s = float(flat.time_s[int(np.argmax(flat.is_set))])
    return float(np.clip(round_s / flat_s, 0.5, 2.0))


def _summed(rows: Array, members: int, shape: float, nominal: Cooling, released: Release) -> Forecast:
    minutes = [_triple(shape * column[np.isfinite(column)], members) for column in rows[:, :3].T]
    hottest, skin, pure, air, rise = (_quantiles(column) for column in rows[:, 4:9].T)
    return Forecast(
        set_min=minutes[0],
        look_min=minutes[1],
        out_min=minutes[2],
        released_share=float(np.isfinite(rows[:, 2]).mean()),
        chance=float(rows[:, 3].mean()),
        hottest_C=hottest,
        skin_rate_K_min=skin,
        form_v_of_solid=pure,
        air_most_C=air,
        air_rise_K=rise,
        members=members,
        shape_factor=shape,
        nominal=nominal,
        released=released,
    )
