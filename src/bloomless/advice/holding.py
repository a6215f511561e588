"""Keeping a bowl in temper while chocolate is taken out of it, for up to four hours.

A bowl that stands loses heat and gains crystals. Short warm baths give the heat back before the cool end of the window
is near; small doses of warm melt thin the crystals by the law of mixing, ``T = (1 − y) T₁ + y T₂``, ``V → (1 − y) V``
(job map, scenario S12); a look says how thick it has become, and a smear every three quarters of an hour that it sets.
Form V grows with the distance below its end, so a bowl that holds much of it is kept high in its window. Where it
doubles within the hour all the same, thinning it for four hours would want ten times the chocolate: a bowl that is full
already is cleared instead, warmed past its window until it flows well, and cooled back. A paste is never used, whatever
is believed of it: it is thinned and looked at again, and cleared where it is a paste still.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import takewhile

import numpy as np

from bloomless.advice.ahead import cooling, smearing, warming, warming_past
from bloomless.advice.candidates import MOST_MELT_SHARE, THIN_FROM_PCT, WAIT_AFTER, thinning_C
from bloomless.advice.orders import HEATED, Order
from bloomless.advice.outlook import Outlook
from bloomless.advice.safety import in_steps
from bloomless.advice.witness import THICK
from bloomless.estimation.belief import NEVER_SEEN, Belief, last_look, last_s, looks, times_done
from bloomless.estimation.events import Look
from bloomless.estimation.surroundings import shown
from bloomless.physics.advance import advance
from bloomless.physics.ensemble import Surroundings

__all__ = ["clearing", "held", "in_use", "keeping"]

WARM_AT, WARM_TO = 0.35, 0.65
"""Warmed when so low in the window, to so high in it, as shares of its width."""
GROWN_PCT = 2.5
GROWN_AT, GROWN_TO = 0.7, 0.85
"""The same where form V has grown beyond ``GROWN_PCT``: it grows less up there."""
THIN_IF_THICK_PCT = 1.6
LEAST_LEFT_PCT = 1.0
"""Form V that a dose of melt has to leave, % of the fat."""
MOST_DOSE, LEAST_DOSE_G = 0.2, 20.0
BELOW_TOP_K = 0.4
DOSE_REST_S = 270.0
CLEAR_FROM_PCT, CLEAR_TO_PCT = 4.0, 2.0
"""A full bowl that looks thick is cleared of crystals from so much form V on, down to so much."""
PAST_K, PAST_STEP_K, PAST_MOST_K = 1.0, 0.3, 2.0
"""For that it is warmed so far past its window, a little more each time."""
CLEAR_LOOK_S = 45.0
ENDS_CLEARING = frozenset({"remove", "add", "seed"})
LOOK_EVERY_S = 480.0
PASTE_LOOK_S = 75.0
"""A paste is looked at again so soon."""
SMEAR_EVERY_S = 2700.0
AHEAD_MIN = 5.0


def in_use(belief: Belief) -> bool:
    """Whether chocolate is being taken out of the bowl."""
    return times_done(belief, {"remove"}) > 0


def _levels(outlook: Outlook) -> tuple[float, float]:
    """Between which heights in the window the bowl is kept, as shares of its width."""
    return (GROWN_AT, GROWN_TO) if outlook.numbers.form_v_pct > GROWN_PCT else (WARM_AT, WARM_TO)


def _full(belief: Belief, outlook: Outlook) -> bool:
    """Whether no melt can go in: there is none at hand, or no room for it."""
    return "melt" not in outlook.means or outlook.batch_g > (1.0 + MOST_MELT_SHARE) * belief.start.mass_g


def _dose(belief: Belief, outlook: Outlook) -> Order | None:
    """Warm melt that may go in now; ``None`` if there is no room for it in the bowl or under the top of the window."""
    if _full(belief, outlook):
        return None
    n, melt_C = outlook.numbers, thinning_C(outlook.aim)
    room = (belief.temper.window_C[1] - BELOW_TOP_K - n.temperature_C) / (melt_C - n.temperature_C)
    share = min(room, MOST_DOSE, 1.0 - LEAST_LEFT_PCT / max(n.form_v_pct, LEAST_LEFT_PCT))
    grams = in_steps(share * outlook.batch_g, 10.0, 0.0)
    if grams < LEAST_DOSE_G:
        return None
    return Order(do="add_melt", mass_g=grams, temperature_C=melt_C, then_wait_s=WAIT_AFTER["melt"])


def _thick(belief: Belief, outlook: Outlook) -> bool:
    """Whether melt is due: by what is believed, sooner if it looks thick; moulds are filled between two doses."""
    dosed_s = last_s(belief, {"add"}, never_s=-DOSE_REST_S)
    if belief.at_s - dosed_s < DOSE_REST_S:
        return False
    look = last_look(belief, after_s=dosed_s)
    seen = look.thickness in THICK or look.drain == "slow"
    return outlook.numbers.form_v_pct > (THIN_IF_THICK_PCT if seen else THIN_FROM_PCT)


def _since_the_last_mould(belief: Belief) -> tuple[int, Look]:
    """Warmings since a mould was filled or melt went in, and the last look at thickness since the last of them."""
    warmed, seen = 0, NEVER_SEEN
    for event in takewhile(lambda event: event.what not in ENDS_CLEARING, reversed(belief.acts)):
        if warmed == 0 and seen is NEVER_SEEN and isinstance(event, Look) and event.thickness is not None:
            seen = event
        warmed += event.what in HEATED
    return warmed, seen


def _over(belief: Belief, outlook: Outlook, warmed: int) -> bool:
    return warmed > 0 and outlook.numbers.temperature_C > belief.temper.window_C[1]


def clearing(belief: Belief, outlook: Outlook) -> bool:
    """Whether a bowl in use is above its window because some of its crystals are being melted back there."""
    return in_use(belief) and _over(belief, outlook, _since_the_last_mould(belief)[0])


def _cleared(belief: Belief, outlook: Outlook, *, due: bool) -> Order | None:
    """Past the window until it flows well, then back; ``None`` where nothing is to be melted back.

    Begun where it is ``due`` and still looks thick, and there is something to warm it with.
    """
    low, high = belief.temper.window_C
    n, t = outlook.numbers, outlook.numbers.temperature_C
    warmed, seen = _since_the_last_mould(belief)
    over, thick = _over(belief, outlook, warmed), seen.thickness in THICK
    if not outlook.means & HEATED or not (over or (due and thick)):
        return None
    if over and belief.at_s - seen.at_s > CLEAR_LOOK_S:
        return Order(do="look")
    if thick or n.form_v_pct > CLEAR_TO_PCT:
        to_C = high + min(PAST_K + PAST_STEP_K * warmed, PAST_MOST_K)
        return warming_past(to_C, outlook) or Order(do="stir", seconds=CLEAR_LOOK_S)
    back = "cool_bath" in outlook.means
    return cooling(t - low - GROWN_TO * (high - low), outlook) if back else Order(do="stir", seconds=CLEAR_LOOK_S)


def _rewarmed(belief: Belief, outlook: Outlook) -> Order | None:
    """Some warmth before the cool end of the window is near."""
    low, high = belief.temper.window_C
    t = outlook.numbers.temperature_C
    warm_at, warm_to = _levels(outlook)
    if not outlook.means & HEATED or t >= low + warm_at * (high - low):
        return None
    return warming(low + warm_to * (high - low) - t, outlook)


def _look_due(belief: Belief, every_s: float) -> Order | None:
    """A look where nothing was seen of the bowl for so long; a film tells as much."""
    return Order(do="look") if belief.at_s - last_s(belief, {"look", "smear"}) > every_s else None


def _smear_due(belief: Belief) -> Order | None:
    return smearing(belief) if belief.at_s - last_s(belief, {"smear"}) > SMEAR_EVERY_S else None


def _held_paste(belief: Belief, outlook: Outlook) -> Order:
    """A paste is thinned and looked at again; where it stays one, or no melt can go in, it is cleared."""
    dose = _dose(belief, outlook)
    stays = [look.thickness for look in looks(belief, telling="thickness")][-2:] == ["paste", "paste"]
    unseen = last_s(belief, {"look"}) < last_s(belief, {"add"} | HEATED)
    return (
        _cleared(belief, outlook, due=stays or dose is None)
        or (Order(do="look") if unseen else None)
        or dose
        or _rewarmed(belief, outlook)
        or _look_due(belief, PASTE_LOOK_S)
        or Order(do="stir", vigour="steady", seconds=PASTE_LOOK_S)
    )


def held(belief: Belief, outlook: Outlook, *, smear_allowed: bool) -> Order | None:
    """What keeps a bowl that is in use in temper; ``None`` where it may simply be used."""
    if last_look(belief, telling="thickness").thickness == "paste":
        return _held_paste(belief, outlook)
    too_many = _full(belief, outlook) and outlook.numbers.form_v_pct > CLEAR_FROM_PCT
    return (
        _cleared(belief, outlook, due=too_many)
        or (_dose(belief, outlook) if _thick(belief, outlook) else None)
        or _rewarmed(belief, outlook)
        or _look_due(belief, LOOK_EVERY_S)
        or (_smear_due(belief) if smear_allowed else None)
    )


def keeping(belief: Belief, outlook: Outlook) -> tuple[Order, ...]:
    """The steps that keep it so, each with the minutes until it is due, soonest first."""
    low, high = belief.temper.window_C
    n, sample = outlook.numbers, outlook.sample
    around = Surroundings(room_C=sample.start.room_C, stir=1.0)
    then = shown(replace(sample, ensemble=advance(sample.ensemble, around, 60.0 * AHEAD_MIN, dt_s=2.0)))
    fall_K_min = max((n.temperature_C - float(np.median(then.mixed_C))) / AHEAD_MIN, 1e-3)
    grow_pct_min = max((float(np.median(then.form_v_pct)) - n.form_v_pct) / AHEAD_MIN, 1e-4)
    due: list[tuple[float, Order]] = []
    if outlook.means & HEATED:
        warm_at, warm_to = _levels(outlook)
        minutes = (n.temperature_C - low - warm_at * (high - low)) / fall_K_min
        due.append((minutes, warming((warm_to - warm_at) * (high - low), outlook)))
    if "melt" in outlook.means:
        grams = in_steps(0.1 * outlook.batch_g, 10.0, 20.0)
        minutes = (THIN_FROM_PCT - n.form_v_pct) / grow_pct_min
        due.append((minutes, Order("add_melt", mass_g=grams, temperature_C=thinning_C(outlook.aim))))
    due.append(((last_s(belief, {"smear"}) + SMEAR_EVERY_S - belief.at_s) / 60.0, smearing(belief)))
    in_time = sorted((pair for pair in due if pair[0] < 240.0), key=lambda pair: pair[0])
    return tuple(_when(order, max(minutes, 0.0)) for minutes, order in in_time)


def _when(order: Order, minutes: float) -> Order:
    return replace(order, minutes_after=round(minutes, 1))
