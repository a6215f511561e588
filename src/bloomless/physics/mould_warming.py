"""Taking moulded pieces out of the cold: how they warm, and whether water falls on them meanwhile.

The enthalpy kernel warms piece and mould, fat that melts on the way included. Against the temperature of the open face
stands the dew point of the room and, some kelvin above it, the point at which the sugar takes up water.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput
from bloomless.numerics.enthalpy import EnthalpyCurve, march, planar_row
from bloomless.physics.moist_air import (
    UPTAKE_RH_PCT,
    dew_point_C,
    least_surface_C,
    most_room_rh_pct,
    vapour_flux_g_m2min,
)
from bloomless.physics.mould_films import EMISSIVITY, natural_W_m2K
from bloomless.physics.mould_melt import Melt

__all__ = [
    "TakingOut",
    "Wetness",
    "taking_out",
]

Array = NDArray[np.float64]
Wetness: TypeAlias = Literal["dry", "sticky", "dew"]


@dataclass(frozen=True, slots=True)
class TakingOut:
    """What happens on the table."""

    time_s: Array
    surface_C: Array
    dew_C: float
    """Dew point of the room."""
    least_C: float
    """Surface temperature from which sugar stays dry."""
    wetness: Wetness
    """If it is unwrapped at once."""
    water_g_m2: float
    """Dew that would gather on bare pieces."""
    wait_minutes: float | None
    """To leave it covered, in its mould, before it is opened; 0 if none, ``None`` if the room itself is too humid."""
    most_rh_pct: float
    """Relative humidity of the room up to which it could be opened at once."""


def taking_out(
    melt: Melt,
    *,
    thickness_mm: float,
    from_C: float,
    room_C: float,
    room_rh_pct: float,
    mould_mm: float = 2.0,
    mould_matter: tuple[float, float] = (0.20, 1.5e6),
    minutes: float = 120.0,
) -> TakingOut:
    """Warm a set piece in its mould in a room, both faces in still air.

    Parameters
    ----------
    melt
        The chocolate.
    thickness_mm
        Of the piece.
    from_C
        Temperature of the cold place.
    room_C, room_rh_pct
        Of the room.
    mould_mm, mould_matter
        Thickness, and conductivity and volumetric heat, of the mould.
    minutes
        How far to look.
    """
    if not (0.5 <= thickness_mm <= 60 and mould_mm > 0):
        raise ImpossibleInput("thickness_mm", thickness_mm, "0.5 to 60 mm, and a mould above 0")
    if not -25 <= from_C <= 30:
        raise ImpossibleInput("from_C", from_C, "-25 to 30 °C for set pieces")
    dew = float(dew_point_C(room_C, room_rh_pct))
    limit = UPTAKE_RH_PCT[melt.kind].value
    least = float(least_surface_C(room_C, room_rh_pct, limit))
    most = float(most_room_rh_pct(min(from_C, room_C), room_C, limit))
    times: Array = 6.0 * np.arange(1, 10 * int(minutes) + 1, dtype=np.float64)
    surface = _warm(melt, thickness_mm, from_C, room_C, (mould_mm, *mould_matter), times)
    times, surface = np.concatenate([[0.0], times]), np.concatenate([[from_C], surface])
    convective = natural_W_m2K(max(room_C - from_C, 1.0) / 2, 0.045, upwards=False)
    flux = vapour_flux_g_m2min(surface, room_C, room_rh_pct, max(convective, 3.0))
    water = float(np.sum(0.5 * (flux[1:] + flux[:-1]) * np.diff(times)) / 60)
    wetness: Wetness = "dew" if from_C < dew else "sticky" if from_C < least else "dry"
    if least >= room_C - 0.2:
        wait: float | None = None
    else:
        warm = surface >= least
        wait = float(times[int(np.argmax(warm))] / 60) if warm.any() else None
    return TakingOut(times, surface, dew, least, wetness, water, wait, most)


def _warm(
    melt: Melt, thickness_mm: float, from_C: float, room_C: float, mould: tuple[float, float, float], times: Array
) -> Array:
    """Temperature of the open face through ``times``."""
    mould_mm, conductivity, volumetric = mould
    row = planar_row((thickness_mm / 1000, mould_mm / 1000), (20, 4), (melt.conductivity_W_mK, conductivity))
    knots = np.array([-30.0, 8.0, 14.0, 20.0, 24.0, 27.0, 29.0, 31.0, 33.0, 36.0, 60.0])
    latent = melt.kelvin * melt.volumetric_J_m3K * (melt.solid_share(-30.0) - melt.solid_share(knots))
    curves = (EnthalpyCurve(knots, knots * melt.volumetric_J_m3K + latent), EnthalpyCurve.sensible(volumetric))
    apart = max(abs(room_C - from_C), 1.0)
    mean = 0.5 * (room_C + from_C) + 273.15
    radiation = EMISSIVITY.value * 4 * 5.670374419e-8 * mean**3
    films = tuple(natural_W_m2K(apart / 2, 0.045, upwards=up) + radiation for up in (False, True))
    run = march(
        row, curves, from_C, film_W_m2K=(films[0], films[1]), outside_C=(room_C, room_C), until_s=times, step_s=6.0,
        scheme="explicit",
    )  # fmt: skip
    half = row.end[0]
    return np.asarray((half * run.temperature_C[:, 0] + films[0] * room_C) / (half + films[0]))
