"""One kitchen: its physics, its tools, its cook and what may go wrong in it, all drawn from one chance."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from numpy.random import Generator

from bloomless.errors import UnknownName
from bloomless.kitchens.draws import KINDS, draw_numbers
from bloomless.kitchens.faults import Fault, draw_fault
from bloomless.kitchens.layout import CURVE_LOW_C, CURVE_POINTS, CURVE_STEP_C, PHYSICS, POSITION

__all__ = ["Cook", "Kitchen", "Probe", "Vessel", "draw_kitchen", "vessel_for", "window_C"]

Floats = npt.NDArray[np.float64]

# Kinds in a study where none is named: what a small workshop has in its bowls [assumed].
KIND_SHARES = {"dark": 0.36, "milk": 0.29, "white": 0.29, "cocoa_butter": 0.06}
# Specific heat J/(kg K) and emissivity of vessels: crystal-physics sheet 5.3, from memory of heat-transfer textbooks.
VESSEL_MATTER = {"steel": (490.0, 0.2), "glass": (800.0, 0.92), "plastic": (1900.0, 0.93), "ceramic": (850.0, 0.92)}
# Working windows and reference milk fat, design section 3 [prior].
WINDOWS_C = {"dark": (29.3, 33.0), "milk": (27.8, 31.5), "white": (26.8, 30.5), "cocoa_butter": (29.5, 32.5)}
MILK_FAT_REFERENCE_PCT = {"dark": 0.0, "milk": 18.0, "white": 18.0, "cocoa_butter": 0.0}
WINDOW_K_PER_MILK_FAT_PCT = -0.15
COLOUR_J_kgK = 800.0  # oxides and lakes, from memory
HOTTEST_ROOM_C = 28.0  # job map section 0, question 26: where the hardiest stop [common practice]


@dataclass(frozen=True, slots=True)
class Vessel:
    """A bowl as it is."""

    material: str
    mass_kg: float
    diameter_m: float

    @property
    def J_K(self) -> float:
        """Heat capacity [J/K]."""
        return self.mass_kg * VESSEL_MATTER[self.material][0]

    @property
    def emissivity(self) -> float:
        """Emissivity of the outside."""
        return VESSEL_MATTER[self.material][1]


@dataclass(frozen=True, slots=True)
class Probe:
    """A thermometer as it is."""

    kind: str
    offset_K: float
    lag_s: float
    noise_K: float
    step_K: float
    """Steps of its display."""


@dataclass(frozen=True, slots=True)
class Cook:
    """How a cook works and sees."""

    late_s: float
    weighing_error: float
    timing_error: float
    bath_error_K: float
    stir_on_s: float
    stir_off_s: float
    eye_factor: float
    eye_scatter: float
    flow_shift: float


@dataclass(frozen=True, slots=True)
class Kitchen:
    """Everything that is fixed before the first stir."""

    kind: str
    numbers: dict[str, float]
    curve: Floats
    """Solid share of the fat by temperature, see `layout`."""
    physics: Floats
    window_C: tuple[float, float]
    vessel: Vessel
    second_vessel: Vessel
    probe: Probe
    cook: Cook
    mass_kg: float
    start_C: float
    room_C: float
    said: dict[str, Any]
    """The `start` event, all but `temperature_C`: what the cook believes and says."""
    seed_quality: float
    seed_size_mm: float
    fault: Fault | None = None

    @property
    def means(self) -> tuple[str, ...]:
        """What the cook has at hand."""
        return tuple(self.said["means"])


def window_C(kind: str, milk_fat_pct: float) -> tuple[float, float]:
    """Working window [°C] of a kind of chocolate by its real milk fat (design section 3, prior)."""
    shift = WINDOW_K_PER_MILK_FAT_PCT * (milk_fat_pct - MILK_FAT_REFERENCE_PCT[kind])
    low, high = WINDOWS_C[kind]
    return low + shift, high + shift


def solid_fat_curve(numbers: dict[str, float]) -> tuple[Floats, float]:
    """The kitchen's solid-fat table and its plateau: a power of a power that ends at a point, unlike a logistic."""
    temperature_C = CURVE_LOW_C + CURVE_STEP_C * np.arange(CURVE_POINTS)
    top = numbers["curve_top"] * (1.0 - 0.7 * numbers["milk_fat_pct"] / 100.0)
    end = numbers["form_v_limit_C"] + numbers["curve_end_above_K"]
    warm = np.clip((temperature_C - end) / numbers["curve_span_K"] + 1.0, 0.0, 1.0)
    curve = top * (1.0 - warm ** numbers["curve_power"]) ** numbers["curve_tail"]
    return np.ascontiguousarray(curve), float(top)


