"""The events of a bench session as frozen data: what the cook did, read and saw, in SI units.

One class a kind of event; ``what`` is its name in the bench log. They hold values that were checked already: the bench
contract (``bloomless.bench.contract``) turns lines of JSON into these and says what is wrong with a line. Defaults
that stand here are the defaults of the published schema.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal, TypeAlias

__all__ = [
    "Add",
    "Ask",
    "Bath",
    "BowlEvent",
    "ChocolateKind",
    "Composition",
    "Correct",
    "Drain",
    "Event",
    "Finish",
    "Foreign",
    "HotAir",
    "Look",
    "Lumps",
    "Means",
    "Microwave",
    "Pour",
    "ProbeCheck",
    "ProbeKind",
    "ProbeSpec",
    "Reading",
    "Remove",
    "Seed",
    "SeedForm",
    "Sieve",
    "Smear",
    "SmearFinish",
    "Start",
    "Stir",
    "Surface",
    "Table",
    "Thickness",
    "VesselMaterial",
    "VesselSpec",
    "Vigour",
    "Water",
    "lasts_s",
]

ChocolateKind: TypeAlias = Literal["dark", "milk", "white", "cocoa_butter"]
Means: TypeAlias = Literal[
    "seed", "cocoa_butter_crystals", "melt", "warm_bath", "cool_bath", "microwave", "hot_air", "table"
]
VesselMaterial: TypeAlias = Literal["steel", "glass", "plastic", "ceramic", "copper", "aluminium"]
ProbeKind: TypeAlias = Literal["needle", "glass", "infrared"]
Vigour: TypeAlias = Literal["none", "gentle", "steady", "brisk"]
SeedForm: TypeAlias = Literal["tempered", "bloomed", "unknown", "cocoa_butter_crystals"]
Lumps: TypeAlias = Literal["none", "some", "few", "many"]  # some: few or many, not said which

Thickness: TypeAlias = Literal["thin", "flowing", "thick", "paste"]
Drain: TypeAlias = Literal["quick", "good", "slow"]
Foreign: TypeAlias = Literal["glass", "metal", "wrong_allergen", "off_smell", "other"]
Surface: TypeAlias = Literal["paper", "steel", "stone", "plastic", "glass"]
SmearFinish: TypeAlias = Literal["glossy", "streaked", "dull"]


@dataclass(frozen=True, slots=True)
class Composition:
    """What a chocolate is made of, as shares of its mass; ``None`` stands for the usual one of its kind."""

    kind: ChocolateKind
    fat_share: float | None = None
    """All fat."""
    cocoa_butter_share: float | None = None
    milk_fat_share: float | None = None
    liquid_oil_share: float | None = None
    """Nut and other oils that are liquid in the bowl."""
    colour_share: float | None = None
    """Dispersed colour in cocoa butter; the rest is fat."""


@dataclass(frozen=True, slots=True)
class VesselSpec:
    """A bowl; ``None`` stands for what is usual for the mass it holds."""

    material: VesselMaterial = "steel"
    mass_g: float | None = None
    diameter_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ProbeSpec:
    """A thermometer and what is known of it."""

    kind: ProbeKind = "needle"
    offset_C: float = 0.0
    """Shown minus true at 31 °C."""
    offset_sd_C: float = 0.7
    lag_s: float | None = None
    """First-order lag in stirred chocolate; ``None`` for what is usual of its kind."""
    slope: float = 0.0
    """How much more it shows too much for each kelvin above 31 °C, where checks have told."""
    slope_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class Start:
    """Chocolate in front of the cook."""

    what: ClassVar[str] = "start"
    at_s: float
    chocolate: Composition
    mass_g: float
    """Chocolate in the bowl, seed not included."""
    state: Literal["melted", "pieces", "part_melted"] = "melted"
    temperature_C: float | None = None
    """A thermometer reading."""
    room_C: float = 21.0
    room_rh_pct: float = 50.0
    vessel: VesselSpec = VesselSpec()
    means: tuple[Means, ...] = ("seed", "melt", "warm_bath", "cool_bath")
    seed_available_g: float | None = None
    """``None``: enough."""
    probe: ProbeSpec = ProbeSpec()


@dataclass(frozen=True, slots=True)
class Reading:
    """One thermometer reading."""

    what: ClassVar[str] = "reading"
    at_s: float
    temperature_C: float
    probe: str = "1"
    """Which thermometer; the first one is "1"."""


@dataclass(frozen=True, slots=True)
class ProbeCheck:
    """What the thermometer shows against a known temperature."""

    what: ClassVar[str] = "probe_check"
    at_s: float
    method: Literal["ice", "boiling", "second_probe"]
    shown_C: float
    reference_C: float
    probe: str = "1"
    doubt_K: float | None = None
    """How well it fixes the error near 31 °C, one standard deviation; ``None`` for what is usual of the method."""


@dataclass(frozen=True, slots=True)
class Pour:
    """Into another bowl."""

    what: ClassVar[str] = "pour"
    at_s: float
    vessel: VesselSpec | None = None
    """``None``: another one like the one it was in."""
    vessel_C: float | None = None
    """``None``: as warm as the room."""


@dataclass(frozen=True, slots=True)
class Seed:
    """Tempered pieces in."""

    what: ClassVar[str] = "seed"
    at_s: float
    mass_g: float
    temperature_C: float | None = None
    """``None``: as warm as the room."""
    size_mm: float = 5.0
    form: SeedForm = "tempered"


@dataclass(frozen=True, slots=True)
class Add:
    """More goes in: untempered melt of the same chocolate."""

    what: ClassVar[str] = "add"
    at_s: float
    mass_g: float
    temperature_C: float
    ingredient: Literal["melt"] = "melt"


@dataclass(frozen=True, slots=True)
class Bath:
    """Bowl over or in water; sent at its start."""

    at_s: float
    what: Literal["warm_bath", "cool_bath"]
    bath_C: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Microwave:
    """A burst; sent at its start."""

    what: ClassVar[str] = "microwave"
    at_s: float
    seconds: float
    watts: float = 700.0


@dataclass(frozen=True, slots=True)
class HotAir:
    """A heat gun on the surface; sent at its start."""

    what: ClassVar[str] = "hot_air"
    at_s: float
    seconds: float
    watts: float = 1500.0


@dataclass(frozen=True, slots=True)
class Table:
    """A part worked on stone or steel and returned; sent at its start."""

    what: ClassVar[str] = "table"
    at_s: float
    share: float
    seconds: float
    surface: Literal["marble", "granite", "steel"] = "marble"
    surface_C: float | None = None
    """``None``: as warm as the room."""


@dataclass(frozen=True, slots=True)
class Stir:
    """From now on."""

    what: ClassVar[str] = "stir"
    at_s: float
    vigour: Vigour = "steady"


@dataclass(frozen=True, slots=True)
class Look:
    """What the cook sees; ``None`` where nothing was said."""

    what: ClassVar[str] = "look"
    at_s: float
    lumps: Lumps | None = None
    thickness: Thickness | None = None
    drain: Drain | None = None
    streaks: bool | None = None
    foreign: Foreign | None = None
    """What does not belong in the bowl; nobody eats of it any more."""


@dataclass(frozen=True, slots=True)
class Smear:
    """The knife or paper test; without a result it means "dipped, waiting"."""

    what: ClassVar[str] = "smear"
    at_s: float
    taken_at_s: float
    """Session time when the knife was dipped."""
    surface: Surface = "paper"
    room_C: float | None = None
    """``None``: as the room of the bench."""
    set_after_s: float | None = None
    not_set_after_s: float | None = None
    finish: SmearFinish | None = None

    @property
    def has_result(self) -> bool:
        """Whether it says more than "dipped, waiting"."""
        return self.set_after_s is not None or self.not_set_after_s is not None or self.finish is not None


@dataclass(frozen=True, slots=True)
class Sieve:
    """Lumps taken out."""

    what: ClassVar[str] = "sieve"
    at_s: float
    mass_g: float


@dataclass(frozen=True, slots=True)
class Remove:
    """Deposited into moulds."""

    what: ClassVar[str] = "remove"
    at_s: float
    mass_g: float


@dataclass(frozen=True, slots=True)
class Water:
    """Water got in."""

    what: ClassVar[str] = "water"
    at_s: float
    mass_g: float


@dataclass(frozen=True, slots=True)
class Ask:
    """Answer now."""

    what: ClassVar[str] = "ask"
    at_s: float


@dataclass(frozen=True, slots=True)
class Finish:
    """The end."""

    what: ClassVar[str] = "finish"
    at_s: float
    used: bool = True


BowlEvent: TypeAlias = (
    Reading
    | ProbeCheck
    | Pour
    | Seed
    | Add
    | Bath
    | Microwave
    | HotAir
    | Table
    | Stir
    | Look
    | Smear
    | Sieve
    | Remove
    | Water
    | Ask
    | Finish
)
"""What may follow a start."""


@dataclass(frozen=True, slots=True)
class Correct:
    """An earlier event was really this, or never happened."""

    what: ClassVar[str] = "correct"
    at_s: float
    of: str
    event: Start | BowlEvent | None
    """What really happened; ``None``: nothing did."""


Event: TypeAlias = Start | BowlEvent | Correct


def lasts_s(event: BowlEvent) -> float:
    """How long an act lasts from its time on [s]; 0 for what is done at once."""
    return float(event.seconds) if isinstance(event, Bath | Microwave | HotAir | Table) else 0.0
