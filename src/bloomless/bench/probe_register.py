"""The register of a kitchen's thermometers: what each is, to which bowl it belongs, its checks, when the next is due.

Both are documents of the book: ``probe`` by its name, ``probe_check`` by the same name, each check a version of its
own. A wrong check is marked void and stays visible.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any, Final, Literal, TypeAlias

from bloomless.bench.ports import Book
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation.events import ProbeKind, ProbeSpec
from bloomless.physics.boiling import boiling_point_C, pressure_hPa_from_altitude
from bloomless.physics.calibration import WORKING_C, Calibration, Check, CheckMethod, calibrate, reference_doubt_K
from bloomless.physics.probe_lag import USUAL_LAG, settling_s
from bloomless.physics.sensors import CHOCOLATE_EMISSIVITY, infrared_error_line
from bloomless.sources import Grade, Sourced

__all__ = [
    "CHECK_EVERY",
    "COOLER_K",
    "Due",
    "RecordedCheck",
    "Registration",
    "Sort",
    "calibration_of",
    "checks_of",
    "due",
    "findings_of",
    "free_number",
    "probe_of",
    "probes_of",
    "reference_for",
    "save_probe",
    "settles_s",
    "spec_of",
    "start_probe",
    "take_check",
    "void_check",
]

Sort: TypeAlias = Literal["needle", "stick", "glass", "infrared"]
_SORTS: Final = ("needle", "stick", "glass", "infrared")
CHECK_EVERY: Final = Sourced(
    30.0, "d", 15.0, "common_practice", Grade.TRADE_PRACTICE, note="monthly, and after every knock or fall"
)
FOOD_LIMIT: Final = Sourced(
    1.0, "K", 0.0, "california_114159", Grade.PUBLISHED, note="accuracy asked of food thermometers"
)
INFRARED_SD: Final = Sourced(
    0.5,
    "K",
    0.3,
    "derived",
    Grade.DERIVED,
    note="emissivity 0.90 to 0.97 moves 31 °C by −0.45 to +0.18 K; skin of the bowl",
)
OTHER_SD: Final = Sourced(
    0.3,
    "K",
    0.1,
    "assumed",
    Grade.ASSUMED,
    note="a thermometer trusted enough to compare with, nothing else known of it",
)
COOLER_K: Final = 10.0
"""So much cooler than the bowl is the air a thermometer comes from, when it is told how long it takes to show it."""
_REPEAT_K: Final = 3.0


@dataclass(frozen=True, slots=True)
class Registration:
    """One thermometer of the kitchen."""

    name: str
    kind: str
    """How its readings come; see ``bloomless.probes.kinds``."""
    settings: Mapping[str, Any] = field(default_factory=dict)
    sort: Sort = "needle"
    place: Literal["bowl", "room"] = "bowl"
    """A room probe measures the kitchen's air and never speaks for a bowl."""
    bowl: str = ""
    """The bench it belongs to now; empty for none."""
    as_probe: str = "1"
    """Its name in that bench; the first one there is "1"."""
    resolution_K: float = 0.1
    lag_s: float | None = None
    lag_sd_s: float | None = None
    interval_s: float | None = None
    """What to expect between two readings; ``None`` for what is usual of its kind."""
    check_every_d: float = CHECK_EVERY.value
    emissivity: float = CHOCOLATE_EMISSIVITY.value
    """Infrared: what it is set to."""
    fell_at: str = ""
    """ISO time of the last knock or fall: checks before it count for less."""

    def __post_init__(self) -> None:
        if not (0 < len(self.name) <= 60 and self.name.isprintable() and self.name == self.name.strip()):
            raise ImpossibleInput("name", self.name, "a name of 1 to 60 printable characters")
        if "/" in self.name:
            raise ImpossibleInput("name", self.name, "a name without /")
        if self.sort not in _SORTS:
            raise UnknownName("sort", self.sort, _SORTS)
        if self.place not in ("bowl", "room"):
            raise UnknownName("place", self.place, ("bowl", "room"))
        for name, value, least, most in (
            ("resolution_K", self.resolution_K, 0.001, 5.0),
            ("lag_s", self.lag_s, 0.1, 120.0),
            ("interval_s", self.interval_s, 0.05, 3600.0),
            ("check_every_d", self.check_every_d, 1.0, 1000.0),
            ("emissivity", self.emissivity, 0.3, 1.0),
        ):
            if value is not None and not least <= value <= most:
                raise ImpossibleInput(name, value, f"{least:g} to {most:g}")

    @property
    def known_error(self) -> tuple[float, float]:
        """Shown minus true at 31 °C [K] and its slope, as its setting makes them before any check."""
        wrong = self.sort == "infrared" and self.emissivity != CHOCOLATE_EMISSIVITY.value
        return infrared_error_line(self.emissivity) if wrong else (0.0, 0.0)

    @property
    def probe_kind(self) -> ProbeKind:
        """What the estimation calls it."""
        return "needle" if self.sort == "stick" else self.sort


