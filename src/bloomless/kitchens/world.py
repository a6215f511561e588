"""A bowl in its kitchen through time: what hands do to it, what a thermometer shows of it.

A `World` is the one changing thing of this room. Its chance is passed in; the same kitchen, chance and acts give the
same world, on any machine that rounds alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from numpy.random import Generator

from bloomless.errors import ImpossibleInput
from bloomless.kitchens.bowl import Bowl, Truth, add_crystals, add_melt, add_pieces, begin, pour, probe_C, scale, truth
from bloomless.kitchens.kernel import run
from bloomless.kitchens.kitchen import Kitchen, Vessel
from bloomless.kitchens.layout import (
    BATH_C,
    BATH_J_K,
    BATH_ON,
    CONTROLS,
    CORE,
    CORE_W,
    HEAT_C,
    PROBE_AIR,
    PROBE_WALL,
    ROOM_C,
    STIRRED,
    STONE_C,
    STONE_J_K,
    STONE_W_K,
    TABLE,
    TABLE_ON,
    WALL_W,
    FIRST_CROP_kg,
    FORM_V_kg,
    MASS_kg,
    PIECE_kg,
)

__all__ = ["VIGOUR", "World"]

Floats = npt.NDArray[np.float64]

VIGOUR = {"none": 0.0, "gentle": 0.5, "steady": 1.0, "brisk": 1.6}
STEP_s = 0.5
WATER_J_kgK = 4180.0
STONE_J_m2K = 25_000.0  # the upper centimetre of marble, sheet 5.3 from memory: 2680 kg/m³ × 860 J/(kg K)
SPREAD_kg_m2 = 12.0  # a centimetre of chocolate worked to and fro
STONE_W_m2K = 350.0  # scraped contact, sheet 5.5 derived


@dataclass(slots=True)
class _Going:
    """Something that lasts: a bath, a burst, work on the stone."""

    what: str
    until_s: float
    controls: dict[int, float]


@dataclass(slots=True)
class World:
    """One bowl in one kitchen.

    Parameters
    ----------
    kitchen
        What is fixed.
    chance
        Chance of everything that varies while the bowl is worked.
    bowl
        Its state; `World.begin` makes the one of the start.
    """

    kitchen: Kitchen
    chance: Generator
    bowl: Bowl
    now_s: float = 0.0
    vigour: str = "steady"
    going: list[_Going] = field(default_factory=list)
    noticed: bool = False
    """Whether somebody found out about the kitchen's fault and put it right."""
    resting: bool = False
    next_turn_s: float = 0.0
    stuck_C: float | None = None

    def __post_init__(self) -> None:
        if self.next_turn_s == 0.0:
            self.next_turn_s = self.now_s + self.chance.exponential(self.kitchen.cook.stir_on_s)

    @classmethod
    def begin(cls, kitchen: Kitchen, chance: Generator, *, solid: float = 0.0) -> World:
        """The kitchen's bowl at the start; ``solid`` is the share that is still tempered pieces."""
        return cls(kitchen, chance, begin(kitchen, solid=solid))

    # ------------------------------------------------------------------ time
    def fault_acts(self, kind: str) -> bool:
        """Whether this fault goes on now."""
        fault = self.kitchen.fault
        return fault is not None and fault.kind == kind and not self.noticed and fault.acts(self.now_s)

    def pass_time(self, seconds: float) -> None:
        """Let time go by; what lasts goes on and ends by itself."""
        end_s = self.now_s + seconds
        while self.now_s < end_s - 1e-9:
            self._turn()
            until_s = min([end_s, self.next_turn_s, self.now_s + 15.0, *(g.until_s for g in self.going)])
            span = max(until_s - self.now_s, 1e-3)
            steps = max(1, round(span / STEP_s))
            bowl = self.bowl
            run(
                bowl.zones,
                bowl.pieces,
                bowl.quality,
                bowl.bodies,
                bowl.physics,
                self.kitchen.curve,
                self._controls(),
                steps,
                span / steps,
            )
            self.now_s += span
            self._end_what_is_over()

    def _turn(self) -> None:
        """Stirring comes and goes: the hand rests, or takes up again."""
        while self.next_turn_s <= self.now_s + 1e-9:
            self.resting = not self.resting
            cook = self.kitchen.cook
            self.next_turn_s += self.chance.exponential(cook.stir_off_s if self.resting else cook.stir_on_s) + 0.5

    def _controls(self) -> Floats:
        controls = np.zeros(CONTROLS)
        idle = self.resting or self.fault_acts("not_stirred")
        controls[STIRRED] = 0.0 if idle else VIGOUR[self.vigour]
        # The room breathes by half a degree over a quarter of an hour: doors, oven, people.
        controls[ROOM_C] = self.kitchen.room_C + 0.4 * math.sin(2.0 * math.pi * self.now_s / 900.0)
        controls[BATH_J_K], controls[STONE_J_K] = 1.0, 1.0
        fault = self.kitchen.fault
        if fault is not None and self.fault_acts("probe_lifted"):
            controls[PROBE_AIR] = fault.size
        if fault is not None and self.fault_acts("probe_on_wall"):
            controls[PROBE_WALL] = fault.size
        for going in self.going:
            for place, value in going.controls.items():
                controls[place] = value
        return controls

    def _end_what_is_over(self) -> None:
        for going in [g for g in self.going if g.until_s <= self.now_s + 1e-9]:
            self.going.remove(going)
            if going.what == "table":
                self._back_from_stone()

    @property
    def busy(self) -> bool:
        """Whether a bath, a burst or the stone is at work."""
        return bool(self.going)

    @property
    def free_at_s(self) -> float:
        """When the last thing that lasts is over."""
        return max((g.until_s for g in self.going), default=self.now_s)

    def trial(self) -> World:
        """A copy of this world whose hand never rests, to try a step on; its chance is not used."""
        return World(
            self.kitchen,
            self.chance,
            self.bowl.copy(),
            now_s=self.now_s,
            vigour=self.vigour,
            going=list(self.going),
            next_turn_s=1e12,
        )

    def after_stirring(self, seconds: float) -> Truth:
        """What the bowl would hold after so long with nothing but stirring."""
        copy = self.trial()
        copy.pass_time(seconds)
        return copy.truth()

    def working_minutes_left(self, most: float = 240.0) -> float:
        """Minutes until "in temper" first fails if the bowl is only stirred; 0 where it is not now."""
        copy = self.trial()
        while copy.truth().in_temper and copy.now_s - self.now_s < 60.0 * most:
            copy.pass_time(20.0)
        return (copy.now_s - self.now_s) / 60.0

    # ------------------------------------------------------------------ what hands do, in true amounts
    def seed(
        self, mass_kg: float, size_mm: float, *, heat_C: float | None = None, quality: float | None = None
    ) -> None:
        """Tempered pieces in; as warm as the room and of the kitchen's quality unless said."""
        if not 0.0 < mass_kg <= 20.0:
            raise ImpossibleInput("mass_kg", mass_kg, "more than 0 to 20 kg")
        warm = self.kitchen.room_C if heat_C is None else heat_C
        add_pieces(self.bowl, self.kitchen, mass_kg, warm, size_mm, quality or self.kitchen.seed_quality)

    def crystals(self, mass_kg: float) -> None:
        """Fine cocoa butter crystals in, as warm as the room: nearly all of them form V or VI."""
        if not 0.0 < mass_kg <= 1.0:
            raise ImpossibleInput("mass_kg", mass_kg, "more than 0 to 1 kg")
        add_crystals(self.bowl, self.kitchen, mass_kg, self.kitchen.room_C, 0.97)

    def melt(self, mass_kg: float, heat_C: float) -> None:
        """Untempered melt of the same chocolate in."""
        add_melt(self.bowl, mass_kg, heat_C)

    def pour(self, vessel: Vessel, vessel_C: float | None = None) -> None:
        """Into another bowl, as warm as the room unless said."""
        pour(self.bowl, vessel, self.kitchen.room_C if vessel_C is None else vessel_C)

    def bath(self, bath_C: float, seconds: float) -> None:
        """Bowl into or over water that is this warm; the pot holds only so much."""
        self.bowl.bodies[BATH_C] = bath_C
        water = WATER_J_kgK * self.kitchen.numbers["bath_water_kg"] * max(0.5, self.kitchen.mass_kg)
        self.going.append(_Going("bath", self.now_s + seconds, {BATH_ON: 1.0, BATH_J_K: water}))

    def microwave(self, watts: float, seconds: float) -> None:
        """A burst: less is taken up by small loads, and more of it near the wall; nobody stirs meanwhile."""
        mass = self.mass_kg
        taken = self.kitchen.numbers["microwave_share"] * mass / (mass + 0.08) * watts
        wall = self.kitchen.numbers["microwave_wall"] * taken
        self.going.append(
            _Going(
                "microwave", self.now_s + seconds, {CORE_W: taken - wall, WALL_W: wall, STIRRED: 0.0, PROBE_AIR: 1.0}
            )
        )

    def hot_air(self, watts: float, seconds: float) -> None:
        """A heat gun on the surface."""
        taken = self.kitchen.numbers["hot_air_share"] * watts
        self.going.append(_Going("hot_air", self.now_s + seconds, {CORE_W: taken}))

    def table(self, share: float, seconds: float, *, stone_C: float | None = None) -> None:
        """A part of the melt on the stone, worked, and back when the time is over."""
        core, out = self.bowl.zones[CORE], self.bowl.zones[TABLE]
        part = min(share * self.mass_kg / core[MASS_kg], 0.9)
        for column in (MASS_kg, *range(FORM_V_kg, FIRST_CROP_kg + 1)):
            out[column] = part * core[column]
            core[column] -= out[column]
        out[HEAT_C] = core[HEAT_C]
        area = out[MASS_kg] / SPREAD_kg_m2
        self.bowl.bodies[STONE_C] = self.kitchen.room_C - 1.0 if stone_C is None else stone_C
        stone = {TABLE_ON: 1.0, STONE_J_K: 3.0 * STONE_J_m2K * area, STONE_W_K: STONE_W_m2K * area}
        self.going.append(_Going("table", self.now_s + seconds, stone))

    def _back_from_stone(self) -> None:
        core, out = self.bowl.zones[CORE], self.bowl.zones[TABLE]
        total = core[MASS_kg] + out[MASS_kg]
        core[HEAT_C] = (core[MASS_kg] * core[HEAT_C] + out[MASS_kg] * out[HEAT_C]) / total
        for column in (MASS_kg, *range(FORM_V_kg, FIRST_CROP_kg + 1)):
            core[column] += out[column]
            out[column] = 0.0

    def sieve(self, share: float) -> float:
        """Take this share of the pieces out; returns what that was [kg]."""
        before = float(self.bowl.pieces[:, :, PIECE_kg].sum())
        # The classes keep their sizes: fewer pieces, each as large as before.
        self.bowl.pieces[:, :, :2] *= 1.0 - share
        return before * share

    def remove(self, mass_kg: float) -> None:
        """Deposited into moulds."""
        scale(self.bowl, max(0.0, 1.0 - mass_kg / self.mass_kg))

    def water(self, mass_kg: float) -> None:
        """Water got in."""
        self.bowl.water_kg += mass_kg

    # ------------------------------------------------------------------ what can be seen
    @property
    def mass_kg(self) -> float:
        """All chocolate in the bowl [kg]."""
        return float(self.bowl.zones[:, MASS_kg].sum() + self.bowl.pieces[:, :, PIECE_kg].sum())

    def truth(self) -> Truth:
        """What the mixed bowl holds now."""
        return truth(self.bowl, self.kitchen)

    def thermometer(self) -> float:
        """A reading [°C] off the display, with all its faults."""
        probe, fault = self.kitchen.probe, self.kitchen.fault
        shown = probe_C(self.bowl) + probe.offset_K + self.chance.normal(0.0, probe.noise_K)
        if fault is not None and self.fault_acts("probe_jumping") and self.chance.random() < 0.35:
            shown += fault.size * (1.0 if self.chance.random() < 0.5 else -1.0)
        if self.fault_acts("probe_stuck"):
            self.stuck_C = shown if self.stuck_C is None else self.stuck_C
            shown = self.stuck_C
        else:
            self.stuck_C = None
        return round(round(shown / probe.step_K) * probe.step_K, 2)
