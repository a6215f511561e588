"""Before the first step: what to melt and chop, whether to check the thermometer, how to melt what is not melted."""

from __future__ import annotations

from dataclasses import replace

from bloomless.advice.candidates import CRYSTALS_BELOW_K, CRYSTAL_mm, crystals_g
from bloomless.advice.orders import COOLED, HEATED, Before, Order, Standing
from bloomless.advice.outlook import Outlook
from bloomless.advice.plan import Members, rated
from bloomless.advice.prices import Prices
from bloomless.advice.prospects import Work
from bloomless.advice.safety import in_steps
from bloomless.advice.standing import NEARLY_K
from bloomless.advice.witness import CHECKED_SD_C
from bloomless.estimation.answers import Band
from bloomless.estimation.belief import Belief, times_done
from bloomless.physics import rows

__all__ = ["MELT_OUT_C", "before_the_start", "check_first", "gone_on", "heat_on", "heater"]

MELT_OUT_C = {"dark": 45.0, "milk": 43.0, "white": 42.0, "cocoa_butter": 45.0}
"""Crystal sheet 3.2, the lower ends: nothing crystalline is left, and milk solids are not harmed."""
DIRECT_BELOW_K = 0.8
FIRST_SEED_K, FIRST_SEED_UNCOOLED_K = 3.4, 5.5
"""The first seed is meant to go in so far above where it lives: with the means to cool, and without."""
LAND_BELOW_K = 0.8
RESERVE_SHARE = 0.55
"""Seed kept back, of what goes in."""
CRYSTALS_SHARE = 0.01
"""Cocoa butter crystals that go in, of the melt."""
COOLS_K_MIN = 0.6
COOLED_K_MIN = 1.3
"""In air, and by cold baths with the stirring between them, as in simulated kitchens of a tuning seed (106)."""
SEED_COOLS_MIN = 1.5
LOOKS_MIN = 1.5
"""Looking, and what comes in between."""
CHECK_ABOVE_K = 3.0
"""So far above where seed lives there is time for a check before the first step."""


def before_the_start(belief: Belief, standing: Standing, outlook: Outlook, prices: Prices) -> Before | None:
    """What to melt and to chop, while nothing has been done yet: the seed that lands at the top of the window.

    ``share = (T − T_end)·C_all/(m c)/(latent + T − T_seed)``: what the seed's melting and warming take is what bowl and
    melt give. How long it takes is rolled out.
    """
    untouched = all(event.what in {"ask", "stir"} for event in belief.acts)
    if standing.orders_given > 0 or belief.start.state != "melted" or not untouched:
        return None
    aim, melt_g, n = outlook.aim, belief.start.mass_g, outlook.numbers
    cools = bool(outlook.means & COOLED)
    at = aim.live_C + (FIRST_SEED_K if cools else FIRST_SEED_UNCOOLED_K)
    chocolate_J_K = melt_g / 1000.0 * belief.ensemble.bowl.heat_J_kgK
    fall_K = at - (aim.window_C[1] - LAND_BELOW_K)
    share = fall_K / (aim.latent_K + at - aim.seed_C) * outlook.heat_J_K / chocolate_J_K
    now_g = in_steps(share * melt_g, 5.0, 5.0)
    size_mm, form = outlook.size_mm, None
    if "seed" not in outlook.means and "cocoa_butter_crystals" in outlook.means:
        # Crystals this fine melt at once where they cannot live: they wait for it.
        at = aim.live_C - CRYSTALS_BELOW_K
        now_g = crystals_g(CRYSTALS_SHARE * melt_g)
        size_mm, form = CRYSTAL_mm, "cocoa_butter_crystals"
    if belief.start.seed_available_g is not None:
        now_g = min(now_g, belief.start.seed_available_g)
    order = Order(do="add_seed", mass_g=now_g, size_mm=size_mm, form=form, then_wait_s=75.0)
    work = Work(aim, belief.start.room_C, outlook.bath_1_s)
    took = rated(_at(outlook, at), (order,), work, prices, melt_g=melt_g)[0].minutes
    falls_K = max(n.temperature_C - at, 0.0)
    cooling = falls_K / (COOLED_K_MIN if cools else COOLS_K_MIN)
    if form is None and cools:
        cooling = SEED_COOLS_MIN  # seed does the rest of it
    # Cooling in air goes twice as fast in one kitchen as in another.
    return Before(
        melt_g=in_steps(melt_g, 5.0, 5.0),
        seed_now_g=now_g,
        seed_reserve_g=now_g if form is not None else in_steps(RESERVE_SHARE * now_g, 5.0, 5.0),
        size_mm=size_mm,
        minutes=Band(took.p05 + 0.7 * cooling, took.p50 + cooling + LOOKS_MIN, took.p95 + 1.5 * cooling + LOOKS_MIN),
    )


def _at(outlook: Outlook, warm_C: float) -> Members:
    """The members as they will be when they have cooled so far."""
    sample = outlook.members.ensemble
    state = sample.state.copy()
    shift = warm_C - state[rows.BULK_C]
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        state[row] += shift
    return replace(outlook.members, ensemble=sample.with_state(state))


def check_first(belief: Belief, standing: Standing, outlook: Outlook) -> Order | None:
    """A check of the thermometer where it costs no minutes.

    While the melt is far above where seed lives, or while the pieces of one that is part melted take its heat.
    """
    state = belief.start.state
    # What was pieces is untouched until the work goes on from melting.
    done = {e.what for e in belief.acts} - ({"ask", "stir", "look"} | (HEATED if state == "pieces" else set()))
    untouched = not done
    early = outlook.numbers.temperature_C > outlook.aim.live_C + CHECK_ABOVE_K or state == "part_melted"
    if not untouched or not early or standing.check_ordered or belief.start.probe.offset_sd_C <= CHECKED_SD_C:
        return None
    return Order(do="check_thermometer", method="ice")


def heater(outlook: Outlook) -> str | None:
    """By what to melt: the mildest means at hand that this vessel allows; ``None``: by what it was melted with."""
    return next((name for name in ("warm_bath", "hot_air", "microwave") if name in outlook.means), None)


def gone_on(belief: Belief) -> bool:
    """Whether the work has gone on from melting: seeded, cooled, poured or used; such a bowl is not melted again."""
    return times_done(belief, {"seed", "pour", "remove"} | COOLED) > 0


def heat_on(belief: Belief, outlook: Outlook) -> Order | None:
    """Melting: pieces go to where nothing crystalline is left; what is part melted goes the direct way.

    The direct way warms a couverture that is still in temper only so far that its own crystals live.
    """
    n, state = outlook.numbers, belief.start.state
    high = belief.temper.window_C[1]
    goal = MELT_OUT_C[belief.start.chocolate.kind] if state == "pieces" else high - DIRECT_BELOW_K
    if state == "pieces":
        reached = n.temperature_C > high + 2.0 or n.pieces_pct < 3.0
    else:
        reached = n.temperature_C > goal - NEARLY_K or n.pieces_pct < 25.0
    if state == "melted" or reached or gone_on(belief):
        return None
    return Order(do="heat_on", to_C=round(goal, 1), by=heater(outlook), chance_after=0.9, minutes_after=15.0)