def _from_document(document: Mapping[str, Any]) -> Registration:
    return Registration(**{name: document[name] for name in Registration.__dataclass_fields__ if name in document})


def save_probe(book: Book, probe: Registration, *, at: datetime) -> None:
    """Write a thermometer down, or what changed of it."""
    document = asdict(probe)
    document["settings"] = dict(probe.settings)
    book.put("probe", probe.name, document, at=at)


def probe_of(book: Book, name: str) -> Registration:
    """A thermometer by its name; raises ``UnknownName``, also for one that was taken out of use."""
    entry = book.get("probe", name)
    if entry.withdrawn:
        raise UnknownName("probe", name, [one.key for one in book.latest("probe")])
    return _from_document(entry.document)


def probes_of(book: Book) -> list[Registration]:
    """Every thermometer in use, by name."""
    return [_from_document(entry.document) for entry in book.latest("probe")]


# ---------------------------------------------------------------- checks


@dataclass(frozen=True, slots=True)
class RecordedCheck:
    """A check as it stands in the record."""

    number: int
    """Version in the book; a void one is named by it."""
    at: datetime
    check: Check
    who: str
    note: str
    void: bool


@dataclass(frozen=True, slots=True)
class Due:
    """When the next check is due."""

    last: datetime | None
    next: datetime | None
    overdue: bool
    """Also true if it was never checked, or not since it fell."""


def reference_for(
    method: CheckMethod,
    *,
    pressure_hPa: float | None = None,
    altitude_m: float | None = None,
    reference_C: float | None = None,
    other_sd_K: float | None = None,
    resolution_K: float = 0.1,
) -> tuple[float, float]:
    """True temperature [°C] of a check and its doubt [K].

    Parameters
    ----------
    method
        How it is made.
    pressure_hPa, altitude_m
        Boiling: station pressure, or else the height above the sea.
    reference_C
        Comparison: what the other thermometer shows, its own known error taken off.
    other_sd_K
        Comparison: doubt of the other thermometer [K]; ``None`` for one that nothing is known of.
    resolution_K
        Step of the display that is checked [K].

    Raises
    ------
    ImpossibleInput
        If what the method needs is missing.
    """
    pressure_known = pressure_hPa is not None
    if other_sd_K is None:
        other_sd_K = OTHER_SD.value if method is CheckMethod.SECOND_PROBE else 0.0
    doubt = reference_doubt_K(
        method, shown_resolution_K=resolution_K, pressure_known=pressure_known, other_sd_K=other_sd_K
    )
    if method is CheckMethod.ICE:
        return 0.0, doubt
    if method is CheckMethod.BOILING:
        if pressure_hPa is None and altitude_m is None:
            raise ImpossibleInput("pressure_hPa", None, "the air pressure at the pot, or the height above the sea")
        return boiling_point_C(pressure_hPa or pressure_hPa_from_altitude(altitude_m or 0.0)), doubt
    if reference_C is None:
        raise ImpossibleInput("reference_C", None, "what the other thermometer shows")
    return reference_C, doubt


def take_check(
    book: Book, probe: Registration, check: Check, *, at: datetime, who: str = "", note: str = ""
) -> tuple[str, ...]:
    """Record a check and say what is to be thought of it; see ``findings_of``."""
    document = {
        "method": check.method.value,
        "shown_C": check.shown_C,
        "reference_C": check.reference_C,
        "doubt_K": round(check.doubt_K, 4),
        "at": at.isoformat(),
        "who": who,
        "note": note,
    }
    book.put("probe_check", probe.name, document, at=at)
    return findings_of(check)


def void_check(book: Book, name: str, number: int, *, at: datetime, note: str = "") -> None:
    """Say that a check of the record does not count, such as one made in water without ice; it stays visible.

    Raises ``UnknownName`` for a check that is not there.
    """
    if not any(one.number == number for one in checks_of(book, name)):
        raise UnknownName("check", number, [str(one.number) for one in checks_of(book, name)])
    book.put("probe_check", name, {"void": number, "at": at.isoformat(), "note": note}, at=at)


