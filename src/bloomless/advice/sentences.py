"""Why an order is given: one plain sentence with the number that drove it."""

from __future__ import annotations

from dataclasses import dataclass

from bloomless.advice.orders import Order

__all__ = ["Numbers", "why"]


MOST_PCT = 6.0
ENOUGH_PCT = 2.5
"""Form V beyond which no more of it is wanted: 0.4 to 6 % is in temper."""
NONE_PCT = 0.05
"""Form V that would be shown as 0.0 % is none yet."""
FEW_UNSTABLE_PCT = 0.3
"""Unstable forms, % of the fat, below which there is nothing that has to melt first."""
MOST_PIECES_PCT = 3.0
"""Pieces, % of the bowl, above which it is not in temper."""
GONE_PCT = 1.0
"""Pieces, % of the bowl, below which none are seen."""
_BURSTS = " In short bursts, stirred and read after each."
_IN_THE_OVEN = " Probe, spoon and metal out; stir before you read."


@dataclass(frozen=True, slots=True)
class Numbers:
    """A bowl in numbers, as decisions and sentences take it: medians of the belief, the chance, the window [°C]."""

    temperature_C: float
    low_C: float
    high_C: float
    form_v_pct: float
    """Of all fat, like the unstable forms."""
    pieces_g: float
    pieces_pct: float
    """Of the bowl."""
    chance: float
    unstable_pct: float
    film_min: float | None = None
    """Minutes since the film was dipped that is still to tell; ``None`` if none is."""
    unseen: bool = False
    """Whether nobody has looked at it yet."""


def _stir(n: Numbers) -> str:
    if n.pieces_pct > MOST_PIECES_PCT:
        return f"About {n.pieces_g:.0f} g of pieces are still giving off crystals; stirring does it."
    if n.temperature_C > n.high_C:
        return f"At {n.temperature_C:.1f} °C it is still above {n.high_C:.1f} °C; stirring cools it."
    if n.form_v_pct < NONE_PCT and n.temperature_C > n.low_C:
        return f"No lasting crystals (form V) yet; without seed they come below {n.low_C:.1f} °C, stirring cools it."
    if n.form_v_pct < NONE_PCT:
        return f"No lasting crystals (form V) yet; at {n.temperature_C:.1f} °C stirring lets them come."
    if n.film_min is not None and n.film_min < 1.0:
        return "The film is setting; stir on until it tells whether all is well."
    if n.film_min is not None:
        return f"The film has been setting for {n.film_min:.0f} min; stir on until it tells whether all is well."
    if n.form_v_pct > MOST_PCT:
        return f"About {n.form_v_pct:.1f} % of the fat is lasting crystals (form V), too many; stirring keeps it even."
    if n.form_v_pct > ENOUGH_PCT:
        return f"About {n.form_v_pct:.1f} % of the fat is lasting crystals (form V), plenty; stirring keeps it even."
    return f"About {n.form_v_pct:.1f} % of the fat is lasting crystals (form V); a little more stirring makes it sure."


def _warm(n: Numbers, to_C: float | None) -> str:
    if to_C is not None and to_C > n.high_C:
        return (
            f"It is thick at {n.temperature_C:.1f} °C: warmed to {to_C:.1f} °C, a little past {n.high_C:.1f} °C, "
            "some of its crystals melt back."
        )
    enough = n.form_v_pct > ENOUGH_PCT or n.unstable_pct >= FEW_UNSTABLE_PCT
    cool = n.temperature_C < n.low_C + 0.5
    if n.pieces_pct > MOST_PIECES_PCT or (n.pieces_pct > GONE_PCT and not (enough or cool)):
        return (
            f"About {n.pieces_g:.0f} g of lumps do not melt at {n.temperature_C:.1f} °C; "
            f"a little warmth does it, never above {n.high_C:.1f} °C."
        )
    if cool:
        return (
            f"{n.temperature_C:.1f} °C is at the cool end of {n.low_C:.1f} to {n.high_C:.1f} °C; "
            f"warm a little, never above {n.high_C:.1f} °C."
        )
    if not enough:
        low = "low within" if n.temperature_C < 0.5 * (n.low_C + n.high_C) else "within"
        return (
            f"{n.temperature_C:.1f} °C is {low} {n.low_C:.1f} to {n.high_C:.1f} °C; a little warmth keeps it "
            f"usable for longer, never above {n.high_C:.1f} °C."
        )
    return f"Warm to just under {n.high_C:.1f} °C: what is too much melts first, lasting crystals (form V) stay."


