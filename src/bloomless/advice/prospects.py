"""Rollouts: every candidate first step, every member, continued under the sensible cook of ``policy`` to the end.

All candidates stand side by side (candidate-major), so that one compiled call carries them all, on every core, and all
meet the same members. A lane that is in temper with a margin is done.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from bloomless.advice import rollout_kernel as kernel
from bloomless.advice.orders import Order
from bloomless.advice.policy import EPOCH_S, Aim
from bloomless.estimation.belief import Snapshot
from bloomless.materials.vessels import vessel
from bloomless.physics import actions
from bloomless.physics.advance import advance
from bloomless.physics.block import LANES
from bloomless.physics.ensemble import Ensemble, Surroundings

__all__ = ["Outcome", "Work", "rollout"]

Array = npt.NDArray[np.float64]

HORIZON_S = 840.0
"""So far ahead every rollout goes."""
COOLS_K_MIN = 0.35
SEEDING_MIN = 6.0
LATE_S = 15.0
"""Between an order and the act."""


@dataclass(frozen=True, slots=True)
class Work:
    """What the rollouts of one plan share."""

    aim: Aim
    room_C: float
    bath_1_s: float
    """How fast a bath moves the bowl: K/s for each K of difference."""
    idle_waits: bool = False
    """Waiting is then only waiting: a cook who goes on to act would act on what no cook can see."""


@dataclass(frozen=True)
class Outcome:
    """How each lane fared; shape (candidates, members)."""

    minutes: Array
    """Until in temper; the horizon if never."""
    done: Array
    """1 if in temper within the horizon."""
    acts: Array
    """Acts of the cook after the candidate's own."""
    seed_kg: Array
    """Seed used, the candidate's own included."""
    first_min: Array
    """When the cook may decide again after the candidate's own act."""
    first: tuple[Snapshot, ...]
    """The members at that moment, one a candidate."""
    next_code: Array
    """The cook's first act after the candidate's own, a code of the policy; 0: none."""
    next_amount: Array
    still_min: Array
    """For a lane that is not done: minutes it will still take if it only has to cool, else infinite."""


def _after(ensemble: Ensemble, order: Order, work: Work) -> Ensemble:
    """The members right after what an order changes at once."""
    if order.do == "add_seed" and order.mass_g and order.size_mm:
        return actions.add_pieces(
            ensemble,
            order.mass_g / 1000.0,
            temperature_C=work.aim.seed_C,
            size_mm=order.size_mm,
            form="cocoa_butter_crystals" if order.form == "cocoa_butter_crystals" else "tempered",
        )
    if order.do == "add_melt" and order.mass_g and order.temperature_C:
        return actions.add_melt(ensemble, order.mass_g / 1000.0, temperature_C=order.temperature_C)
    if order.do == "sieve":
        out = kernel.SIEVED * actions.piece_masses_kg(ensemble).sum(axis=0)
        return actions.sieve_out(ensemble, out)
    if order.do == "pour_over":
        into = vessel(ensemble.bowl.vessel.material, holds_kg=ensemble.bowl.mass_kg)
        return actions.pour_into(ensemble, into, vessel_C=work.room_C)
    if order.do == "table" and order.share and order.seconds:
        rest, part = actions.take_to_table(ensemble, order.share, surface_C=work.room_C)
        around = Surroundings(room_C=work.room_C)
        rest = advance(rest, around, order.seconds)
        part = advance(part, replace(around, stir=1.5), order.seconds)
        return actions.put_together(rest, part)
    return ensemble


def _lane(order: Order, work: Work) -> Array:
    """What the lanes of an order bring along."""
    lane = np.zeros(kernel.LANE_ROWS)
    lasts = order.seconds or 0.0
    own = 0.0 if order.do in {"table", "stir"} else lasts
    lane[kernel.BUSY_S] = (lasts if order.do == "stir" else LATE_S + own) + order.then_wait_s
    if order.do in {"warm_bath", "cool_bath"} and order.bath_C is not None:
        lane[kernel.BATH_C], lane[kernel.BATH_S] = order.bath_C, lasts
    elif order.do == "microwave":
        lane[kernel.OVEN_W], lane[kernel.BATH_S] = order.watts or 0.0, lasts
    elif order.do == "hot_air":
        lane[kernel.AIR_W], lane[kernel.BATH_S] = order.watts or 0.0, lasts
    used = (order.mass_g or 0.0) / 1000.0 if order.do == "add_seed" else 0.0
    lane[kernel.SEED_LEFT_kg] = max(work.aim.seed_kg - used, 0.0)
    return lane


def _still_min(end_C: Array, end_v: Array, work: Work) -> Array:
    """A bowl without crystals that is still too warm for seed is not lost, only slow."""
    aim = work.aim
    slow = (end_v < aim.form_v[0]) & (end_C > aim.live_C + 1.0) & (aim.seed_kg >= 0.005)
    return np.where(slow, np.maximum(end_C - aim.live_C - 3.0, 0.0) / COOLS_K_MIN + SEEDING_MIN, np.inf)


def rollout(ensemble: Ensemble, orders: tuple[Order, ...], work: Work) -> Outcome:
    """Fate of every candidate in every member.

    Parameters
    ----------
    ensemble
        Members of equal weight; their number is a multiple of ``LANES``.
    orders
        Candidates; what only looks counts as waiting for its seconds.
    work
        Aim, room and speed of the bath.
    """
    members = ensemble.members
    starts = [_after(ensemble, order, work) for order in orders]
    state = np.concatenate([start.state for start in starts], axis=1)
    parameters = np.tile(ensemble.parameters, (1, len(orders)))
    constants = np.array([start.bowl.constants for start in starts])
    lanes = np.repeat(np.array([_lane(order, work) for order in orders]).T, members, axis=1)
    of_block = np.repeat(np.arange(len(orders)), members // LANES)
    epochs = round(HORIZON_S / EPOCH_S)
    idle = replace(work.aim, means=frozenset()) if work.idle_waits else work.aim
    aims = np.array([(idle if order.do == "stir" else work.aim).packed() for order in orders])
    fate = kernel.march_lanes(
        state,
        parameters,
        constants,
        of_block,
        np.ascontiguousarray(lanes),
        aims,
        work.room_C,
        work.bath_1_s,
        epochs,
    )
    rows = (row.reshape(len(orders), members) for row in fate)
    minutes, done, acts, seed, t, v, u, p, first_min, end_C, end_v, code, amount = rows
    own = np.array([(o.mass_g or 0.0) / 1000.0 if o.do == "add_seed" else 0.0 for o in orders])
    first = tuple(Snapshot(0.0, 100.0 * v[k], 100.0 * u[k], t[k], 100.0 * p[k]) for k in range(len(orders)))
    still = _still_min(end_C, end_v, work)
    return Outcome(minutes, done, acts, seed + own[:, None], first_min, first, code, amount, still)
