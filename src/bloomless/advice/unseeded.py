"""Where no seed is at hand: cooled until the bowl thickens, warmed into its window, proved by a film.

How fast crystals come of themselves differs tenfold from one bowl to the next, so no reckoning says when: the spatula
does. Most of what thickens a cold bowl is unstable and melts again above some 27 °C; the part that has turned into form
V in the meantime stays (crystal sheet, sections 1.4 and 2.2). So nothing is warmed before it was seen to be thick, then
it is warmed at once, and it is used only when a film has set as it should.
"""

from __future__ import annotations

from bloomless.advice.ahead import warming
from bloomless.advice.candidates import TABLE_S, TABLE_SHARES, WAIT_AFTER
from bloomless.advice.orders import COOLED, HEATED, Order
from bloomless.advice.outlook import Outlook
from bloomless.advice.plan import Rated
from bloomless.advice.rollout_kernel import COOL_BATH_C
from bloomless.advice.safety import in_steps
from bloomless.advice.standing import lasts_s
from bloomless.advice.witness import films, last_s, own_crystals, set_well
from bloomless.estimation.belief import Belief
from bloomless.estimation.events import Look

__all__ = ["in_the_cold", "proved"]

LOOK_EVERY_S = 45.0
COLDER_AFTER_S = 150.0
COLDER_K = 1.0
BELOW_TOP_K = 0.6
COLDEST_K = 7.5
"""Never cooled further below the window."""


def _colder(outlook: Outlook) -> Order:
    """A little colder by what is at hand; stirring in the room where there is nothing."""
    t = outlook.numbers.temperature_C
    if "cool_bath" in outlook.means:
        seconds = in_steps(min(COLDER_K / (outlook.bath_1_s * max(t - COOL_BATH_C, 1.0)), 120.0), 5.0, 5.0)
        return Order(do="cool_bath", bath_C=COOL_BATH_C, seconds=seconds, then_wait_s=WAIT_AFTER["bath"])
    if "table" in outlook.means:
        return Order(do="table", share=TABLE_SHARES[-1], seconds=TABLE_S, then_wait_s=WAIT_AFTER["table"])
    return Order(do="stir", vigour="steady", seconds=60.0)


def in_the_cold(order: Order, belief: Belief, outlook: Outlook) -> Order | None:
    """What to do instead of warming or waiting while a cold bowl has not thickened; ``None`` where the plan may go on.

    Parameters
    ----------
    order
        What the plan asks for.
    belief, outlook
        The bowl as believed.
    """
    low, high = belief.temper.window_C
    t = outlook.numbers.temperature_C
    told_by = films(belief)
    if not told_by or set_well(belief, told_by[-1]) or not own_crystals(belief) or t > low:
        # The first time the plan's own reckoning is followed.
        return None
    if order.do not in HEATED | {"stir", "add_melt", "use_it", "melt_again"}:
        return None
    warmed_s = max((e.at_s + lasts_s(e) for e in belief.acts if e.what in HEATED), default=belief.start.at_s)
    looks = [event for event in belief.acts if isinstance(event, Look) and event.at_s > warmed_s]
    if any(look.thickness in {"thick", "paste"} for look in looks):
        # It doubles within a minute now; what is unstable melts on the way up, and too much form V just above.
        return warming(high - BELOW_TOP_K - t, outlook)
    if not looks or belief.at_s - looks[-1].at_s >= LOOK_EVERY_S:
        return Order(do="look")
    cooled_s = max((e.at_s + lasts_s(e) for e in belief.acts if e.what in COOLED), default=belief.start.at_s)
    seen = {look.thickness for look in looks if look.at_s > cooled_s}
    if belief.at_s - cooled_s >= COLDER_AFTER_S and len(seen) == 1 and t > low - COLDEST_K:
        return _colder(outlook)
    return Order(do="stir", vigour="steady", seconds=LOOK_EVERY_S)


def proved(belief: Belief, steps: list[Rated], smear: Order | None) -> Order | None:
    """What comes before a bowl without seed is used: a film, and cooling again where it set poorly.

    Parameters
    ----------
    belief, steps
        The bowl, and everything that could be done, the cheapest first.
    smear
        The order for a film; ``None`` where none may be asked for now.
    """
    film = next(reversed(films(belief)), None)
    if film is not None and set_well(belief, film):
        return None
    if film is not None and film.taken_at_s > last_s(belief, COOLED):
        return next((step.order for step in steps if step.order.do in COOLED), Order(do="stir"))
    return smear if smear is not None else Order(do="stir")
