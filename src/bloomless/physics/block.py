"""The compiled step: a block of members marches through time in one scratch array.

A block holds ``LANES`` members in a 1-D float64 array of ``BLOCK`` numbers; number ``row·LANES + lane`` belongs to one
member. The rows are, in this order: state (``rows.STATES``), the dynamic state one step before, parameters
(``rows.PARAMETERS``), controls (``rows.CONTROLS``), what ``prepare`` derives from them, and a copy of the state. Other
compiled code (policy rollouts) may own a block, read and change its state and controls between calls, and must then
call ``prepare`` and pass ``restart=True``::

    scratch = np.empty(BLOCK)
    load(scratch, state, parameters, first)                 # columns first … first + LANES − 1
    scratch[CONTROL_AT + rows.STIR * LANES + lane] = 1.0    # every control, every lane
    prepare(scratch, constants)
    step(scratch, constants, 10, 1.0, True)                 # ten seconds
    scratch[rows.BULK_C * LANES + lane]                     # … look, decide, change …

The scheme is the rational exponential midpoint rule with the midpoint extrapolated from the step before: one
evaluation a step, L-stable, positive [numerics sheet A1]. Temperature of the bulk follows from the balance of
enthalpy over the step instead of a rate of its own, so energy closes to rounding whatever the step. After a change of
anything the first step takes its midpoint from half a step of its own (``restart``). A stretch in which any member
warms or cools by more than 0.5 K in a step is done again at a quarter of it; one in which pieces outweigh the melt is
done so at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.numerics.compiled import inlined, kernel
from bloomless.numerics.exponential import midpoint, phi, phis, positive_midpoint
from bloomless.physics import rows
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

__all__ = [
    "BLOCK",
    "CONSTANTS",
    "CONTROL_AT",
    "LANES",
    "PARAMETER_AT",
    "load",
    "prepare",
    "step",
    "store",
]

LANES: Final = 32
"""Members a block: its hot rows stay in a 32 KiB cache and fill SIMD registers."""

# -- constants of one bowl, shared by all its members; see bowl.constants_of
K_HEAT: Final = 0  # heat capacity of the chocolate [J/(kg K)]
K_FAT: Final = 1  # fat share
K_LATENT_V: Final = 2  # heat of melting of form V [J/kg fat]
K_LATENT_U: Final = 3
K_LATENT_FIRST: Final = 4
K_SHIFT: Final = 5  # melting shift of the composition [K]
K_BUTTER: Final = 6  # cocoa butter of the fat
K_TOP: Final = 7  # open surface to the room [W/K at 20 K difference]
K_SIDE: Final = 8  # vessel to the room
K_INNER: Final = 9  # chocolate to vessel, stirred
K_BATH: Final = 10  # bath to vessel
K_VESSEL: Final = 11  # heat capacity of the vessel [J/K]
K_DENSITY: Final = 12  # [kg/m³]
K_CONDUCT: Final = 13  # [W/(m K)]
K_SCORCH: Final = 14  # scorching starts [°C]
K_SUGAR: Final = 15  # how much more shear nucleates with this much sugar
K_MICROWAVE: Final = 16  # absorbed share of the oven's power
K_HOT_AIR: Final = 17
K_PROBE: Final = 18  # 1 tip in the core, −1 sees the surface
CONSTANTS: Final = 19

BEFORE_AT: Final = rows.STATES
PARAMETER_AT: Final = (BEFORE_AT + rows.DYNAMIC) * LANES
CONTROL_AT: Final = PARAMETER_AT + rows.PARAMETERS * LANES
_D: Final = BEFORE_AT + rows.DYNAMIC + rows.PARAMETERS + rows.CONTROLS
_TOP, _SIDE, _INNER, _VESSEL, _BATH, _BATH_C, _ROOM, _HEAT, _STIR, _SHIFT, _HOLD, _COLD, _MELT, _GROW_U = range(
    _D, _D + 14
)
_NEW_U, _NEW_V, _CONVERT, _SHED, _LAG, _PLACE = range(_D + 14, _D + 20)
# Within one step: middle of the bulk, 1/its heat capacity, heating; what all pieces took [J], shed and seeded [kg].
_MID, _PER_BULK, _WARMING, _LOST, _GIVEN, _SEEDS, _JUMP = range(_D + 20, _D + 27)
# Of the pace of a stretch: how far the split and the thermometer go in one step.
_SPLIT_PACE, _PROBE_PACE, _PER_VESSEL, _HOT, _PER_FIRM = range(_D + 27, _D + 32)
_SAVED: Final = _D + 32
BLOCK: Final = (_SAVED + rows.STATES) * LANES

MIXING: Final = BOWL["mixing_1_s"].value
DIFFUSION: Final = BOWL["diffusion_1_s"].value
_INNER_REST: Final = BOWL["inner_at_rest"].value
SCORCH_RATE: Final = BOWL["scorch_1_s"].value
HOT_SPOT: Final = BOWL["hot_spot_s"].value
MELT_RATE: Final = BOWL["melt_1_s_K2"].value
GROW_U_RATE: Final = BOWL["unstable_growth_1_s_K"].value
NEW_V_RATE: Final = BOWL["nucleation_1_s_K2"].value
CONVERT_RATE: Final = BOWL["conversion_1_s"].value
_VI_GAP: Final = BOWL["form_vi_gap_K"].value
_JUMP_LIMIT_K: Final = 0.5
_FINEST: Final = 256
_STRETCH: Final = 16
WATER_HEAT_J_kgK: Final = BOWL["water_heat_J_kgK"].value
WALL_SHARE: Final = BOWL["wall_share"].value
FASTEST_K_s: Final = BOWL["fastest_K_s"].value
_SPHERE: Final = math.pi / 6.0
_CRUMB_kg: Final = 1e-7
_LEAST: Final = 1e-12  # nothing falls below: denormal numbers would be slow

Array = NDArray[np.float64]


@kernel
def load(block: Array, state: Array, parameters: Array, first: int) -> None:
    """Copy columns ``first … first + LANES − 1`` into a block; past the last member the last one is repeated."""
    last = state.shape[1] - 1
    for row in range(rows.STATES):
        for lane in range(LANES):
            block[row * LANES + lane] = state[row, min(first + lane, last)]
    for row in range(rows.PARAMETERS):
        for lane in range(LANES):
            block[PARAMETER_AT + row * LANES + lane] = parameters[row, min(first + lane, last)]


@kernel
def store(block: Array, state: Array, first: int) -> None:
    """Copy the state of a block back into its columns."""
    lanes = min(LANES, state.shape[1] - first)
    for row in range(rows.STATES):
        for lane in range(lanes):
            state[row, first + lane] = block[row * LANES + lane]


@kernel
def prepare(block: Array, k: Array) -> None:
    """Derive conductances, powers and rate constants of every lane from its parameters and controls."""
    p, c = PARAMETER_AT, CONTROL_AT
    for j in range(LANES):
        stir = max(block[c + rows.STIR * LANES + j] * block[p + rows.STIR_FACTOR * LANES + j], 0.0)
        block[_STIR * LANES + j] = stir
        block[_TOP * LANES + j] = k[K_TOP] * block[p + rows.TOP_FACTOR * LANES + j]
        block[_SIDE * LANES + j] = k[K_SIDE] * block[p + rows.SIDE_FACTOR * LANES + j]
        inner = k[K_INNER] * block[p + rows.INNER_FACTOR * LANES + j]
        block[_INNER * LANES + j] = inner * (_INNER_REST + (1.0 - _INNER_REST) * stir)
        block[_VESSEL * LANES + j] = k[K_VESSEL] * block[p + rows.VESSEL_FACTOR * LANES + j]
        bath = k[K_BATH] * block[p + rows.BATH_FACTOR * LANES + j]
        block[_BATH * LANES + j] = bath * block[c + rows.BATH_ON * LANES + j]
        block[_PER_VESSEL * LANES + j] = 1.0 / block[_VESSEL * LANES + j]
        block[_HOT * LANES + j] = HOT_SPOT / (1.0 + 4.0 * stir)
        block[_BATH_C * LANES + j] = block[c + rows.BATH_C * LANES + j]
        block[_ROOM * LANES + j] = block[c + rows.ROOM_C * LANES + j] + block[p + rows.ROOM_SHIFT_K * LANES + j]
        oven = min(k[K_MICROWAVE] * block[p + rows.MICROWAVE_FACTOR * LANES + j], 1.0)
        air = min(k[K_HOT_AIR] * block[p + rows.HOT_AIR_FACTOR * LANES + j], 1.0)
        heat = oven * block[c + rows.MICROWAVE_W * LANES + j] + air * block[c + rows.HOT_AIR_W * LANES + j]
        block[_HEAT * LANES + j] = heat
        block[_SHIFT * LANES + j] = k[K_SHIFT] + block[p + rows.MELTING_SHIFT_K * LANES + j]
        block[_HOLD * LANES + j] = block[p + rows.GROWTH_HOLD * LANES + j]
        block[_COLD * LANES + j] = block[p + rows.GROWTH_COLD * LANES + j]
        block[_MELT * LANES + j] = MELT_RATE * block[p + rows.MELT_FACTOR * LANES + j]
        block[_GROW_U * LANES + j] = GROW_U_RATE * block[p + rows.UNSTABLE_FACTOR * LANES + j]
        block[_NEW_U * LANES + j] = block[p + rows.UNSTABLE_FACTOR * LANES + j]
        block[_NEW_V * LANES + j] = NEW_V_RATE * block[p + rows.NUCLEATION_FACTOR * LANES + j]
        block[_CONVERT * LANES + j] = CONVERT_RATE * block[p + rows.CONVERSION_FACTOR * LANES + j]
        block[_SHED * LANES + j] = block[p + rows.SHED_FACTOR * LANES + j]
        block[_PER_FIRM * LANES + j] = 1.0 / block[p + rows.FIRM_SOLID * LANES + j]
        block[_LAG * LANES + j] = 1.0 / block[p + rows.PROBE_LAG_s * LANES + j]
        block[_PLACE * LANES + j] = block[p + rows.PROBE_PLACE * LANES + j]


@inlined
def _piece(b: Array, k: Array, j: int, c: int, h: float) -> tuple[float, float, float]:
    """One size class of one lane: heat the bulk loses to it [J], mass it sheds [kg], solid fat in that mass [kg]."""
    bulk_C, per_bulk, warming_K_s = b[_MID * LANES + j], b[_PER_BULK * LANES + j], b[_WARMING * LANES + j]
    size, piece, solid = (
        (rows.PIECE_m + c) * LANES + j,
        (rows.PIECE_C + c) * LANES + j,
        (rows.PIECE_SOLID + c) * LANES + j,
    )
    back = BEFORE_AT * LANES
    d, t, x = b[size], b[piece], b[solid]
    d_mid, x_mid = positive_midpoint(d, b[back + size]), positive_midpoint(x, b[back + solid])
    t_mid = midpoint(t, b[back + piece])
    latent_K = k[K_FAT] * k[K_LATENT_V] / k[K_HEAT]
    each = _SPHERE * k[K_DENSITY] * b[(rows.PIECE_COUNT + c) * LANES + j]
    dd, slope_d, dx, slope_x, dt, slope_t, warming = piece_rates(
        d_mid,
        t_mid,
        x_mid,
        bulk_C,
        b[_SHIFT * LANES + j],
        k[K_BUTTER],
        b[_STIR * LANES + j],
        b[_SHED * LANES + j],
        b[_PER_FIRM * LANES + j],
        k[K_CONDUCT] / (k[K_DENSITY] * k[K_HEAT]),
        latent_K,
        warming_K_s,
        each * d_mid * d_mid * d_mid * k[K_HEAT] * per_bulk,
    )
    mass = each * d * d * d
    slope_t -= warming * mass * k[K_HEAT] * per_bulk  # the bulk cools as the pieces warm
    phi_d, phi_x, phi_t = phis(h * slope_d, h * slope_x, h * slope_t)
    d1 = max(d + h * phi_d * (dd + slope_d * (d - d_mid)), _LEAST)
    x1 = max(x + h * phi_x * (dx + slope_x * (x - x_mid)), _LEAST)
    t1 = t + h * phi_t * (dt + slope_t * (t - t_mid))
    b[back + size], b[back + solid], b[back + piece] = d, x, t
    b[size], b[solid], b[piece] = d1, x1, t1
    # What is shed leaves at the mean of temperature and solid share over the step, so that nothing is lost or made.
    after = each * d1 * d1 * d1
    shed, kept = mass - after, 0.5 * (mass + after)
    solid_shed = shed * 0.5 * (x + x1)
    taken = kept * (t1 - t - latent_K * (x1 - x)) - mass * h * warming_K_s
    given = shed * 0.5 * (t + t1) - latent_K * solid_shed
    return k[K_HEAT] * (taken - given), shed, k[K_FAT] * solid_shed


@inlined
def _crystals(b: Array, k: Array, j: int, h: float, bulk_C: float, seeded: float) -> float:
    """The three dispersed crystal groups over one step, with what pieces shed; returns their latent heat [J]."""
    back = BEFORE_AT * LANES
    at_v, at_u, at_s = rows.FORM_V_kg * LANES + j, rows.UNSTABLE_kg * LANES + j, rows.FIRST_CROP_kg * LANES + j
    v, u, s = b[at_v], b[at_u], b[at_s]
    v_mid, u_mid = positive_midpoint(v, b[back + at_v]), positive_midpoint(u, b[back + at_u])
    s_mid = positive_midpoint(s, b[back + at_s])
    fat = b[rows.BULK_FAT_kg * LANES + j]
    per_fat = 1.0 / (fat + 1e-12)
    stir, shift = b[_STIR * LANES + j], b[_SHIFT * LANES + j]
    theta = bulk_C - shift
    at_w = rows.VESSEL_C * LANES + j
    wall = midpoint(b[at_w], b[back + at_w]) - shift
    shear = stir * k[K_SUGAR]
    new_u = (1.0 - WALL_SHARE) * unstable_nucleation(theta, shear) + WALL_SHARE * unstable_nucleation(wall, shear)
    form_vi = b[rows.FORM_VI * LANES + j]
    dv, slope_v, du, slope_u, ds, slope_s = crystal_rates(
        theta,
        v_mid * per_fat,
        u_mid * per_fat,
        s_mid * per_fat,
        k[K_BUTTER] * solid_share(theta - _VI_GAP * form_vi),
        form_vi,
        stir,
        k[K_BUTTER],
        form_v_growth(theta, b[_HOLD * LANES + j], b[_COLD * LANES + j]),
        b[_MELT * LANES + j],
        b[_GROW_U * LANES + j],
        b[_NEW_U * LANES + j] * new_u,
        b[_NEW_V * LANES + j],
        b[_CONVERT * LANES + j],
    )
    phi_v, phi_u, phi_s = phis(h * slope_v, h * slope_u, h * slope_s)
    gain_v = phi_v * (h * fat * dv + h * slope_v * (v - v_mid) + seeded)
    gain_u = h * phi_u * (fat * du + slope_u * (u - u_mid))
    gain_s = h * phi_s * (fat * ds + slope_s * (s - s_mid))
    b[back + at_v], b[back + at_u], b[back + at_s] = v, u, s
    v1, u1, s1 = max(v + gain_v, _LEAST), max(u + gain_u, _LEAST), max(s + gain_s, _LEAST)
    b[at_v], b[at_u], b[at_s] = v1, u1, s1
    freed: float = k[K_LATENT_V] * (v1 - v) + k[K_LATENT_U] * (u1 - u) + k[K_LATENT_FIRST] * (s1 - s)
    return freed


@inlined
def _vessel(b: Array, j: int, h: float, edge_C: float, per_bulk: float) -> tuple[float, float]:
    """The vessel over one step: heat taken from the chocolate over the step [J], and as a rate at its middle [W]."""
    at, back = rows.VESSEL_C * LANES + j, BEFORE_AT * LANES
    t = b[at]
    mid = midpoint(t, b[back + at])
    inner, bath, capacity = b[_INNER * LANES + j], b[_BATH * LANES + j], b[_VESSEL * LANES + j]
    side = b[_SIDE * LANES + j] * weather_factor(mid - b[_ROOM * LANES + j])
    inner *= carried(inner * per_bulk)
    into = inner * (edge_C - mid)
    per_vessel = b[_PER_VESSEL * LANES + j]
    rate = (into + side * (b[_ROOM * LANES + j] - mid) + bath * (b[_BATH_C * LANES + j] - mid)) * per_vessel
    slope = -(inner + side + bath) * per_vessel - inner * per_bulk
    t1 = t + h * phi(h * slope) * (rate + slope * (t - mid))
    mean = 0.5 * (t + t1)
    outside = h * (side * (b[_ROOM * LANES + j] - mean) + bath * (b[_BATH_C * LANES + j] - mean))
    b[back + at] = t
    b[at] = t1
    return capacity * (t1 - t) - outside, into


def _pieces_of(c: int) -> Callable[[Array, Array, float], None]:
    """Compile the loop over lanes of one size class; a fixed class lets the compiler see that rows do not overlap."""

    @kernel
    def pieces(b: Array, k: Array, h: float) -> None:
        for j in range(LANES):
            lost, shed, seeds = _piece(b, k, j, c, h)
            b[_LOST * LANES + j] += lost
            b[_GIVEN * LANES + j] += shed
            b[_SEEDS * LANES + j] += seeds

    return pieces


_fine, _middle, _coarse = _pieces_of(0), _pieces_of(1), _pieces_of(2)


@kernel
def _ready(b: Array, k: Array) -> None:
    """The middle of the step for the bulk of every lane, and its share of what heats the bowl."""
    back = BEFORE_AT * LANES
    for j in range(LANES):
        mass = b[rows.BULK_kg * LANES + j]
        pieces = 0.0
        for c in range(rows.CLASSES):
            d = b[(rows.PIECE_m + c) * LANES + j]
            pieces += b[(rows.PIECE_COUNT + c) * LANES + j] * d * d * d
        b[_MID * LANES + j] = midpoint(b[rows.BULK_C * LANES + j], b[back + rows.BULK_C * LANES + j])
        capacity = mass * k[K_HEAT] + b[rows.WATER_kg * LANES + j] * WATER_HEAT_J_kgK
        b[_PER_BULK * LANES + j] = 1.0 / (capacity + 1e-9)
        heated = (mass + _SPHERE * k[K_DENSITY] * pieces) * k[K_HEAT] + 1e-9
        b[_WARMING * LANES + j] = min(b[_HEAT * LANES + j] / heated, FASTEST_K_s)
        b[_LOST * LANES + j], b[_GIVEN * LANES + j], b[_SEEDS * LANES + j] = 0.0, 0.0, 0.0


@kernel
def _bulk(b: Array, k: Array, h: float) -> None:
    """Crystals, vessel, losses, bulk and thermometer of every lane over one step."""
    back = BEFORE_AT * LANES
    for j in range(LANES):
        t, split, t_mid = b[rows.BULK_C * LANES + j], b[rows.SPLIT_K * LANES + j], b[_MID * LANES + j]
        split_mid = midpoint(split, b[back + rows.SPLIT_K * LANES + j])
        vessel_mid = midpoint(b[rows.VESSEL_C * LANES + j], b[back + rows.VESSEL_C * LANES + j])
        per_bulk, warming = b[_PER_BULK * LANES + j], b[_WARMING * LANES + j]
        mass, shed = b[rows.BULK_kg * LANES + j], b[_GIVEN * LANES + j]
        freed = _crystals(b, k, j, h, t_mid, b[rows.PIECE_QUALITY * LANES + j] * b[_SEEDS * LANES + j])
        edge = t_mid - 0.5 * split_mid
        to_vessel, flow = _vessel(b, j, h, edge, per_bulk)
        over = edge - b[_ROOM * LANES + j]
        top = b[_TOP * LANES + j] * weather_factor(over) * over
        top *= min(1000.0 * b[rows.BULK_kg * LANES + j], 1.0)  # less than a gram of melt covers no surface

        b[rows.BULK_kg * LANES + j] = mass + shed
        b[rows.BULK_FAT_kg * LANES + j] += shed * k[K_FAT]
        gained = freed - b[_LOST * LANES + j] - to_vessel - h * top + h * warming * mass * k[K_HEAT]
        # The balance of enthalpy gives the temperature: capacity·t + gained = (capacity + what was shed)·t1.
        t1 = (t + gained * per_bulk) / (1.0 + shed * k[K_HEAT] * per_bulk)
        b[back + rows.BULK_C * LANES + j] = t
        b[rows.BULK_C * LANES + j] = t1
        b[_JUMP * LANES + j] = max(b[_JUMP * LANES + j], abs(t1 - t))

        stir = b[_STIR * LANES + j]
        mix = -(DIFFUSION + MIXING * stir)
        rate = 2.0 * (top + flow) * per_bulk + mix * split_mid
        b[back + rows.SPLIT_K * LANES + j] = split
        b[rows.SPLIT_K * LANES + j] = split + b[_SPLIT_PACE * LANES + j] * (rate + mix * (split - split_mid))
        probe = b[rows.PROBE_C * LANES + j]
        seen = t_mid + 0.5 * k[K_PROBE] * split_mid + b[_PLACE * LANES + j] * (vessel_mid - t_mid)
        b[back + rows.PROBE_C * LANES + j] = probe
        b[rows.PROBE_C * LANES + j] = probe + b[_PROBE_PACE * LANES + j] * (seen - probe)
        hot = max(t_mid + b[_HOT * LANES + j] * warming - k[K_SCORCH], 0.0) * 0.1
        b[rows.SCORCH * LANES + j] += h * SCORCH_RATE * hot * hot


@kernel
def _present(b: Array, k: Array) -> int:
    """Which size classes any lane still has a tenth of a milligram of, as bits."""
    found = 0
    for c in range(rows.CLASSES):
        most = 0.0
        for j in range(LANES):
            d = b[(rows.PIECE_m + c) * LANES + j]
            most = max(most, b[(rows.PIECE_COUNT + c) * LANES + j] * d * d * d)
        if most * _SPHERE * k[K_DENSITY] > _CRUMB_kg:
            found |= 1 << c
    return found


@kernel
def _march(b: Array, k: Array, h: float, present: int) -> None:
    """One step of every lane of a block."""
    _ready(b, k)
    if present & 1:
        _fine(b, k, h)
    if present & 2:
        _middle(b, k, h)
    if present & 4:
        _coarse(b, k, h)
    _bulk(b, k, h)


@kernel
def _paced(b: Array, h: float) -> None:
    """What depends on the length of the step and on nothing that moves."""
    for j in range(LANES):
        mix, lag = DIFFUSION + MIXING * b[_STIR * LANES + j], b[_LAG * LANES + j]
        b[_SPLIT_PACE * LANES + j] = h * phi(-h * mix)
        b[_PROBE_PACE * LANES + j] = h * lag * phi(-h * lag)


@kernel
def _begin(b: Array, k: Array, h: float, present: int) -> None:
    """Half a step of its own gives the first midpoint after a change: ``before = y − 2·(y_half − y)``."""
    for row in range(rows.DYNAMIC):
        for j in range(LANES):
            b[(BEFORE_AT + row) * LANES + j] = b[row * LANES + j]
    _paced(b, 0.5 * h)
    _march(b, k, 0.5 * h, present)
    for row in range(rows.DYNAMIC):
        for j in range(LANES):
            start, half = b[(BEFORE_AT + row) * LANES + j], b[row * LANES + j]
            b[row * LANES + j] = start
            b[(BEFORE_AT + row) * LANES + j] = start - 2.0 * (half - start)


@kernel
def _stretch(b: Array, k: Array, steps: int, h: float, restart: bool) -> float:
    """March without a guard; returns the largest change of temperature in one step over all lanes [K]."""
    for j in range(LANES):
        b[_JUMP * LANES + j] = 0.0
    present = _present(b, k)
    if restart:
        _begin(b, k, h, present)
    _paced(b, h)
    for _ in range(steps):
        _march(b, k, h, present)
    largest = 0.0
    for j in range(LANES):
        largest = max(largest, b[_JUMP * LANES + j])
    return largest


@kernel
def _crowded(b: Array, k: Array) -> bool:
    """Whether in any lane pieces outweigh the melt: then little melt answers fast to much solid."""
    most = 0.0
    for j in range(LANES):
        pieces = 0.0
        for c in range(rows.CLASSES):
            d = b[(rows.PIECE_m + c) * LANES + j]
            pieces += b[(rows.PIECE_COUNT + c) * LANES + j] * d * d * d
        most = max(most, _SPHERE * k[K_DENSITY] * pieces - b[rows.BULK_kg * LANES + j])
    return most > 0.0


@kernel
def step(block: Array, k: Array, steps: int, dt_s: float, restart: bool) -> None:
    """March a prepared block by ``steps`` steps of ``dt_s`` seconds.

    Parameters
    ----------
    block
        Scratch of ``BLOCK`` numbers, loaded and prepared.
    k
        Constants of the bowl, ``CONSTANTS`` numbers.
    steps, dt_s
        How far; ``dt_s`` up to 2 s (1 s: 0.02 K; coarser for forecasts).
    restart
        Whether anything changed since the last call: state, parameters or controls.
    """
    done = 0
    while done < steps:
        now = min(_STRETCH, steps - done)
        for i in range(rows.STATES * LANES):
            block[_SAVED * LANES + i] = block[i]
        # What little melt does among many pieces is fast: begin fine. Whatever still jumps is done again, finer.
        finer = 4 if _crowded(block, k) else 1
        while True:
            jump = _stretch(block, k, finer * now, dt_s / finer, restart)
            if jump <= _JUMP_LIMIT_K or finer >= _FINEST:
                break
            for i in range(rows.STATES * LANES):
                block[i] = block[_SAVED * LANES + i]
            finer *= 4
            restart = True
        restart = finer > 1
        done += now
