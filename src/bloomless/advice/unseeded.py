"""Where no seed is at hand: cooled until the bowl thickens, warmed into its window, proved by a film.

How fast crystals come of themselves differs tenfold from one bowl to the next, so no reckoning says when: the spatula
does. Most of what thickens a cold bowl is unstable and melts again above some 27 °C; the part that has turned into form
V in the meantime stays (crystal sheet, sections 1.4 and 2.2). So the bowl is cooled in small steps with a look after
each, on the stone or in water, and nothing is warmed before it was seen to be thick; then it is warmed at once to where
the unstable forms melt. There form V goes on growing. A film says whether there is enough of it, the spatula whether
there is too much: what is still thick is warmed just past the window, a little further each time, until it flows.
Melting it all out again would only lead back to the beginning. What is part melted has its crystals in its pieces: it
is never cooled, and warmed only until they are gone; from then on it is proved in the same way.
"""

from __future__ import annotations

from collections.abc import Iterable

from bloomless.advice.ahead import cooling, warming, warming_past
from bloomless.advice.beginning import gone_on
from bloomless.advice.candidates import TABLE_S, TABLE_SHARES, TABLE_SHARES_UNSEEDED, WAIT_AFTER
from bloomless.advice.orders import COOLED, HEATED, Order
from bloomless.advice.outlook import Outlook
from bloomless.advice.witness import CLEAR, LOOK_LASTS_S, THICK, films, own_crystals, set_well
from bloomless.estimation.belief import Belief, last_look, last_s, looks, times_done
from bloomless.estimation.events import Look, lasts_s

__all__ = ["of_itself", "thinned"]

LOOK_EVERY_S = 45.0
COLDER_AFTER_S = 150.0
COLDER_K = 1.0
COLDEST_K = 7.5
"""Never cooled further below the window."""
COMES_K, COLD_K = 1.8, 2.6
"""So far below the window crystals begin to come, and the first cooling leads."""
STEP_K, LITTLE_K = 2.0, 3.0
"""From its window on the bowl is cooled by no more at a time; further above it, most of it goes onto the stone."""
GROW_K = 1.2
"""Until a film has set well the bowl is kept so far above the low end of its window, where form V grows."""
SLACK_K = 0.7
PAST_K, PAST_STEP_K, PAST_MOST_K = 0.4, 0.3, 2.2
"""Too thick: warmed so far past the window, each time a little more."""
EDGE_K, BACK_K = 0.4, 0.9
"""Nothing is used closer to the high end of its window; once it flows it goes back so far into it."""
MOST_LOOKS = 2
"""Looks at a thick bowl before it is warmed, after films that set poorly."""
GOAL_K, LAST_GOAL_K = 0.8, 0.1
"""Part melted it is warmed to so far below the high end of its window, and later to so far."""
SETTLES_S, MELTS_WITHIN_S = 90.0, 360.0
"""Pieces take their heat out of the melt within the first; what has not melted in twice the second is sieved out."""
PROOF_K, HOT_K = 1.2, 2.6
"""So far past the window a film from before is no proof any more; so far, nothing lives for long."""
LEAST_CHANCE, SURE_CHANCE = 0.5, 0.85
"""Chance of what is used after a good film: where it flows, and where it looks thick."""


def _ended_s(belief: Belief, kinds: Iterable[str]) -> float:
    """When the last act of these kinds ended; the start if there was none."""
    return max((e.at_s + lasts_s(e) for e in belief.acts if e.what in kinds), default=belief.start.at_s)


def _stir(seconds: float) -> Order:
    return Order(do="stir", vigour="steady", seconds=seconds)


def _colder(outlook: Outlook, belief: Belief, fall_K: float) -> Order:
    """Colder by what is at hand; stirring in the room where there is nothing."""
    if "cool_bath" in outlook.means:
        return cooling(fall_K, outlook)
    if "table" in outlook.means:
        t, high = outlook.numbers.temperature_C, belief.temper.window_C[1]
        share = TABLE_SHARES_UNSEEDED[-1] if t > high + LITTLE_K else TABLE_SHARES[0]
        return Order(do="table", share=share, seconds=TABLE_S, then_wait_s=WAIT_AFTER["table"])
    return _stir(60.0)


