"""The steps after the next one, with their amounts: what most rollouts did next."""

from __future__ import annotations

from dataclasses import replace

from bloomless.advice import policy
from bloomless.advice.beginning import heater
from bloomless.advice.candidates import HOT_AIR_W, MICROWAVE_W, SEEDS, TABLE_S, TABLE_SHARES, WAIT_AFTER, burst_s
from bloomless.advice.orders import HEATED, Do, Order
from bloomless.advice.outlook import Outlook
from bloomless.advice.plan import Rated
from bloomless.advice.rollout_kernel import COOL_BATH_C, MELT_C, WARM_BATH_C
from bloomless.advice.safety import FIRST_PULSE_SHARE, in_steps
from bloomless.estimation.belief import Belief, times_done
from bloomless.estimation.events import Surface
from bloomless.estimation.film import WARM_ROOM_C

__all__ = ["after_melting", "cooling", "film_surface", "smearing", "steps_after", "warming", "warming_past"]

COOLING: tuple[Do, ...] = ("cool_bath", "table")
"""Means of cooling, the gentlest first."""
TELLS = frozenset({"look", "smear", "check_thermometer"})
LONGEST_S = 120.0
NEARLY_K = 0.3
"""What is so near to where it is to be warmed is not warmed."""
LOOK, USE = Order(do="look"), Order(do="use_it")


def steps_after(order: Order, steps: list[Rated], outlook: Outlook) -> tuple[Order, ...]:
    """What would follow an order if all goes as expected.

    Parameters
    ----------
    order
        The next one.
    steps
        Everything that was rolled out, the cheapest first.
    outlook
        For amounts.
    """
    if order.do in {"use_it", "stop"}:
        return ()
    if order.do in TELLS:
        # What only tells is followed by the best step as things stand.
        best = steps[0]
        return (best.order, *_follow(best, outlook), LOOK, USE)
    if order.do == "melt_again":
        return (*after_melting(outlook), LOOK, USE)
    own = next((step for step in steps if step.order is order), None)
    return (*(_follow(own, outlook) if own is not None else ()), LOOK, USE)


def after_melting(outlook: Outlook) -> tuple[Order, ...]:
    """What follows melting by what is at hand: it is cooled, and seeded where there is seed."""
    cooled = Order(do=next((means for means in COOLING if means in outlook.means), "stir"))
    if not outlook.means & SEEDS or outlook.aim.seed_kg <= 0.0:
        return (cooled,)
    return (cooled, Order(do="add_seed", form=None if "seed" in outlook.means else "cocoa_butter_crystals"))


def _follow(step: Rated, outlook: Outlook) -> tuple[Order, ...]:
    """The act after a step's own, with what a person can do."""
    if step.then is None:
        return ()
    code, amount = step.then
    if code == policy.SEED:
        return (Order(do="add_seed", mass_g=in_steps(1000.0 * amount, 5.0, 5.0), size_mm=outlook.size_mm),)
    if code == policy.SIEVE:
        return (Order(do="sieve"),)
    if code == policy.THIN:
        grams = in_steps(amount * outlook.batch_g, 10.0, 10.0)
        return (Order(do="add_melt", mass_g=grams, temperature_C=MELT_C),)
    return (cooling(amount, outlook) if code == policy.COOL else warming(amount, outlook),)


def _bath_s(bath_C: float, change_K: float, outlook: Outlook) -> float:
    speed_K_s = outlook.bath_1_s * abs(bath_C - outlook.numbers.temperature_C)
    return in_steps(min(change_K / max(speed_K_s, 1e-4), LONGEST_S), 5.0, 5.0)


def cooling(fall_K: float, outlook: Outlook) -> Order:
    """A cooling by so much in cold water, or on the stone where there is none."""
    if "cool_bath" not in outlook.means:
        return Order(do="table", share=TABLE_SHARES[0], seconds=TABLE_S)
    return Order(
        do="cool_bath",
        bath_C=COOL_BATH_C,
        seconds=_bath_s(COOL_BATH_C, fall_K, outlook),
        then_wait_s=WAIT_AFTER["bath"],
    )


def film_surface(belief: Belief) -> Surface:
    """On what a film is to be laid: on steel, or where the room is warm on the stone, if one is at hand."""
    return "stone" if belief.start.room_C > WARM_ROOM_C and "table" in belief.start.means else "steel"


def smearing(belief: Belief) -> Order:
    """A film to be laid aside and watched."""
    return Order(do="smear", surface=film_surface(belief), then_wait_s=WAIT_AFTER["smear"])


def warming(gain_K: float, outlook: Outlook) -> Order:
    """A warming by so much with the mildest means at hand; the first one of a bowl only a share of it."""
    by = heater(outlook)
    if by != "microwave" and not times_done(outlook.belief, HEATED):  # a burst is halved as it is
        gain_K *= FIRST_PULSE_SHARE
    if by == "hot_air":
        seconds = in_steps(min(gain_K / max(outlook.air_K_s, 1e-4), LONGEST_S), 5.0, 5.0)
        return Order(do="hot_air", watts=HOT_AIR_W, seconds=seconds, then_wait_s=WAIT_AFTER["heat"])
    if by == "microwave":
        burst = burst_s(gain_K, outlook.oven_K_s)
        return Order(do="microwave", watts=MICROWAVE_W, seconds=burst, then_wait_s=WAIT_AFTER["heat"])
    seconds = _bath_s(WARM_BATH_C, gain_K, outlook)
    return Order(do="warm_bath", bath_C=WARM_BATH_C, seconds=seconds, then_wait_s=WAIT_AFTER["bath"])


def warming_past(to_C: float, outlook: Outlook) -> Order | None:
    """A warming past the window that says how far, so that crystals melt back; ``None`` where it is nearly so warm."""
    gain_K = to_C - outlook.numbers.temperature_C
    return replace(warming(gain_K, outlook), to_C=round(to_C, 1)) if gain_K > NEARLY_K else None
