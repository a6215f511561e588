"""What an ensemble does not hold is brought in for evidence to choose: a little always, much when all is contradicted.

A filter can only choose among the bowls it holds. Where every member says that the crystals are dead and a film then
sets glossy within four minutes, weighing is of no use: each member is refuted alike. So a share of them is drawn anew,
in what the evidence speaks of, and the evidence chooses between old and new (sensor resetting with a mixture: the old
belief is the prior of the rest). What was contradicted is said.

A contradiction can also come in small steps: a spatula that says "paste" again and again where few crystals are
believed is put down to the cook's eye a little more each time. So no evidence is weighed without a few bowls that the
model has not foreseen, which weigh little before it (a defensive mixture).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from bloomless.estimation.alerts import alert
from bloomless.estimation.belief import EYE_LUMPS, EYE_THICK, Belief, Snapshot, generator, own_pieces
from bloomless.estimation.passing import flagged
from bloomless.estimation.priors import prior
from bloomless.estimation.weights import log_mean
from bloomless.physics import rows
from bloomless.physics.actions import SPHERE, batch_kg, piece_masses_kg
from bloomless.physics.laws import solid_share_of

__all__ = ["Law", "contradicted", "revived", "with_unforeseen"]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Law: TypeAlias = Callable[[Snapshot, Array], Array]
"""Log-likelihood of evidence by a snapshot of members and what they think of the cook (``Belief.cook``)."""

V_PCT = (0.05, 15.0)
"""Form V of a bowl drawn anew, % of fat, even in its logarithm."""
PIECES_PCT = (0.2, 25.0)
"""Pieces of a bowl drawn anew, % of the bowl, even in its logarithm."""
PIECE_m = 3e-3
OWN_PIECES_PCT = (0.2, 60.0)
OWN_PIECE_m = 8e-3
"""The same where they are what has not melted of the bowl itself: more of them, and drops instead of chopped seed."""
UNFORESEEN = 0.05
"""Share of the members that take the part of bowls the model has not foreseen; they weigh ``unforeseen_share``."""


def contradicted(belief: Belief, shot: Snapshot, law: Law, *, of_pieces: bool) -> bool:
    """Whether the ensemble as a whole had not foreseen what some other bowl would have made likely.

    Parameters
    ----------
    belief
        Before the evidence.
    shot
        The members at the time the evidence tells of.
    law
        Of the evidence.
    of_pieces
        Whether it speaks of pieces.
    """
    foreseen = log_mean(belief.weight, law(shot, belief.cook))
    fresh, chosen = _bowls_anew(belief, shot, of_pieces=of_pieces, share=prior("revived_share"))
    return foreseen < prior("contradiction_ln") + log_mean(
        np.full(chosen.size, 1.0 / chosen.size), law(fresh, belief.cook[:, chosen])
    )


def _bowls_anew(belief: Belief, shot: Snapshot, *, of_pieces: bool, share: float) -> tuple[Snapshot, Ints]:
    """A share of the members as they might have been instead: other crystals, other pieces."""
    chance = generator(belief.seed, belief.draws)
    chosen = np.flatnonzero(chance.random(belief.members) < share)

    def evenly(within: tuple[float, float]) -> Array:
        low, high = np.log(within)
        return np.asarray(np.exp(low + (high - low) * chance.random(chosen.size)))

    v = evenly(V_PCT)
    pieces = evenly(OWN_PIECES_PCT if own_pieces(belief) else PIECES_PCT) if of_pieces else shot.pieces_pct[chosen]
    return Snapshot(shot.at_s, v, shot.unstable_pct[chosen], shot.mixed_C[chosen], pieces), chosen


def _with_pieces(belief: Belief, state: Array, chosen: Ints, pieces_pct: Array) -> None:
    """Give the chosen members these pieces instead of theirs, of one size, warm and as soft as the bowl is."""
    ensemble = belief.ensemble
    bowl, parameters = ensemble.bowl, ensemble.parameters[:, chosen]
    batch, had = batch_kg(ensemble)[chosen], piece_masses_kg(ensemble)[:, chosen].sum(axis=0)
    # Pieces are chocolate: where water got in they cannot be more than the chocolate there is.
    has = np.minimum(pieces_pct / 100.0 * batch, 0.9 * (state[rows.BULK_kg, chosen] + had))
    size = (OWN_PIECE_m if own_pieces(belief) else PIECE_m) * parameters[rows.SIZE_FACTOR]
    theta = state[rows.BULK_C, chosen] - bowl.shift_K - parameters[rows.MELTING_SHIFT_K]
    state[rows.PIECE_COUNT : rows.PIECE_COUNT + rows.CLASSES, chosen] = 0.0
    state[rows.PIECE_COUNT + 1, chosen] = has / (SPHERE * bowl.density_kg_m3 * size**3)
    state[rows.PIECE_m + 1, chosen] = size
    state[rows.PIECE_C + 1, chosen] = state[rows.BULK_C, chosen]
    state[rows.PIECE_SOLID + 1, chosen] = bowl.chocolate.cocoa_butter_of_fat * solid_share_of(theta)
    state[rows.BULK_kg, chosen] += had - has
    state[rows.BULK_FAT_kg, chosen] += bowl.chocolate.fat_share * (had - has)


def revived(belief: Belief, shot: Snapshot, *, of_pieces: bool) -> tuple[Belief, Snapshot]:
    """The belief with a share of its members drawn anew, which is said, and the snapshot that goes with it."""
    share = prior("revived_share")
    belief, shot = _with_anew(belief, shot, of_pieces=of_pieces, share=share, weighing=share)
    return flagged(belief, (alert("belief_rebuilt"),)), shot


def with_unforeseen(belief: Belief, shot: Snapshot, *, of_pieces: bool) -> tuple[Belief, Snapshot]:
    """The belief with a few members drawn anew that weigh little, and the snapshot that goes with it."""
    return _with_anew(belief, shot, of_pieces=of_pieces, share=UNFORESEEN, weighing=prior("unforeseen_share"))


def _with_anew(
    belief: Belief, shot: Snapshot, *, of_pieces: bool, share: float, weighing: float
) -> tuple[Belief, Snapshot]:
    """The belief with a share of its members drawn anew that together weigh so much.

    They have the form V that was drawn, then and now, and pieces, if of them. Their cook's eye is as nobody has seen
    it at work, and their thermometer is drawn anew from its prior, temperatures moved so that what it showed stays
    explained: crystals that should be dead may be alive because it reads high.
    """
    fresh, chosen = _bowls_anew(belief, shot, of_pieces=of_pieces, share=share)
    if chosen.size == 0:
        return belief, shot
    chance = generator(belief.seed, belief.draws + 1)
    state, parameters, cook = belief.ensemble.state.copy(), belief.ensemble.parameters.copy(), belief.cook.copy()
    if of_pieces:
        _with_pieces(belief, state, chosen, fresh.pieces_pct)
    state[rows.FORM_V_kg, chosen] = fresh.form_v_pct / 100.0 * state[rows.BULK_FAT_kg, chosen]
    probe = belief.start.probe
    offset = parameters[rows.PROBE_OFFSET_K, chosen]
    again = probe.offset_C + max(probe.offset_sd_C, 0.02) * chance.standard_normal(chosen.size)
    parameters[rows.PROBE_OFFSET_K, chosen] = again
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        state[row, chosen] += offset - again
    for row, lasting in ((EYE_LUMPS, "eye_lasting"), (EYE_THICK, "flow_lasting")):
        cook[row, chosen] = np.log(prior(lasting)) * chance.standard_normal(chosen.size)
    parts = {name: getattr(shot, name).copy() for name in ("form_v_pct", "unstable_pct", "mixed_C", "pieces_pct")}
    for name, values in parts.items():
        values[chosen] = getattr(fresh, name)
    ensemble = belief.ensemble.with_state(state).with_parameters(parameters)
    log_weight = _weighing(belief.log_weight, chosen, weighing)
    belief = replace(belief, ensemble=ensemble, cook=cook, log_weight=log_weight, draws=belief.draws + 2)
    return belief, replace(shot, **parts)


def _weighing(log_weight: Array, chosen: Ints, share: float) -> Array:
    """Log weights in which the chosen, all alike, hold so much of the whole."""
    others = np.exp(log_weight - log_weight.max())
    others[chosen] = 0.0
    each = share / (1.0 - share) * others.sum() / chosen.size
    log_weight = log_weight.copy()
    log_weight[chosen] = log_weight.max() + np.log(each)
    return log_weight
