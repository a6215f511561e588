"""What an ensemble has lost is brought back when evidence contradicts all of it.

A filter can only choose among the bowls it holds. Where every member says that the crystals are dead and a film then
sets glossy within four minutes, weighing is of no use: each member is refuted alike. So a share of them is drawn anew,
in what the evidence speaks of, and the evidence chooses between old and new (sensor resetting with a mixture: the old
belief is the prior of the rest). What was contradicted is said.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from bloomless.estimation.alerts import alert
from bloomless.estimation.belief import Belief, Snapshot, generator
from bloomless.estimation.passing import flagged
from bloomless.estimation.priors import prior
from bloomless.estimation.weights import log_mean
from bloomless.physics import rows
from bloomless.physics.actions import SPHERE, batch_kg, piece_masses_kg
from bloomless.physics.laws import solid_share_of

__all__ = ["contradicted", "revived"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

V_PCT = (0.05, 8.0)
"""Form V of a bowl drawn anew, % of fat, even in its logarithm."""
PIECES_PCT = (0.2, 25.0)
"""Pieces of a bowl drawn anew, % of the bowl, even in its logarithm."""
PIECE_m = 3e-3


def contradicted(belief: Belief, shot: Snapshot, law: Callable[[Snapshot, Ints], Array], *, of_pieces: bool) -> bool:
    """Whether the ensemble as a whole had not foreseen what some other bowl would have made likely.

    Parameters
    ----------
    belief
        Before the evidence.
    shot
        The members at the time the evidence tells of.
    law
        Log-likelihood of the evidence by snapshot and by the index of the member it belongs to.
    of_pieces
        Whether it speaks of pieces.
    """
    own = np.arange(belief.members)
    foreseen = log_mean(belief.weight, law(shot, own))
    fresh, chosen = _bowls_anew(belief, shot, of_pieces=of_pieces)
    return foreseen < prior("contradiction_ln") + log_mean(np.full(chosen.size, 1.0 / chosen.size), law(fresh, chosen))


def _bowls_anew(belief: Belief, shot: Snapshot, *, of_pieces: bool) -> tuple[Snapshot, Ints]:
    """A share of the members as they might have been instead: other crystals, other pieces."""
    chance = generator(belief.seed, belief.draws)
    chosen = np.flatnonzero(chance.random(belief.members) < prior("revived_share"))

    def evenly(within: tuple[float, float]) -> Array:
        low, high = np.log(within)
        return np.asarray(np.exp(low + (high - low) * chance.random(chosen.size)))

    v = evenly(V_PCT)
    pieces = evenly(PIECES_PCT) if of_pieces else shot.pieces_pct[chosen]
    return Snapshot(shot.at_s, v, shot.unstable_pct[chosen], shot.mixed_C[chosen], pieces), chosen


def _with_pieces(belief: Belief, state: Array, chosen: Ints, pieces_pct: Array) -> None:
    """Give the chosen members these pieces instead of theirs, of one size, warm and as soft as the bowl is."""
    ensemble = belief.ensemble
    bowl, parameters = ensemble.bowl, ensemble.parameters[:, chosen]
    batch, had = batch_kg(ensemble)[chosen], piece_masses_kg(ensemble)[:, chosen].sum(axis=0)
    # Pieces are chocolate: where water got in they cannot be more than the chocolate there is.
    has = np.minimum(pieces_pct / 100.0 * batch, 0.9 * (state[rows.BULK_kg, chosen] + had))
    size = PIECE_m * parameters[rows.SIZE_FACTOR]
    theta = state[rows.BULK_C, chosen] - bowl.shift_K - parameters[rows.MELTING_SHIFT_K]
    state[rows.PIECE_COUNT : rows.PIECE_COUNT + rows.CLASSES, chosen] = 0.0
    state[rows.PIECE_COUNT + 1, chosen] = has / (SPHERE * bowl.density_kg_m3 * size**3)
    state[rows.PIECE_m + 1, chosen] = size
    state[rows.PIECE_C + 1, chosen] = state[rows.BULK_C, chosen]
    state[rows.PIECE_SOLID + 1, chosen] = bowl.chocolate.cocoa_butter_of_fat * solid_share_of(theta)
    state[rows.BULK_kg, chosen] += had - has
    state[rows.BULK_FAT_kg, chosen] += bowl.chocolate.fat_share * (had - has)


def revived(belief: Belief, shot: Snapshot, *, of_pieces: bool) -> tuple[Belief, Snapshot]:
    """The belief with a share of its members drawn anew, and the snapshot that goes with it.

    They have the form V that was drawn, then and now, and pieces, if of them. Their thermometer is drawn anew
    from its prior, temperatures moved so that what it showed stays explained: crystals that should be dead may be alive
    because it reads high.
    """
    fresh, chosen = _bowls_anew(belief, shot, of_pieces=of_pieces)
    chance = generator(belief.seed, belief.draws + 1)
    state, parameters = belief.ensemble.state.copy(), belief.ensemble.parameters.copy()
    if of_pieces:
        _with_pieces(belief, state, chosen, fresh.pieces_pct)
    state[rows.FORM_V_kg, chosen] = fresh.form_v_pct / 100.0 * state[rows.BULK_FAT_kg, chosen]
    probe = belief.start.probe
    offset = parameters[rows.PROBE_OFFSET_K, chosen]
    again = probe.offset_C + max(probe.offset_sd_C, 0.02) * chance.standard_normal(chosen.size)
    parameters[rows.PROBE_OFFSET_K, chosen] = again
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        state[row, chosen] += offset - again
    parts = {name: getattr(shot, name).copy() for name in ("form_v_pct", "unstable_pct", "mixed_C", "pieces_pct")}
    for name, values in parts.items():
        values[chosen] = getattr(fresh, name)
    log_weight = belief.log_weight.copy()
    # The new ones share their part of the belief evenly, whatever the old ones had come to weigh.
    log_weight[chosen] = float(np.log(belief.weight.mean())) + log_weight.max() - float(np.log(belief.weight.max()))
    ensemble = belief.ensemble.with_state(state).with_parameters(parameters)
    belief = replace(belief, ensemble=ensemble, log_weight=log_weight, draws=belief.draws + 2)
    return flagged(belief, (alert("belief_rebuilt"),)), replace(shot, **parts)