def _heat_on(n: Numbers) -> str:
    if n.pieces_pct < GONE_PCT and n.temperature_C > n.high_C:
        return f"At {n.temperature_C:.1f} °C the pieces are gone; more warmth melts the last crystals."
    return f"At {n.temperature_C:.1f} °C it is not melted yet."


def _cool(n: Numbers) -> str:
    if n.temperature_C > n.high_C:
        return (
            f"At {n.temperature_C:.1f} °C it is still above {n.high_C:.1f} °C; cold water takes off the heat, "
            "dry the foot after."
        )
    return f"At {n.temperature_C:.1f} °C crystals come too slowly of themselves; cold water helps, dry the foot after."


def _seed(n: Numbers) -> str:
    if n.form_v_pct < NONE_PCT:
        if n.temperature_C > n.high_C:
            return (
                f"No lasting crystals (form V) yet: seed brings them, and cools the bowl from {n.temperature_C:.1f} °C."
            )
        return f"No lasting crystals (form V) yet: seed brings them at {n.temperature_C:.1f} °C."
    return f"About {n.form_v_pct:.1f} % of the fat is lasting crystals (form V); more seed makes it sure."


def _look(n: Numbers) -> str:
    if n.unseen and n.form_v_pct < NONE_PCT and n.pieces_pct < GONE_PCT and n.temperature_C > n.low_C:
        return (
            f"At {n.temperature_C:.1f} °C it holds no crystals yet: how thin it looks now is what later looks are "
            "measured by."
        )
    return f"The chance is {100 * n.chance:.0f} %; a look for lumps and thickness tells most now."


def why(order: Order, n: Numbers) -> str:
    """The sentence of an order.

    Parameters
    ----------
    order
        What is asked.
    n
        The bowl as believed.
    """
    chance = f"{100 * n.chance:.0f} %"
    there = None if order.share is None else f"{100 * order.share:.0f} % of the bowl is on the stone"
    said = {
        "stir": _stir(n) if there is None else f"{there}: spread and gather it there, then scrape it all back.",
        "warm_bath": _warm(n, order.to_C),
        "microwave": _warm(n, order.to_C),
        "hot_air": _warm(n, order.to_C),
        "cool_bath": _cool(n),
        "pour_over": f"At {n.temperature_C:.1f} °C a cool bowl takes off some degrees at once.",
        "table": f"At {n.temperature_C:.1f} °C the stone takes off heat and makes crystals while it cools.",
        "add_seed": _seed(n),
        "add_melt": f"About {n.form_v_pct:.1f} % of the fat is crystals, which is thick; warm melt thins it.",
        "sieve": f"About {n.pieces_g:.0f} g of lumps do not melt at {n.temperature_C:.1f} °C; keep them as seed.",
        "look": _look(n),
        "smear": f"The chance is {chance}; a smear tells what the thermometer cannot.",
        "check_thermometer": (
            f"Every step from {n.temperature_C:.1f} °C on rests on this thermometer, and it has not been checked."
        ),
        "use_it": f"The chance of being in temper is {chance}, at {n.temperature_C:.1f} °C.",
        "melt_again": f"The chance is {chance}; every other way takes longer, and melting again loses nothing.",
        "heat_on": _heat_on(n),
        "stop": "Stop here; see the alert.",
    }
    bursts = _BURSTS if order.by in {"microwave", "hot_air"} else ""
    return said[order.do] + bursts + (_IN_THE_OVEN if "microwave" in {order.do, order.by} else "")
