"""What differs from kitchen to kitchen and is not known beforehand: the priors of an ensemble's parameters.

The fields stand in the order of the parameter rows. A spread that is a factor makes a log-normal row, a standard
deviation a normal one; ``limits`` holds both inside what can be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.materials.chocolates import KIND_SHIFT_K, Chocolate
from bloomless.numerics.noise import normals
from bloomless.sources.sourced import Grade, Sourced

__all__ = ["LIMITS", "USUAL", "BowlPriors", "draw_parameters", "priors_for"]

_A, _D = Grade.ASSUMED, Grade.DERIVED


def _factor(spread: float, note: str, source: str = "assumed", grade: Grade = _A) -> Sourced:
    return Sourced(1.0, "1", spread, source, grade, "factor", note)


@dataclass(frozen=True, slots=True)
class BowlPriors:
    """Priors of the parameter rows, in their order; units and meaning stand in each value's note."""

    top_factor: Sourced
    side_factor: Sourced
    inner_factor: Sourced
    vessel_factor: Sourced
    bath_factor: Sourced
    microwave_factor: Sourced
    hot_air_factor: Sourced
    room_shift_K: Sourced
    stir_factor: Sourced
    growth_hold: Sourced
    growth_cold: Sourced
    melt_factor: Sourced
    melting_shift_K: Sourced
    unstable_factor: Sourced
    nucleation_factor: Sourced
    conversion_factor: Sourced
    shed_factor: Sourced
    size_factor: Sourced
    seed_quality: Sourced
    probe_lag_s: Sourced
    probe_offset_K: Sourced
    probe_place: Sourced
    mass_factor: Sourced
    size_spread: Sourced
    firm_solid: Sourced
    seed_heat: Sourced


USUAL: Final = BowlPriors(
    top_factor=Sourced(1.2, "1", 1.5, "heat_textbook", _D, "factor", "open surface; a draught doubles it"),
    side_factor=_factor(1.5, "vessel to room: bracket 17–36 min for 45→34 °C", "heat_textbook", _D),
    inner_factor=_factor(1.5, "chocolate to vessel: 30–50 % of penetration theory", "heat_textbook", _D),
    vessel_factor=_factor(1.3, "heat capacity of the vessel, if only its material is known"),
    bath_factor=_factor(1.5, "bath to vessel: water 200–1000 W/(m² K)", "heat_textbook", _D),
    microwave_factor=_factor(1.25, "absorbed share over the usual one of this load", "zhou_2023", _D),
    hot_air_factor=_factor(1.5, "share of a heat gun's power that the surface takes up"),
    room_shift_K=Sourced(0.0, "K", 1.5, "assumed", _A, note="air at the bowl less what was said"),
    stir_factor=_factor(1.3, "what this cook calls steady"),
    growth_hold=Sourced(
        4.4e-4, "1/s", 1.9, "assumed", _A, "factor", "e-folding at 31 °C, dark, stirred, 1.5 %: 28 (8–100) min"
    ),
    growth_cold=Sourced(5e-3, "1/(s K)", 2.2, "assumed", _A, "factor", "cooling curves"),
    melt_factor=_factor(1.6, "loss of form V above 32.5 °C"),
    melting_shift_K=Sourced(0.0, "K", 0.5, "chaiseri_dimick_1989", _D, note="origin and lot of the butter"),
    unstable_factor=_factor(2.5, "nucleation and growth of forms I–IV"),
    nucleation_factor=_factor(3.0, "form V from sheared melt"),
    conversion_factor=_factor(2.0, "unstable forms to form V"),
    shed_factor=_factor(2.0, "crystals shed by soft pieces"),
    size_factor=_factor(1.3, "piece size over what was said; a lasting habit of the cook"),
    seed_quality=Sourced(0.8, "1", 0.15, "assumed", _A, note="share of shed solid that lives as form V"),
    probe_lag_s=Sourced(5.0, "s", 1.6, "zemmer_nalivka_2014", _D, "factor", "needle: settle/5.7, 3–8 s"),
    probe_offset_K=Sourced(0.0, "K", 0.7, "liu_2009", _A, note="shown less true, constant in time"),
    probe_place=Sourced(0.08, "1", 0.08, "assumed", _A, note="0 in the melt … 1 on the wall"),
    mass_factor=_factor(1.05, "what this cook weighs over what was said"),
    size_spread=Sourced(0.5, "1", 1.4, "assumed", _A, "factor", "sd of ln size of chopped pieces, by mass"),
    firm_solid=Sourced(
        0.55, "1", 1.2, "assumed", _A, "factor", "with this solid share of its fat a piece sheds nothing"
    ),
    seed_heat=Sourced(
        1.0, "1", 1.12, "shukla_1995", _D, "factor", "solid fat, fat share and heat of melting: 0.7–0.83, ±7 %, ±5 %"
    ),
)
"""Dark chocolate, a needle thermometer, nothing known of the kitchen."""

LIMITS: Final[dict[str, tuple[float, float]]] = {
    "stir_factor": (0.2, 3.0),
    "seed_quality": (0.02, 1.0),
    "probe_place": (0.0, 1.0),
    "probe_lag_s": (0.5, 90.0),
    "microwave_factor": (0.2, 1.6),
    "size_factor": (0.2, 5.0),
    "size_spread": (0.02, 1.0),
    "firm_solid": (0.1, 0.95),
    "seed_heat": (0.5, 1.6),
}
"""Hard limits of a row; log-normal rows need none at zero."""


def priors_for(chocolate: Chocolate, **known: Sourced) -> BowlPriors:
    """Priors of a chocolate: the spread of its melting shift by kind; anything better known replaces its field."""
    shift = Sourced(0.0, "K", KIND_SHIFT_K[chocolate.kind].spread, "chaiseri_dimick_1989", _D, note="origin and lot")
    return replace(USUAL, **{"melting_shift_K": shift, **known})


def draw_parameters(priors: BowlPriors, members: int, *, seed: int) -> NDArray[np.float64]:
    """Draw the parameter rows of an ensemble.

    Parameters
    ----------
    priors
        One sourced value a row.
    members
        How many columns.
    seed
        One seed gives one answer, whatever the number of threads; member ``i`` does not depend on ``members``.

    Returns
    -------
    ndarray
        Shape (PARAMETERS, members), float64, C-contiguous.
    """
    drawn = np.empty((len(fields(priors)), members))
    for row, field in enumerate(fields(priors)):
        prior: Sourced = getattr(priors, field.name)
        z = normals(seed, row, members)
        if prior.spread_is == "factor":
            drawn[row] = prior.value * np.exp(math.log(prior.spread) * z)
        else:
            drawn[row] = prior.value + prior.spread * z
        if field.name in LIMITS:
            np.clip(drawn[row], *LIMITS[field.name], out=drawn[row])
    return drawn
