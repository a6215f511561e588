"""How an event changes the belief: time passes, acts are done to every member, evidence weighs them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt

from bloomless.estimation import acts
from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Alert
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import EYE_LUMPS, EYE_THICK, SMEAR_PACE, Belief, Snapshot
from bloomless.estimation.events import (
    BowlEvent,
    Look,
    ProbeCheck,
    Reading,
    Smear,
    Stir,
)
from bloomless.estimation.eye import look_log_likelihood
from bloomless.estimation.film import WARM_ROOM_C, smear_log_likelihood
from bloomless.estimation.moves import flattened, resampled_if_poor
from bloomless.estimation.passing import flagged, passed
from bloomless.estimation.read import take_check, take_reading
from bloomless.estimation.revival import Law, contradicted, revived, with_unforeseen
from bloomless.estimation.surroundings import shown
from bloomless.estimation.weights import log_mean

__all__ = ["take"]

Array = npt.NDArray[np.float64]


def take(belief: Belief, event: BowlEvent) -> Belief:
    """The belief after an event; earlier beliefs stay as they are.

    Parameters
    ----------
    belief
        Up to now.
    event
        With ``at_s`` not before ``belief.at_s``; an earlier one is taken as of now (replay from a checkpoint to place
        it where it belongs).
    """
    belief = passed(belief, event.at_s)
    belief = replace(belief, heard=(*belief.heard, event))
    if isinstance(event, Reading):
        return take_reading(belief, event)
    belief = replace(belief, acts=(*belief.acts, event))
    if isinstance(event, ProbeCheck):
        return _reread(belief, event)
    how: dict[type, Callable[[Belief, Any], Belief]] = {
        Look: _look,
        Smear: _smear,
        Stir: acts.stir,
    }
    return how.get(type(event), acts.done)(belief, event)


def _reread(belief: Belief, check: ProbeCheck) -> Belief:
    """A check of the first thermometer: the whole history is read again with what is now known of its offset."""
    checked = take_check(belief, check)
    if check.probe != "1" or not belief.readings:
        return checked
    again = begin(
        checked.start,
        seed=belief.seed,
        members=belief.members,
        priors=belief.priors,
        settings=belief.settings,
    )
    for event in belief.heard[:-1]:
        again = _taken_without_check(again, event)
    again = passed(again, belief.at_s)
    flags = {flag.alert.code: flag for flag in (*again.flags, *checked.flags)}
    return replace(again, heard=belief.heard, acts=belief.acts, backed=True, flags=tuple(flags.values()))


def _taken_without_check(belief: Belief, event: BowlEvent) -> Belief:
    """Take an event of the history; an earlier check has gone into the start already."""
    if isinstance(event, ProbeCheck) and event.probe == "1":
        belief = passed(belief, event.at_s)
        return replace(belief, heard=(*belief.heard, event), acts=(*belief.acts, event))
    return take(belief, event)


def weighed(belief: Belief, shot: Snapshot, law: Law, *, of_pieces: bool) -> Belief:
    """Weigh the members by what was seen of the bowl as it was at ``shot``, and resample if few are left.

    Evidence that no member had foreseen brings back what the ensemble has lost before it chooses.
    """
    anew = revived if contradicted(belief, shot, law, of_pieces=of_pieces) else with_unforeseen
    belief, shot = anew(belief, shot, of_pieces=of_pieces)
    log_likelihood = law(shot, belief.cook)
    foreseen = belief.log_evidence + log_mean(belief.weight, log_likelihood)
    weight = flattened(belief.log_weight + log_likelihood)
    return resampled_if_poor(replace(belief, log_weight=weight, log_evidence=foreseen))


def _look(belief: Belief, look: Look) -> Belief:
    if not belief.settings.lumps:
        look = replace(look, lumps=None)

    def law(shot: Snapshot, cook: Array) -> Array:
        seen = shot.form_v_pct, shot.unstable_pct, shot.pieces_pct
        return look_log_likelihood(look, *seen, cook[EYE_LUMPS], cook[EYE_THICK], belief.temper.middle_C - shot.mixed_C)

    stirred = replace(belief, watch=replace(belief.watch, stirred_at_s=belief.at_s))
    if all(said is None for said in (look.lumps, look.thickness, look.drain, look.streaks)):
        return stirred  # nothing was told of crystals or pieces
    return weighed(stirred, shown(belief), law, of_pieces=look.lumps is not None and belief.seeded_at_s is not None)


def _snapshot_at(belief: Belief, at_s: float) -> Snapshot:
    """The crystals at a time: the nearest snapshot, or now."""
    if at_s >= belief.at_s - 5.0 or not belief.snapshots:
        return shown(belief)
    return min(belief.snapshots, key=lambda shot: abs(shot.at_s - at_s))


def _smear(belief: Belief, smear: Smear) -> Belief:
    known = max(
        (old.not_set_after_s or 0.0 for old in belief.waiting_smears if abs(old.taken_at_s - smear.taken_at_s) < 30.0),
        default=0.0,
    )
    others = tuple(old for old in belief.waiting_smears if abs(old.taken_at_s - smear.taken_at_s) >= 30.0)
    if smear.set_after_s is None and smear.finish is None:
        belief = replace(belief, waiting_smears=(*others, smear))
    else:
        belief = replace(belief, waiting_smears=others)
    if not smear.has_result:
        return belief
    shot = _snapshot_at(belief, smear.taken_at_s)

    def law(shot: Snapshot, cook: Array) -> Array:
        return smear_log_likelihood(
            smear,
            shot.form_v_pct,
            shot.unstable_pct,
            cook[SMEAR_PACE],
            kind=belief.start.chocolate.kind,
            room_C=belief.start.room_C,
            known_not_set_s=known,
        )

    if smear.set_after_s is not None or smear.finish is not None:
        belief = replace(belief, backed=True)
    room = smear.room_C if smear.room_C is not None else belief.start.room_C
    said: tuple[Alert, ...] = (alert("room_warm_for_smear", f"{room:.0f} °C."),) if room > WARM_ROOM_C else ()
    return weighed(flagged(belief, said), shot, law, of_pieces=False)
