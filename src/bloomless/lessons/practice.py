"""A practice bowl: simulated chocolate with real controls; what is in it stays hidden until the end.

Everything a player does and sees is a line of the bench log, so a practice bowl can be replayed like a real one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from numpy.random import Generator

from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.kitchens import KINDS, Hands, Kitchen, Line, Truth, World, carry_out, draw_kitchen

__all__ = ["LEVELS", "PLAYS", "Glimpse", "PracticeBowl", "Seen", "open_bowl"]

LEVELS: Final = {
    "calm": "a good thermometer, sound seed, the room as it says",
    "usual": "a kitchen as kitchens are: the thermometer may be off, seed may be poor",
    "rough": "something goes wrong and nobody says so",
}
"""How true the bowl is to what the player is told."""

READING_EVERY_s: Final = 15.0
LONGEST_s: Final = 2.0 * 3600.0
EVERY_MEANS: Final = ("seed", "melt", "warm_bath", "cool_bath", "hot_air", "microwave", "table")


@dataclass(frozen=True, slots=True)
class Glimpse:
    """The truth at one moment, kept for afterwards."""

    at_s: float
    truth: Truth


@dataclass(frozen=True, slots=True)
class Seen:
    """What the player knows now."""

    at_s: float
    shown_C: float
    """The latest reading."""
    vigour: str
    going: tuple[str, ...]
    """What is at work: ``bath``, ``microwave``, ``hot_air``, ``table``."""
    going_until_s: float
    smear_since_s: float | None
    """When the film that still waits was dipped."""
    look: Mapping[str, Any] | None
    """The latest look, as a line of the bench log."""
    smear: Mapping[str, Any] | None
    """The latest verdict of a smear."""
    mass_g: float
    """What the player believes to have in the bowl."""
    seed_used_g: float
    steps: int
    over: bool


@dataclass(slots=True)
class PracticeBowl:
    """One practice bowl; made by `open_bowl`.

    Parameters
    ----------
    hands
        The player's hands in the simulated kitchen.
    level
        One of `LEVELS`.
    """

    hands: Hands
    level: str
    trace: list[Glimpse] = field(default_factory=list)
    over: bool = False
    used: bool = False
    next_reading_s: float = READING_EVERY_s

    @property
    def log(self) -> list[Line]:
        """Every line of the bench log so far: a recorded run."""
        return self.hands.log

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen the bowl stands in: for teachers, not for players."""
        return self.hands.world.kitchen

    def advance(self, seconds: float) -> list[Line]:
        """Let time pass; returns the lines that came of it: a reading every 15 s, a film that has set.

        Raises
        ------
        ImpossibleInput
            For a negative time.
        """
        if not 0.0 <= seconds <= LONGEST_s:
            raise ImpossibleInput("seconds", seconds, f"0 to {LONGEST_s:g}")
        lines: list[Line] = []
        world = self.hands.world
        end_s = world.now_s + seconds
        while not self.over and world.now_s < end_s - 1e-9:
            lines += self.hands.wait(min(self.next_reading_s, end_s) - world.now_s)
            if world.now_s >= self.next_reading_s - 1e-9:
                self.next_reading_s = world.now_s + READING_EVERY_s
                lines.append(self.hands.read())
                self._keep()
            if world.now_s >= LONGEST_s:
                lines.append(self.finish(used=False))
        return lines

    def _keep(self) -> None:
        self.trace.append(Glimpse(self.hands.world.now_s, self.hands.world.truth()))

    def act(self, what: str, **fields: Any) -> list[Line]:
        """Do something; returns the lines it wrote in the log.

        Parameters
        ----------
        what
            One of `PLAYS`, as in the bench log: ``seed`` {mass_g, size_mm}, ``add`` {mass_g, temperature_C}, ``pour``,
            ``warm_bath`` and ``cool_bath`` {bath_C, seconds}, ``microwave`` and ``hot_air`` {watts, seconds},
            ``table`` {share, seconds}, ``stir`` {vigour}, ``look``, ``smear`` {surface}, ``sieve``, ``remove``
            {mass_g}, ``probe_check``, ``finish`` {used}.
        fields
            Its fields; what is left out gets a usual value.

        Raises
        ------
        UnknownName, ImpossibleInput
            For what cannot be done, with what could.
        Misuse
            After the end, or where the player has not the means.
        """
        if self.over:
            raise Misuse("This bowl is finished; open another one.")
        if what not in PLAYS:
            raise UnknownName("what", what, PLAYS)
        play = PLAYS[what]
        self._check_means(what)
        given = {name: _number(name, value, play.limits) for name, value in fields.items()}
        unknown = set(given) - set(play.usual)
        if unknown:
            raise UnknownName("field", min(unknown), play.usual)
        before = len(self.log)
        done = {**play.usual, **given}
        if what == "finish":
            self.finish(used=bool(done["used"]))
        else:
            carry_out(self.hands, {"what": what, **done})
            self._keep()
        return self.log[before:]

    def _check_means(self, what: str) -> None:
        if what in EVERY_MEANS and what not in self.kitchen.means:
            raise Misuse(
                f"There is no {what.replace('_', ' ')} in this kitchen; there is {', '.join(self.kitchen.means)}."
            )
        if what == "smear" and self.hands.smeared is not None:
            raise Misuse("A film is still setting; look at it when it is time.")
        if what in {"warm_bath", "cool_bath", "microwave", "hot_air", "table"} and self.hands.world.busy:
            raise Misuse("Both hands are full: wait until the last step is over.")

    def finish(self, *, used: bool) -> Line:
        """Use the bowl, or give it up; the truth may be seen from now on."""
        self.over, self.used = True, used
        self._keep()
        return self.hands.finish(used)

    def see(self) -> Seen:
        """What the player knows now; nothing of what is hidden."""
        world, log = self.hands.world, self.log
        return Seen(
            at_s=world.now_s,
            shown_C=next(line["temperature_C"] for line in reversed(log) if line["what"] in {"reading", "start"}),
            vigour=world.vigour,
            going=tuple(going.what for going in world.going),
            going_until_s=world.free_at_s,
            smear_since_s=None if self.hands.smeared is None else self.hands.smeared.taken_at_s,
            look=next((line for line in reversed(log) if line["what"] == "look"), None),
            smear=next((line for line in reversed(log) if _is_verdict(line)), None),
            mass_g=_believed_g(log),
            seed_used_g=self.hands.seeded_g,
            steps=self.hands.actions,
            over=self.over,
        )

    def truth(self) -> tuple[Glimpse, ...]:
        """What was hidden, from start to end.

        Raises
        ------
        Misuse
            Before the end.
        """
        if not self.over:
            raise Misuse("The truth is shown when the bowl is finished.")
        return tuple(self.trace)