def vessel_for(chance: Generator, material: str, mass_kg: float) -> Vessel:
    """A bowl of a material that suits a mass [assumed: about as wide as kitchens have them]."""
    empty = {"steel": (0.15, 0.17), "glass": (0.35, 0.45), "plastic": (0.05, 0.08), "ceramic": (0.4, 0.5)}[material]
    weight_kg = (empty[0] + empty[1] * mass_kg) * math.exp(chance.normal(0.0, 0.25))
    wide = (mass_kg / 1250.0 / 0.16) ** (1.0 / 3.0) * math.exp(chance.normal(0.06, 0.1))
    return Vessel(material, weight_kg, wide)


def _said(chance: Generator, kind: str, numbers: dict[str, float], vessel: Vessel, probe: Probe) -> dict[str, Any]:
    """What the cook tells at the start, errors included."""
    means = ["seed"]
    for name, likely in {"melt": 0.5, "warm_bath": 0.85, "cool_bath": 0.7, "hot_air": 0.25, "table": 0.08}.items():
        if chance.random() < likely:
            means.append(name)
    if vessel.material != "steel" and chance.random() < 0.7:
        means.append("microwave")
    said: dict[str, Any] = {
        "what": "start",
        "at": 0.0,
        "chocolate": kind,
        "state": "melted",
        "mass_g": round(numbers["mass_kg"] * 1000.0 * (1.0 + 0.02 * chance.normal()), -1),
        "room_C": round(min(max(numbers["room_C"], 10.0), 35.0), 1),
        "means": means,
    }
    bowl: dict[str, Any] = {"material": vessel.material}
    if chance.random() < 0.6:
        bowl["mass_g"] = round(vessel.mass_kg * 1000.0 * (1.0 + 0.05 * chance.normal()))
    if chance.random() < 0.6:
        bowl["diameter_mm"] = round(vessel.diameter_m * 1000.0 * (1.0 + 0.06 * chance.normal()), -1)
    said["vessel"] = bowl
    if chance.random() < 0.5:
        said["seed_available_g"] = round(said["mass_g"] * chance.uniform(0.3, 0.6), -1)
    said["probe"] = {"kind": probe.kind}
    return said


def _physics(numbers: dict[str, float], vessel: Vessel, top: float, probe: Probe) -> Floats:
    physics = np.array([numbers.get(name, 0.0) for name in PHYSICS])
    for name, value in {
        "growth_rate_s": 1.0 / (60.0 * numbers["growth_e_fold_min"]),
        "unstable_limit_C": numbers["form_v_limit_C"] - numbers["unstable_below_K"],
        "vessel_J_K": vessel.J_K,
        "diameter_m": vessel.diameter_m,
        "vessel_emissivity": vessel.emissivity,
        "probe_lag_s": probe.lag_s,
        "curve_top": top,
    }.items():
        physics[POSITION[name]] = value
    return physics