def _hot_s(belief: Belief, above_K: float) -> float:
    """When the bowl was last so far above its window; the start if never."""
    hot_C = belief.temper.window_C[1] + above_K
    hot = (shot.at_s for shot in belief.snapshots if float(belief.weight @ shot.mixed_C) > hot_C)
    return max(hot, default=belief.start.at_s)


def _afresh_s(belief: Belief) -> float:
    """Since when the crystals that are there have come: the bowl was last hot, or a film last said there are none."""
    none = (film.at_s for film in films(belief) if film.finish == "dull" and not set_well(belief, film))
    return max((_hot_s(belief, HOT_K), *none))


def _come(belief: Belief, since_s: float) -> bool:
    """Whether the bowl has thickened.

    A film that set poorly has shown that the first thickness was too few crystals: it is cooled again until one more
    look says so.
    """
    thick = [look.thickness for look in looks(belief, after_s=since_s) if look.thickness in THICK]
    poor = sum(not set_well(belief, film) for film in films(belief))
    return "paste" in thick or len(thick) >= min(1 + poor, MOST_LOOKS)


def _in_the_cold(belief: Belief, outlook: Outlook) -> Order:
    """Cooled in small steps, with a look at what each has done."""
    low, high = belief.temper.window_C
    t, now = outlook.numbers.temperature_C, belief.at_s
    if t > high:
        return _colder(outlook, belief, t - high)
    if t > low - COMES_K:
        # Here nothing comes yet.
        return _colder(outlook, belief, min(t - (low - COLD_K), STEP_K))
    cooled_s = _ended_s(belief, COOLED)
    look = last_look(belief, after_s=cooled_s)
    if now - look.at_s >= LOOK_EVERY_S:
        return Order(do="look")
    if now - cooled_s >= COLDER_AFTER_S and look.thickness not in THICK and t > low - COLDEST_K:
        return _colder(outlook, belief, COLDER_K)
    return _stir(LOOK_EVERY_S)


def _direct(belief: Belief, outlook: Outlook) -> Order | None:
    """Part melted: the pieces take heat out of the melt, then a little warmth melts them; ``None`` once they are gone.

    They are never cooled and never warmed out of the window, so that their crystals live.
    """
    t, now, start_s = outlook.numbers.temperature_C, belief.at_s, belief.start.at_s
    goal_C = belief.temper.window_C[1] - (GOAL_K if now - start_s < MELTS_WITHIN_S else LAST_GOAL_K)
    look = last_look(belief, telling="lumps", after_s=start_s)
    if look.lumps == "none":
        return None
    if now - start_s < SETTLES_S:
        return _stir(SETTLES_S - (now - start_s))
    warmed_s = _ended_s(belief, HEATED)
    if look.at_s < max(warmed_s, last_s(belief, {"sieve"})) or now - look.at_s > LOOK_LASTS_S:
        return Order(do="look")
    sieved = times_done(belief, {"sieve"}) > 0
    if t < goal_C - 0.5 and outlook.means & HEATED and (sieved or now - start_s < 2.0 * MELTS_WITHIN_S):
        return warming(goal_C - t, outlook)
    if now - start_s > 2.0 * MELTS_WITHIN_S and not sieved:
        return Order(do="sieve", then_wait_s=WAIT_AFTER["sieve"])
    return None if sieved and look.lumps == "few" else _stir(LOOK_EVERY_S)


def _of_crystals(look: Look) -> bool:
    """Whether it looked thick, and not of its lumps: a few that are left melt with the crystals that are too many."""
    return look.thickness in THICK and look.lumps != "many"


