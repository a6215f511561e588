"""What is worth saying beside the next order: what thickens, what is due, what burns."""

from __future__ import annotations

import math
from collections.abc import Iterable

from bloomless.advice.holding import SMEAR_EVERY_S, in_use
from bloomless.advice.orders import COOLED, HEATED, Order
from bloomless.advice.outlook import Outlook
from bloomless.advice.standing import HEATS
from bloomless.advice.witness import backed, foreign_matter, own_crystals
from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Alert
from bloomless.estimation.belief import Belief, last_s
from bloomless.estimation.summary import mean_and_sd
from bloomless.physics import rows

__all__ = ["MELTING_MENDS", "not_against", "notes"]

SMALL_G = 250.0
HOT_ROOM_C = 25.0
LOOK_BACK_S = 270.0
GROWS_PCT_MIN = 0.035
THICK_WITHIN_MIN = 35.0
WRONG_KIND_K = 1.5
BACKING = frozenset({"smear", "check_thermometer"})
"""Orders after which something besides an unchecked number speaks for the bowl."""
LIKELY = 0.5
"""Chance from which on nothing more is asked for."""
FEW_PCT = 3.0
"""Pieces, % of the bowl, that no longer give off crystals to speak of."""
MELTING_MENDS = frozenset(
    {
        "lumps_will_not_melt",
        "seed_killed",
        "thermometer_low_or_seed_dead",
        "thickening",
        "too_cool",
        "too_thick",
        "too_warm",
        "unstable_forms",
    }
)
"""Alerts about crystals and warmth: melting makes an end of what they speak of."""
OTHERWISE = HEATED | {"add_seed"}
"""Orders that mend the bowl in another way than ``thickening`` asks for."""


def _thickening(belief: Belief, outlook: Outlook, order: Order) -> tuple[Alert, ...]:
    """Crystals that grow toward the limit, read from the cooling that is missing and from the spatula.

    What pieces gave off is no thickening: they must have been in, and few, all the while. Not beside an order for seed
    or for warmth: it asks to thin the bowl with melt, and a cook is told one thing at a time.
    """
    seeded_s = last_s(belief, {"seed"}, never_s=-LOOK_BACK_S)
    past = [shot for shot in belief.snapshots if seeded_s < shot.at_s <= belief.at_s - LOOK_BACK_S]
    n = outlook.numbers
    if order.do in OTHERWISE or not past or n.pieces_pct > FEW_PCT or n.form_v_pct < 1.2:
        return ()
    before = past[-1]
    weight = belief.weight
    if float(weight @ before.pieces_pct) > FEW_PCT:
        return ()
    then = float(weight @ before.form_v_pct)
    now, _ = mean_and_sd(outlook.form_v_pct, weight)
    rate = (now - then) / (belief.at_s - before.at_s) * 60.0
    most = 100.0 * belief.temper.form_v[1]
    if rate < GROWS_PCT_MIN or now >= most or (most - now) / rate > THICK_WITHIN_MIN:
        return ()
    return (alert("thickening", f"Form V grows by {rate:.2f} % of the fat a minute and is at {now:.1f} %."),)


def _smear_due(belief: Belief) -> tuple[Alert, ...]:
    """In use: a smear three quarters of an hour after the last one, or after melt went in."""
    if not in_use(belief):
        return ()
    smeared_s = last_s(belief, {"smear"})
    if belief.at_s - smeared_s > SMEAR_EVERY_S or last_s(belief, {"add"}, never_s=-math.inf) > smeared_s:
        return (alert("smear_due"),)
    return ()


def _wrong_kind(belief: Belief) -> tuple[Alert, ...]:
    shift, sd = mean_and_sd(belief.ensemble.parameters[rows.MELTING_SHIFT_K], belief.weight)
    centre = float(belief.table.centre[rows.MELTING_SHIFT_K])
    seeded = belief.seeded_at_s is not None and belief.at_s - belief.seeded_at_s > 480.0
    if seeded and abs(shift - centre) > max(WRONG_KIND_K, 1.6 * sd):
        word = "lower" if shift < centre else "higher"
        return (alert("wrong_kind", f"It melts some {abs(shift - centre):.1f} K {word} than that."),)
    return ()


def _lacking(belief: Belief, outlook: Outlook, order: Order) -> str | None:
    """What is missing, where nothing at hand does what is asked or brings crystals; ``None`` where nothing is."""
    means = outlook.means
    if order.do in HEATS and order.by is None:
        metal = "microwave" in belief.start.means
        return "A metal bowl does not go into the microwave: take another." if metal else "Nothing here melts it."
    if order.do == "melt_again" and not means & {"seed", "warm_bath", "cool_bath", "melt"}:
        return "There is nothing to cool it with, and no seed."
    n = outlook.numbers
    if not own_crystals(belief) or n.chance >= LIKELY:
        return None
    if belief.start.state == "part_melted":
        # It has the crystals of its pieces.
        cold = n.temperature_C < n.low_C and not means & (HEATED | {"melt"})
        return "It is below its window, and there is nothing to warm it with." if cold else None
    if not means & COOLED:
        return "There is no seed, and nothing to cool it with but the room."
    return None if means & HEATED else "There is no seed, and nothing to warm it with once it was cooled for crystals."


def _of_order(order: Order) -> tuple[Alert, ...]:
    said: list[Alert] = []
    means = {order.do, order.by}
    if order.do in HEATED | HEATS:
        said.append(alert("burns"))
    if means & {"warm_bath", "cool_bath"}:
        said.append(alert("dry_the_foot"))
    if "microwave" in means:
        said.append(alert("microwave_care"))
    return tuple(said)


def not_against(order: Order, alerts: Iterable[Alert]) -> tuple[Alert, ...]:
    """The alerts, without those that ask for something else than the order: who is to melt is not told to cool.

    Parameters
    ----------
    order
        The next one.
    alerts
        What is to be said beside it.
    """
    return tuple(one for one in alerts if order.do not in HEATS or one.code not in MELTING_MENDS)


def notes(belief: Belief, outlook: Outlook, order: Order) -> tuple[Alert, ...]:
    """Alerts of the advice; those of the estimate stand in the estimate.

    Parameters
    ----------
    belief, outlook
        The bowl as believed.
    order
        The next order.
    """
    said = [*_thickening(belief, outlook, order), *_smear_due(belief), *_wrong_kind(belief), *_of_order(order)]
    if not belief.acts[1:]:
        if belief.start.mass_g < SMALL_G:
            said.append(alert("small_bowl", f"{belief.start.mass_g:.0f} g."))
        if belief.start.room_C > HOT_ROOM_C:
            said.append(alert("room_hot", f"{belief.start.room_C:.0f} °C."))
    if outlook.aim.seed_kg < 0.005 and "seed" in outlook.means and outlook.numbers.form_v_pct < 0.4:
        said.append(alert("out_of_seed"))
    if {flag.alert.code for flag in belief.flags} & {"gap", "second_start_after_gap"} and in_use(belief):
        said.append(alert("mould_soon"))
    if foreign_matter(belief):
        said.append(alert("foreign_matter"))
    if order.do in BACKING and outlook.numbers.chance >= LIKELY and not backed(belief, outlook):
        said.append(alert("thermometer_unchecked"))
    lacking = _lacking(belief, outlook, order)
    if lacking is not None:
        said.append(alert("no_means", lacking))
    return tuple(said)