def _probe(chance: Generator, numbers: dict[str, float]) -> Probe:
    kind = "glass" if chance.random() < 0.12 else "needle"
    offset = numbers["probe_offset_K"]
    if numbers["probe_bad"] < 0.04:
        offset = math.copysign(chance.uniform(1.2, 2.0), offset)
    step = float(chance.choice([0.1, 0.2, 0.5, 1.0], p=[0.72, 0.06, 0.14, 0.08]))
    lag = numbers["probe_lag_s"] * (2.0 if kind == "glass" else 1.0)
    return Probe(kind, offset, lag, numbers["probe_noise_K"], step)


def draw_kitchen(
    chance: Generator,
    kind: str | None = None,
    fault: str | None = None,
    *,
    mass_kg: float | None = None,
    colour_share: float = 0.0,
) -> Kitchen:
    """Draw a kitchen.

    Parameters
    ----------
    chance
        Where chance comes from; the same generator state gives the same kitchen.
    kind
        ``dark``, ``milk``, ``white`` or ``cocoa_butter``; drawn where ``None``.
    fault
        Name of a fault of the world (`faults.FAULTS`) that will happen; ``None`` for none.
    mass_kg
        Melt in the bowl at the start; drawn where ``None``.
    colour_share
        Of dispersed colour, for cocoa butter: solids that neither melt nor seed.
    """
    if kind is None:
        kind = str(chance.choice(list(KIND_SHARES), p=list(KIND_SHARES.values())))
    elif kind not in KINDS:
        raise UnknownName("chocolate", kind, KINDS)
    numbers = draw_numbers(chance, kind)
    if mass_kg is not None:
        numbers["mass_kg"] = mass_kg
    if colour_share > 0.0:
        numbers["fat_share"] *= 1.0 - colour_share
        mixed = (1.0 - colour_share) * numbers["heat_capacity_J_kgK"] + colour_share * COLOUR_J_kgK
        numbers["heat_capacity_J_kgK"] = mixed
    numbers["form_v_limit_C"] -= numbers["softening_K_pct"] * (numbers["milk_fat_pct"] - MILK_FAT_REFERENCE_PCT[kind])
    curve, top = solid_fat_curve(numbers)
    material = str(chance.choice(["steel", "glass", "plastic", "ceramic"], p=[0.42, 0.25, 0.28, 0.05]))
    vessel = vessel_for(chance, material, numbers["mass_kg"])
    second = vessel_for(chance, str(chance.choice(["steel", "glass", "plastic"])), numbers["mass_kg"])
    probe = _probe(chance, numbers)
    cook = Cook(**{name: numbers[name] for name in Cook.__slots__})
    bloomed = numbers["seed_bloomed"] < 0.06
    kitchen = Kitchen(
        kind=kind,
        numbers=numbers,
        curve=curve,
        physics=_physics(numbers, vessel, top, probe),
        window_C=window_C(kind, numbers["milk_fat_pct"]),
        vessel=vessel,
        second_vessel=second,
        probe=probe,
        cook=cook,
        mass_kg=numbers["mass_kg"],
        start_C=numbers["start_C"],
        room_C=numbers["room_C"] + numbers["room_error_K"],
        said=_said(chance, kind, numbers, vessel, probe),
        seed_quality=numbers["bloomed_quality"] if bloomed else numbers["seed_quality"],
        seed_size_mm=round(numbers["seed_size_mm"] * 2.0) / 2.0,
    )
    return kitchen if fault is None else _spoil(kitchen, draw_fault(chance, fault))


def _spoil(kitchen: Kitchen, fault: Fault) -> Kitchen:
    """The kitchen with a fault; those that are there from the start change its numbers at once."""
    if fault.kind == "probe_off":
        return replace(kitchen, fault=fault, probe=replace(kitchen.probe, offset_K=fault.size))
    if fault.kind == "room_warmer":
        # Warmer, but still a room in which this chocolate could be worked at all.
        warm_C = min(kitchen.room_C + fault.size, HOTTEST_ROOM_C, kitchen.window_C[0] - 1.0)
        return replace(kitchen, fault=fault, room_C=max(warm_C, kitchen.room_C))
    return replace(kitchen, fault=fault)
