"""Choosing: candidates, the worth of evidence, using the bowl, melting again; the cheapest is asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bloomless.advice.ahead import after_melting, film_surface, smearing, steps_after
from bloomless.advice.beginning import MELT_OUT_C, before_the_start, check_first, heat_on, heater
from bloomless.advice.candidates import MOST_MELT_SHARE, WAIT_AFTER, Scene, candidates
from bloomless.advice.holding import clearing, held, in_use, keeping
from bloomless.advice.orders import HEATED, Before, Order, Standing
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
from bloomless.advice.unseeded import of_itself, thinned
from bloomless.advice.witness import (
    LOOK_LASTS_S,
    backed,
    calm_first_s,
    crystals_seen,
    crystals_since_s,
    film_given_up,
    film_left_min,
    films,
    fresh,
    looks_streaked,
    looks_thin,
    lumps_seen,
    may_clear,
    may_sieve,
    own_crystals,
    paste_again,
    plainly_wrong,
    poor_film,
    proved,
    seed_lived,
    smear_told,
    stays_paste,
    told,
    too_few_seen,
)
from bloomless.estimation.answers import Band
from bloomless.estimation.belief import Belief, last_s, looks, times_done
from bloomless.estimation.events import Add

__all__ = ["Chosen", "choose"]

LOOK_REST_S = 40.0
LOOKS_WITHIN_S = 240.0
LOOKS_TIRE = 2.0
LEAST_CHANCE = 0.5
CLEARS_K = 3.0
"""Above where seed lives: too many crystals are gone in minutes, and milk solids are not harmed."""
AGAIN_SEED_SHARE = 0.03
"""Without seed for the next time nothing is melted again."""
THICK_PCT = 4.0
"""Form V above which only the crystals that are too many are melted, not all of it."""
CLEARS_MIN, MELTS_MIN = 18.0, 35.0
PATIENCE_MIN = 6.0
IMPATIENCE = 0.3
"""Minutes of price for each minute beyond."""
WARMING = HEATED | {"melt"}
"""Means that bring warmth."""
CORRECTS = HEATED | {"sieve", "add_melt", "add_seed", "melt_again"}
UNSEEN_S = 75.0
"""Who only stirs looks again so long after the last look: only a look tells of lumps and thickness."""
WARM_K = 1.0
EDGE_SHARE, EDGE_K = 0.2, 0.3
EDGE_REST_S = 240.0
FAR_TOO_MANY_PCT = 6.0
DOUBTED = 0.5
SMEAR_AFTER_S = 300.0
PATIENT_ACTS = 2
WEARY = 1.0
"""Minutes of price for each correction beyond: what did not help twice will hardly help a third time."""
LEFT_UNDONE = 3.0
"""Minutes of price for a step that was asked for once and not done; four times as much after the second time."""
HOPELESS = 0.08
"""Below it, after a look, something has to be done: more evidence would only say so again."""
SMEAR_FROM_CHANCE = 0.2
"""Below it a smear would only say what is known: not yet."""
AGREED = 0.97
"""Share of members without crystals from which on all agree that the bowl still has to be seeded."""


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
    most_g = MOST_MELT_SHARE * belief.start.mass_g
    added_g = sum(event.mass_g for event in belief.acts if isinstance(event, Add))
    # A bowl that is in use is thinned for as long as it is used, but never filled beyond what it holds.
    room_g = belief.start.mass_g + most_g - outlook.batch_g if in_use(belief) else most_g - added_g
    return Scene(
        temperature_C=n.temperature_C,
        pieces_pct=n.pieces_pct,
        form_v_pct=n.form_v_pct,
        batch_g=outlook.batch_g,
        means=outlook.means,
        aim=outlook.aim,
        size_mm=outlook.size_mm,
        bath_1_s=outlook.bath_1_s,
        oven_K_s=outlook.oven_K_s,
        air_K_s=outlook.air_K_s,
        warmed_before=times_done(belief, HEATED) > 0,
        poured=times_done(belief, {"pour"}) > 0,
        poor_film=poor_film(belief),
        too_few_seen=too_few_seen(belief),
        can_sieve=belief.seeded_at_s is not None and may_sieve(belief),
        may_clear=may_clear(belief),
        melt_room_g=room_g,
    )


def _use(outlook: Outlook, prices: Prices) -> Rated:
    chance = outlook.numbers.chance
    cost = prices.failed * (1.0 - outlook.members.chance)
    order = Order(do="use_it", chance_after=round(chance, 3), minutes_after=0.0)
    cost = np.asarray(cost, dtype=np.float64)
    return Rated(order, cost, float(cost.mean()), chance, 0.0, Band(0.0, 0.0, 0.0))


def _as_after(order: Order, best: Rated) -> Order:
    """An order that only tells, with the chance and minutes of the best step after it."""
    return replace(order, chance_after=best.order.chance_after, minutes_after=best.order.minutes_after)


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
    may_hold = crystals_since_s(belief) is not None
    if not may_hold or outlook.numbers.chance < SMEAR_FROM_CHANCE:
        smear_allowed = False
    waited = standing.look_ordered_at_s is None or belief.at_s - standing.look_ordered_at_s >= LOOK_REST_S
    if may_hold and waited:
        worth = worth_of_answers(answers_of_look(outlook.members), costs) + prices.look
        found.append((Order(do="look", then_wait_s=0.0), worth))
    if smear_allowed:
        order = smearing(belief)
        assert order.surface is not None
        answers = answers_of_smear(
            outlook.members, kind=belief.start.chocolate.kind, surface=order.surface, room_C=belief.start.room_C
        )
        found.append((order, worth_of_answers(answers, costs) + prices.smear))
    if not standing.check_ordered and not times_done(belief, {"probe_check"}):
        worth = worth_of_answers(answers_of_check(outlook.members, 0.2), costs) + prices.check
        found.append((Order(do="check_thermometer", method="ice"), worth))
    even = np.ones_like(outlook.members.chance)
    return [
        Rated(_as_after(order, best), worth * even, worth, best.chance_after, best.minutes_after, best.minutes)
        for order, worth in found
    ]


def _worn(prices: Prices, belief: Belief) -> Prices:
    """Prices in this bowl: what takes long, what did not help and what was asked already is dearer."""
    since_s = crystals_since_s(belief)
    if since_s is None:
        return prices
    # The same eye on the same bowl tells less each time.
    lately = sum(belief.at_s - look.at_s < LOOKS_WITHIN_S for look in looks(belief, after_s=since_s))
    prices = replace(prices, look=prices.look * (1.0 + LOOKS_TIRE * lately))
    if in_use(belief):
        return prices
    # A bowl does not get better by being asked about for ever: going on costs more the longer it has taken.
    late_min = max((belief.at_s - since_s) / 60.0 - PATIENCE_MIN, 0.0)
    corrected = times_done(belief, HEATED | {"add", "sieve"})
    weary = WEARY * max(corrected - PATIENT_ACTS, 0)
    return replace(prices, settle=prices.settle + IMPATIENCE * late_min + weary)


def _steps(belief: Belief, standing: Standing, outlook: Outlook, prices: Prices) -> list[Rated]:
    """Everything that could be done, priced, the cheapest first."""
    members, n = outlook.members, outlook.numbers
    bare = float(np.mean((members.form_v_pct < 0.3) & (members.pieces_pct < 1.0)))
    idle = crystals_since_s(belief) is not None and bare < AGREED
    work = Work(outlook.aim, belief.start.room_C, outlook.bath_1_s, idle_waits=idle)
    steps = rated(members, candidates(_scene(belief, outlook)), work, prices, melt_g=belief.start.mass_g)
    steps = [_left_undone(step, standing) for step in steps]
    # What has only its own crystals would lose them: it is worth that only where they are far too many.
    can_seed = outlook.aim.seed_kg >= AGAIN_SEED_SHARE * belief.ensemble.bowl.mass_kg and not own_crystals(belief)
    if (
        (can_seed or n.form_v_pct > FAR_TOO_MANY_PCT)
        and told(belief)
        and (n.form_v_pct > 2.0 or n.unstable_pct > 1.0 or n.pieces_pct > 10.0)
    ):
        # Only what is there can be melted out; a bowl without crystals wants seed.
        steps.append(_melt_again(belief, outlook, prices))
    return sorted(steps, key=lambda step: step.price)


def _left_undone(step: Rated, standing: Standing) -> Rated:
    """A step, dearer each time it was asked for and left undone: who did not do it twice cannot, or will not."""
    times = standing.undone.count(step.order.do)
    if step.order.do == "add_seed":
        times = max(times - 1, 0)  # nothing takes its place: it is asked for once more
    more = LEFT_UNDONE * times**2
    return replace(step, cost=step.cost + more, price=step.price + more) if more > 0.0 else step


def _melting_again(belief: Belief, outlook: Outlook) -> Order:
    """To where crystals that are too many are gone, or to where nothing crystalline is left."""
    thick = outlook.numbers.form_v_pct > THICK_PCT
    goal = outlook.aim.live_C + CLEARS_K if thick else MELT_OUT_C[belief.start.chocolate.kind]
    minutes = CLEARS_MIN if thick else MELTS_MIN
    return Order(do="melt_again", to_C=round(goal, 1), by=heater(outlook), chance_after=0.9, minutes_after=minutes)


def _melt_again(belief: Belief, outlook: Outlook, prices: Prices) -> Rated:
    order = _melting_again(belief, outlook)
    minutes = order.minutes_after or MELTS_MIN
    price = prices.clear if minutes == CLEARS_MIN else prices.melt_again
    band = Band(0.6 * minutes, minutes, 1.8 * minutes)
    return Rated(order, np.full(outlook.members.chance.size, price), price, 0.9, minutes, band)


def _by_hand(belief: Belief, outlook: Outlook) -> bool:
    """Whether film and look speak for the bowl, whatever the reckoning holds: its constants may be wrong."""
    low, high = belief.temper.window_C
    n = outlook.numbers
    within = low + EDGE_K < n.temperature_C < high - EDGE_K and n.form_v_pct < FAR_TOO_MANY_PCT
    return within and backed(belief, outlook) and proved(belief)


def _lumps_first(belief: Belief, standing: Standing) -> Order | None:
    """Lumps that were seen are looked at again and sieved before the bowl is used."""
    if not lumps_seen(belief):
        return None
    if standing.look_ordered_at_s is None or belief.at_s - standing.look_ordered_at_s >= LOOK_REST_S:
        return Order(do="look")
    return None if times_done(belief, {"sieve"}) else Order(do="sieve", then_wait_s=WAIT_AFTER["sieve"])


def _before_use(belief: Belief, standing: Standing, outlook: Outlook, smear_allowed: bool) -> Order | None:
    """What comes before the bowl is used: lumps that were seen are sieved, crystals that are hoped for smeared.

    A bowl that nothing at hand can warm is not held for a film that would tell when it has grown too cold.
    """
    lumps = _lumps_first(belief, standing)
    if lumps is not None:
        return lumps
    doubted = looks_thin(belief) or looks_streaked(belief) or poor_film(belief)
    lived = seed_lived(belief) and not doubted
    if not (lived or smear_told(belief, standing) or _film_too_late(belief, standing, outlook)):
        # While the film sets the bowl is held.
        return smearing(belief) if smear_allowed else Order(do="stir")
    return None


def _film_too_late(belief: Belief, standing: Standing, outlook: Outlook) -> bool:
    """Whether the bowl will have left its window before a film can tell, and nothing at hand can warm it."""
    if outlook.means & WARMING or standing.working is None or told(belief):
        return False
    return standing.working.p50 < film_left_min(belief, outlook.numbers.form_v_pct, film_surface(belief))


def _grown_cold(belief: Belief, outlook: Outlook) -> bool:
    """Whether a seeded bowl is too cold, nothing at hand can warm it, and there is seed for the next time."""
    enough = outlook.aim.seed_kg >= AGAIN_SEED_SHARE * belief.ensemble.bowl.mass_kg
    cold = outlook.numbers.temperature_C < belief.temper.window_C[0] - EDGE_K
    return cold and enough and belief.seeded_at_s is not None and not outlook.means & WARMING


def _off_the_edge(belief: Belief, steps: list[Rated], outlook: Outlook) -> Order | None:
    """A little warmth where the bowl is to wait, or to be used, at the cool end of its window."""
    low, high = belief.temper.window_C
    warmed = any(event.what in HEATED and belief.at_s - event.at_s < EDGE_REST_S for event in belief.acts)
    if warmed or outlook.numbers.temperature_C > low + EDGE_SHARE * (high - low):
        return None
    return next((step.order for step in steps if step.order.do in HEATED), None)


def _first(order: Order, belief: Belief, standing: Standing, outlook: Outlook, smear_allowed: bool) -> Order | None:
    """What has to be known before an order is given: nothing is corrected unseen, and nobody stirs on blindly."""
    unseen = outlook.numbers.unseen and standing.look_ordered_at_s is None
    if order.do == "add_seed" and belief.seeded_at_s is None and unseen:
        # What this eye calls thin, of this chocolate, is learnt from a melt without crystals.
        return Order(do="look")
    seeded_s, now = crystals_since_s(belief), belief.at_s
    if seeded_s is None:
        return None
    rested = standing.look_ordered_at_s is None or now - standing.look_ordered_at_s >= LOOK_REST_S
    if order.do in CORRECTS and rested and not fresh(belief):
        return Order(do="look")
    if order.do not in {"stir", "melt_again"}:
        return None
    if now - max(seeded_s, last_s(belief, {"look"}), standing.look_ordered_at_s or seeded_s) > UNSEEN_S:
        return Order(do="look")
    if outlook.numbers.temperature_C > belief.temper.window_C[1] + WARM_K:
        return None
    doubted = outlook.numbers.chance < DOUBTED
    if doubted and smear_allowed and now - seeded_s > SMEAR_AFTER_S:
        # The bowl is believed to be out of temper and stays so: a smear says whether that is so.
        return smearing(belief)
    return None


@dataclass(frozen=True)
class _Weighed:
    """What could be done next, priced."""

    steps: list[Rated]
    """What changes the bowl, the cheapest first."""
    use: Rated
    """Using it, allowed or not."""
    ready: list[Rated]
    """What may be asked for, evidence and use among it, the cheapest first."""
    usable: bool
    """Whether the bowl is likely enough to be in temper."""


def _weighed(belief: Belief, standing: Standing, outlook: Outlook, prices: Prices, smear_allowed: bool) -> _Weighed:
    """Steps, using the bowl and evidence, each where it may be asked for."""
    prices = _worn(prices, belief)
    steps, use = _steps(belief, standing, outlook, prices), _use(outlook, prices)
    usable = use.chance_after >= LEAST_CHANCE
    ready = list(steps)
    if usable and not plainly_wrong(belief) and (in_use(belief) or (backed(belief, outlook) and fresh(belief))):
        ready.append(use)
    seen_s = (event.at_s for told_of in (looks(belief), films(belief)) for event in told_of)
    seen = any(belief.at_s - at_s < LOOK_LASTS_S for at_s in seen_s)
    if use.chance_after >= HOPELESS or not seen:
        ready += _evidence(belief, standing, outlook, steps, use if usable else None, prices, smear_allowed)
    return _Weighed(steps, use, sorted(ready, key=lambda step: step.price), usable)


def _keep(belief: Belief, outlook: Outlook, weighed: _Weighed, smear_allowed: bool) -> Chosen:
    """What keeps a bowl that is in use in temper, or using it on."""
    use = weighed.use
    order = held(belief, outlook, smear_allowed=smear_allowed) or use.order
    others = _others(order, sorted([*weighed.steps, use], key=lambda step: step.price))
    if order.chance_after is None:
        order = replace(order, chance_after=use.order.chance_after)
    return Chosen(order, others, keeping(belief, outlook), None, Band(0.0, 0.0, 0.0))


def _others(order: Order, ready: list[Rated]) -> tuple[Rated, ...]:
    """The cheapest step of each kind beside an order, in the order of ``ready``: the cheapest first."""
    others: dict[str, Rated] = {}
    for step in ready:
        if not step.order.same_step(order):
            others.setdefault(step.order.do, step)
    return tuple(others.values())


def _to_use(
    use: Order, belief: Belief, standing: Standing, outlook: Outlook, steps: list[Rated], smear_allowed: bool
) -> Order:
    """Using the bowl, or what comes before that; it neither waits nor is used at the cool end of its window.

    Where film and look agree that crystals are too few more seed goes in, whatever is believed.
    """
    more = [step.order for step in steps if step.order.do == "add_seed"]
    if more and too_few_seen(belief) and not lumps_seen(belief):
        return more[0]
    order = _before_use(belief, standing, outlook, smear_allowed) or use
    if order.do not in {"stir", "use_it"}:
        return order
    warmer = _off_the_edge(belief, steps, outlook)
    if warmer is not None:
        return warmer
    return steps[0].order if order.do == "stir" else order


def _unbacked(belief: Belief, outlook: Outlook, weighed: _Weighed) -> bool:
    """Whether the bowl would be used now if something besides an unchecked number spoke for it."""
    wanted = weighed.usable and weighed.use.price <= weighed.ready[0].price
    return wanted and fresh(belief) and not plainly_wrong(belief) and not backed(belief, outlook)


def _backing(belief: Belief, standing: Standing, smear_allowed: bool) -> Order | None:
    """What can speak for a bowl that only a number speaks for: a film, or else a check of the thermometer."""
    if smear_allowed:
        return smearing(belief)
    checked = standing.check_ordered or times_done(belief, {"probe_check"})
    return None if checked else Order(do="check_thermometer", method="ice")


def _instead_of_seed(belief: Belief, outlook: Outlook, weighed: _Weighed, smear: Order | None) -> Order:
    """Where the spatula shows crystals that the reckoning does not hold, a film from the window says which is right."""
    if smear is not None and outlook.numbers.temperature_C <= belief.temper.window_C[1]:
        return smear
    return next(step.order for step in weighed.steps if step.order.do != "add_seed")


def _decided(belief: Belief, standing: Standing, outlook: Outlook, weighed: _Weighed, smear_allowed: bool) -> Order:
    """The order: by the rule for crystals that come of themselves, else by film and look, else by price."""
    smear = smearing(belief) if smear_allowed else None
    own = of_itself(belief, outlook, smear, silent=film_given_up(belief, standing))
    if own is not None:
        return (_lumps_first(belief, standing) if own.do == "use_it" else None) or own
    if _grown_cold(belief, outlook) or (stays_paste(belief) and outlook.numbers.form_v_pct > THICK_PCT):
        return _melting_again(belief, outlook)
    if paste_again(belief) and outlook.means & HEATED:
        thinner = thinned(belief, outlook)
        return _first(thinner, belief, standing, outlook, smear_allowed) or thinner
    backing = _backing(belief, standing, smear_allowed) if _unbacked(belief, outlook, weighed) else None
    if backing is not None:
        return _lumps_first(belief, standing) or backing
    order = weighed.use.order if _by_hand(belief, outlook) else weighed.ready[0].order
    if order.do == "use_it":
        return _to_use(order, belief, standing, outlook, weighed.steps, smear_allowed)
    if order.do == "add_seed" and crystals_seen(belief):
        order = _instead_of_seed(belief, outlook, weighed, smear)
    return _first(order, belief, standing, outlook, smear_allowed) or order


def choose(belief: Belief, standing: Standing, outlook: Outlook, prices: Prices, *, smear_allowed: bool) -> Chosen:
    """The next order.

    A doubted reading is read again, what is not melted is melted, an unchecked thermometer is checked where that costs
    no minutes, a bowl in use is kept; only then is there something to decide.

    Parameters
    ----------
    belief, standing, outlook
        What is believed and remembered.
    prices
        What things cost.
    smear_allowed
        Whether a smear may be ordered now.
    """
    before = before_the_start(belief, standing, outlook, prices)
    calm_s = calm_first_s(belief)
    if calm_s > 0.0:
        return Chosen(Order(do="stir", vigour="steady", seconds=calm_s), (), (Order(do="look"),), before, None)
    check = check_first(belief, standing, outlook)
    heat = heat_on(belief, outlook) if check is None else None
    if heat is not None:
        return Chosen(heat, (), after_melting(outlook), None, None)
    weighed = _weighed(belief, standing, outlook, prices, smear_allowed)
    if check is None and in_use(belief) and (weighed.usable or clearing(belief, outlook)):
        return _keep(belief, outlook, weighed, smear_allowed)
    steps, ready = weighed.steps, weighed.ready
    order = check or _decided(belief, standing, outlook, weighed, smear_allowed)
    order = order if order.chance_after is not None else _as_after(order, steps[0])
    minutes = next((step.minutes for step in ready if step.order is order), steps[0].minutes)
    return Chosen(order, _others(order, ready), steps_after(order, steps, outlook), before, minutes)
