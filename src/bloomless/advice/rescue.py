"""What stops a bowl, and what it can still become: said at once, before any plan."""

from __future__ import annotations

import numpy as np

from bloomless.advice.outlook import Outlook
from bloomless.advice.witness import foreign_matter
from bloomless.estimation.belief import Belief
from bloomless.physics import rows

__all__ = ["hazard"]

GANACHE_SHARE = 0.34
"""Liquid for a ganache, of the chocolate's weight (job map, scenario S9: a third at least)."""


def hazard(belief: Belief, outlook: Outlook) -> str | None:
    """Why to stop; ``None`` where nothing asks for it.

    Water above the limit seizes the mass: no crystal helps. Scorched solids do not come back. Metal in a microwave oven
    throws sparks. Glass, metal, a wrong allergen or an off smell make it waste, whatever it is worth.
    """
    if foreign_matter(belief):
        return "Something is in it that does not belong there: throw the bowl away and keep what has touched it apart."
    codes = {said.code for said in outlook.alerts}
    if "metal_in_microwave" in codes:
        return "Metal does not go into a microwave oven: take the bowl out now and use a water bath."
    state, weight = belief.ensemble.state, belief.weight
    mass_g = 1000.0 * belief.ensemble.bowl.mass_kg
    water = float(weight @ (state[rows.WATER_kg] / np.maximum(state[rows.BULK_kg], 1e-6)))
    if water > belief.temper.water_most:
        cream = round(GANACHE_SHARE * mass_g / 10.0) * 10.0
        return (
            f"{100.0 * water:.1f} % water has got in, and no crystal helps against that: about {cream:.0f} g of "
            "warm cream make it a ganache; it can also become a drink or go into baking."
        )
    if "scorched" in codes or float(weight @ (state[rows.SCORCH] >= belief.temper.scorch_most)) > 0.6:
        return (
            "It was too hot for its milk solids and sugar and has grained: sieve it and use it in baking or ganache, "
            "and take new chocolate for moulding."
        )
    return None
