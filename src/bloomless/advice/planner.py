"""Choosing: candidates, the worth of evidence, using the bowl, melting again; the cheapest is asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from bloomless.advice.candidates import Scene, candidates
from bloomless.advice.notes import in_use
from bloomless.advice.orders import Before, Order, Standing
from bloomless.advice.outlook import Outlook
from bloomless.advice.plan import (
    Rated,
    answers_of_check,
    answers_of_look,
    answers_of_smear,
    rated,
    worth_of_answers,
)
from bloomless.advice.prices import Prices
from bloomless.advice.prospects import Work
from bloomless.advice.safety import in_steps
from bloomless.estimation.answers import Band
from bloomless.estimation.belief import Belief
from bloomless.estimation.events import Add
from bloomless.physics import rows

__all__ = ["Chosen", "choose"]

Array = npt.NDArray[np.float64]

HORIZON_S = 840.0
SURE = 0.985
"""Chance that a bowl the rollouts call done is (model error); fitted."""
LOOK_LASTS_S = 100.0
"""A look is fresh so long, if nothing was done since."""
LOOK_REST_S = 40.0
LOOKS_WITHIN_S = 240.0
LOOKS_TIRE = 2.0
LEAST_CHANCE = 0.5
CLEARS_K = 3.0
"""Above where seed lives: too many crystals are gone in minutes, and milk solids are not harmed."""
PATIENCE_MIN = 6.0
IMPATIENCE = 0.3
"""Minutes of price for each minute beyond."""
HOPELESS = 0.08
"""Below it, after a look, something has to be done: more evidence would only say so again."""
SMEAR_FROM_CHANCE = 0.2
"""Below it a smear would only say what is known: not yet."""
MELT_OUT_C = {"dark": 45.0, "milk": 43.0, "white": 42.0, "cocoa_butter": 45.0}
"""Crystal sheet 3.2, the lower ends: nothing crystalline is left, and milk solids are not harmed."""
DIRECT_BELOW_K = 0.8
SEED_ABOVE_K = 3.4
SEED_ABOVE_UNCOOLED_K = 5.5
"""Seed goes in so far above where it lives: with the means to cool, and without."""
LAND_BELOW_K = 0.8
RESERVE_SHARE = 0.55
MOST_SIEVES = 2
AGREED = 0.97
"""Share of members without crystals from which on all agree that the bowl still has to be seeded."""
MOST_MELT_SHARE = 0.4
"""Melt that may be asked for on the way to temper, of the start's weight."""


@dataclass(frozen=True)
class Chosen:
    """The cheapest step and what stands beside it."""

    order: Order
    others: tuple[Rated, ...]
    after: tuple[Order, ...]
    before: Before | None
    minutes_to_temper: Band | None


def _scene(belief: Belief, outlook: Outlook) -> Scene:
    n = outlook.numbers
    acts = belief.acts
    return Scene(
        temperature_C=n.temperature_C,
        pieces_pct=n.pieces_pct,
        form_v_pct=n.form_v_pct,
        batch_g=outlook.batch_g,
        means=outlook.means,
        aim=outlook.aim,
        size_mm=outlook.size_mm,
        cocoa_butter=belief.start.chocolate.kind == "cocoa_butter",
        bath_1_s=outlook.bath_1_s,
        oven_K_s=outlook.oven_K_s,
        air_K_s=outlook.air_K_s,
        warmed_before=any(event.what in {"warm_bath", "microwave", "hot_air"} for event in acts),
        poured=any(event.what == "pour" for event in acts),
        can_sieve=belief.seeded_at_s is not None and sum(event.what == "sieve" for event in acts) < MOST_SIEVES,
        melt_room_g=MOST_MELT_SHARE * belief.start.mass_g - sum(e.mass_g for e in acts if isinstance(e, Add)),
    )


def _fresh(belief: Belief) -> bool:
    """Whether a look or a smear has told of the bowl since the last act, lately, and spoke for it."""
    for event in reversed(belief.acts):
        if event.what == "look":
            return belief.at_s - event.at_s <= LOOK_LASTS_S
        if event.what == "smear" and getattr(event, "has_result", False):
            return belief.at_s - event.at_s <= LOOK_LASTS_S
        if event.what not in {"ask", "stir", "smear", "probe_check", "remove"}:
            return False
    return False


def _backed(belief: Belief, outlook: Outlook) -> bool:
    """Whether something besides an unchecked number speaks for the bowl."""
    if belief.backed or belief.start.probe.offset_sd_C <= 0.3:
        return True
    seen = [event for event in belief.acts if event.what == "look"]
    # A plateau while seed melts: lumps were seen after seeding, and the bowl has not thinned out since.
    lumps = any(getattr(event, "lumps", None) in {"few", "many", "some"} for event in seen)
    flows = bool(seen) and getattr(seen[-1], "thickness", None) in {"flowing", "thick"}
    if belief.seeded_at_s is None:
        return False
    return (lumps and belief.at_s - belief.seeded_at_s > 90.0 and outlook.numbers.form_v_pct > 0.3) or flows


