"""From an order of the advice to the event its cook would tell."""

from __future__ import annotations

from typing import Final

from bloomless.advice.orders import Order
from bloomless.estimation import events as ev

__all__ = ["obeyed"]

USUAL_SIZE_MM: Final = 3.0
USUAL_MELT_C: Final = 40.0
SIEVED_SHARE: Final = 0.9
"""Of the pieces, what a sieve takes out."""


def obeyed(
    order: Order, at_s: float, *, pieces_g: float = 0.0, vessel: ev.VesselSpec | None = None
) -> ev.BowlEvent | None:
    """The event of an order carried out at once; ``None`` where it changes nothing in the bowl, or takes long.

    Parameters
    ----------
    order
        As advised.
    at_s
        When it would be done.
    pieces_g
        Pieces believed to be in the bowl.
    vessel
        The bowl it is in: what is poured over goes into one like it.
    """
    seconds = order.seconds or 0.0
    match order.do:
        case "add_seed":
            return ev.Seed(at_s, order.mass_g or 0.0, size_mm=order.size_mm or USUAL_SIZE_MM)
        case "add_melt":
            return ev.Add(at_s, order.mass_g or 0.0, order.temperature_C or USUAL_MELT_C)
        case "warm_bath" | "cool_bath":
            return ev.Bath(at_s, order.do, order.bath_C or 0.0, seconds)
        case "microwave":
            return ev.Microwave(at_s, seconds, order.watts) if order.watts else ev.Microwave(at_s, seconds)
        case "hot_air":
            return ev.HotAir(at_s, seconds, order.watts) if order.watts else ev.HotAir(at_s, seconds)
        case "table":
            return ev.Table(at_s, order.share or 0.0, seconds)
        case "pour_over":
            return ev.Pour(at_s, vessel or ev.VesselSpec())
        case "sieve":
            return ev.Sieve(at_s, SIEVED_SHARE * pieces_g) if pieces_g > 0.0 else None
        case _:
            return None
