"""From the number a device sends to °C: its unit, or the law of the bare sensor behind it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.physics.sensors import Thermistor, platinum_C, thermistor_by_beta, thermistor_from_points
from bloomless.probes.extras import need
from bloomless.quantities import C_from_F, C_from_K

__all__ = ["SENSORS", "UNITS", "Wiring"]

UNITS: Final = ("C", "F", "K", "ohm", "mV", "share")
"""°C, °F, kelvin; ohm of a resistor; millivolt of a thermocouple; share of the supply over a thermistor."""
THERMOCOUPLES: Final = ("B", "E", "J", "K", "N", "R", "S", "T")
SENSORS: Final = ("pt100", "pt1000", "thermistor", *(f"thermocouple_{letter}" for letter in THERMOCOUPLES))


@dataclass(frozen=True, slots=True)
class Wiring:
    """How a number becomes a temperature: number · ``scale`` + ``shift`` is in ``unit``; ``sensor`` does the rest."""

    unit: str = "C"
    scale: float = 1.0
    shift: float = 0.0
    sensor: str = ""
    cold_junction_C: float | None = None
    """Thermocouples: temperature of the terminals; 1 °C of error here is 1 °C in the reading."""
    r25_ohm: float | None = None
    beta_K: float | None = None
    points: tuple[tuple[float, float], ...] = ()
    """Thermistor: three pairs of °C and ohm, better than ``r25_ohm`` and ``beta_K``."""
    series_ohm: float | None = None
    """Unit ``share``: the fixed resistor above the thermistor."""

    def __post_init__(self) -> None:
        if self.unit not in UNITS:
            raise ImpossibleInput("unit", self.unit, f"one of {', '.join(UNITS)}")
        if not (math.isfinite(self.scale) and self.scale != 0.0 and math.isfinite(self.shift)):
            raise ImpossibleInput("scale", self.scale, "a number other than zero")
        if self.sensor and self.sensor not in SENSORS:
            raise ImpossibleInput("sensor", self.sensor, f"one of {', '.join(SENSORS)}")
        needed = {"ohm": ("pt", "thermistor"), "mV": ("thermocouple",), "share": ("thermistor",)}.get(self.unit, ("",))
        if not self.sensor.startswith(needed) or (self.sensor and needed == ("",)):
            wanted = ", ".join(s for s in SENSORS if s.startswith(needed)) if needed != ("",) else "none"
            raise ImpossibleInput("sensor", self.sensor, f"for the unit {self.unit}: {wanted}")
        if self.unit == "mV" and self.cold_junction_C is None:
            raise ImpossibleInput(
                "cold_junction_C", None, "the temperature of the terminals, without which it is a guess"
            )
        if self.unit == "share" and not (self.series_ohm or 0.0) > 0.0:
            raise ImpossibleInput("series_ohm", self.series_ohm, "the fixed resistor above the thermistor, in ohm")
        if self.sensor == "thermistor":
            self._thermistor()

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> Wiring:
        """Wiring of a saved document; unknown names are an error."""
        known = {name: document[name] for name in cls.__dataclass_fields__ if name in document}
        if "points" in known:
            known["points"] = tuple((float(t), float(r)) for t, r in known["points"])
        return cls(**known)

    def _thermistor(self) -> Thermistor:
        if self.points:
            return thermistor_from_points(self.points)
        if self.r25_ohm is None or self.beta_K is None:
            raise ImpossibleInput("thermistor", None, "three points of °C and ohm, or r25_ohm and beta_K")
        return thermistor_by_beta(self.r25_ohm, self.beta_K)

    def celsius(self, number: float) -> float:
        """Temperature [°C] of a number as it was sent; raises ``ImpossibleInput`` for one that no sensor gives."""
        value = number * self.scale + self.shift
        if not math.isfinite(value):
            raise ImpossibleInput("value", number, "a finite number", code="no_value")
        try:
            match self.unit:
                case "C":
                    return value
                case "F":
                    return C_from_F(value)
                case "K":
                    return C_from_K(value)
                case "mV":
                    return self._thermocouple_C(value)
                case "share":
                    if not 0.0 < value < 1.0:
                        raise ImpossibleInput("value", number, "a share between 0 and 1: the sensor is open or shorted")
                    return self._thermistor().temperature_C((self.series_ohm or 0.0) * value / (1.0 - value))
                case _:
                    if self.sensor == "thermistor":
                        return self._thermistor().temperature_C(value)
                    return platinum_C(value, 1000.0 if self.sensor == "pt1000" else 100.0)
        except ImpossibleInput:
            raise
        except BloomlessError as error:
            raise ImpossibleInput("value", number, str(error), code="no_value") from error

    def _thermocouple_C(self, millivolt: float) -> float:
        library = need("thermocouple_its90", "A bare thermocouple")
        try:
            couple = library.get(self.sensor.removeprefix("thermocouple_"))
            return float(couple.temperature(millivolt, reference=self.cold_junction_C))
        except library.RangeError as error:
            raise ImpossibleInput("value", millivolt, f"a voltage this thermocouple gives ({error})") from error