def _use(outlook: Outlook, prices: Prices) -> Rated:
    chance = outlook.numbers.chance
    cost = prices.failed * (1.0 - outlook.members.chance)
    order = Order(do="use_it", chance_after=round(chance, 3), minutes_after=0.0)
    cost = np.asarray(cost, dtype=np.float64)
    return Rated(order, cost, float(cost.mean()), chance, 0.0)


def _evidence(
    belief: Belief,
    standing: Standing,
    outlook: Outlook,
    steps: list[Rated],
    use: Rated | None,
    prices: Prices,
    smear_allowed: bool,
) -> list[Rated]:
    """A look, a smear and a check, priced by what choosing after their answers saves."""
    costs = np.array([step.cost for step in steps]) + prices.settle
    if use is not None:
        costs = np.vstack([use.cost[None, :], costs])
    best = min(steps, key=lambda step: step.price)
    found: list[tuple[Order, float]] = []
    if belief.seeded_at_s is None or outlook.numbers.chance < SMEAR_FROM_CHANCE:
        smear_allowed = False
    waited = standing.look_ordered_at_s is None or belief.at_s - standing.look_ordered_at_s >= LOOK_REST_S
    if belief.seeded_at_s is not None and waited:
        worth = worth_of_answers(answers_of_look(outlook.members), costs) + prices.look
        found.append((Order(do="look", then_wait_s=0.0), worth))
    if smear_allowed:
        surface = "steel" if belief.start.room_C <= 23.0 else "stone"
        answers = answers_of_smear(
            outlook.members, kind=belief.start.chocolate.kind, surface=surface, room_C=belief.start.room_C
        )
        worth = worth_of_answers(answers, costs) + prices.smear
        found.append((Order(do="smear", surface=surface, then_wait_s=30.0), worth))
    if not standing.check_ordered and not any(event.what == "probe_check" for event in belief.acts):
        worth = worth_of_answers(answers_of_check(outlook.members, 0.2), costs) + prices.check
        found.append((Order(do="check_thermometer", method="ice"), worth))
    even = np.ones_like(outlook.members.chance)
    return [
        Rated(
            replace(order, chance_after=best.order.chance_after, minutes_after=best.order.minutes_after),
            worth * even,
            worth,
            best.chance_after,
            best.minutes_after,
        )
        for order, worth in found
    ]


def _before(belief: Belief, outlook: Outlook, work: Work, prices: Prices) -> Before:
    """What to melt and to chop: the seed that brings bowl and melt from where seed lives to the top of the window.

    ``share = (T − T_end)·C_all/(m c)/(latent + T − T_seed)``: what the seed's melting and warming take is what bowl and
    melt give. How long it takes is rolled out.
    """
    aim, melt_g = outlook.aim, belief.start.mass_g
    _, high = aim.window_C
    cools = bool(outlook.means & {"cool_bath", "table"})
    at = aim.live_C + (SEED_ABOVE_K if cools else SEED_ABOVE_UNCOOLED_K)
    chocolate_J_K = melt_g / 1000.0 * belief.ensemble.bowl.heat_J_kgK
    share = (at - (high - LAND_BELOW_K)) / (aim.latent_K + at - aim.seed_C) * outlook.heat_J_K / chocolate_J_K
    if belief.start.chocolate.kind == "cocoa_butter":
        share = 0.01
    now_g = in_steps(share * melt_g, 5.0, 5.0)
    if belief.start.seed_available_g is not None:
        now_g = min(now_g, belief.start.seed_available_g)
    sample = outlook.members.ensemble
    warm = sample.state.copy()
    shift = at - warm[rows.BULK_C]
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        warm[row] += shift
    ready = replace(outlook.members, ensemble=sample.with_state(warm))
    order = Order(do="add_seed", mass_g=now_g, size_mm=outlook.size_mm, then_wait_s=75.0)
    best = rated(ready, (order,), work, prices, melt_g=melt_g, sure=SURE)[0]
    cooling = 1.5 if cools else max(outlook.numbers.temperature_C - at, 0.0) / 0.6
    middle = best.minutes_after + cooling + 1.5
    return Before(
        melt_g=in_steps(melt_g, 5.0, 5.0),
        seed_now_g=now_g,
        seed_reserve_g=in_steps(RESERVE_SHARE * now_g, 5.0, 5.0),
        size_mm=outlook.size_mm,
        minutes=Band(0.7 * middle, middle, 1.9 * middle),
    )


def _heater(outlook: Outlook) -> str:
    """By what to melt: the mildest means at hand that this vessel allows."""
    return next((name for name in ("warm_bath", "hot_air", "microwave") if name in outlook.means), "warm_bath")


def _heat_on(belief: Belief, outlook: Outlook) -> Order | None:
    """Melting: pieces go to where nothing crystalline is left; what is part melted goes the direct way.

    The direct way warms a couverture that is still in temper only so far that its own crystals live.
    """
    n = outlook.numbers
    state = belief.start.state
    _, high = belief.temper.window_C
    goal = MELT_OUT_C[belief.start.chocolate.kind] if state == "pieces" else high - DIRECT_BELOW_K
    reached = n.temperature_C > high + 2.0 or n.pieces_pct < (3.0 if state == "pieces" else 25.0)
    if state == "melted" or reached:
        return None
    return Order(do="heat_on", to_C=round(goal, 1), by=_heater(outlook), chance_after=0.9, minutes_after=15.0)


