"""The cook's hands: what is told or meant becomes an act with errors, and a line of the bench log that knows none."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from bloomless.errors import Misuse
from bloomless.kitchens.eyes import Smeared, dip, glance
from bloomless.kitchens.kitchen import Vessel
from bloomless.kitchens.world import World

__all__ = ["Hands", "Line"]

Line = dict[str, Any]
"""An event of the bench log (design section 3)."""

NOT_COUNTED = {"start", "reading", "stir", "look", "finish", "ask", "correct"}
CLOCK_STARTS = {"pour", "seed", "cool_bath"}
METAL = {"steel", "copper", "aluminium"}
HIDDEN_ACTS = {"seed_not_logged", "seed_not_added", "water_in"}
"""Faults that are an act, which happens when hands get to it."""
FINE_BELOW_g = 5.0
SMEAR_WAIT_s = 600.0
SMEAR_EARLY_s = 330.0
"""A film that has not set by then is reported as not set, and watched on."""


@dataclass(slots=True)
class Hands:
    """A cook at work on a world; every act is a line in `log`.

    Parameters
    ----------
    world
        The bowl in its kitchen.
    """

    world: World
    log: list[Line] = field(default_factory=list)
    actions: int = 0
    seeded_g: float = 0.0
    """Seed that was logged."""
    clock_s: float | None = None
    """When the first pour, seed or cold bath began."""
    smeared: Smeared | None = None
    told_not_set: bool = False
    poured: bool = False
    """Whether it was poured over into the second bowl."""
    secret_s: float | None = None
    """When what nobody logs, or what was logged for nothing, happened."""
    false_line: Line | None = None
    """A line that says what did not happen."""
    shown_C: float = 0.0
    """The latest display, in °C whatever was typed."""
    unsaid: Line | None = None
    """What happened and was not said."""

    # ------------------------------------------------------------------ time, readings, looks
    def begin(self) -> Line:
        """The `start` line."""
        said = dict(self.world.kitchen.said)
        said["temperature_C"] = self._typed()
        return self._write(said)

    def _write(self, line: Line) -> Line:
        line = {"at": round(self.world.now_s, 1), **{k: v for k, v in line.items() if k != "at"}}
        line["id"] = f"k{len(self.log) + 1}"
        what = line["what"]
        if what in CLOCK_STARTS and self.clock_s is None:
            self.clock_s = self.world.now_s
        if what not in NOT_COUNTED and not (what == "smear" and ("set_after_s" in line or "not_set_after_s" in line)):
            self.actions += 1
        self.log.append(line)
        return line

    def wait(self, seconds: float) -> list[Line]:
        """Let time pass; faults that act in secret happen, and a film that has set in the meantime is reported."""
        self.world.pass_time(seconds)
        self._secret()
        return self._watch_film()

    def _secret(self) -> None:
        fault, world = self.world.kitchen.fault, self.world
        if fault is None or self.secret_s is not None or not fault.acts(world.now_s):
            return
        if fault.kind == "seed_not_logged" and self.seeded_g > 0.0:
            mass_kg = fault.size * world.mass_kg
            world.seed(mass_kg, world.kitchen.seed_size_mm)
            told_g = round(1000.0 * mass_kg * math.exp(world.chance.normal(0.0, 0.15)), -1)
            self.unsaid = {"at": round(world.now_s, 1), "what": "seed", "mass_g": max(told_g, 5.0)}
            self.unsaid["size_mm"] = world.kitchen.seed_size_mm
            self.secret_s = world.now_s
        elif fault.kind == "water_in":
            world.water(fault.size * world.mass_kg)
            self.secret_s = world.now_s

    def fault_s(self) -> tuple[float, float] | None:
        """From when and until when the kitchen's fault could be told from what a bench hears; ``None``: not yet.

        Nobody can hear of a power cut before the power is back.
        """
        fault = self.world.kitchen.fault
        if fault is None:
            return None
        if fault.kind in HIDDEN_ACTS:
            return None if self.secret_s is None else (self.secret_s, math.inf)
        span = (fault.ends_s, math.inf) if fault.kind == "power_cut" else (fault.begins_s, fault.ends_s)
        return span if span[0] <= self.world.now_s else None

    def _watch_film(self) -> list[Line]:
        film, now = self.smeared, self.world.now_s
        if film is None:
            return []
        age = now - film.taken_at_s
        line: Line = {"what": "smear", "taken_at": round(film.taken_at_s, 1), "surface": film.surface}
        if age >= film.sets_after_s:
            self.smeared = None
            return [self._write({**line, "set_after_s": round(film.sets_after_s / 15.0) * 15.0, "finish": film.finish})]
        if age >= SMEAR_WAIT_s:
            self.smeared = None
            return [self._write({**line, "not_set_after_s": round(age), "finish": "dull"})]
        if age >= SMEAR_EARLY_s and not self.told_not_set:
            self.told_not_set = True
            # Not yet a verdict: the film is still watched.
            return [self._write({**line, "not_set_after_s": round(age)})]
        return []

    def read(self) -> Line:
        """A reading."""
        return self._write({"what": "reading", "temperature_C": self._typed()})

    def _typed(self) -> float:
        """Look at the display and type the number; who has a display in °F and forgets to say so types °F."""
        self.shown_C = self.world.thermometer()
        return round(self.shown_C * 1.8 + 32.0, 1) if self.world.fault_acts("fahrenheit") else self.shown_C

    def look(self) -> Line:
        """Lift the spoon and look: takes a few seconds."""
        self.world.pass_time(4.0)
        return self._write({"what": "look", **glance(self.world.bowl, self.world.kitchen, self.world.chance)})

    def smear(self, surface: str = "paper") -> Line | None:
        """Dip a knife; nothing while another film still waits."""
        if self.smeared is not None:
            return None
        self.world.pass_time(5.0)
        world = self.world
        self.smeared = dip(world.bowl, world.kitchen, world.chance, world.now_s, surface)
        self.told_not_set = False
        line: Line = {"what": "smear", "taken_at": round(world.now_s, 1), "surface": surface}
        return self._write(line)

    # ------------------------------------------------------------------ acts, with the errors of a hand
    def _mass_kg(self, told_g: float) -> float:
        world = self.world
        error = 1.0 + world.chance.normal(0.0, world.kitchen.cook.weighing_error)
        if world.chance.random() < 0.02:
            error *= 0.8 if world.chance.random() < 0.5 else 1.2
        # Who weighs a gram or two takes the scale that shows tenths.
        scale_g = 1.0 if told_g >= FINE_BELOW_g else 0.1
        return max(told_g * error + world.chance.normal(0.0, scale_g), 0.5 * scale_g) / 1000.0

    @property
    def vessel(self) -> Vessel:
        """The bowl the chocolate stands in now."""
        kitchen = self.world.kitchen
        return kitchen.second_vessel if self.poured else kitchen.vessel

    @property
    def means(self) -> tuple[str, ...]:
        """What is at hand for the bowl as it stands: no metal goes into a microwave oven."""
        means = self.world.kitchen.means
        return tuple(m for m in means if m != "microwave" or self.vessel.material not in METAL)

    def _seconds(self, told_s: float) -> float:
        world = self.world
        return max(2.0, told_s * math.exp(world.chance.normal(0.0, world.kitchen.cook.timing_error)) + 2.0)

    def late(self) -> float:
        """How long it takes from reading an order to beginning it [s]."""
        world = self.world
        return float(world.kitchen.cook.late_s * math.exp(world.chance.normal(0.0, 0.4)))

    def seed(self, told_g: float, size_mm: float | None = None, *, form: str = "tempered") -> Line:
        """Weigh and throw in seed."""
        world, kitchen = self.world, self.world.kitchen
        size = kitchen.seed_size_mm if size_mm is None else size_mm
        # A cook asked for finer pieces chops finer, but not all the way.
        true_mm = max(0.8, size * (kitchen.seed_size_mm / size) ** 0.25)
        line = self._write({"what": "seed", "mass_g": round(told_g, 1), "size_mm": size, "form": form})
        self.seeded_g += told_g
        if kitchen.fault is not None and world.fault_acts("seed_not_added") and self.secret_s is None:
            self.secret_s = world.now_s
            self.false_line = line
        elif form == "cocoa_butter_crystals":
            world.crystals(self._mass_kg(told_g))
        else:
            world.seed(self._mass_kg(told_g), true_mm)
        world.pass_time(4.0)
        return line

    def melt(self, told_g: float, heat_C: float) -> Line:
        """Add warm melt, as warm as the cook believes, more or less."""
        line = self._write({"what": "add", "ingredient": "melt", "mass_g": round(told_g, 1), "temperature_C": heat_C})
        self.world.melt(self._mass_kg(told_g), heat_C + self.world.chance.normal(0.0, 1.0))
        self.world.pass_time(5.0)
        return line

    def pour(self) -> Line:
        """Pour over into the second bowl, which is as warm as the room."""
        vessel = self.world.kitchen.second_vessel
        said = {"material": vessel.material, "mass_g": round(vessel.mass_kg * 1000.0, -1)}
        line = self._write({"what": "pour", "vessel": said})
        self.world.pour(vessel)
        self.poured = True
        self.world.pass_time(8.0)
        return line

    def bath(self, what: str, bath_C: float, told_s: float) -> Line:
        """Over warm or in cold water."""
        world = self.world
        line = self._write({"what": what, "bath_C": bath_C, "seconds": told_s})
        true_C = bath_C + world.chance.normal(0.0, world.kitchen.cook.bath_error_K)
        world.bath(true_C, self._seconds(told_s))
        return line

    def burst(self, what: str, watts: float, told_s: float) -> Line:
        """A microwave burst or hot air; clocks of ovens are exact, hands are not.

        Raises
        ------
        Misuse
            For metal in a microwave oven: no cook here does it.
        """
        if what == "microwave" and self.vessel.material in METAL:
            raise Misuse(f"The bowl is of {self.vessel.material} now: no metal goes into a microwave oven.")
        line = self._write({"what": what, "watts": watts, "seconds": told_s})
        if what == "microwave":
            self.world.microwave(watts, told_s)
        else:
            self.world.hot_air(watts, self._seconds(told_s))
        return line

    def table(self, share: float, told_s: float) -> Line:
        """Work a part on the stone."""
        line = self._write({"what": "table", "share": share, "surface": "marble", "seconds": told_s})
        self.world.table(share * math.exp(self.world.chance.normal(0.0, 0.12)), self._seconds(told_s))
        return line

    def sieve(self) -> Line:
        """Take out most lumps."""
        out_kg = self.world.sieve(float(self.world.chance.uniform(0.6, 0.9)))
        line = self._write({"what": "sieve", "mass_g": max(1.0, round(out_kg * 1000.0 * 1.1, -1))})
        self.world.pass_time(30.0)
        return line

    def remove(self, told_g: float) -> Line:
        """Deposit into moulds."""
        line = self._write({"what": "remove", "mass_g": round(told_g, 1)})
        self.world.remove(self._mass_kg(told_g))
        return line

    def stir(self, vigour: str) -> Line:
        """From now on."""
        self.world.vigour = vigour
        return self._write({"what": "stir", "vigour": vigour})

    def check(self, method: str) -> Line:
        """Hold the thermometer in ice water or boiling water for a minute; its offset is nearly the same there."""
        world = self.world
        world.pass_time(60.0)
        reference = 0.0 if method == "ice" else 100.0
        spread = 0.15 if method == "ice" else 0.5
        probe = world.kitchen.probe
        shown = reference + probe.offset_K + world.chance.normal(0.0, spread)
        shown = round(round(shown / probe.step_K) * probe.step_K, 2)
        return self._write({"what": "probe_check", "method": method, "shown_C": shown, "reference_C": reference})

    def own_up(self) -> Line | None:
        """Asked about seed, the cook puts the log right: what went in unsaid, or what was said and never went in."""
        if self.unsaid is not None:
            line, self.unsaid = {**self.unsaid, "id": f"k{len(self.log) + 1}"}, None
            self.log.append(line)
            return line
        if self.false_line is not None:
            of, self.false_line = self.false_line["id"], None
            return self._write({"what": "correct", "of": of, "event": None})
        return None

    def finish(self, used: bool) -> Line:
        """The end."""
        return self._write({"what": "finish", "used": used})
