"""Moves of the members that keep the belief alive: model error, resampling with shrinkage, and the drift back.

Temperature, offset and melting shift can all be raised together without any reading noticing: the bowl is seen through
the offset, and crystals know temperatures only against their melting point. Plain resampling makes such a direction
collapse by chance and then trusts what is left. ``shaken`` redraws the place along it from the priors (a Gibbs
step of the exact conditional, slowed to a time constant), with the temperatures moved so that nothing seen changes.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from bloomless.estimation.belief import HELD_UNDONE, Belief, Running, Settings, Snapshot, generator
from bloomless.estimation.events import ProbeSpec
from bloomless.estimation.priors import prior
from bloomless.estimation.weights import effective_size, systematic
from bloomless.physics import rows
from bloomless.physics.actions import batch_kg
from bloomless.physics.ensemble import gather

__all__ = ["flattened", "picked", "resampled_if_poor", "shaken", "thinned", "variety"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


MASS_ROWS = [
    rows.BULK_kg,
    rows.BULK_FAT_kg,
    rows.FORM_V_kg,
    rows.UNSTABLE_kg,
    rows.FIRST_CROP_kg,
    *range(rows.PIECE_COUNT, rows.PIECE_COUNT + rows.CLASSES),
]
"""All that a bowl weighs, in kg and in pieces."""
LEAST_LASTING_SD = 0.02
"""Spread that every resampling leaves of what is thought of the cook, in ln."""
POOR_SHARE = 0.5
"""An ensemble of a smaller effective size, as a share of its members, is resampled."""


def flattened(log_weight: Array) -> Array:
    """Log weights raised to the largest power up to 1 that leaves a least share of effective members.

    Evidence that contradicts nearly every member tells more of the model than of the bowl; believing it in full would
    leave a handful of members that happened to fit.
    """
    least = prior("least_effective_share") * log_weight.size
    power = 1.0
    top = log_weight - log_weight.max()
    weight = np.exp(top)
    while effective_size(weight / weight.sum()) < least:
        power *= 0.8
        weight = np.exp(power * top)
    return np.asarray(power * top, dtype=np.float64)


def shaken(belief: Belief, seconds: float) -> Belief:
    """The belief after the model error of a stretch of time, and after the drift along what no reading can see."""
    how = belief.settings
    walks, drifts = how.noise_scale > 0.0, how.drift and how.bias
    if not walks and not drifts:
        return belief
    ensemble = belief.ensemble
    # One copy of each for both, changed in place: they are the largest arrays there are.
    state, parameters, draws = ensemble.state.copy(), ensemble.parameters.copy(), belief.draws
    if walks:
        _walk(state, parameters, how, seconds, generator(belief.seed, draws))
        draws += 1
        if belief.start.state != "melted":
            # Pieces are larger or smaller than was reckoned; what is in the bowl weighs as much as before. In a seeded
            # melt they are a small part, and that they walk freely stands in for seed that was weighed badly: held to
            # the same weight there, the chance missed by more (0.110 instead of 0.094 in 120 kitchens of seed 305).
            same = batch_kg(ensemble) / batch_kg(ensemble.with_state(state))
            state[MASS_ROWS] *= same
    if drifts:
        shift_sd = float(belief.table.sd[rows.MELTING_SHIFT_K])
        _drift_back(state, parameters, belief.start.probe, shift_sd, seconds, generator(belief.seed, draws))
        draws += 1
    return replace(belief, ensemble=replace(ensemble, state=state, parameters=parameters), draws=draws)


def _walk(state: Array, parameters: Array, how: Settings, seconds: float, chance: np.random.Generator) -> None:
    """Model error: random steps of temperature, crystals, pieces and losses; the sizes are fitted."""
    scale, members = how.noise_scale * math.sqrt(seconds / 60.0), state.shape[1]

    def steps(name: str, factor: float) -> Array:
        return np.asarray(prior(name) * factor * scale * chance.standard_normal(members))

    state[rows.BULK_C] += steps("model_error_K", how.noise_temperature)
    state[rows.FORM_V_kg] *= np.exp(steps("model_error_form_v", how.noise_crystals))
    state[rows.UNSTABLE_kg] *= np.exp(steps("model_error_unstable", how.noise_crystals))
    state[rows.PIECE_m : rows.PIECE_m + rows.CLASSES] *= np.exp(steps("model_error_pieces", how.noise_pieces) / 3.0)
    # A draught comes and goes, an oven door opens: what was learned of the heat loss slowly ceases to hold.
    parameters[rows.TOP_FACTOR] *= np.exp(steps("model_error_loss", how.noise_loss))
    parameters[rows.ROOM_SHIFT_K] += steps("model_error_room_K", how.noise_loss)


def _drift_back(
    state: Array, parameters: Array, probe: ProbeSpec, shift_sd: float, seconds: float, chance: np.random.Generator
) -> None:
    """Let offset and melting shift drift back to their priors along what no reading can see."""
    offset_sd, members = max(probe.offset_sd_C, 1e-3), state.shape[1]
    offset = parameters[rows.PROBE_OFFSET_K] - probe.offset_C
    shift = parameters[rows.MELTING_SHIFT_K]
    precision = offset_sd**-2 + shift_sd**-2
    mean = (offset / offset_sd**2 - shift / shift_sd**2) / precision
    keep = math.exp(-seconds / prior("drift_s"))
    step = (1.0 - keep) * mean + math.sqrt((1.0 - keep * keep) / precision) * chance.standard_normal(members)
    parameters[rows.PROBE_OFFSET_K] -= step
    parameters[rows.MELTING_SHIFT_K] += step
    # A second, slower drift of the offset alone: what the melting of crystals has told may be wrong as well.
    alone = math.exp(-seconds / prior("drift_alone_s"))
    offset = parameters[rows.PROBE_OFFSET_K] - probe.offset_C
    pull = (1.0 - alone) * offset + math.sqrt(1.0 - alone * alone) * offset_sd * chance.standard_normal(members)
    parameters[rows.PROBE_OFFSET_K] -= pull
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        state[row] += step + pull


def _picked_snapshot(shot: Snapshot, index: Ints) -> Snapshot:
    return Snapshot(
        shot.at_s, shot.form_v_pct[index], shot.unstable_pct[index], shot.mixed_C[index], shot.pieces_pct[index]
    )


def _picked_running(run: Running, index: Ints) -> Running:
    part = None if run.part is None else gather(run.part, index)
    return replace(run, strength=run.strength[index], water_K=run.water_K[index], part=part)


def picked(belief: Belief, index: Ints) -> Belief:
    """The belief made of the members named, with equal weights."""
    return replace(
        belief,
        ensemble=gather(belief.ensemble, index),
        log_weight=np.zeros(index.size),
        cook=belief.cook[:, index],
        ancestor=belief.ancestor[index],
        placement=replace(belief.placement, mean_C=belief.placement.mean_C[index]),
        other_offsets={name: offset[index] for name, offset in belief.other_offsets.items()},
        running=tuple(_picked_running(run, index) for run in belief.running),
        snapshots=tuple(_picked_snapshot(shot, index) for shot in belief.snapshots),
    )


def thinned(belief: Belief, members: int) -> Belief:
    """The belief by fewer members of equal weight, evenly taken: for a curve on a screen."""
    places = (np.arange(members) + 0.5) / members
    index = np.searchsorted(np.cumsum(belief.weight), places)
    return picked(belief, np.minimum(index, belief.members - 1))


def _shrunk(values: Array, chance: np.random.Generator, spread: float, least: Array) -> Array:
    """Liu and West: shrink to the mean and add noise so that mean and variance stay; never below a least sd."""
    mean = values.mean(axis=1, keepdims=True)
    sd = values.std(axis=1, keepdims=True)
    noise = chance.standard_normal(values.shape)
    noise *= np.maximum(spread * sd, least[:, None])
    shrunk = values - mean
    shrunk *= math.sqrt(1.0 - spread * spread)
    shrunk += mean
    shrunk += noise
    return np.asarray(shrunk, dtype=np.float64)


def resampled_if_poor(belief: Belief) -> Belief:
    """Resample systematically when the effective size is below a share of the members, and renew the parameters."""
    weight = belief.weight
    if effective_size(weight) >= POOR_SHARE * belief.members:
        return belief
    chance = generator(belief.seed, belief.draws)
    index = systematic(weight, float(chance.random()))
    belief = replace(picked(belief, index), draws=belief.draws + 1)
    table = belief.table
    free = table.free(belief.ensemble.parameters)
    moved = np.flatnonzero(table.sd > 0.0)
    free[moved] = _shrunk(free[moved], chance, prior("shrinkage"), prior("renewal_share") * table.sd[moved])
    if not belief.settings.bias:
        free[rows.PROBE_OFFSET_K] = belief.start.probe.offset_C
    state = belief.ensemble.state.copy()
    heavier = np.exp(prior("mass_renewal") * chance.standard_normal(belief.members))
    state[MASS_ROWS] *= heavier
    ensemble = belief.ensemble.with_state(state).with_parameters(table.bound(free))
    cook = belief.cook.copy()
    # What a member thinks of the cook's eye and hand, but not which act it holds undone.
    lasting = cook[:HELD_UNDONE]
    cook[:HELD_UNDONE] = _shrunk(lasting, chance, prior("shrinkage"), np.full(len(lasting), LEAST_LASTING_SD))
    return replace(belief, ensemble=ensemble, cook=cook)


def variety(belief: Belief) -> tuple[float, float]:
    """How far the ensemble is from being one bowl many times over, as shares of its members.

    The effective size, and how many members of the beginning still have descendants.
    """
    return effective_size(belief.weight) / belief.members, np.unique(belief.ancestor).size / belief.members