def choose(belief: Belief, standing: Standing, outlook: Outlook, prices: Prices, *, smear_allowed: bool) -> Chosen:
    """The next order.

    Parameters
    ----------
    belief, standing, outlook
        What is believed and remembered.
    prices
        What things cost.
    smear_allowed
        Whether a smear may be ordered now.
    """
    if any(flag.alert.code == "hot_spot" for flag in belief.flags):
        calm = Order(do="stir", vigour="steady", seconds=60.0)
        return Chosen(calm, (), _plan_after(calm), None, None)
    heat = _heat_on(belief, outlook)
    if heat is not None:
        return Chosen(heat, (), _plan_after(heat), None, None)
    if belief.seeded_at_s is not None:
        # A bowl does not get better by being asked about for ever: going on costs more the longer it has taken.
        late_min = max((belief.at_s - belief.seeded_at_s) / 60.0 - PATIENCE_MIN, 0.0)
        prices = replace(prices, settle=prices.settle + IMPATIENCE * late_min)
    # The same eye on the same bowl tells less each time.
    looks = sum(event.what == "look" and belief.at_s - event.at_s < LOOKS_WITHIN_S for event in belief.acts)
    prices = replace(prices, look=prices.look * (1.0 + LOOKS_TIRE * looks))
    members = outlook.members
    bare = float(np.mean((members.form_v_pct < 0.3) & (members.pieces_pct < 1.0)))
    idle = belief.seeded_at_s is not None and bare < AGREED
    work = Work(outlook.aim, belief.start.room_C, outlook.bath_1_s, HORIZON_S, idle)
    orders = candidates(_scene(belief, outlook))
    steps = rated(outlook.members, orders, work, prices, melt_g=belief.start.mass_g, sure=SURE)
    thick = outlook.numbers.form_v_pct > 4.0
    goal = outlook.aim.live_C + CLEARS_K if thick else MELT_OUT_C[belief.start.chocolate.kind]
    minutes = 18.0 if thick else 35.0
    by = _heater(outlook)
    again = Order(do="melt_again", to_C=round(goal, 1), by=by, minutes_after=minutes)
    melting = prices.melt_again if not thick else prices.clear
    even = np.ones_like(outlook.members.chance)
    n = outlook.numbers
    if belief.seeded_at_s is not None and (n.form_v_pct > 2.0 or n.unstable_pct > 1.0 or n.pieces_pct > 10.0):
        # Only what is there can be melted out; a bowl without crystals wants seed.
        steps.append(Rated(replace(again, chance_after=0.9), melting * even, melting, 0.9, minutes))
    use = _use(outlook, prices)
    usable = use.chance_after >= LEAST_CHANCE
    ready = list(steps)
    if usable and (in_use(belief) or (_backed(belief, outlook) and _fresh(belief))):
        ready.append(use)
    hopeless = use.chance_after < HOPELESS and any(
        event.what == "look" and belief.at_s - event.at_s < LOOK_LASTS_S for event in belief.acts
    )
    if not hopeless:
        ready += _evidence(belief, standing, outlook, steps, use if usable else None, prices, smear_allowed)
    ready.sort(key=lambda step: step.price)
    best = ready[0]
    band = None
    if best.order.minutes_after is not None and best.order.do != "melt_again":
        middle = best.minutes_after
        band = Band(0.6 * middle, middle, 1.8 * middle)
    before = None
    untouched = all(event.what in {"ask", "stir"} for event in belief.acts)
    if standing.orders_given == 0 and belief.start.state == "melted" and untouched:
        before = _before(belief, outlook, work, prices)
    others = tuple(step for step in ready[1:] if not step.order.same_step(best.order))
    unique: dict[str, Rated] = {}
    for step in others:
        unique.setdefault(step.order.do, step)
    return Chosen(best.order, tuple(unique.values()), _plan_after(best.order), before, band)


def _plan_after(order: Order) -> tuple[Order, ...]:
    """The steps that would follow if all goes as expected."""
    follow = {
        "cool_bath": ("add_seed", "stir", "look", "use_it"),
        "pour_over": ("add_seed", "stir", "look", "use_it"),
        "table": ("stir", "look", "use_it"),
        "add_seed": ("stir", "look", "smear", "use_it"),
        "warm_bath": ("stir", "look", "use_it"),
        "microwave": ("stir", "look", "use_it"),
        "hot_air": ("stir", "look", "use_it"),
        "add_melt": ("stir", "look", "smear", "use_it"),
        "sieve": ("stir", "look", "use_it"),
        "stir": ("look", "use_it"),
        "look": ("use_it",),
        "smear": ("stir", "use_it"),
        "check_thermometer": ("stir", "look", "use_it"),
        "melt_again": ("cool_bath", "add_seed", "stir", "look", "use_it"),
    }
    return tuple(Order(do=do) for do in follow.get(order.do, ()))  # type: ignore[arg-type]