def thinned(belief: Belief, outlook: Outlook) -> Order:
    """A little past the window some of it melts back, a little more each time until the spatula says it flows."""
    tried, thick = 0, False
    for event in belief.acts:
        if isinstance(event, Look):
            thick = _of_crystals(event)
        tried += thick and event.what in HEATED
    to_C = belief.temper.window_C[1] + min(PAST_K + PAST_STEP_K * tried, PAST_MOST_K)
    return (warming_past(to_C, outlook) if outlook.means & HEATED else None) or _stir(LOOK_EVERY_S)


def _warmed(belief: Belief, outlook: Outlook, since_s: float, smear: Order | None, *, silent: bool) -> Order:
    """Thickened once and warm again: thinned where it is thick, proved, and used."""
    low, high = belief.temper.window_C
    t, chance = outlook.numbers.temperature_C, outlook.numbers.chance
    lumps = last_look(belief, telling="lumps", after_s=since_s).lumps
    keep_C = low + GROW_K if lumps in CLEAR else high - GOAL_K
    if t < keep_C - SLACK_K and outlook.means & HEATED:
        return warming(keep_C - t, outlook)
    acted_s = _ended_s(belief, HEATED | COOLED)
    look = last_look(belief, after_s=acted_s)
    if belief.at_s - look.at_s > LOOK_LASTS_S:
        return Order(do="look")
    thick, clear = look.thickness in THICK, look.lumps in CLEAR
    proof_s = max(since_s, _hot_s(belief, PROOF_K))
    good = [f for f in films(belief) if f.taken_at_s > proof_s and set_well(belief, f)]
    poor = any(f.taken_at_s > proof_s and not set_well(belief, f) for f in films(belief))
    by_films = len(good) > 1 and clear and not thick and t > low
    sure = chance >= (SURE_CHANCE if thick else LEAST_CHANCE) or by_films
    # Who tells of no film is not held for ever: then a look that sees it flow has to speak for it.
    spoken = silent and chance >= SURE_CHANCE and clear and look.thickness == "flowing" and not poor
    if ((good and sure) or spoken) and t < high - EDGE_K:
        return Order(do="use_it", chance_after=round(chance, 3), minutes_after=0.0)
    if _of_crystals(look):
        return thinned(belief, outlook)
    if t > high - EDGE_K and "cool_bath" in outlook.means:
        return cooling(t - (high - BACK_K), outlook)
    return smear if smear is not None and not (good and sure) else _stir(LOOK_EVERY_S)


def _wants_melt(belief: Belief, outlook: Outlook) -> bool:
    """Whether the bowl is cold or thick, and only warm melt is at hand against it: the plan says how much."""
    if "melt" not in outlook.means or outlook.means & HEATED:
        return False
    cold = outlook.numbers.temperature_C < belief.temper.window_C[0] + EDGE_K
    return cold or last_look(belief, telling="thickness").thickness in THICK


def of_itself(belief: Belief, outlook: Outlook, smear: Order | None, *, silent: bool = False) -> Order | None:
    """The next order for a bowl whose crystals come of themselves; ``None`` where the plan may decide.

    Parameters
    ----------
    belief, outlook
        The bowl as believed.
    smear
        The order for a film; ``None`` where none may be asked for now.
    silent
        Whether a film was asked for, and nothing was told of it for so long that it is given up.
    """
    told_by, direct = films(belief), belief.start.state == "part_melted"
    if direct and not gone_on(belief):
        order = _direct(belief, outlook)
        if order is not None:
            return order
    if not own_crystals(belief) or (belief.start.state == "pieces" and not told_by):
        return None
    since_s = _afresh_s(belief)
    good = any(film.taken_at_s > since_s and set_well(belief, film) for film in told_by)
    lived = direct and any(look.lumps not in CLEAR for look in looks(belief, after_s=since_s))
    if good or lived or _come(belief, since_s):
        if _wants_melt(belief, outlook):
            return None
        return _warmed(belief, outlook, since_s, smear, silent=silent)
    return _in_the_cold(belief, outlook)
