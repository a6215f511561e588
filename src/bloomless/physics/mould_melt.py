"""What is poured into a mould: its composition as far as heat and crystals care, and the temper the bowl really had."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput
from bloomless.materials.chocolates import Chocolate, Kind, melting_shift_K
from bloomless.materials.thermal import HEAT_OF_MELTING
from bloomless.numerics.compiled import kernel
from bloomless.physics.constants import BOWL
from bloomless.physics.laws import form_v_growth, solid_share_of
from bloomless.physics.priors import USUAL
from bloomless.sources import Grade, Sourced

__all__ = [
    "FIRST_C",
    "GROWTH_COLD",
    "GROWTH_HOLD",
    "PER_K",
    "USUAL_SEED",
    "CONDUCTIVITY_W_mK",
    "DENSITY_kg_m3",
    "HEAT_J_kgK",
    "Melt",
    "Rates",
    "melt_of",
    "rate_table",
]

Array = NDArray[np.float64]

CONDUCTIVITY_W_mK = Sourced(0.26, "W/(m K)", 0.02, "beckett_2009", Grade.PUBLISHED, note="0.22 at 15 to 0.28 at 27 °C")
DENSITY_kg_m3 = Sourced(1250.0, "kg/m3", 20.0, "beckett_2009", Grade.PUBLISHED, note="1200 liquid to 1300 solid")
HEAT_J_kgK = Sourced(1600.0, "J/(kg K)", 40.0, "beckett_2009", Grade.PUBLISHED, note="1590-1670, crystals' heat apart")

# The bowl's priors serve the mould too; in the cold, cooling curves at rest tie the constant down to some 40 %.
GROWTH_COLD = replace(USUAL.growth_cold, spread=1.5, note="cooling curves at rest; model times within 40 %")
GROWTH_HOLD = USUAL.growth_hold
USUAL_SEED = Sourced(
    0.01, "1", 0.005, "derived", Grade.DERIVED, note="form V of the fat to which the growth constants belong"
)

FIRST_C, LAST_C, PER_K = -10.0, 60.0, 4.0


@dataclass(frozen=True, slots=True)
class Rates:
    """Constants of the crystals; the defaults are the middle of what is believed."""

    growth_cold: float = GROWTH_COLD.value
    """Form V in the cold, 1/(s K); see ``laws.form_v_growth``."""
    growth_hold: float = GROWTH_HOLD.value
    """Form V at 31 °C in a stirred bowl, 1/s; a third of it at rest."""
    unstable: float = 1.0
    """Multiplies the birth of II and IV."""


@dataclass(frozen=True, slots=True)
class Melt:
    """Chocolate as it is poured."""

    kind: Kind
    fat_share: float
    butter_of_fat: float
    """Share of the fat that can be solid: cocoa butter."""
    shift_K: float
    """Melting points against dark chocolate of pure cocoa butter."""
    temperature_C: float
    form_v: float = 0.015
    """Share of all fat in forms V and VI, as the bench estimates it."""
    unstable: float = 0.0
    """Share of all fat in forms I-IV."""
    heat_of_melting_J_kg: float = HEAT_OF_MELTING["form_v"].value
    conductivity_W_mK: float = CONDUCTIVITY_W_mK.value
    density_kg_m3: float = DENSITY_kg_m3.value
    heat_J_kgK: float = HEAT_J_kgK.value

    def __post_init__(self) -> None:
        if not 15 <= self.temperature_C <= 60:
            raise ImpossibleInput("temperature_C", self.temperature_C, "15 to 60 °C for chocolate that is poured")
        for name, share in (("form_v", self.form_v), ("unstable", self.unstable)):
            if not 0 <= share <= 0.5:
                raise ImpossibleInput(name, share, "a share of the fat, 0 to 0.5")
        if not 0.15 <= self.fat_share <= 1:
            raise ImpossibleInput("fat_share", self.fat_share, "0.15 to 1")

    @property
    def kelvin(self) -> float:
        """Warming if all the fat set as form V."""
        return self.fat_share * self.heat_of_melting_J_kg / self.heat_J_kgK

    @property
    def volumetric_J_m3K(self) -> float:
        """Heat capacity of a cubic metre, crystals' heat apart."""
        return self.density_kg_m3 * self.heat_J_kgK

    def solid_share(self, temperature_C: Array | float) -> Array:
        """Solid share of the fat in form V at equilibrium."""
        return np.asarray(self.butter_of_fat * solid_share_of(np.asarray(temperature_C, dtype=float) - self.shift_K))

    @property
    def set_share(self) -> float:
        """Solid share of the fat at which a layer counts as set.

        0.65 for dark chocolate [assumed], three quarters of what is solid at 16 °C; the same fraction for others.
        """
        return 0.65 * float(self.solid_share(16.0)) / float(solid_share_of(np.array(16.0)))

    @property
    def fat_volume_share(self) -> float:
        """Volume of the fat over that of the chocolate, with the density of set butter (Choi and Okos) at 16 °C."""
        return min(1.0, self.fat_share * self.density_kg_m3 / 919.0)


