"""A full plan: candidates rolled out over the belief, priced in minutes, and what a look or a smear would be worth.

The cost of a candidate in a member is minutes until in temper plus the price of acts, seed and failure. The cost of
using the bowl now is the price of a failed batch times the chance of it. A look or a smear is worth what choosing after
its answer saves: for every answer the members are weighed by its likelihood and the cheapest step is taken again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from bloomless.advice.orders import Order, is_action
from bloomless.advice.prices import Prices
from bloomless.advice.prospects import Outcome, Work, rollout
from bloomless.estimation.answers import Band
from bloomless.estimation.chance import blurred
from bloomless.estimation.eye import lump_chances, thickness_chances, viscosity_ln
from bloomless.estimation.film import film_set_ln_s, finish_chances
from bloomless.estimation.priors import prior
from bloomless.physics.ensemble import Ensemble
from bloomless.physics.readings import Temper

__all__ = ["Members", "Rated", "answers_of_check", "answers_of_look", "answers_of_smear", "rated", "worth_of_answers"]

Array = npt.NDArray[np.float64]

SHIFTS = (13, 29, 47, 71)
SURE = 0.985
"""Chance that a bowl the rollouts call done is (model error); fitted."""
MAY_BE_READY = 0.3
"""Above this chance after an act, the act is priced without second sight."""


@dataclass(frozen=True)
class Members:
    """The equal-weight sample of the belief that a plan works on; arrays have the shape (members,)."""

    ensemble: Ensemble
    form_v_pct: Array
    """Outside pieces, % of all fat, like the unstable forms."""
    unstable_pct: Array
    pieces_pct: Array
    """Larger than 0.5 mm, % of the bowl."""
    eye_lumps_ln: Array
    eye_thick_ln: Array
    pace_ln: Array
    """What each thinks of this cook's eye and smear: ln factors."""
    offset_C: Array
    """Of the thermometer, shown minus true [K]."""
    chance: Array
    """Chance of being in temper now, one a member."""
    temper: Temper


@dataclass(frozen=True)
class Rated:
    """One candidate with its price in every member."""

    order: Order
    cost: Array
    """Minutes, shape (members,); as if the cook who goes on saw which member is the bowl."""
    price: float
    """Expected minutes, without second sight."""
    chance_after: float
    """Of being in temper within the horizon."""
    minutes_after: float
    """Until then, the median."""
    minutes: Band
    """Until in temper, over the members."""
    then: tuple[int, float] | None = None
    """What most rollouts do next: a code of the policy and its amount."""


def _cost(outcome: Outcome, k: int, order: Order, prices: Prices, melt_g: float) -> Array:
    done = outcome.done[k]
    cost = (
        outcome.minutes[k]
        + (1.0 - done) * np.minimum(outcome.still_min[k], prices.never)
        + prices.later_act * outcome.acts[k]
    )
    cost = cost + prices.seed_per_pct * 100.0 * 1000.0 * outcome.seed_kg[k] / melt_g
    return np.asarray(cost + _own_price(order, prices), dtype=np.float64)


def rated(members: Members, orders: tuple[Order, ...], work: Work, prices: Prices, *, melt_g: float) -> list[Rated]:
    """Every candidate with its price, the cheapest first.

    Parameters
    ----------
    members, orders, work
        What to roll out.
    prices
        What things cost.
    melt_g
        Chocolate of the start, for the price of seed.
    """
    outcome = rollout(members.ensemble, orders, work)
    costs = np.array([_cost(outcome, k, order, prices, melt_g) for k, order in enumerate(orders)])
    go_on = costs + prices.settle
    found = []
    for k, order in enumerate(orders):
        chance = float(outcome.done[k].mean()) * SURE
        band = Band(*(float(q) for q in np.quantile(outcome.minutes[k], (0.05, 0.5, 0.95))))
        order = replace(order, chance_after=round(chance, 3), minutes_after=round(band.p50, 1))
        price = _blind_price(members, outcome, k, order, go_on, prices, melt_g)
        if order.do == "sieve":
            # What is sieved out was seed, and has to be worked back in.
            price += prices.sieved_per_pct * float(members.pieces_pct.mean())
        found.append(Rated(order, costs[k], price, chance, band.p50, band, _then(outcome, k)))
    return sorted(found, key=lambda r: r.price)