def _is_verdict(line: Line) -> bool:
    return line["what"] == "smear" and ("set_after_s" in line or "not_set_after_s" in line)


def _believed_g(log: list[Line]) -> float:
    signs = {"start": 1.0, "seed": 1.0, "add": 1.0, "remove": -1.0, "sieve": -1.0}
    return float(sum(signs[line["what"]] * line["mass_g"] for line in log if line["what"] in signs))


@dataclass(frozen=True, slots=True)
class _Play:
    """One thing a player may do: usual values of its fields, and limits."""

    usual: Mapping[str, Any]
    limits: Mapping[str, tuple[float, float] | tuple[str, ...]]


def _number(name: str, value: Any, limits: Mapping[str, tuple[float, float] | tuple[str, ...]]) -> Any:
    limit = limits.get(name)
    if limit is None:
        return value
    if isinstance(limit[0], str):
        if value not in limit:
            raise ImpossibleInput(name, value, ", ".join(str(word) for word in limit))
        return value
    low, high = float(limit[0]), float(limit[1])
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise ImpossibleInput(name, value, f"{low:g} to {high:g}")
    return float(value)


_SECONDS = (2.0, 600.0)
PLAYS: Final[Mapping[str, _Play]] = {
    "seed": _Play({"mass_g": 50.0, "size_mm": None}, {"mass_g": (1.0, 2000.0), "size_mm": (0.5, 15.0)}),
    "add": _Play({"mass_g": 50.0, "temperature_C": 40.0}, {"mass_g": (1.0, 2000.0), "temperature_C": (30.0, 50.0)}),
    "pour": _Play({}, {}),
    "warm_bath": _Play({"bath_C": 45.0, "seconds": 20.0}, {"bath_C": (30.0, 50.0), "seconds": _SECONDS}),
    "cool_bath": _Play({"bath_C": 18.0, "seconds": 20.0}, {"bath_C": (5.0, 28.0), "seconds": _SECONDS}),
    "microwave": _Play({"watts": 700.0, "seconds": 5.0}, {"watts": (100.0, 1200.0), "seconds": (1.0, 60.0)}),
    "hot_air": _Play({"watts": 1500.0, "seconds": 10.0}, {"watts": (500.0, 2500.0), "seconds": _SECONDS}),
    "table": _Play({"share": 0.33, "seconds": 60.0}, {"share": (0.05, 0.7), "seconds": _SECONDS}),
    "stir": _Play({"vigour": "steady"}, {"vigour": ("none", "gentle", "steady", "brisk")}),
    "look": _Play({}, {}),
    "smear": _Play({"surface": "paper"}, {"surface": ("paper", "steel", "stone", "plastic", "glass")}),
    "sieve": _Play({}, {}),
    "remove": _Play({"mass_g": 50.0}, {"mass_g": (1.0, 5000.0)}),
    "probe_check": _Play({"method": "ice"}, {"method": ("ice", "boiling")}),
    "finish": _Play({"used": True}, {}),
}
"""What a player may do, by its name in the bench log."""


