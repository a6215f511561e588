"""The belief: an ensemble of bowls with weights, what each member thinks of the cook, and what has been said so far."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal, TypeAlias

import numpy as np
import numpy.typing as npt

from bloomless.estimation.answers import Alert
from bloomless.estimation.events import Bath, BowlEvent, HotAir, Look, Microwave, Smear, Start, Table, Vigour
from bloomless.estimation.table import PriorTable
from bloomless.estimation.thermometer import Placement
from bloomless.physics.ensemble import Ensemble
from bloomless.physics.priors import BowlPriors
from bloomless.physics.readings import Temper

__all__ = [
    "COOK_ROWS",
    "EYE_LUMPS",
    "EYE_THICK",
    "HELD_UNDONE",
    "NEVER_SEEN",
    "SMEAR_PACE",
    "Belief",
    "Flag",
    "Running",
    "Settings",
    "Snapshot",
    "Watch",
    "generator",
    "last_look",
    "last_s",
    "looks",
    "only_melted",
    "own_pieces",
    "times_done",
]

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

EYE_LUMPS, EYE_THICK, SMEAR_PACE, HELD_UNDONE = range(4)
COOK_ROWS = 4
"""Rows of what a member thinks of the cook: ln factors of eye and smear, number of the act that it holds undone."""


Telling: TypeAlias = Literal["lumps", "thickness", "streaks", "foreign"]
"""What a look may speak of."""
NEVER_SEEN: Final = Look(-math.inf)
"""The look where nobody has looked: before all time, and it tells nothing."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What may be replaced and studied; the defaults are the fitted ones. Sabotaged variants of the tests set these."""

    noise_scale: float = 1.0
    """Factor on all model error."""
    noise_temperature: float = 1.0
    """Factors on one kind of model error each, for ``fitting``."""
    noise_crystals: float = 1.0
    noise_pieces: float = 1.0
    noise_loss: float = 1.0
    heavy_tails: bool = True
    believe_all: bool = False
    """Sabotage: no reading may say nothing."""
    bias: bool = True
    """Sabotage if false: the thermometer is taken to be right."""
    lumps: bool = True
    """Sabotage if false: looks at lumps tell nothing."""
    drift: bool = True
    """Offset and melting shift may drift back to their priors, temperature compensated."""


@dataclass(frozen=True)
class Running:
    """An act that still lasts."""

    event: Bath | Microwave | HotAir | Table
    until_s: float
    strength: Array
    """How strongly each member feels it: the errors of a hand, 0 where it is held undone."""
    water_K: Array
    """Bath warmer than said, one a member."""
    part: Ensemble | None = None
    """What is on the table meanwhile."""


@dataclass(frozen=True)
class Snapshot:
    """The bowl as it was at one time, one value a member of now: what a smear taken then tells of.

    Crystals in % of all fat, pieces in % of the bowl, the temperature that of the mixed bowl.
    """

    at_s: float
    form_v_pct: Array
    unstable_pct: Array
    mixed_C: Array
    pieces_pct: Array


@dataclass(frozen=True, slots=True)
class Watch:
    """What the guard over the thermometer remembers."""

    last_at_s: float | None = None
    last_C: float | None = None
    same_since_s: float | None = None
    """Since when the reading has been the same."""
    stuck: bool = False
    """Whether that was held to be the display's doing."""
    foreseen_C: float = 0.0
    """What was expected to be shown next, once the last reading had been taken."""
    moved_K: float = 0.0
    """Change foreseen from reading to reading since it began to be the same."""
    odd: tuple[tuple[float, float, float], ...] = ()
    """The last readings that were not believed: time, reading, miss."""
    pulls: tuple[tuple[float, float], ...] = ()
    """By how much each of the last readings drew the belief away from what it had foreseen: time, K."""
    drawn_sd: float = 0.0
    """By how many sd the last reading lay off towards a vessel of another temperature, with its sign."""
    stirred_at_s: float = 0.0
    strain: float = 0.0
    """By how many standard deviations the last reading missed what was expected."""
    hot_since_s: float | None = None
    """Since when the bowl has most likely been hotter than its solids bear."""


