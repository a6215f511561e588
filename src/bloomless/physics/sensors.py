"""From what a bare sensor gives to a temperature: platinum resistors, thermistors, infrared.

Thermocouples are left to a library that carries the reference functions of NIST (``bloomless.probes.wiring``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.quantities import C_from_K, K_from_C
from bloomless.sources import Grade, Sourced

__all__ = [
    "CHOCOLATE_EMISSIVITY",
    "Thermistor",
    "infrared_error_line",
    "infrared_true_C",
    "platinum_C",
    "platinum_ohm",
    "thermistor_by_beta",
    "thermistor_from_points",
]

_IEC: Final = "iec_60751_2022"
PLATINUM_A: Final = Sourced(3.9083e-3, "1/°C", 0.0, _IEC, Grade.PUBLISHED, note="exact by definition of the standard")
PLATINUM_B: Final = Sourced(-5.775e-7, "1/°C²", 0.0, _IEC, Grade.PUBLISHED)
PLATINUM_C4: Final = Sourced(-4.183e-12, "1/°C⁴", 0.0, _IEC, Grade.PUBLISHED, note="below 0 °C only")
CHOCOLATE_EMISSIVITY: Final = Sourced(
    0.95, "1", 0.03, "infrared_manuals", Grade.FROM_MEMORY, note="most organic surfaces; none found for chocolate"
)
USUAL_ROOM_C: Final = Sourced(21.0, "°C", 3.0, "assumed", Grade.ASSUMED, note="room that a bowl's surface mirrors")
_LEAST_C: Final = -200.0
_MOST_C: Final = 850.0


def platinum_ohm(temperature_C: float, nominal_ohm: float = 100.0) -> float:
    """Resistance of an industrial platinum thermometer.

    Parameters
    ----------
    temperature_C
        Temperature [°C], −200 to 850, ITS-90.
    nominal_ohm
        Resistance at 0 °C [Ω]: 100 for Pt100, 1000 for Pt1000.

    Returns
    -------
    float
        Resistance [Ω].

    Raises
    ------
    OutsideValidity
        Outside the range of the standard.

    Notes
    -----
    R = R₀·(1 + A·t + B·t²), below 0 °C also + C·(t − 100)·t³ (IEC 60751, ``iec_60751_2022``).
    """
    if not _LEAST_C <= temperature_C <= _MOST_C:
        raise OutsideValidity(f"IEC 60751 covers −200 to 850 °C, not {temperature_C:g} °C.")
    ratio = 1.0 + temperature_C * (PLATINUM_A.value + PLATINUM_B.value * temperature_C)
    if temperature_C < 0.0:
        ratio += PLATINUM_C4.value * (temperature_C - 100.0) * temperature_C**3
    return nominal_ohm * ratio


def platinum_C(resistance_ohm: float, nominal_ohm: float = 100.0) -> float:
    """Temperature of an industrial platinum thermometer, the inverse of ``platinum_ohm``.

    Parameters
    ----------
    resistance_ohm
        Resistance of the element without its leads [Ω].
    nominal_ohm
        Resistance at 0 °C [Ω].

    Returns
    -------
    float
        Temperature [°C], within 1e-9 K of the exact inverse.

    Raises
    ------
    OutsideValidity
        For a resistance that no such element has between −200 and 850 °C: a broken or shorted wire.
    """
    least, most = platinum_ohm(_LEAST_C, nominal_ohm), platinum_ohm(_MOST_C, nominal_ohm)
    if not least <= resistance_ohm <= most:
        raise OutsideValidity(
            f"{resistance_ohm:g} Ω is no temperature of a sensor of {nominal_ohm:g} Ω "
            f"({least:.4g} to {most:.4g} Ω): a broken or shorted wire."
        )
    a, b = PLATINUM_A.value, PLATINUM_B.value
    ratio = resistance_ohm / nominal_ohm
    # Exact at and above 0 °C; below, the first guess of a few steps of Newton's way.
    temperature_C = (math.sqrt(a * a - 4.0 * b * (1.0 - ratio)) - a) / (2.0 * b)
    if ratio < 1.0:
        for _ in range(6):
            t = temperature_C
            slope = a + 2.0 * b * t + PLATINUM_C4.value * (4.0 * t**3 - 300.0 * t * t)
            temperature_C = max(_LEAST_C, t - (platinum_ohm(max(t, _LEAST_C), 1.0) - ratio) / slope)
    return temperature_C


@dataclass(frozen=True, slots=True)
class Thermistor:
    """Steinhart–Hart law of one thermistor: 1/T = a + b·ln R + c·(ln R)³ with T in kelvin and R in ohm."""

    a: float
    b: float
    c: float

    def temperature_C(self, resistance_ohm: float) -> float:
        """Temperature [°C] of a resistance [Ω]; raises ``OutsideValidity`` for an open or shorted sensor."""
        if not (math.isfinite(resistance_ohm) and resistance_ohm > 0.0):
            raise OutsideValidity(f"{resistance_ohm:g} Ω is no resistance of a thermistor: an open or shorted wire.")
        log_ohm = math.log(resistance_ohm)
        inverse_K = self.a + log_ohm * (self.b + self.c * log_ohm * log_ohm)
        if inverse_K <= 1.0 / 1273.15:
            raise OutsideValidity(f"{resistance_ohm:g} Ω is beyond this thermistor's law: a shorted wire.")
        return C_from_K(1.0 / inverse_K)


def thermistor_from_points(points: Sequence[tuple[float, float]]) -> Thermistor:
    """Steinhart–Hart law through three points, such as of the maker's table or of one's own baths.

    Parameters
    ----------
    points
        Three pairs of temperature [°C] and resistance [Ω], at different temperatures.

    Returns
    -------
    Thermistor
        The law; it interpolates well between the points and poorly far outside.

    Raises
    ------
    ImpossibleInput
        For another number of points, equal ones, or a resistance that does not fall as it gets warmer.

    Notes
    -----
    ``steinhart_hart_1968``; solved in divided differences of ln R.
    """
    ordered = sorted(points)
    if len(ordered) != 3:
        raise ImpossibleInput("points", len(ordered), "three pairs of temperature and resistance")
    if any(ohm < 10.0 for _, ohm in ordered) or any(
        not (t2 > t1 and r2 < r1) for (t1, r1), (t2, r2) in pairwise(ordered)
    ):
        raise ImpossibleInput("points", points, "resistances of at least 10 Ω that fall as the temperature rises")
    l1, l2, l3 = (math.log(ohm) for _, ohm in ordered)
    y1, y2, y3 = (1.0 / K_from_C(t) for t, _ in ordered)
    g2, g3 = (y2 - y1) / (l2 - l1), (y3 - y1) / (l3 - l1)
    c = (g3 - g2) / ((l3 - l2) * (l1 + l2 + l3))
    b = g2 - c * (l1 * l1 + l1 * l2 + l2 * l2)
    return Thermistor(a=y1 - l1 * (b + c * l1 * l1), b=b, c=c)


def thermistor_by_beta(nominal_ohm: float, beta_K: float, nominal_C: float = 25.0) -> Thermistor:
    """Law of a thermistor of which only R₂₅ [Ω] and B [K] are known: 1/T = 1/T₂₅ + ln(R/R₂₅)/B.

    Raises ``ImpossibleInput`` unless both are above zero. Off by some tenths of a kelvin 30 K away from ``nominal_C``.
    """
    if not (nominal_ohm > 0.0 and beta_K > 0.0):
        raise ImpossibleInput("thermistor", (nominal_ohm, beta_K), "a resistance and a B value above zero")
    return Thermistor(a=1.0 / K_from_C(nominal_C) - math.log(nominal_ohm) / beta_K, b=1.0 / beta_K, c=0.0)


def infrared_true_C(
    shown_C: float, room_C: float, *, set_emissivity: float = 0.95, true_emissivity: float = CHOCOLATE_EMISSIVITY.value
) -> float:
    """Surface temperature behind what an infrared thermometer shows.

    Parameters
    ----------
    shown_C
        What it shows [°C].
    room_C
        Temperature of what the surface mirrors [°C], usually the room's.
    set_emissivity, true_emissivity
        Emissivity the instrument assumes, and that of the surface, each 0.3 to 1.

    Returns
    -------
    float
        Temperature of the surface [°C]; the bowl below may differ by kelvins unless it was just stirred.

    Raises
    ------
    ImpossibleInput
        For an emissivity outside 0.3 to 1 (bare metal mirrors the room and cannot be read so).

    Notes
    -----
    Total radiation of a grey surface in large surroundings: ε·T⁴ + (1 − ε)·T_room⁴ is what arrives (derived from the
    Stefan–Boltzmann law; instruments look at 8–14 µm, where the exponent is a little above 4 at these temperatures).
    """
    for name, value in (("set_emissivity", set_emissivity), ("true_emissivity", true_emissivity)):
        if not 0.3 <= value <= 1.0:
            raise ImpossibleInput(name, value, "an emissivity of 0.3 to 1; bare metal cannot be read by infrared")
    room4 = K_from_C(room_C) ** 4
    excess = set_emissivity / true_emissivity * (K_from_C(shown_C) ** 4 - room4)
    return C_from_K(max(room4 + excess, 0.0) ** 0.25)


def infrared_error_line(set_emissivity: float, room_C: float = USUAL_ROOM_C.value) -> tuple[float, float]:
    """Error that a wrongly set emissivity makes on chocolate: shown minus true at 31 °C [K], and its slope.

    Parameters
    ----------
    set_emissivity
        What the instrument is set to, 0.3 to 1.
    room_C
        Temperature of what the surface mirrors [°C].

    Notes
    -----
    The secant of ``infrared_true_C`` between 27 and 35 °C; against the law itself it is off by less than 0.05 K from 20
    to 50 °C for a setting of 0.85 to 1 (derived).
    """
    low, high = (infrared_true_C(shown, room_C, set_emissivity=set_emissivity) for shown in (27.0, 35.0))
    slope = 8.0 / (high - low) - 1.0
    return 27.0 - low + slope * (31.0 - low), slope
