"""The bowl of one member as ordinary differential equations: the same laws for any integrator.

``block`` marches the same equations with one evaluation a step; this form states them and lets CVODE, LSODA or anyone
else check it. ``dy/dt = bowl_rates(y, parameters, controls, constants)`` with the rows of ``rows``.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.numerics.compiled import inlined, kernel
from bloomless.physics import block, rows
from bloomless.physics.constants import BOWL
from bloomless.physics.laws import (
    carried,
    crystal_rates,
    form_v_growth,
    piece_rates,
    solid_share,
    unstable_nucleation,
    weather_factor,
)

__all__ = ["bowl_rates"]

_SPHERE: Final = math.pi / 6.0
_WALL: Final = block.WALL_SHARE
_WATER_HEAT: Final = block.WATER_HEAT_J_kgK
_INNER_REST: Final = BOWL["inner_at_rest"].value
_VI_GAP: Final = BOWL["form_vi_gap_K"].value
Array = NDArray[np.float64]


@inlined
def _pieces(
    y: Array, p: Array, k: Array, shift: float, stir: float, warming: float, capacity: float, out: Array
) -> tuple[float, float, float]:
    """Rates of the pieces into ``out``; heat to the bulk [W], mass shed [kg/s], form V shed [kg/s]."""
    heat, latent, t = k[block.K_HEAT], k[block.K_FAT] * k[block.K_LATENT_V], y[rows.BULK_C]
    balance = 0.0
    shed_all, seeded = 0.0, 0.0
    for i in range(rows.CLASSES):
        d, piece, solid = max(y[rows.PIECE_m + i], 0.0), y[rows.PIECE_C + i], y[rows.PIECE_SOLID + i]
        each = _SPHERE * k[block.K_DENSITY] * y[rows.PIECE_COUNT + i]
        dd, _, dx, _, dt, _, rate = piece_rates(
            d,
            piece,
            solid,
            t,
            shift,
            k[block.K_BUTTER],
            stir,
            p[rows.SHED_FACTOR],
            1.0 / p[rows.FIRM_SOLID],
            k[block.K_CONDUCT] / (k[block.K_DENSITY] * heat),
            latent / heat,
            warming,
            each * d**3 * heat / capacity,
        )
        shed = -3.0 * each * d * d * dd
        seeds = y[rows.PIECE_QUALITY] * shed * k[block.K_FAT] * solid
        balance += shed * (heat * (piece - t) - latent * solid) + k[block.K_LATENT_V] * seeds
        balance -= each * d**3 * heat * rate * (t - piece)
        shed_all, seeded = shed_all + shed, seeded + seeds
        out[rows.PIECE_m + i], out[rows.PIECE_C + i], out[rows.PIECE_SOLID + i] = dd, dt, dx

    return balance, shed_all, seeded


@kernel
def bowl_rates(y: Array, p: Array, c: Array, k: Array) -> Array:
    """Time derivative of the dynamic rows of one member [unit of the row/s].

    Parameters
    ----------
    y
        State of one member, ``rows.STATES`` numbers.
    p, c, k
        Its parameters, its controls, and the constants of the bowl.

    Returns
    -------
    ndarray
        ``rows.DYNAMIC`` numbers. Masses and sizes that a foreign integrator lets slip below zero count as zero.
    """
    out = np.zeros(rows.DYNAMIC)
    stir = max(c[rows.STIR] * p[rows.STIR_FACTOR], 0.0)
    shift = k[block.K_SHIFT] + p[rows.MELTING_SHIFT_K]
    room = c[rows.ROOM_C] + p[rows.ROOM_SHIFT_K]
    t, bulk, fat = y[rows.BULK_C], y[rows.BULK_kg], y[rows.BULK_FAT_kg] + 1e-12
    heat = k[block.K_HEAT]
    capacity = bulk * heat + y[rows.WATER_kg] * _WATER_HEAT + 1e-9
    power = min(k[block.K_MICROWAVE] * p[rows.MICROWAVE_FACTOR], 1.0) * c[rows.MICROWAVE_W]
    power += min(k[block.K_HOT_AIR] * p[rows.HOT_AIR_FACTOR], 1.0) * c[rows.HOT_AIR_W]
    mass = bulk
    for i in range(rows.CLASSES):
        mass += _SPHERE * k[block.K_DENSITY] * y[rows.PIECE_COUNT + i] * y[rows.PIECE_m + i] ** 3
    warming = min(power / (mass * heat + 1e-9), block.FASTEST_K_s)

    theta, wall = t - shift, y[rows.VESSEL_C] - shift
    shear = stir * k[block.K_SUGAR]
    new_u = (1.0 - _WALL) * unstable_nucleation(theta, shear) + _WALL * unstable_nucleation(wall, shear)
    dv, _, du, _, ds, _ = crystal_rates(
        theta,
        max(y[rows.FORM_V_kg], 0.0) / fat,
        max(y[rows.UNSTABLE_kg], 0.0) / fat,
        y[rows.FIRST_CROP_kg] / fat,
        k[block.K_BUTTER] * solid_share(theta - _VI_GAP * y[rows.FORM_VI]),
        y[rows.FORM_VI],
        stir,
        k[block.K_BUTTER],
        form_v_growth(theta, p[rows.GROWTH_HOLD], p[rows.GROWTH_COLD]),
        block.MELT_RATE * p[rows.MELT_FACTOR],
        block.GROW_U_RATE * p[rows.UNSTABLE_FACTOR],
        p[rows.UNSTABLE_FACTOR] * new_u,
        block.NEW_V_RATE * p[rows.NUCLEATION_FACTOR],
        block.CONVERT_RATE * p[rows.CONVERSION_FACTOR],
    )
    balance = fat * (k[block.K_LATENT_V] * dv + k[block.K_LATENT_U] * du + k[block.K_LATENT_FIRST] * ds)
    balance += warming * bulk * heat
    given, shed, seeded = _pieces(y, p, k, shift, stir, warming, capacity, out)
    balance += given
    edge = t - 0.5 * y[rows.SPLIT_K]
    inner = k[block.K_INNER] * p[rows.INNER_FACTOR] * (_INNER_REST + (1.0 - _INNER_REST) * stir)
    inner *= carried(inner / capacity)
    vessel, over = y[rows.VESSEL_C], edge - room
    side = k[block.K_SIDE] * p[rows.SIDE_FACTOR] * weather_factor(vessel - room)
    bath = k[block.K_BATH] * p[rows.BATH_FACTOR] * c[rows.BATH_ON]
    top = k[block.K_TOP] * p[rows.TOP_FACTOR] * weather_factor(over) * over
    top *= min(1000.0 * bulk, 1.0)
    flow = inner * (edge - vessel)
    out[rows.BULK_C] = (balance - flow - top) / capacity
    outside = side * (room - vessel) + bath * (c[rows.BATH_C] - vessel)
    out[rows.VESSEL_C] = (flow + outside) / (k[block.K_VESSEL] * p[rows.VESSEL_FACTOR])
    out[rows.SPLIT_K] = 2.0 * (top + flow) / capacity - (block.DIFFUSION + block.MIXING * stir) * y[rows.SPLIT_K]
    seen = t + 0.5 * k[block.K_PROBE] * y[rows.SPLIT_K] + p[rows.PROBE_PLACE] * (vessel - t)
    out[rows.PROBE_C] = (seen - y[rows.PROBE_C]) / p[rows.PROBE_LAG_s]
    out[rows.FORM_V_kg] = fat * dv + seeded
    out[rows.UNSTABLE_kg] = fat * du
    out[rows.FIRST_CROP_kg] = fat * ds
    out[rows.BULK_kg] = shed
    out[rows.BULK_FAT_kg] = k[block.K_FAT] * shed
    hot = max(t + block.HOT_SPOT * warming / (1.0 + 4.0 * stir) - k[block.K_SCORCH], 0.0) * 0.1
    out[rows.SCORCH] = block.SCORCH_RATE * hot * hot
    return out
