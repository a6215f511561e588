"""Bloom: what can go grey, from what, and in which time.

Fat bloom comes from poor temper, from setting too cold, too slowly or too warm, from warm storage and cycling, and from
oil that migrates out of nuts; sugar bloom from water, with dew or without. Every estimate is a band with its reason.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput
from bloomless.sources import Grade, Sourced

__all__ = [
    "Climate",
    "Risk",
    "breakthrough_days",
    "fat_bloom_rate_per_d",
    "fat_bloom_risk",
    "oil_bloom_risk",
    "oil_diffusivity_m2_s",
    "sugar_bloom_risk",
]

Array = NDArray[np.float64]
Temper: TypeAlias = Literal["good", "slight", "gross"]

# Visible bloom at ∫ r dt = 1; r = temper factor × f(T) [assumed, consistent with Afoakwa 2009, the cycling study of
# 2018, Ali 2001, Cebula and Ziegleder 1993].
_RATE_PER_D = ((18.0, 1 / 1500), (20.0, 1 / 400), (23.0, 1 / 120), (25.0, 1 / 60), (28.0, 1 / 25), (30.0, 1 / 15))
_TEMPER = {"good": 1.0, "slight": 30.0, "gross": 800.0}
EXCURSION = Sourced(
    0.3, "1", 0.1, "food_structure_2018", Grade.DERIVED, note="each time above 31 °C; bloom in the third"
)
DOUBT = Sourced(2.5, "1", 0.3, "assumed", Grade.ASSUMED, note="factor of one sd of every time to bloom")
_LOG_D = ((18.0, -13.0), (20.0, -13.0), (24.0, -12.0), (30.0, -10.6))
TO_VISIBLE = Sourced(3.0, "1", 0.6, "assumed", Grade.ASSUMED, note="2-4 times the breakthrough at 18-20 °C")


@dataclass(frozen=True, slots=True)
class Climate:
    """Where pieces are kept."""

    temperature_C: float = 17.0
    swing_K: float = 2.0
    """Daily swing, from lowest to highest."""
    rh_pct: float | None = 50.0
    warm_times: int = 0
    """How often it got above 31 °C."""

    def __post_init__(self) -> None:
        if not -30 <= self.temperature_C <= 40:
            raise ImpossibleInput("temperature_C", self.temperature_C, "-30 to 40 °C")
        if self.rh_pct is not None and not 0 < self.rh_pct <= 100:
            raise ImpossibleInput("rh_pct", self.rh_pct, "above 0 and at most 100 %")
        if not 0 <= self.swing_K <= 30 or self.warm_times < 0:
            raise ImpossibleInput("swing_K", self.swing_K, "0 to 30 K, and warm times of at least 0")


@dataclass(frozen=True, slots=True)
class Risk:
    """One way to go grey."""

    kind: Literal["fat bloom", "sugar bloom"]
    cause: str
    """Short name for programs."""
    days: tuple[float, float, float]
    """Until it is seen: early (5 %), middle, late (95 %)."""
    reason: str
    do: str
    rests_on: str
    """What the estimate rests on, and how well that is known."""


def _band(days: float, factor: float = DOUBT.value) -> tuple[float, float, float]:
    wide = factor**1.645
    return days / wide, days, days * wide


def fat_bloom_rate_per_d(temperature_C: Array | float) -> Array:
    """Rate of fat bloom of well-tempered chocolate, 1/d, from the table of the sheet on a log scale.

    Below 18 °C the rate of 18 °C; above 30 °C it goes on rising at the last slope.
    """
    x, y = np.array(_RATE_PER_D).T
    t = np.asarray(temperature_C, dtype=float)
    slope = (math.log(y[-1]) - math.log(y[-2])) / (x[-1] - x[-2])
    return np.asarray(np.exp(np.interp(t, x, np.log(y)) + slope * np.maximum(t - 30.0, 0.0)))


def fat_bloom_risk(climate: Climate, temper: Temper = "good", *, reason: str = "") -> Risk:
    """Fat bloom of solid pieces by temper and storage.

    Parameters
    ----------
    climate
        Where they are kept; the swing counts by the mean rate over a sine.
    temper
        ``good``, ``slight`` (a few unstable crystals, set somewhat too slowly or too cold) or ``gross``.
    reason
        What is known of the temper, in a sentence; put in front.
    """
    if temper not in _TEMPER:
        raise ImpossibleInput("temper", temper, ", ".join(_TEMPER))
    phase = np.linspace(0, 2 * math.pi, 25)[:-1]
    over_day = climate.temperature_C + 0.5 * climate.swing_K * np.sin(phase)
    rate = float(np.mean(fat_bloom_rate_per_d(over_day))) * _TEMPER[temper]
    # Each daily excursion above 31 °C counts at once; those told are already spent.
    if over_day.max() > 31.0 and over_day.min() < 29.0:
        rate += EXCURSION.value
    left = max(1.0 - EXCURSION.value * climate.warm_times, 0.0)
    days = left / rate
    swing = f" ± {climate.swing_K / 2:g} K" if climate.swing_K else ""
    place = f"at {climate.temperature_C:g} °C{swing}"
    if temper == "good":
        cause, what = "storage", f"Well tempered and kept {place}."
        do = "Keep it at 14-18 °C, without swings, out of light." if climate.temperature_C > 18 else "Keep it so."
    else:
        cause, what = "temper", f"{'Slightly' if temper == 'slight' else 'Grossly'} out of temper, kept {place}."
        do = "Melt it again and temper it; as it is, use it soon or in baking."
    if climate.warm_times:
        what += f" It was above 31 °C {climate.warm_times} times, each worth about a third of the way."
    return Risk(
        "fat bloom", cause, _band(days), f"{reason} {what}".strip(), do,
        "a hazard fitted by hand to five studies (18-33 °C); a factor 2.5 either way",
    )  # fmt: skip


def oil_diffusivity_m2_s(temperature_C: Array | float) -> Array:
    """Diffusivity of nut oil in chocolate, log-linear between the few points known.

    10⁻¹³ at 18-20 °C, 10⁻¹² at 24, 2.5×10⁻¹¹ at 30 °C: it follows the liquid fat, a hundredfold over ten kelvin
    (peanut paste, MRI, about 2010: 1.8-3.2×10⁻¹¹ at 30 °C, nothing seen in 17 days at 20 °C).
    """
    x, y = np.array(_LOG_D).T
    return np.asarray(10.0 ** np.interp(np.asarray(temperature_C, dtype=float), x, y))


def breakthrough_days(shell_mm: float, temperature_C: float) -> float:
    """Days until oil from a nut filling reaches the outer face: L²/(6D). Twice the shell, four times the days."""
    if not shell_mm > 0:
        raise ImpossibleInput("shell_mm", shell_mm, "above 0")
    return (shell_mm / 1000) ** 2 / (6 * float(oil_diffusivity_m2_s(temperature_C))) / 86400


def oil_bloom_risk(shell_mm: float, climate: Climate, *, seeded_filling: bool = False) -> Risk:
    """Fat bloom by oil from a nut filling.

    Parameters
    ----------
    shell_mm
        Thinnest wall.
    climate
        Where pieces are kept.
    seeded_filling
        True if the filling holds 5-6 % of cocoa butter, crystallised before it was filled.
    """
    through = breakthrough_days(shell_mm, climate.temperature_C + 0.25 * climate.swing_K)
    days = through * TO_VISIBLE.value * (2.0 if seeded_filling else 1.0)
    do = "A thicker wall counts by its square" + (
        "."
        if seeded_filling
        else "; 5-6 % of crystallised cocoa butter in the filling holds its oil; keep it at 12-18 °C."
    )
    return Risk(
        "fat bloom", "oil_migration", _band(days),
        f"Oil crosses {shell_mm:g} mm in about {_days(through)} at {climate.temperature_C:g} °C and shows in 2-4 times "
        "that.",
        do, "square-root law with a diffusivity known at 30 °C and bounded at 20 °C; a factor 2.5 either way",
    )  # fmt: skip


def _days(days: float) -> str:
    return f"{days * 24:.0f} hours" if days < 2 else f"{days:.0f} days"


def sugar_bloom_risk(
    climate: Climate, limit_rh_pct: float, *, dew_g_m2: float = 0.0, sticky: bool = False
) -> Risk | None:
    """Sugar bloom by dew, by moist storage, or none.

    Parameters
    ----------
    climate
        Where pieces are kept, wrapped loosely.
    limit_rh_pct
        Humidity from which this chocolate takes up water: ``moist_air.UPTAKE_RH_PCT``.
    dew_g_m2, sticky
        From taking out: water that fell, or a surface that was moist without dew.
    """
    if dew_g_m2 > 0 or sticky:
        reason = "Without dew, but the air at the surface is moister than its sugar bears: it dries as a grey crust."
        if dew_g_m2 > 0:
            water = f"about {dew_g_m2:.1f} g/m² of water (5 are seen)"
            reason = f"Dew falls: {water}; sugar dissolves and dries as a grey crust."
        return Risk(
            "sugar bloom", "condensation", (0.2, 1.0, 3.0),
            reason,
            "Leave it covered in its mould until it has warmed; bag it before it leaves the cold place.",
            "moist air is exact; the water that is seen is an estimate",
        )  # fmt: skip
    if climate.rh_pct is None:
        return Risk(
            "sugar bloom", "humidity_unknown", (3.0, 30.0, 3000.0),
            f"The humidity of the store is not known; from {limit_rh_pct:g} % on sugar takes up water, 50 % is good.",
            "Measure it; a cheap hygrometer is enough.", "nothing: the humidity is missing",
        )  # fmt: skip
    # A swing towards the cold makes moist air moister; 6 % of relative humidity a kelvin.
    worst = climate.rh_pct * math.exp(0.06 * climate.swing_K / 2)
    if worst < 60:
        return None
    days = 2.0 if worst >= limit_rh_pct else 60.0 * (limit_rh_pct - worst) / (limit_rh_pct - 60.0) + 5.0
    return Risk(
        "sugar bloom", "humidity", _band(days),
        f"The store has {climate.rh_pct:g} %, up to {worst:.0f} % in its coldest hours; sugar takes up water from "
        f"{limit_rh_pct:g} %.",
        "Airtight boxes, filled in dry air; below 50 % is good, 60 % is worth a word, 70 % an alarm.",
        "the humidity at which sugar takes up water is published; the days are an estimate",
    )  # fmt: skip