def _then(outcome: Outcome, k: int) -> tuple[int, float] | None:
    """The act that follows in most rollouts of a candidate, with its median amount."""
    codes = outcome.next_code[k].astype(int)
    counts = np.bincount(codes, minlength=2)
    code = int(counts.argmax())
    return None if code == 0 else (code, float(np.median(outcome.next_amount[k][codes == code])))


def _blind_price(
    members: Members, outcome: Outcome, k: int, order: Order, go_on: Array, prices: Prices, melt_g: float
) -> float:
    """Price of a candidate without second sight.

    A rollout stops in each member when that member is ready, which no cook can see. So once the bowl may be ready after
    the candidate's own act, the act is worth what can be done then: use the bowl on what is known, or look first and
    then use it or go on.
    """
    seen = outcome.first[k]
    chance = blurred(seen, members.temper)
    if float(chance.mean()) <= MAY_BE_READY:
        return float(go_on[k].mean())
    later = replace(
        members,
        form_v_pct=seen.form_v_pct,
        unstable_pct=seen.unstable_pct,
        pieces_pct=seen.pieces_pct,
        chance=chance,
    )
    own_seed = order.mass_g if order.do == "add_seed" and order.mass_g is not None else 0.0
    own = outcome.first_min[k] + _own_price(order, prices) + prices.seed_per_pct * 100.0 * own_seed / melt_g
    use = prices.failed * (1.0 - chance)
    # Going on after the act costs what is left of its own rollout, or what any step would cost from here.
    left = np.maximum(go_on[k] - own, prices.settle)
    looked = prices.look + worth_of_answers(answers_of_look(later), np.vstack([use, left, go_on]))
    return float(own.mean()) + min(float(use.mean()), looked)


def _own_price(order: Order, prices: Prices) -> float:
    if order.do == "sieve":
        return prices.sieve
    return prices.act if is_action(order) else 0.0


def answers_of_look(members: Members) -> Array:
    """Likelihood of each of the twelve answers of a look in every member, shape (12, members).

    As in the middle of the working window: what cold adds to the thickness is left out of a plan.
    """
    lumps = lump_chances(members.pieces_pct, members.eye_lumps_ln)
    viscous = viscosity_ln(members.form_v_pct, members.unstable_pct, members.pieces_pct)
    thick = thickness_chances(viscous, members.eye_thick_ln)
    return np.asarray((lumps[:, None, :] * thick[None, :, :]).reshape(12, -1), dtype=np.float64)


def answers_of_smear(members: Members, *, kind: str, surface: str, room_C: float) -> Array:
    """Likelihood of set early, middling or late with each finish, shape (9, members)."""
    centre = film_set_ln_s(
        members.form_v_pct,
        members.unstable_pct,
        kind=kind,  # type: ignore[arg-type]
        surface=surface,
        room_C=room_C,
    )
    centre = np.asarray(centre + members.pace_ln, dtype=np.float64)
    width = prior("smear_width")
    early, middle = ndtr((np.log(330.0) - centre) / width), ndtr((np.log(480.0) - centre) / width)
    times = np.array([early, middle - early, 1.0 - middle])
    finish = finish_chances(members.form_v_pct, members.unstable_pct)
    return np.asarray((times[:, None, :] * finish[None, :, :]).reshape(9, -1), dtype=np.float64)


def answers_of_check(members: Members, sd_C: float) -> Array:
    """Likelihood of a check's answers on a grid of the offset, shape (7, members), each column summing to one."""
    low, high = (float(q) for q in np.quantile(members.offset_C, (0.02, 0.98)))
    grid = np.linspace(low, high, 7)
    like = np.exp(-0.5 * ((grid[:, None] - members.offset_C[None, :]) / sd_C) ** 2) + 1e-9
    return np.asarray(like / like.sum(axis=0, keepdims=True), dtype=np.float64)


def worth_of_answers(answers: Array, costs: Array) -> float:
    """Expected price if the cheapest step is chosen after each answer.

    The cheapest of many steps among few members is partly luck. What answers that tell nothing (the same ones, handed
    to the wrong members) would seem to save is that luck, and is taken off.

    Parameters
    ----------
    answers
        Likelihoods, shape (answers, members).
    costs
        Prices, shape (steps, members).
    """
    members = answers.shape[1]
    told = float((answers @ costs.T / members).min(axis=1).sum())
    untold = float(costs.mean(axis=1).min())
    luck = [untold - float((np.roll(answers, shift, axis=1) @ costs.T / members).min(axis=1).sum()) for shift in SHIFTS]
    return min(told + sum(luck) / len(luck), untold)
