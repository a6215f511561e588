"""Every field of every bench event: name, kind, accepted values, meaning; parser, schema and docs follow from it.

Defaults stand once, in the dataclasses of ``bloomless.estimation.events``; a field without one there is required.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, fields
from typing import Any, Final, Literal, get_args

from bloomless.estimation import events as ev

__all__ = ["COMMON_FIELDS", "EVENT_KINDS", "EventKind", "Field", "default_of", "is_required"]

READING_LOW_C: Final = -30.0
READING_HIGH_C: Final = 130.0


@dataclass(frozen=True, slots=True)
class Field:
    """One field of an event as it stands in the bench log."""

    name: str
    """Name in the log; a temperature may also be given as ``…_F``."""
    kind: Literal["number", "temperature", "choice", "flag", "text", "list", "object", "event", "chocolate", "lumps"]
    meaning: str
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    parts: tuple[Field, ...] = ()
    """Fields of an object."""
    makes: type | None = None
    """Dataclass an object becomes."""
    attribute: str = ""
    """Attribute of the dataclass, where it is not ``name``."""

    @property
    def target(self) -> str:
        """Attribute of the dataclass that the field fills."""
        return self.attribute or self.name


@dataclass(frozen=True, slots=True)
class EventKind:
    """One kind of event."""

    what: str
    makes: type
    meaning: str
    fields: tuple[Field, ...]
    answered: bool = False
    """Whether one line is written for it."""


def _mass(name: str = "mass_g", meaning: str = "mass", *, low: float = 0.01, high: float = 50_000.0) -> Field:
    return Field(name, "number", meaning, low, high)


def _seconds(meaning: str = "duration", name: str = "seconds", *, attribute: str = "", high: float = 7200.0) -> Field:
    return Field(name, "number", meaning, 0.0, high, attribute=attribute)


def _temperature(name: str, meaning: str, low: float, high: float) -> Field:
    return Field(name, "temperature", meaning, low, high)


def _choice(name: str, alias: Any, meaning: str) -> Field:
    return Field(name, "choice", meaning, choices=get_args(alias))


_VESSEL = (
    _choice("material", ev.VesselMaterial, "what the bowl is made of"),
    _mass(meaning="mass of the empty bowl; usual for what it holds if not given", low=1.0),
    Field("diameter_mm", "number", "inner width at the top; usual for what it holds if not given", 30.0, 1000.0),
)
_PROBE = (
    _choice("kind", ev.ProbeKind, "kind of thermometer"),
    Field("offset_C", "number", "shown minus true at 31 °C, where known", -10.0, 10.0),
    Field("offset_sd_C", "number", "how uncertain the offset is, one standard deviation", 0.0, 10.0),
    Field("slope", "number", "how much the offset grows for each kelvin above 31 °C, where known", -0.2, 0.2),
    Field("slope_sd", "number", "how uncertain the slope is, one standard deviation", 0.0, 0.2),
    Field("lag_s", "number", "first-order lag in stirred chocolate; usual for its kind if not given", 0.0, 300.0),
)
_PROBE_NAME = Field("probe", "text", "which thermometer")
_ROOM = _temperature("room_C", "room temperature", -10.0, 50.0)
_READING = _temperature("temperature_C", "what the thermometer shows", READING_LOW_C, READING_HIGH_C)
_BATH = (
    _temperature("bath_C", "temperature of the water", -5.0, 100.0),
    _seconds("how long the bowl is over or in it"),
)
_BURST = (
    Field("watts", "number", "power of the appliance", 1.0, 5000.0),
    _seconds("duration of the burst", high=1800.0),
)

COMMON_FIELDS: Final = (
    Field("at", "number", "seconds since the start of the session", 0.0, 1_000_000.0, attribute="at_s"),
    Field("when", "text", "time as ISO 8601 instead of at; the start must then carry when too"),
    Field("id", "text", "unique name of the event; a repeated one changes nothing"),
)

EVENT_KINDS: Final[dict[str, EventKind]] = {
    kind.what: kind
    for kind in (
        EventKind(
            "start",
            ev.Start,
            "chocolate in front of the cook",
            (
                Field("chocolate", "chocolate", "kind, a chocolate of the book, or an object with its composition"),
                Field("state", "choice", "what is in the bowl", choices=("melted", "pieces", "part_melted")),
                _mass(meaning="chocolate in the bowl, seed not included", low=10.0),
                _READING,
                _ROOM,
                Field("room_rh_pct", "number", "relative humidity of the room", 0.0, 100.0),
                Field("vessel", "object", "the bowl", parts=_VESSEL, makes=ev.VesselSpec),
                Field("means", "list", "what the cook has at hand", choices=get_args(ev.Means)),
                _mass("seed_available_g", "seed at hand; enough if not given", low=0.0),
                Field("probe", "object", "the thermometer", parts=_PROBE, makes=ev.ProbeSpec),
            ),
        ),
        EventKind("reading", ev.Reading, "one thermometer reading", (_READING, _PROBE_NAME), answered=True),
        EventKind(
            "probe_check",
            ev.ProbeCheck,
            "what the thermometer shows against a known temperature",
            (
                Field("method", "choice", "how it was checked", choices=("ice", "boiling", "second_probe")),
                _temperature("shown_C", "what it showed", READING_LOW_C, READING_HIGH_C),
                _temperature("reference_C", "what was true", READING_LOW_C, READING_HIGH_C),
                Field("doubt_K", "number", "how well it fixes the error near 31 °C; usual of its method", 0.01, 5.0),
                _PROBE_NAME,
            ),
        ),
        EventKind(
            "pour",
            ev.Pour,
            "into another bowl",
            (
                Field(
                    "vessel",
                    "object",
                    "the new bowl; another like the old one if not given",
                    parts=_VESSEL,
                    makes=ev.VesselSpec,
                ),
                _temperature("vessel_C", "temperature of the new bowl; as the room if not given", -30.0, 100.0),
            ),
        ),
        EventKind(
            "seed",
            ev.Seed,
            "tempered pieces in",
            (
                _mass(meaning="seed that went in"),
                _temperature("temperature_C", "temperature of the seed; as the room if not given", -30.0, 40.0),
                Field("size_mm", "number", "size of the pieces", 0.01, 60.0),
                _choice("form", ev.SeedForm, "what the seed is"),
            ),
        ),
        EventKind(
            "add",
            ev.Add,
            "more goes in",
            (
                Field("ingredient", "choice", "untempered melt of the same chocolate", choices=("melt",)),
                _mass(),
                _temperature("temperature_C", "its temperature", 15.0, 80.0),
            ),
        ),
        EventKind("warm_bath", ev.Bath, "bowl over or in warm water", _BATH),
        EventKind("cool_bath", ev.Bath, "bowl in cool water", _BATH),
        EventKind("microwave", ev.Microwave, "a burst", _BURST),
        EventKind("hot_air", ev.HotAir, "a heat gun on the surface", _BURST),
        EventKind(
            "table",
            ev.Table,
            "a part worked on stone or steel and returned",
            (
                Field("share", "number", "share of the bowl that goes to the table", 0.01, 1.0),
                Field("surface", "choice", "what the table is made of", choices=("marble", "granite", "steel")),
                _temperature("surface_C", "temperature of the table; as the room if not given", -10.0, 60.0),
                _seconds("how long it is worked"),
            ),
        ),
        EventKind("stir", ev.Stir, "from now on", (_choice("vigour", ev.Vigour, "how it is stirred"),)),
        EventKind(
            "look",
            ev.Look,
            "what the cook sees",
            (
                Field("lumps", "lumps", "pieces to be seen; false is none, true is some", choices=get_args(ev.Lumps)),
                _choice("thickness", ev.Thickness, "how it flows"),
                _choice("drain", ev.Drain, "how it runs off the spatula"),
                Field("streaks", "flag", "streaks on the surface or the spatula"),
                _choice("foreign", ev.Foreign, "what does not belong in it: the bowl is stopped and thrown away"),
            ),
            answered=True,
        ),
        EventKind(
            "smear",
            ev.Smear,
            "the knife or paper test; without a result: dipped, waiting",
            (
                Field(
                    "taken_at", "number", "when the knife was dipped; at if not given", 0.0, 1e6, attribute="taken_at_s"
                ),
                _choice("surface", ev.Surface, "what it was smeared on"),
                _ROOM,
                _seconds("it was set after so long", "set_after_s"),
                _seconds("it was not set after so long", "not_set_after_s"),
                _choice("finish", ev.SmearFinish, "what it looks like"),
            ),
            answered=True,
        ),
        EventKind("sieve", ev.Sieve, "lumps taken out", (_mass(),)),
        EventKind("remove", ev.Remove, "deposited into moulds", (_mass(),)),
        EventKind("water", ev.Water, "water got in", (_mass(high=5000.0),)),
        EventKind(
            "correct",
            ev.Correct,
            "that event was really this, or never happened; the old one stays visible",
            (
                Field("of", "text", "id of the event"),
                Field("event", "event", "what really happened; null: nothing did"),
            ),
        ),
        EventKind("ask", ev.Ask, "answer now", (), answered=True),
        EventKind("finish", ev.Finish, "the end", (Field("used", "flag", "whether the chocolate was used"),)),
    )
}


def default_of(makes: type, field: Field) -> Any:
    """Default of a field, ``MISSING`` if it has none."""
    for candidate in fields(makes):
        if candidate.name == field.target:
            return candidate.default
    raise LookupError(f"{makes.__name__} has no attribute {field.target}")


def is_required(makes: type, field: Field) -> bool:
    """Whether an event of this kind cannot do without the field."""
    # A knife is dipped when it is said to be dipped, unless told otherwise.
    return default_of(makes, field) is MISSING and field.name != "taken_at"
