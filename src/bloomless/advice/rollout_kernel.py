"""The compiled rollout: a block of lanes marches to the horizon, each lane under its own decisions.

A block belongs to one candidate; its lanes are members. Between epochs the policy reads each lane, acts in it, and the
block is prepared again: baths of different length, seed of different weight and stops fall where they fall.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import numpy.typing as npt
from numba import prange

from bloomless.advice import policy
from bloomless.numerics.compiled import kernel, threaded
from bloomless.physics import rows
from bloomless.physics.actions import MOST_SOLID, SIZE_SHARES, SIZE_STEPS
from bloomless.physics.block import (
    BLOCK,
    CONTROL_AT,
    K_BUTTER,
    K_DENSITY,
    K_FAT,
    K_SHIFT,
    LANES,
    PARAMETER_AT,
    load,
    prepare,
    step,
)
from bloomless.physics.laws import solid_share

__all__ = ["ACTS", "DONE_ROW", "LANE_ROWS", "MINUTES", "SEED_USED", "march_lanes"]

Array = npt.NDArray[np.float64]

# What a lane brings along: rows of `lanes`.
BATH_C, BATH_S, OVEN_W, AIR_W, BUSY_S, SEED_LEFT_kg = range(6)
LANE_ROWS: Final = 6
# What comes out: rows of `fate`.
MINUTES, DONE_ROW, ACTS, SEED_USED, FIRST_T, FIRST_V, FIRST_U, FIRST_P, FIRST_MIN, END_T, END_V = range(11)
NEXT_CODE, NEXT_AMOUNT = 11, 12
"""The cook's first act after the candidate's own: a code of the policy, and its amount."""
FATES: Final = 13

WARM_BATH_C: Final = 42.0
COOL_BATH_C: Final = 18.0
MELT_C: Final = 38.0
"""Of warm melt that goes in."""
SETTLE_S: Final = 45.0
"""The cook of the rollouts stirs so long after an act before deciding again."""
SIEVED: Final = 0.75
"""Share of the pieces that a sieve takes out."""

_SPHERE: Final = math.pi / 6.0
_PIECE_FROM_m: Final = 0.5e-3


@kernel
def _add_pieces(b: Array, k: Array, j: int, mass: float, warm_C: float, size_m: float) -> None:
    """Seed into one lane, as ``physics.actions.add_pieces`` does it."""
    size_m *= b[PARAMETER_AT + rows.SIZE_FACTOR * LANES + j]
    spread = b[PARAMETER_AT + rows.SIZE_SPREAD * LANES + j]
    shift = k[K_SHIFT] + b[PARAMETER_AT + rows.MELTING_SHIFT_K * LANES + j]
    solid = min(k[K_BUTTER] * solid_share(warm_C - shift) * b[PARAMETER_AT + rows.SEED_HEAT * LANES + j], MOST_SOLID)
    each = _SPHERE * k[K_DENSITY]
    all_pieces = 0.0
    for c in range(rows.CLASSES):
        at_d, at_n = (rows.PIECE_m + c) * LANES + j, (rows.PIECE_COUNT + c) * LANES + j
        at_t, at_x = (rows.PIECE_C + c) * LANES + j, (rows.PIECE_SOLID + c) * LANES + j
        size, added = size_m * math.exp(SIZE_STEPS[c] * spread), SIZE_SHARES[c] * mass
        present = b[at_n] * each * b[at_d] ** 3
        all_pieces += present
        new = added / (present + added + 1e-12)
        count = b[at_n] + added / (each * size**3)
        b[at_t] += new * (warm_C - b[at_t])
        b[at_x] += new * (solid - b[at_x])
        b[at_d] = ((present + added) / count / each) ** (1.0 / 3.0)
        b[at_n] = count
    quality = b[PARAMETER_AT + rows.SEED_QUALITY * LANES + j]
    part = mass / (all_pieces + mass + 1e-12)
    b[rows.PIECE_QUALITY * LANES + j] += part * (quality - b[rows.PIECE_QUALITY * LANES + j])


@kernel
def _add_melt(b: Array, k: Array, j: int, mass: float, warm_C: float) -> None:
    """Untempered melt into one lane: mixes by heat, brings no crystals."""
    bulk = b[rows.BULK_kg * LANES + j]
    b[rows.BULK_C * LANES + j] += mass / (bulk + mass) * (warm_C - b[rows.BULK_C * LANES + j])
    b[rows.BULK_kg * LANES + j] = bulk + mass
    b[rows.BULK_FAT_kg * LANES + j] += mass * k[K_FAT]


@kernel
def _shown(b: Array, k: Array, j: int) -> tuple[float, float, float, float, float]:
    """One lane as the policy sees it: mixed °C, form V and unstable of all fat, pieces of the bowl, bowl kg."""
    each = _SPHERE * k[K_DENSITY]
    pieces, large, heat = 0.0, 0.0, 0.0
    for c in range(rows.CLASSES):
        d = b[(rows.PIECE_m + c) * LANES + j]
        mass = b[(rows.PIECE_COUNT + c) * LANES + j] * each * d * d * d
        pieces += mass
        heat += mass * b[(rows.PIECE_C + c) * LANES + j]
        ratio = d / _PIECE_FROM_m
        ratio *= ratio * ratio * ratio * ratio  # the logistic tail of the size spread: (d/d₀)^5.7
        large += mass * ratio / (1.0 + ratio)
    bulk = b[rows.BULK_kg * LANES + j]
    batch = bulk + pieces
    fat = b[rows.BULK_FAT_kg * LANES + j] + k[K_FAT] * pieces
    t = (bulk * b[rows.BULK_C * LANES + j] + heat) / batch
    v, u = b[rows.FORM_V_kg * LANES + j] / fat, b[rows.UNSTABLE_kg * LANES + j] / fat
    return t, v, u, large / batch, batch


@kernel
def _controls(b: Array, lane: Array, j: int, room_C: float) -> None:
    """Set the controls of one lane for the next epoch; what ends within it works at a share of its strength."""
    share = min(lane[BATH_S] / policy.EPOCH_S, 1.0)
    b[CONTROL_AT + rows.ROOM_C * LANES + j] = room_C
    b[CONTROL_AT + rows.BATH_C * LANES + j] = lane[BATH_C]
    b[CONTROL_AT + rows.BATH_ON * LANES + j] = share if lane[BATH_C] > 0.0 else 0.0
    b[CONTROL_AT + rows.MICROWAVE_W * LANES + j] = share * lane[OVEN_W]
    b[CONTROL_AT + rows.HOT_AIR_W * LANES + j] = share * lane[AIR_W]
    b[CONTROL_AT + rows.STIR * LANES + j] = 1.0


@kernel
def _act(b: Array, k: Array, j: int, lane: Array, aim: Array, bath_1_s: float) -> tuple[int, float, float]:
    """Decide and act in one free lane; answers: code and amount of the policy, seed used [kg]."""
    t, v, u, p, batch = _shown(b, k, j)
    code, amount = policy.decide(t, v, u, p, batch, lane[SEED_LEFT_kg], aim)
    seed = 0.0
    if code in (policy.WARM, policy.COOL):
        water = WARM_BATH_C if code == policy.WARM else COOL_BATH_C
        seconds = amount / max(bath_1_s * abs(water - t), 1e-4)
        lane[BATH_C], lane[BATH_S] = water, min(max(seconds, 5.0), 90.0)
        lane[BUSY_S] = lane[BATH_S] + SETTLE_S
    elif code == policy.SEED:
        seed = amount
        _add_pieces(b, k, j, seed, aim[policy.SEED_C], aim[policy.SIZE_M])
        lane[SEED_LEFT_kg] -= seed
        lane[BUSY_S] = 2.0 * SETTLE_S
    elif code == policy.SIEVE:
        for c in range(rows.CLASSES):
            b[(rows.PIECE_COUNT + c) * LANES + j] *= 1.0 - SIEVED
        lane[BUSY_S] = SETTLE_S
    elif code == policy.THIN:
        _add_melt(b, k, j, amount * batch, MELT_C)
        lane[BUSY_S] = SETTLE_S
    return code, amount, seed


@kernel
def _one_block(
    state: Array,
    parameters: Array,
    k: Array,
    lanes: Array,
    fate: Array,
    first: int,
    aim: Array,
    room_C: float,
    bath_1_s: float,
    epochs: int,
) -> None:
    """March one block of lanes from ``first`` on; writes the fate of each."""
    b = np.empty(BLOCK)
    load(b, state, parameters, first)
    own = np.empty((LANES, LANE_ROWS))
    last = state.shape[1] - 1
    for j in range(LANES):
        for row in range(LANE_ROWS):
            own[j, row] = lanes[row, min(first + j, last)]
    out = np.zeros((LANES, FATES))
    going = np.ones(LANES)
    for j in range(LANES):
        out[j, MINUTES] = epochs * policy.EPOCH_S / 60.0
    left = LANES
    for epoch in range(epochs):
        for j in range(LANES):
            _controls(b, own[j], j, room_C)
        prepare(b, k)
        step(b, k, int(policy.EPOCH_S), 1.0, True)
        for j in range(LANES):
            own[j, BATH_S] = max(own[j, BATH_S] - policy.EPOCH_S, 0.0)
            own[j, BUSY_S] -= policy.EPOCH_S
            if own[j, BATH_S] <= 0.0:
                own[j, BATH_C], own[j, OVEN_W], own[j, AIR_W] = 0.0, 0.0, 0.0
            if out[j, FIRST_MIN] == 0.0 and own[j, BUSY_S] <= 0.0:
                # The first moment at which the cook may decide again: what the bowl is then.
                t, v, u, p, _ = _shown(b, k, j)
                out[j, FIRST_T], out[j, FIRST_V], out[j, FIRST_U], out[j, FIRST_P] = t, v, u, p
                out[j, FIRST_MIN] = (epoch + 1) * policy.EPOCH_S / 60.0
            if going[j] > 0.0 and own[j, BUSY_S] <= 0.0:
                code, amount, seed = _act(b, k, j, own[j], aim, bath_1_s)
                out[j, SEED_USED] += seed
                if code > policy.DONE:
                    out[j, ACTS] += 1.0
                    if out[j, NEXT_CODE] == 0.0:
                        out[j, NEXT_CODE], out[j, NEXT_AMOUNT] = float(code), amount
                if code == policy.DONE:
                    going[j] = 0.0
                    left -= 1
                    out[j, DONE_ROW] = 1.0
                    out[j, MINUTES] = (epoch + 1) * policy.EPOCH_S / 60.0
        if left == 0:
            break
    for j in range(LANES):
        t, v, _, _, _ = _shown(b, k, j)
        out[j, END_T], out[j, END_V] = t, v
    for j in range(min(LANES, state.shape[1] - first)):
        for row in range(FATES):
            fate[row, first + j] = out[j, row]


@threaded
def march_lanes(
    state: Array,
    parameters: Array,
    constants: Array,
    of_block: npt.NDArray[np.int64],
    lanes: Array,
    aims: Array,
    room_C: float,
    bath_1_s: float,
    epochs: int,
) -> Array:
    """Fate of every lane.

    Parameters
    ----------
    state, parameters
        Shape (rows, lanes); lanes in blocks of ``LANES`` that belong to one candidate.
    constants
        Constants of the bowl for each candidate, shape (candidates, CONSTANTS).
    of_block
        Candidate of each block.
    lanes
        Shape (LANE_ROWS, lanes): bath °C (0: none) and seconds, oven and hot air W, seconds busy, seed left kg.
    aims, room_C, bath_1_s
        What to reach, for each candidate; the room; how fast a bath moves a bowl, 1/s.
    epochs
        Horizon.

    Returns
    -------
    ndarray
        Shape (FATES, lanes): minutes, done, acts, seed used kg.
    """
    fate = np.zeros((FATES, state.shape[1]))
    for block in prange(of_block.size):
        k = constants[of_block[block]]
        aim = aims[of_block[block]]
        _one_block(state, parameters, k, lanes, fate, block * LANES, aim, room_C, bath_1_s, epochs)
    return fate
