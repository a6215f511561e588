"""An ensemble through time."""

from __future__ import annotations

import math

import numpy as np
from numba import prange

from bloomless.errors import ImpossibleInput, NumericalFailure
from bloomless.numerics.compiled import kernel, threaded
from bloomless.physics import rows
from bloomless.physics.block import BLOCK, CONTROL_AT, LANES, load, prepare, step, store
from bloomless.physics.ensemble import Array, Ensemble, Surroundings

__all__ = ["advance"]


@kernel
def _advance_block(
    state: Array, parameters: Array, controls: Array, k: Array, first: int, steps: int, dt_s: float
) -> None:
    scratch = np.empty(BLOCK)
    load(scratch, state, parameters, first)
    last = state.shape[1] - 1
    for row in range(rows.CONTROLS):
        for lane in range(LANES):
            scratch[CONTROL_AT + row * LANES + lane] = controls[row, min(first + lane, last)]
    prepare(scratch, k)
    step(scratch, k, steps, dt_s, True)
    store(scratch, state, first)


@kernel
def _advance_serial(state: Array, parameters: Array, controls: Array, k: Array, steps: int, dt_s: float) -> None:
    for first in range(0, state.shape[1], LANES):
        _advance_block(state, parameters, controls, k, first, steps, dt_s)


@threaded
def _advance_parallel(state: Array, parameters: Array, controls: Array, k: Array, steps: int, dt_s: float) -> None:
    blocks = (state.shape[1] + LANES - 1) // LANES
    for block in prange(blocks):
        _advance_block(state, parameters, controls, k, block * LANES, steps, dt_s)


def advance(
    ensemble: Ensemble,
    surroundings: Surroundings,
    seconds: float,
    *,
    dt_s: float = 1.0,
    parallel: bool = False,
) -> Ensemble:
    """The ensemble some seconds later, with nothing done to it but what the surroundings say.

    Parameters
    ----------
    ensemble
        Bowls now.
    surroundings
        Room, bath, heat and stirring, constant over the time.
    seconds
        How long, 0…86400.
    dt_s
        Longest step; it is shortened so that whole steps fill the time. 1 s holds 0.02 K; up to 2 s for forecasts.
    parallel
        Spread the blocks over threads; the answer is the same to the bit.

    Returns
    -------
    Ensemble
        Same parameters, new state.

    Raises
    ------
    ImpossibleInput
        If ``seconds`` or ``dt_s`` is outside its range.
    NumericalFailure
        If a member is no longer finite.
    """
    if not 0.0 <= seconds <= 86_400.0:
        raise ImpossibleInput("seconds", seconds, "0 to 86400")
    if not 0.0 < dt_s <= 2.0:
        raise ImpossibleInput("dt_s", dt_s, "more than 0 and at most 2 s")
    if seconds == 0.0:
        return ensemble
    steps = math.ceil(seconds / dt_s - 1e-9)
    state = ensemble.state.copy()
    controls = surroundings.controls(ensemble.members)
    march = _advance_parallel if parallel else _advance_serial
    march(state, ensemble.parameters, controls, ensemble.bowl.constants, steps, seconds / steps)
    if not np.isfinite(state[: rows.DYNAMIC]).all():
        raise NumericalFailure("A bowl is no longer finite; the step is too long for its parameters.")
    return ensemble.with_state(state)