@dataclass(frozen=True, slots=True)
class Flag:
    """An alert with the time it was raised and the time until which it stands."""

    alert: Alert
    since_s: float
    until_s: float


@dataclass(frozen=True)
class Belief:
    """Everything that is believed of one bowl; immutable and picklable."""

    start: Start
    seed: int
    settings: Settings
    at_s: float
    ensemble: Ensemble
    priors: BowlPriors | None
    """Those a kitchen has taught; ``None``: the general ones."""
    table: PriorTable
    """Priors of the parameter rows as arrays."""
    temper: Temper
    """What counts as in temper; a user may change it."""
    log_weight: Array
    cook: Array
    """Shape (COOK_ROWS, members)."""
    ancestor: Ints
    """Which member of the beginning each one descends from."""
    placement: Placement
    other_offsets: Mapping[str, Array] = field(default_factory=dict)
    """Offsets of further thermometers, one a member."""
    draws: int = 0
    """How many times chance was asked; with the seed it fixes the next draw."""
    heard: tuple[BowlEvent, ...] = ()
    """Every event in the order taken: a thermometer check reads the whole history again with the offset."""
    acts: tuple[BowlEvent, ...] = ()
    """Those that are not readings."""
    running: tuple[Running, ...] = ()
    vigour: Vigour = "steady"
    readings: int = 0
    snapshots: tuple[Snapshot, ...] = ()
    waiting_smears: tuple[Smear, ...] = ()
    watch: Watch = Watch()
    flags: tuple[Flag, ...] = ()
    backed: bool = False
    """Something besides an unchecked number speaks for the bowl: plateau, smear or check."""
    seeded_at_s: float | None = None
    log_evidence: float = 0.0
    """ln of the chance that everything told so far had beforehand: what a choice of priors is judged by."""

    @property
    def members(self) -> int:
        """Number of members."""
        return int(self.log_weight.size)

    @cached_property
    def weight(self) -> Array:
        """Weights that sum to one."""
        weight = np.exp(self.log_weight - self.log_weight.max())
        return np.asarray(weight / weight.sum(), dtype=np.float64)


def last_s(belief: Belief, kinds: Collection[str], never_s: float | None = None) -> float:
    """When something of these kinds was last begun; ``never_s`` if never, by default the start."""
    return max(
        (event.at_s for event in belief.acts if event.what in kinds),
        default=belief.start.at_s if never_s is None else never_s,
    )


def times_done(belief: Belief, kinds: Collection[str]) -> int:
    """How often something of these kinds was done or told."""
    return sum(event.what in kinds for event in belief.acts)


def own_pieces(belief: Belief) -> bool:
    """Whether the pieces in the bowl are what has not melted of it: nothing was seeded since."""
    return belief.start.state != "melted" and belief.seeded_at_s == belief.start.at_s


def only_melted(belief: Belief) -> bool:
    """Whether the bowl began as pieces and nothing was seeded since: they are melted out, and are no seed."""
    return belief.start.state == "pieces" and own_pieces(belief)


def looks(belief: Belief, *, telling: Telling | None = None, after_s: float = -math.inf) -> list[Look]:
    """What the cook saw, in the order told.

    Parameters
    ----------
    belief
        The bowl as believed.
    telling
        Only looks that spoke of this.
    after_s
        Only looks later than this session time.
    """
    return [
        event
        for event in belief.acts
        if isinstance(event, Look) and event.at_s > after_s and (telling is None or getattr(event, telling) is not None)
    ]


def last_look(belief: Belief, *, telling: Telling | None = None, after_s: float = -math.inf) -> Look:
    """The last of ``looks``; ``NEVER_SEEN`` where there is none."""
    return next(reversed(looks(belief, telling=telling, after_s=after_s)), NEVER_SEEN)


def generator(seed: int, draw: int) -> np.random.Generator:
    """Chance of one draw: counter based, so that a replay draws the same."""
    return np.random.Generator(np.random.Philox(key=np.array([seed % 2**64, draw], dtype=np.uint64)))
