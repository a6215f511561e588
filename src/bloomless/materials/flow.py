"""How thick chocolate is: Casson flow with crystals and pieces as extra solids."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.materials.chocolates import Chocolate
from bloomless.sources.sourced import Grade, Sourced

__all__ = ["FLOW", "apparent_viscosity_Pas", "relative_viscosity"]

FLOW: Final[dict[str, Sourced]] = {
    "fat_viscosity_Pas": Sourced(
        0.045, "Pa s", 0.006, "beckett_2009", Grade.FROM_MEMORY, note="liquid cocoa butter, 40 °C"
    ),
    "fat_slope_1_K": Sourced(0.028, "1/K", 0.006, "beckett_2009", Grade.FROM_MEMORY, note="thinner by 2.8 % a kelvin"),
    "most_packed": Sourced(0.65, "1", 0.04, "krieger_dougherty_1959", Grade.ASSUMED, note="broad sizes, emulsifier in"),
    "intrinsic": Sourced(2.5, "1", 0.3, "krieger_dougherty_1959", Grade.FROM_MEMORY),
    "crystal_swell": Sourced(
        2.6, "1", 0.8, "sheared_butter_rheology", Grade.ASSUMED, note="crystals hold liquid fat; 13 times at some 10 %"
    ),
    "network": Sourced(
        5.0, "1", 1.6, "bergemann_2018", Grade.ASSUMED, "factor", "yield stress at 10 1/s over a plain suspension"
    ),
    "fat_density": Sourced(900.0, "kg/m³", 15.0, "beckett_2009", Grade.PUBLISHED, note="cocoa butter"),
    "solids_density": Sourced(1540.0, "kg/m³", 40.0, "choi_okos_1986", Grade.DERIVED, note="sugar and cocoa solids"),
}


def relative_viscosity(solid_volume: NDArray[np.float64]) -> NDArray[np.float64]:
    """Viscosity of a suspension over that of its liquid [-]: ``(1 − φ/φ_m)^(−[η] φ_m)`` [Krieger & Dougherty 1959]."""
    packed = FLOW["most_packed"].value
    room = np.maximum(1.0 - solid_volume / packed, 0.02)
    return np.asarray(room ** (-FLOW["intrinsic"].value * packed))


def apparent_viscosity_Pas(
    chocolate: Chocolate,
    temperature_C: NDArray[np.float64],
    crystals_of_fat: NDArray[np.float64],
    pieces_share: NDArray[np.float64],
    water_share: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Apparent viscosity at some 10 1/s [Pa s].

    Parameters
    ----------
    chocolate
        Sets the non-fat solids.
    temperature_C
        Of the bowl.
    crystals_of_fat
        Dispersed crystals of any form, share of the fat.
    pieces_share
        Pieces, share of the bowl's mass.
    water_share
        Added water, share of the bowl's mass; 0.5 % doubles the viscosity [common practice, no source].

    Notes
    -----
    Non-fat solids by volume are the suspension; crystals count 2.6 times their volume, because they enclose liquid fat.
    With no crystals: dark some 2, milk some 2, white some 2 Pa s at 40 °C; sheet values 1.9–6.1 Pa s (Casson), 8.7 Pa s
    (tempered milk chocolate, Bingham) [Bergemann et al. 2018]. Good for comparing, ± a factor of two for absolutes.
    """
    fat = chocolate.fat_share
    solids = (1.0 - fat) / FLOW["solids_density"].value
    liquid = fat / FLOW["fat_density"].value
    crystals = np.minimum(FLOW["crystal_swell"].value * np.asarray(crystals_of_fat), 0.95) * liquid
    volume = (solids + crystals) / (solids + liquid)
    volume = volume + (1.0 - volume) * np.asarray(pieces_share)
    base = (
        FLOW["network"].value
        * FLOW["fat_viscosity_Pas"].value
        * np.exp(-FLOW["fat_slope_1_K"].value * (np.asarray(temperature_C) - 40.0))
    )
    return np.asarray(base * relative_viscosity(volume) * (1.0 + 200.0 * np.asarray(water_share)))
