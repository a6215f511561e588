"""What the cook does, done to every member: with the errors of a hand, and with a few members that hold it undone.

A logged act may not have happened. A small share of the members therefore leaves each act out and remembers its number;
the next readings decide. If those members come to carry most of the weight, the cook is asked.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Alert
from bloomless.estimation.begin import vessel_of
from bloomless.estimation.belief import HELD_UNDONE, Belief, Running, generator
from bloomless.estimation.events import (
    Add,
    Bath,
    BowlEvent,
    HotAir,
    Microwave,
    Pour,
    Remove,
    Seed,
    Sieve,
    Stir,
    Table,
    Water,
)
from bloomless.estimation.passing import FOR_GOOD_S, flagged
from bloomless.estimation.priors import prior, prior_table
from bloomless.estimation.surroundings import METALS
from bloomless.physics import actions, rows

__all__ = ["done", "placed_at", "rebuilt", "stir", "undone_alerts"]

Array = npt.NDArray[np.float64]

REBUILT_SHARE = 0.4


@dataclass(frozen=True)
class _Hand:
    """One act as the members did it: factors of the amount, and who left it out."""

    belief: Belief
    factor: Array
    did: Array


def _with_hand(belief: Belief, spread: float) -> _Hand:
    """Draw the errors of a hand and the members that hold the act undone; remember them."""
    chance = generator(belief.seed, belief.draws)
    factor = np.exp(np.log(spread) * chance.standard_normal(belief.members))
    undone = chance.random(belief.members) < prior("undone_share")
    cook = belief.cook.copy()
    cook[HELD_UNDONE] = np.where(undone, float(len(belief.acts)), cook[HELD_UNDONE])
    belief = replace(belief, cook=cook, draws=belief.draws + 1)
    return _Hand(belief, factor, np.where(undone, 0.0, 1.0))


def _seed(belief: Belief, event: Seed) -> Belief:
    hand = _with_hand(belief, prior_table()["weighing"].spread)
    belief = hand.belief
    weighed = event.mass_g / 1000.0 * hand.factor * belief.ensemble.parameters[rows.MASS_FACTOR] * hand.did
    chance = generator(belief.seed, belief.draws)
    said = belief.start.room_C if event.temperature_C is None else event.temperature_C
    warm = said + prior_table()["seed_C"].spread * chance.standard_normal(belief.members)
    belief = replace(belief, draws=belief.draws + 1)
    relative = actions.FORMS[event.form][0]
    quality = None
    if relative.spread > 0.0 and event.form in {"bloomed", "unknown"}:
        chance = generator(belief.seed, belief.draws)
        belief = replace(belief, draws=belief.draws + 1)
        # Seed of doubtful origin may hold any share of form V, none included, until the bowl or a smear speaks.
        quality = belief.ensemble.parameters[rows.SEED_QUALITY] * chance.beta(0.8, 0.8, belief.members)
    ensemble = actions.add_pieces(
        belief.ensemble,
        weighed,
        temperature_C=warm,
        size_mm=min(max(event.size_mm, 0.1), 60.0),
        form=event.form,
        quality=quality,
    )
    belief = replace(belief, ensemble=ensemble, seeded_at_s=event.at_s)
    if event.form in {"bloomed", "unknown"}:
        belief = flagged(belief, (alert("seed_doubtful"),), stands_s=900.0)
    return belief


def _add(belief: Belief, event: Add) -> Belief:
    hand = _with_hand(belief, prior_table()["weighing"].spread)
    belief = hand.belief
    chance = generator(belief.seed, belief.draws)
    warm = event.temperature_C + chance.standard_normal(belief.members)
    melt = event.mass_g / 1000.0 * hand.factor * hand.did
    ensemble = actions.add_melt(belief.ensemble, melt, temperature_C=warm)
    return replace(belief, ensemble=ensemble, draws=belief.draws + 1)


def _pour(belief: Belief, event: Pour) -> Belief:
    warm = belief.start.room_C if event.vessel_C is None else event.vessel_C
    spec = next(
        (one.vessel for one in reversed(belief.acts) if isinstance(one, Pour) and one.vessel), belief.start.vessel
    )
    into = vessel_of(spec, belief.ensemble.bowl.mass_kg)
    ensemble = actions.pour_into(belief.ensemble, into, vessel_C=np.full(belief.members, warm))
    return replace(belief, ensemble=ensemble)


def _lasting(belief: Belief, event: Bath | Microwave | HotAir) -> Belief:
    said: tuple[Alert, ...] = ()
    if isinstance(event, Microwave):
        said = (alert("microwave_care"),)
        if belief.ensemble.bowl.vessel.material in METALS:
            said = (alert("metal_in_microwave"),)
    belief = flagged(belief, said)
    hand = _with_hand(belief, prior_table()["timing"].spread)
    belief = hand.belief
    chance = generator(belief.seed, belief.draws)
    water = prior_table()["bath_water_C"].spread * chance.standard_normal(belief.members)
    running = Running(event, event.at_s + event.seconds, hand.factor * hand.did, water)
    return replace(belief, running=(*belief.running, running), draws=belief.draws + 1)


def _table(belief: Belief, event: Table) -> Belief:
    warm = belief.start.room_C if event.surface_C is None else event.surface_C
    share = min(max(event.share, 0.0), 0.95)
    rest, part = actions.take_to_table(belief.ensemble, share, surface=event.surface, surface_C=warm)
    # How thin and how often it is spread decides how fast the stone takes its heat: nobody says.
    chance = generator(belief.seed, belief.draws)
    parameters = part.parameters.copy()
    parameters[rows.INNER_FACTOR] *= np.exp(
        math.log(prior_table()["spreading"].spread) * chance.standard_normal(belief.members)
    )
    ones = np.ones(belief.members)
    running = Running(event, event.at_s + event.seconds, ones, 0.0 * ones, part.with_parameters(parameters))
    return replace(belief, ensemble=rest, running=(*belief.running, running), draws=belief.draws + 1)


def _sieve(belief: Belief, event: Sieve) -> Belief:
    """Most of the lumps go, coarse first, and melt with them; some pass the sieve or are missed."""
    hand = _with_hand(belief, 1.1)
    chance = generator(hand.belief.seed, hand.belief.draws)
    caught = np.exp(np.log(prior_table()["sieve_catches"].spread) * chance.standard_normal(belief.members))
    have = actions.piece_masses_kg(belief.ensemble).sum(axis=0)
    lumps = np.minimum(prior("sieve_catches") * caught, 0.95) * have
    ensemble = actions.sieve_out(belief.ensemble, event.mass_g / 1000.0 * hand.factor, lumps_kg=lumps)
    return replace(hand.belief, ensemble=ensemble, draws=hand.belief.draws + 1)


def _remove(belief: Belief, event: Remove) -> Belief:
    return replace(belief, ensemble=actions.take_out(belief.ensemble, event.mass_g / 1000.0))


def _water(belief: Belief, event: Water) -> Belief:
    ensemble = actions.add_water(belief.ensemble, event.mass_g / 1000.0)
    share = 100.0 * event.mass_g / 1000.0 / ensemble.bowl.mass_kg
    belief = flagged(belief, (alert("water_in", f"{share:.1f} % of the bowl."),), stands_s=FOR_GOOD_S)
    return replace(belief, ensemble=ensemble)


def _nothing(belief: Belief, _: BowlEvent) -> Belief:
    return belief


def done(belief: Belief, event: BowlEvent) -> Belief:
    """The belief after an act; what only asks changes nothing."""
    how: dict[type, Callable[[Belief, Any], Belief]] = {
        Seed: _seed,
        Add: _add,
        Pour: _pour,
        Bath: _lasting,
        Microwave: _lasting,
        HotAir: _lasting,
        Table: _table,
        Sieve: _sieve,
        Remove: _remove,
        Water: _water,
    }
    return how.get(type(event), _nothing)(belief, event)


def stir(belief: Belief, event: Stir) -> Belief:
    """Another vigour from now on."""
    watch = belief.watch
    if event.vigour != "none":
        watch = replace(watch, stirred_at_s=event.at_s)
    return replace(belief, vigour=event.vigour, watch=watch)


def placed_at(belief: Belief, reading_C: float) -> Belief:
    """A start without a temperature takes the first reading for it."""
    state = belief.ensemble.state.copy()
    warm = reading_C - belief.ensemble.parameters[rows.PROBE_OFFSET_K]
    state[rows.BULK_C] = state[rows.PROBE_C] = warm
    state[rows.VESSEL_C] = warm - 1.0
    return replace(belief, ensemble=belief.ensemble.with_state(state))


def rebuilt(belief: Belief, miss_K: Array, *, pieces: bool = True) -> Belief:
    """Several odd readings agree: a share of the members takes it that something was done and not logged.

    Parameters
    ----------
    belief
        Before.
    miss_K
        Reading less what each member expected; a fall is half of the time cold pieces, else cooling, a rise is heat.
    pieces
        Whether cold pieces may be the reason.
    """
    chance = generator(belief.seed, belief.draws)
    members = belief.members
    believes = chance.random(members) < REBUILT_SHARE
    falls = (miss_K < 0.0) & (chance.random(members) < (0.6 if pieces else 0.0))
    ensemble = belief.ensemble
    state = ensemble.state.copy()
    shift = np.where(believes, miss_K, 0.0)
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        state[row] += shift
    ensemble = ensemble.with_state(state)
    per_share_K = 0.6 * ensemble.bowl.latent_K + 12.0
    cold_kg = np.where(believes & falls, -miss_K / per_share_K * ensemble.bowl.mass_kg, 0.0)
    if cold_kg.any():
        # The fall is what these pieces have taken already; half of them are left to be seen.
        ensemble = actions.add_pieces(
            ensemble, np.clip(0.5 * cold_kg, 0.0, 5.0), temperature_C=state[rows.BULK_C].mean(), size_mm=3.0
        )
        state = ensemble.state.copy()
        fat = state[rows.BULK_FAT_kg]
        state[rows.FORM_V_kg] += np.where(cold_kg > 0.0, 0.01 * fat, 0.0)
        ensemble = ensemble.with_state(state)
    belief = replace(belief, ensemble=ensemble, draws=belief.draws + 1)
    return flagged(belief, (alert("belief_rebuilt"),))


_UNDONE = {
    "seed": "seed_not_added",
    "add": "heat_not_given",
    "warm_bath": "heat_not_given",
    "microwave": "heat_not_given",
    "hot_air": "heat_not_given",
    "cool_bath": "cooling_not_given",
}
"""Act → what is asked where it does not show."""
UNDONE_ASKED_S = 600.0
"""Nobody is asked about an act from longer ago."""


def undone_alerts(belief: Belief, weight: Array) -> tuple[Alert, ...]:
    """Logged acts that most of the weight holds undone; a bath that does not show may as well not be stirred in."""
    held = belief.cook[HELD_UNDONE]
    said: list[Alert] = []
    for number in {int(n) for n in np.unique(held) if n > 0.0}:
        event = belief.acts[number - 1]
        code = _UNDONE.get(event.what)
        if code is None or belief.at_s - event.at_s > UNDONE_ASKED_S:
            continue
        if float(weight @ (held == number)) > 0.5:
            since = f"{belief.at_s - event.at_s:.0f} s ago"
            said.append(alert(code, f"Logged {since}."))
            if isinstance(event, Bath):
                said.append(alert("not_stirred_in", f"The bath of {since} does not show."))
    return tuple(said)
