"""Film coefficients of a mould in a cooling space: still or moving air, radiation, a tray, other moulds around it.

References
----------
Natural convection at horizontal plates Nu = 0.54 Ra^¼ (heat leaves upwards) and 0.27 Ra^¼ (downwards) with area over
perimeter for length; laminar flow along a plate Nu = 0.664 Re^½ Pr^⅓; both from heat transfer textbooks [recalled],
checked against the open library ``ht`` in ``tests/published``. Blending by cubes [recalled].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput
from bloomless.materials.films import GRAVITY, air_properties
from bloomless.sources import Grade, Sourced

__all__ = ["EMISSIVITY", "FAN_FACTOR", "STILL_FACTOR", "Film", "Standing", "faces", "forced_W_m2K", "natural_W_m2K"]

Standing: TypeAlias = Literal["rack", "tray", "stacked"]
"""On a wire rack with air below, on a solid shelf or tray, or with moulds stacked above and below."""

EMISSIVITY = Sourced(0.93, "1", 0.02, "heat_transfer_textbooks", Grade.FROM_MEMORY, note="chocolate and plastics")
COVERED = Sourced(3.0, "W/(m2 K)", 0.5, "assumed", Grade.ASSUMED, note="face on a tray or against the next mould: 2-4")
STILL_FACTOR = Sourced(
    1.0, "1", 1.2, "laguerre_2007", Grade.DERIVED, spread_is="factor", note="6-11 W/(m2 K) a face on a still shelf"
)
FAN_FACTOR = Sourced(
    1.15,
    "1",
    1.35,
    "assumed",
    Grade.ASSUMED,
    spread_is="factor",
    note="turbulence of fans adds 1.0-2; learned per space",
)

# Conductivity, kinematic viscosity and Prandtl number of the air between a piece and a cool place.
_K, _NU, _PR = air_properties(18.0)


@dataclass(frozen=True, slots=True)
class Film:
    """What a face loses heat by: the numbers of ``mould_kernel.FACE``."""

    natural: float
    """W/(m² K^5/4): natural convection is this times |ΔT|^¼."""
    forced: float
    """W/(m² K)."""
    emissivity: float
    fixed: float
    """W/(m² K), on top of the rest."""

    def numbers(self) -> NDArray[np.float64]:
        """As the compiled kernel reads them."""
        return np.array([self.natural, self.forced, self.emissivity, self.fixed])


def natural_W_m2K(difference_K: float, length_m: float, *, upwards: bool) -> float:
    """Natural convection at a horizontal plate that is warmer than the air.

    Parameters
    ----------
    difference_K
        Plate less air, at least 0.
    length_m
        Area over perimeter; for a sheet of 275 × 135 mm 0.045 m.
    upwards
        True for the upper face.
    """
    rayleigh = GRAVITY / 291.15 * max(difference_K, 0.0) * length_m**3 * _PR / _NU**2
    return float((0.54 if upwards else 0.27) * rayleigh**0.25 * _K / length_m)


def forced_W_m2K(speed_m_s: float, length_m: float) -> float:
    """Laminar flow of air along a plate, mean over its length; Reynolds number up to 5×10⁵."""
    if not 0 <= speed_m_s <= 15:
        raise ImpossibleInput("air_speed_m_s", speed_m_s, "0 to 15 m/s")
    return float(0.664 * (speed_m_s * length_m / _NU) ** 0.5 * _PR ** (1 / 3) * _K / length_m)


def faces(
    air_speed_m_s: float, standing: Standing, factor: float = 1.0, sheet_mm: tuple[float, float] = (275.0, 135.0)
) -> tuple[Film, Film]:
    """Films of the open face and of the wall of a mould.

    Parameters
    ----------
    air_speed_m_s
        Along the mould; 0 is still air.
    standing
        How it stands; see ``Standing``.
    factor
        Multiplies convection: what was learned of a place, or one draw of its uncertainty.
    sheet_mm
        Outer size of the mould; air moves along the shorter side.
    """
    if standing not in ("rack", "tray", "stacked"):
        raise ImpossibleInput("standing", standing, "rack, tray or stacked")
    length, width = (side / 1000 for side in sheet_mm)
    characteristic = length * width / (2 * (length + width))
    up = factor * natural_W_m2K(1.0, characteristic, upwards=True)
    down = factor * natural_W_m2K(1.0, characteristic, upwards=False)
    along = factor * forced_W_m2K(air_speed_m_s, min(length, width))
    covered = Film(0.0, 0.0, 0.0, COVERED.value * factor)
    free_top, free_bottom = Film(up, along, EMISSIVITY.value, 0.0), Film(down, along, EMISSIVITY.value, 0.0)
    if standing == "rack":
        return free_top, free_bottom
    return (free_top if standing == "tray" else covered), covered