def melt_of(of: Chocolate, temperature_C: float, *, form_v: float = 0.015, unstable: float = 0.0) -> Melt:
    """What is poured, from a chocolate and the state of the bowl.

    Parameters
    ----------
    of
        Composition.
    temperature_C
        Of the bowl when it is poured.
    form_v, unstable
        Shares of all fat, 0…1: the bench says them in per cent.
    """
    pure = of.kind == "cocoa_butter"
    return Melt(
        kind=of.kind,
        fat_share=of.fat_share,
        butter_of_fat=of.cocoa_butter_of_fat,
        shift_K=melting_shift_K(of),
        temperature_C=temperature_C,
        form_v=form_v,
        unstable=unstable,
        density_kg_m3=910.0 if pure else DENSITY_kg_m3.value,
        heat_J_kgK=2050.0 if pure else HEAT_J_kgK.value,
        conductivity_W_mK=0.17 if pure else CONDUCTIVITY_W_mK.value,
    )


def _log_between(T: Array, points: tuple[tuple[float, float], ...]) -> Array:
    """Interpolation of rates on a log scale, constant outside."""
    x, y = np.array(points).T
    return np.asarray(np.exp(np.interp(T, x, np.log(y))))


@kernel
def _growths(theta: Array, hold: float, cold: float) -> Array:
    """``laws.form_v_growth`` at many temperatures."""
    out = np.empty(theta.size)
    for i in range(theta.size):
        out[i] = form_v_growth(theta[i], hold, cold)
    return out


def rate_table(melt: Melt, rates: Rates) -> Array:
    """Rates by temperature for ``mould_kinetics``: rows from ``FIRST_C``, ``PER_K`` a kelvin, columns as named there.

    Notes
    -----
    θ is the temperature less the melting shift. Form V grows as in the bowl (``laws.form_v_growth``), and with the cube
    root of its seed, because few crystals have little surface [assumed]: without seed at rest none grows from the melt
    (Toro-Vazquez 2004; only by way of IV), and nothing below 5 °C (Baichoo 2007). IV from the
    melt: about an hour at 20 °C, many hours
    from 24, none from 27.5 °C; II: half in minutes at 15 °C, none from 20 °C [recalled]. II climbs to IV in about
    30 minutes at 15-20 °C and hardly at 0 °C; IV to V in about 10 hours at 24 °C, not below 15 °C (Marangoni and
    McGauley 2003). Curves of IV and II: 0 at 28 °C and 0.6 at 20 °C [assumed]; 0 at 22 °C and 0.5 at 14 °C [assumed].
    """
    T = np.arange(FIRST_C, LAST_C + 0.5 / PER_K, 1.0 / PER_K)
    theta = T - melt.shift_K
    butter, iv_end = melt.butter_of_fat, BOWL["form_iv_end_C"].value
    v = np.asarray(melt.solid_share(T))
    iv = np.minimum(butter * np.interp(theta, [5.0, 20.0, 28.0], [0.8, 0.6, 0.0]), v)
    ii = np.minimum(butter * np.interp(theta, [2.0, 14.0, 22.0], [0.8, 0.5, 0.0]), v)
    hold = rates.growth_hold * BOWL["growth_unstirred"].value
    seed = min(melt.form_v / USUAL_SEED.value, 4.0) ** (1 / 3) * melt.form_v / (melt.form_v + BOWL["few_share"].value)
    growth = seed * _growths(theta, hold, rates.growth_cold)
    hour = 3600.0
    birth_iv = _log_between(
        theta, ((10.0, 2.0 / hour), (15.0, 1.5 / hour), (20.0, 0.7 / hour), (24.0, 0.1 / hour), (27.5, 0.02 / hour))
    )
    birth_ii = _log_between(
        theta, ((0.0, 1 / 40.0), (5.0, 1 / 80.0), (10.0, 1 / 200.0), (15.0, 1 / 450.0), (20.0, 1 / 3600.0))
    )
    climb_ii = _log_between(theta, ((0.0, 1 / (168 * hour)), (8.0, 1 / (4 * hour)), (15.0, 1 / (0.5 * hour))))
    climb_iv = _log_between(theta, ((15.0, 1 / (100 * hour)), (24.0, 1 / (10 * hour)), (28.0, 1 / (4 * hour))))
    return np.ascontiguousarray(
        np.column_stack(
            (
                v, iv, ii, growth,
                rates.unstable * np.where(theta < iv_end, birth_iv, 0.0),
                rates.unstable * np.where(theta < 20.0, birth_ii, 0.0),
                climb_ii,
                np.where(theta < 15.0, 0.0, climb_iv),
                0.05 * np.clip(theta - iv_end, 0.0, 3.0),
                0.05 * np.clip(theta - 22.0, 0.0, 3.0),
            )
        )
    )  # fmt: skip