def open_bowl(
    chance: Generator, *, kind: str = "dark", mass_g: float | None = None, level: str = "calm"
) -> PracticeBowl:
    """Open a practice bowl: melted chocolate, a thermometer in it, being stirred.

    Parameters
    ----------
    chance
        Where chance comes from; the same chance gives a whole class the same bowl.
    kind
        ``dark``, ``milk``, ``white`` or ``cocoa_butter``.
    mass_g
        Melt in the bowl, 100–5,000 g; drawn where ``None``.
    level
        One of `LEVELS`.
    """
    if level not in LEVELS:
        raise UnknownName("level", level, LEVELS)
    if kind not in KINDS:
        raise UnknownName("kind", kind, KINDS)
    if mass_g is not None and not 100.0 <= mass_g <= 5000.0:
        raise ImpossibleInput("mass_g", mass_g, "100 to 5000")
    kitchen_chance, play_chance = chance.spawn(2)
    fault = None
    if level == "rough":
        fault = str(kitchen_chance.choice(["probe_off", "room_warmer", "probe_on_wall", "probe_stuck", "probe_lifted"]))
    kitchen = _practice_kitchen(draw_kitchen(kitchen_chance, kind, fault, mass_kg=mass_g and mass_g / 1000.0), level)
    bowl = PracticeBowl(Hands(World.begin(kitchen, play_chance)), level)
    bowl.hands.begin()
    bowl.act("stir")
    return bowl


def _practice_kitchen(kitchen: Kitchen, level: str) -> Kitchen:
    """The player is the cook: scales and clock are good; in a calm kitchen everything is as it is said."""
    cook = replace(
        kitchen.cook,
        weighing_error=0.01,
        timing_error=0.03,
        stir_on_s=1e9,
        eye_factor=1.0,
        eye_scatter=0.15,
        flow_shift=0.0,
    )
    means = [name for name in EVERY_MEANS if name != "microwave" or kitchen.vessel.material != "steel"]
    kitchen = replace(
        kitchen, cook=cook, said={**kitchen.said, "means": means, "mass_g": round(1000.0 * kitchen.mass_kg)}
    )
    if level != "calm":
        return kitchen
    probe = replace(kitchen.probe, offset_K=0.0, step_K=0.1, noise_K=0.05)
    return replace(kitchen, probe=probe, room_C=kitchen.said["room_C"], seed_quality=0.95)
