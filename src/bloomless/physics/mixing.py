"""Seed into melt in closed form: where the temperature ends, and how long a piece takes to melt."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from bloomless.errors import OutsideValidity
from bloomless.materials.fats import solid_fat
from bloomless.materials.films import nusselt_sphere_creeping

__all__ = ["mixed_all_melted_C", "mixed_at_equilibrium_C", "mixed_sensible_C", "peclet", "sphere_melting_time_s"]

HEAT_J_kgK: Final = 1600.0
LATENT_J_kg: Final = 46_000.0
DENSITY_kg_m3: Final = 1270.0
CONDUCTIVITY_W_mK: Final = 0.26
"""Round numbers of dark chocolate [crystal sheet 5.1 and 5.6], defaults of this module only."""


def mixed_sensible_C(melt_C: float, seed_share: float, seed_C: float) -> float:
    """Temperature after mixing if nothing melted [°C]: ``(1 − s) T₁ + s T₂``."""
    return (1.0 - seed_share) * melt_C + seed_share * seed_C


def mixed_all_melted_C(
    melt_C: float, seed_share: float, seed_C: float, *, latent_J_kg: float = LATENT_J_kg, heat_J_kgK: float = HEAT_J_kgK
) -> float:
    """Temperature after mixing if all seed melted [°C]: the sensible one less ``s·L/c``.

    Adiabatic, without a bowl; latent heat is worth some 7 K of the fall for a quarter of seed.
    """
    return mixed_sensible_C(melt_C, seed_share, seed_C) - seed_share * latent_J_kg / heat_J_kgK


def mixed_at_equilibrium_C(
    melt_C: float, seed_share: float, seed_C: float, *, latent_J_kg: float = LATENT_J_kg, heat_J_kgK: float = HEAT_J_kgK
) -> tuple[float, float]:
    """Where seed stops melting: temperature [°C] and share of the whole fat still solid [-].

    The stop is where the solid left, ``s_left·SFC(T₂)``, meets the solid-fat curve; the melt does not crystallise on
    this time scale. Solved by bisection.

    Parameters
    ----------
    melt_C, seed_C
        Temperatures of melt and seed, the seed below 32 °C.
    seed_share
        Seed over the whole batch, 0…0.9.
    latent_J_kg, heat_J_kgK
        Of the chocolate.

    Raises
    ------
    OutsideValidity
        If seed share or temperature is outside that.
    """
    if not (0.0 <= seed_share <= 0.9 and seed_C <= 32.0):
        raise OutsideValidity("Holds for a seed share of 0 to 0.9 and seed not warmer than 32 °C.")
    set_share = float(solid_fat(np.array([seed_C]))[0])

    def left_at(temperature_C: float) -> float:
        return min(seed_share, float(solid_fat(np.array([temperature_C]))[0]) / set_share)

    low, high = min(melt_C, seed_C) - 40.0, max(melt_C, seed_C)
    sensible = mixed_sensible_C(melt_C, seed_share, seed_C)
    for _ in range(80):
        middle = 0.5 * (low + high)
        balance = sensible - latent_J_kg / heat_J_kgK * (seed_share - left_at(middle))
        low, high = (middle, high) if middle < balance else (low, middle)
    return 0.5 * (low + high), left_at(high) * set_share


def peclet(diameter_m: float, slip_m_s: float, *, diffusivity_m2_s: float = 1.28e-7) -> float:
    """Péclet number of a piece in moving melt [-]: ``v d/α``."""
    return slip_m_s * diameter_m / diffusivity_m2_s


def sphere_melting_time_s(
    diameter_m: float,
    around_C: float,
    *,
    nusselt: float | None = None,
    slip_m_s: float = 0.0,
    melts_at_C: float = 33.0,
    from_C: float = 20.0,
) -> float:
    """Time to melt a piece through in melt of constant temperature [s].

    ``t = ρ Λ d²/(4 Nu k ΔT)``, Λ = L + c(T_m − T₀).

    Parameters
    ----------
    diameter_m
        Of the piece.
    around_C
        Melt far from it.
    nusselt
        If known; otherwise creeping flow with ``slip_m_s``, 2 at rest.
    slip_m_s
        Speed of the melt past the piece.
    melts_at_C, from_C
        Melting temperature, and where the piece starts.

    Returns
    -------
    float
        Infinite if the melt is not warmer than the melting temperature: pieces soften but stay as lumps.

    Notes
    -----
    Constant surroundings (little seed), one melting temperature, Nu constant. Form V really melts over 29–34 °C.
    """
    difference = around_C - melts_at_C
    if difference <= 0.0:
        return math.inf
    flow = nusselt_sphere_creeping(peclet(diameter_m, slip_m_s)) if nusselt is None else nusselt
    heat = LATENT_J_kg + HEAT_J_kgK * (melts_at_C - from_C)
    return DENSITY_kg_m3 * heat * diameter_m**2 / (4.0 * flow * CONDUCTIVITY_W_mK * difference)