def checks_of(book: Book, name: str, now: datetime | None = None) -> list[RecordedCheck]:
    """The record of a thermometer's checks, oldest first; with ``now`` their age and falls are reckoned in."""
    try:
        versions = book.history("probe_check", name)
    except UnknownName:
        return []
    void = {entry.document["void"] for entry in versions if "void" in entry.document}
    fell = _fell_at(book, name)
    found = []
    for entry in versions:
        document = entry.document
        if "void" in document:
            continue
        made = datetime.fromisoformat(document["at"])
        age_d = max((now - made).total_seconds() / 86_400.0, 0.0) if now is not None else 0.0
        check = Check(
            CheckMethod(document["method"]),
            document["shown_C"],
            document["reference_C"],
            document["doubt_K"],
            age_days=age_d,
            before_fall=fell is not None and made < fell,
        )
        found.append(
            RecordedCheck(
                entry.version, made, check, document.get("who", ""), document.get("note", ""), entry.version in void
            )
        )
    return found


def _fell_at(book: Book, name: str) -> datetime | None:
    try:
        fell = book.get("probe", name).document.get("fell_at", "")
    except UnknownName:
        return None
    return datetime.fromisoformat(fell) if fell else None


def findings_of(check: Check) -> tuple[str, ...]:
    """What is to be thought of a check, worst first; nothing if all is well."""
    error = check.shown_C - check.reference_C
    found = []
    if abs(error) > _REPEAT_K:
        found.append(
            f"It is off by {error:+.1f} K. Repeat the check with care (ice well crushed and stirred, unit °C or °F); "
            "if it stays, use another thermometer."
        )
    if abs(error) > FOOD_LIMIT.value:
        found.append(
            f"It is off by more than {FOOD_LIMIT.value:g} K, which is not accurate enough for food records in many "
            "places; your local code decides. For the bowl the offset is reckoned in."
        )
    return tuple(found)


def calibration_of(book: Book, probe: Registration, now: datetime) -> Calibration:
    """What its setting and the checks that count say about a thermometer now."""
    offset_C, slope = probe.known_error
    checks = [one.check for one in checks_of(book, probe.name, now) if not one.void]
    found = calibrate(
        [replace(c, shown_C=c.shown_C - offset_C - slope * (c.reference_C - WORKING_C)) for c in checks]
        if offset_C
        else checks
    )
    return replace(found, offset_C=found.offset_C + offset_C, slope=found.slope + slope)


def due(book: Book, probe: Registration, now: datetime) -> Due:
    """When the next check is due."""
    counted = [one for one in checks_of(book, probe.name, now) if not one.void]
    if not counted:
        return Due(None, None, overdue=True)
    last = counted[-1].at
    following = last + timedelta(days=probe.check_every_d)
    return Due(last, following, overdue=now >= following or all(one.check.before_fall for one in counted))


def spec_of(book: Book, probe: Registration, now: datetime) -> ProbeSpec:
    """The thermometer as the estimation is told of it: offset where chocolate is worked, slope, their doubt, lag."""
    calibration = calibration_of(book, probe, now)
    offset, sd = calibration.error_at(WORKING_C)
    if probe.sort == "infrared":
        sd = math.hypot(sd, INFRARED_SD.value)
    lag_s = probe.lag_s if probe.lag_s is not None else USUAL_LAG[probe.sort].value
    slope_sd = math.sqrt(calibration.variance_slope)
    return ProbeSpec(
        probe.probe_kind,
        offset_C=round(offset, 3),
        offset_sd_C=round(sd, 3),
        slope=round(calibration.slope, 5),
        slope_sd=round(slope_sd, 5),
        lag_s=round(lag_s, 2),
    )


def settles_s(lag_s: float) -> float:
    """Seconds after which a thermometer that comes from a room ``COOLER_K`` cooler shows the bowl within 0.1 K."""
    return settling_s(lag_s, COOLER_K)


def start_probe(book: Book, probe: Registration, now: datetime) -> dict[str, Any]:
    """The same as the field ``probe`` of a start event."""
    return asdict(spec_of(book, probe, now))


def free_number(probes: Sequence[Registration], bowl: str, name: str) -> str:
    """Name that a thermometer gets in a bench: ``1`` for the first, then ``2`` and so on."""
    taken = {p.as_probe for p in probes if p.bowl == bowl and p.name != name}
    return next(str(n) for n in range(1, 100) if str(n) not in taken)
