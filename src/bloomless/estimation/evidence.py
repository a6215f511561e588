"""What the estimate of a bowl rests on: every sourced number of its physics and of what the cook's eyes tell."""

from __future__ import annotations

from bloomless.errors import UnknownName
from bloomless.estimation.priors import prior_table
from bloomless.materials.chocolates import (
    KIND_SHIFT_K,
    KINDS,
    LIQUID_OIL_K_PER_PCT,
    MILK_FAT_K_PER_PCT,
    WINDOWS,
    Kind,
    chocolate,
)
from bloomless.materials.fats import solid_fat_table
from bloomless.materials.polymorphs import working_set
from bloomless.materials.thermal import HEAT_OF_MELTING
from bloomless.materials.vessels import MATERIALS, SURFACES
from bloomless.physics.actions import FORMS
from bloomless.physics.bowl import HEATING
from bloomless.physics.constants import BOWL, PIECES
from bloomless.physics.ensemble import VIGOUR
from bloomless.physics.priors import priors_for
from bloomless.physics.readings import TEMPER
from bloomless.sources.sourced import Sourced, sourced_values

__all__ = ["rests_on"]


def rests_on(kind: Kind) -> dict[str, Sourced]:
    """Every sourced number that the estimate of a bowl of this chocolate uses, by dotted name.

    Parameters
    ----------
    kind
        ``dark``, ``milk``, ``white`` or ``cocoa_butter``.

    Raises
    ------
    UnknownName
        If there is no such kind.
    """
    if kind not in KINDS:
        raise UnknownName("chocolate", kind, KINDS)
    return dict(
        sourced_values(
            {
                "chocolate": {
                    "melting_shift": KIND_SHIFT_K[kind],
                    "milk_fat": MILK_FAT_K_PER_PCT,
                    "liquid_oil": LIQUID_OIL_K_PER_PCT,
                    "working_window": WINDOWS[kind],
                },
                "fat": {
                    "forms": working_set(),
                    "heat_of_melting": HEAT_OF_MELTING,
                    "solid": {f"at_{at:g}_C": share for at, share in solid_fat_table()},
                },
                "bowl": BOWL,
                "pieces": PIECES,
                "heating": HEATING,
                "vessel": MATERIALS,
                "table": SURFACES,
                "stirring": VIGOUR,
                "seed": FORMS,
                "temper": TEMPER,
                "kitchen": priors_for(chocolate(kind)),
                "cook": prior_table(),
            }
        )
    )
