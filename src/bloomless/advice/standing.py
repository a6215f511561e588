"""What became of the order that stands: carried out, still to come, asked about, or overtaken by something else.

An order names one act and stands under its name until its event comes; then only stirring is asked until its waiting is
over (decision 0007). Melting is many acts: it stands until the thermometer shows what was asked. If nothing comes the
cook is asked (``was_it_done``), and a little later advice goes on from what is believed: the order counts as not done,
is never repeated under its old name, and a late entry of it is taken as any other event.

What was said to the cook is a fact; what the cook did is told late and corrected. So what became of an order is not
counted along but derived, each time, from the acts that are known now.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from bloomless.advice.orders import HEATED, Given, Order, Standing
from bloomless.estimation.events import BowlEvent, Smear, lasts_s

__all__ = ["ASK_AFTER_S", "GO_ON_AFTER_S", "HEATS", "NEARLY_K", "fulfils", "news", "settle"]

HEATS = frozenset({"heat_on", "melt_again"})
"""Orders of many acts: done when the thermometer shows their ``to_C``."""
NEARLY_K = 1.5
ASK_AFTER_S = {"look": 45.0, "smear": 75.0, "check_thermometer": 150.0, "melt_again": 180.0, "heat_on": 180.0}
"""Seconds after which a missing event is asked about; 75 for the others."""
GO_ON_AFTER_S = 30.0
"""Seconds after the question when advice goes on without it."""
_USUAL_S = 75.0
USED_ON_S = 30.0
CLOCKS_S = 5.0
"""Clocks of two devices at one bowl differ by seconds, and what is told as just over was begun about so long ago."""

_EVENTS_OF: dict[str, Collection[str]] = {
    "pour_over": ("pour",),
    "add_seed": ("seed",),
    "add_melt": ("add",),
    "warm_bath": ("warm_bath",),
    "cool_bath": ("cool_bath",),
    "microwave": ("microwave",),
    "hot_air": ("hot_air",),
    "table": ("table",),
    "look": ("look",),
    "smear": ("smear",),
    "sieve": ("sieve",),
    "check_thermometer": ("probe_check",),
    "use_it": ("remove", "finish"),
    "heat_on": HEATED,
    "melt_again": HEATED,
}


def fulfils(order: Order, event: BowlEvent) -> bool:
    """Whether an event is the one an order asked for."""
    return event.what in _EVENTS_OF.get(order.do, ())


def _evidence(event: BowlEvent) -> bool:
    """Whether an event only tells something and changes nothing in the bowl."""
    return event.what in {"look", "probe_check", "stir", "ask", "reading"} or isinstance(event, Smear)


def _begun_s(event: BowlEvent) -> float:
    """When an act was begun: a film when the knife was dipped, whenever it is told."""
    return event.taken_at_s if isinstance(event, Smear) else event.at_s


def _without(these: Sequence[BowlEvent], those: Sequence[BowlEvent]) -> tuple[BowlEvent, ...]:
    """Those of ``these`` that are not among ``those``, in their order; what is told twice has to be there twice.

    Acts are known by what they are and when they were: a count would shift with every act that is told late.
    """
    there, rest = Counter(those), []
    for event in these:
        if there[event] > 0:
            there[event] -= 1
        else:
            rest.append(event)
    return tuple(rest)


def news(given: Given, acts: Sequence[BowlEvent]) -> tuple[tuple[BowlEvent, ...], tuple[BowlEvent, ...]]:
    """What is known now and was not when an order was given, in the order done; and what turned out not to be so."""
    return _without(acts, given.acts), _without(given.acts, acts)


def _own(given: Given, new: Sequence[BowlEvent]) -> tuple[BowlEvent, ...]:
    """Of what is new, the acts that carry an order out, as begun: nothing begun before it was given, clocks apart."""
    from_s = given.at_s - CLOCKS_S
    own = (event for event in new if fulfils(given.order, event) and _begun_s(event) >= from_s)
    return tuple(sorted(own, key=_begun_s))


def _ended_s(events: Iterable[BowlEvent]) -> float:
    """When the last of the acts that last is over; the start if none does."""
    return max((event.at_s + lasts_s(event) for event in events if lasts_s(event) > 0.0), default=0.0)


@dataclass(frozen=True, slots=True)
class _Became:
    """What became of an order, as far as is known now; times are session times."""

    heard_s: float
    """Since when nothing was told of it."""
    free_s: float
    """When the hands are free and its waiting is over."""
    begun_s: float | None = None
    """When it was carried out."""
    over: bool = False
    """Something else was done, or the melt is as warm as was asked."""


def _became(given: Given, acts: Sequence[BowlEvent], shown_C: float | None) -> _Became:
    """An act is carried out once; melting goes on by acts until the thermometer shows it, or the last was another."""
    order = given.order
    new, gone = news(given, acts)
    own = _own(given, new)
    changes = [event for event in (*gone, *new) if not _evidence(event)]
    if order.do in HEATS:
        warm = shown_C is not None and order.to_C is not None and shown_C >= order.to_C - NEARLY_K
        over = warm or (bool(changes) and changes[-1] not in own)
        return _Became(max(given.at_s, _ended_s(own)), _ended_s(_without(new, own)), over=over)
    if own:
        begun_s = _begun_s(own[0])
        until_s = begun_s + lasts_s(own[0]) + order.then_wait_s
        return _Became(begun_s, max(until_s, _ended_s(_without(new, own[:1]))), begun_s)
    # The cook did something else, or the bowl is not what the order was made for: plan anew.
    over = bool(changes)
    stirred_s = given.at_s + (order.seconds or 0.0) if order.do == "stir" and not over else 0.0
    return _Became(given.at_s, max(stirred_s, _ended_s(new)), over=over)


def _asked(standing: Standing, given: Given, became: _Became, at_s: float) -> tuple[Standing, bool]:
    """An order that nothing was told of: asked about when it is time, left undone when no answer came."""
    patience_s = ASK_AFTER_S.get(given.order.do, _USUAL_S)
    asked_at_s = standing.asked_at_s
    # Of a question from before the last warming nothing is waited for.
    if asked_at_s is None or asked_at_s - became.heard_s < patience_s:
        ask = at_s - became.heard_s >= patience_s
        return (replace(standing, asked_at_s=at_s, asked=True) if ask else standing), ask
    return replace(standing, asked=True), False


def settle(
    standing: Standing, acts: tuple[BowlEvent, ...], at_s: float, shown_C: float | None = None
) -> tuple[Standing, bool]:
    """What became of the orders, from all that is known now; second answer: whether to ask "was it done?" now.

    Whatever was told late or corrected meanwhile, and in whatever order, the answer is that of having been told all of
    it in time. What was said to the cook stays said: an order that was left undone or replaced does not come back.

    Parameters
    ----------
    standing
        As left by the last advice.
    acts
        Every event but readings that the belief holds to have happened, in the order done.
    at_s
        Session time now.
    shown_C
        The thermometer's last reading.
    """
    undone = tuple(one.order.do for one in standing.left if not _own(one, news(one, acts)[0]))
    over = replace(standing, order=None, carried_out_at_s=None, wait_until_s=0.0, asked=False, undone=undone)
    given = standing.given
    if given is None:
        return over, False
    order, became = given.order, _became(given, acts, shown_C)
    over = replace(over, wait_until_s=became.free_s)
    to_wait_for = became.begun_s is not None or order.do == "stir"
    # A bowl in use is used on as moulds are ready: nobody is asked, the bowl is looked after meanwhile.
    in_use = order.do == "use_it" and any(event.what == "remove" for event in acts)
    if became.over or (to_wait_for and at_s >= became.free_s) or (in_use and at_s - given.at_s >= USED_ON_S):
        return over, False
    stands = replace(over, order=order, carried_out_at_s=became.begun_s)
    if to_wait_for:
        return stands, False
    stands, ask = _asked(stands, given, became, at_s)
    if stands.asked and stands.asked_at_s is not None and at_s - stands.asked_at_s >= GO_ON_AFTER_S:
        # Only what is told from now on can still say that it was done.
        left = (*standing.left, replace(given, acts=acts))
        return replace(over, given=None, asked_at_s=None, left=left, undone=(*undone, order.do)), False
    return stands, ask
