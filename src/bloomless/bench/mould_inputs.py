"""What a person says about a casting, as a plain document: checked, with every default said aloud."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, get_args

from bloomless.bench.mould_layers import Piece, piece_from
from bloomless.bench.mould_numbers import number
from bloomless.bench.ports import Book
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation.mould_space import LearnedSpace, usual_space
from bloomless.materials.chocolates import KINDS, Chocolate, chocolate, working_window
from bloomless.materials.mould_library import library, mould_from
from bloomless.materials.moulds import Mould
from bloomless.physics.moist_air import dew_point_C
from bloomless.physics.mould_cooling import FRIDGE_POWER_W, CoolingSpace, Move
from bloomless.physics.mould_films import Standing
from bloomless.physics.mould_forecast import Triple
from bloomless.physics.release import Surface
from bloomless.sources import Grade, Sourced

__all__ = ["SPACES", "Casting", "Place", "casting_from", "mould_named", "place_named"]

FRIDGE_C: Final = Sourced(6.0, "°C", 2.5, "laguerre_2002", Grade.PUBLISHED, note="119 fridges: mean 6.6, 0.9-11.4 °C")
CABINET_C: Final = Sourced(12.0, "°C", 1.0, "common_practice", Grade.TRADE_PRACTICE, note="cabinets 10-15 °C")
USUAL_TEMPER: Final[Triple] = (0.004, 0.015, 0.04)
"""Form V of the fat of a bowl said to be in temper, nothing more known."""
UNKNOWN_UNSTABLE: Final[Triple] = (0.0, 0.0, 0.004)


@dataclass(frozen=True, slots=True)
class Place:
    """A cooling space with what is believed of it."""

    name: str
    space: CoolingSpace
    air_sd_K: float
    learned: LearnedSpace


SPACES: Final[dict[str, tuple[CoolingSpace, float]]] = {
    "cabinet": (CoolingSpace(CABINET_C.value, 1.0, moulds=1), CABINET_C.spread),
    "fridge": (CoolingSpace(FRIDGE_C.value, 0.0, power_W=FRIDGE_POWER_W.value, set_C=FRIDGE_C.value), FRIDGE_C.spread),
    "cool_room": (CoolingSpace(16.0, 0.0), 1.0),
    "fan_in_room": (CoolingSpace(18.0, 1.0), 1.0),
    "room": (CoolingSpace(20.0, 0.0), 1.0),
}
"""Places nobody has described yet; a person's own stand in the book."""


@dataclass(frozen=True, slots=True)
class Casting:
    """One set of equal moulds that is filled and cooled."""

    mould: Mould
    chocolate: Chocolate
    temperature_C: float
    place: Place
    form_v: Triple = USUAL_TEMPER
    unstable: Triple = UNKNOWN_UNSTABLE
    surface: Surface = field(default_factory=Surface)
    moulds: int = 1
    piece: Piece = field(default_factory=Piece)
    room_C: float | None = None
    room_rh_pct: float | None = None
    assumed: tuple[str, ...] = field(default=())
    """Every default that was used, and how much it matters."""

    @property
    def shell_mm(self) -> float | None:
        """Wall of an empty shell, which cools from both its faces."""
        return self.piece.shell_mm if self.piece.form == "shell" else None


def mould_named(book: Book, name: str) -> Mould:
    """A person's own mould, or one of the library."""
    own = {entry.key: entry.document for entry in book.latest("mould")}
    if name in own:
        return mould_from(name, own[name])
    if name in library():
        return library()[name]
    raise UnknownName("mould", name, (*own, *library()))


def place_named(book: Book, name: str, document: Mapping[str, Any] | None = None) -> Place:
    """A cooling space by name, with what was learned of it and what is said of it today.

    Parameters
    ----------
    book
        Holds a person's own places under ``cooling_space``.
    name
        Of the place.
    document
        ``air_C``, ``air_speed_m_s``, ``standing``, ``power_W``, ``moulds`` where they differ today.
    """
    own = {entry.key: dict(entry.document) for entry in book.latest("cooling_space")}
    if name not in own and name not in SPACES:
        raise UnknownName("cooling space", name, (*own, *SPACES))
    usual, air_sd = SPACES.get(name, (CoolingSpace(CABINET_C.value), 1.5))
    said = {**own.get(name, {}), **{k: v for k, v in (document or {}).items() if v is not None}}
    air = number(said, "air_C", -30, 45, "°C", usual.air_C)
    speed = number(said, "air_speed_m_s", 0, 15, "m/s", usual.air_speed_m_s)
    power = number(said, "power_W", 0, 20_000, "W", usual.power_W)
    standing = said.get("standing", usual.standing)
    if standing not in get_args(Standing):
        raise ImpossibleInput("standing", standing, ", ".join(get_args(Standing)))
    moulds = number(said, "moulds", 1, 500, default=usual.moulds)
    assert air is not None
    assert speed is not None
    assert moulds is not None
    space = CoolingSpace(
        air, speed, standing, int(moulds), set_C=number(said, "set_C", -30, 45, "°C", air), power_W=power
    )
    learned = usual_space(speed)
    if "film_factor" in said:
        learned = LearnedSpace(
            float(said["film_factor"]), float(said["film_spread"]), float(said["power_learned_W"]),
            float(said["power_spread"]), int(said["logs"]), float(said["misfit_K"]),
        )  # fmt: skip
        space = learned.applied(space)
    known = "air_C" in said
    return Place(name, space, min(air_sd, 1.0) if known else air_sd, learned)


def _band(document: Mapping[str, Any], name: str, otherwise: Triple) -> Triple:
    """A share of the fat said in per cent, as one number (×÷ 1.7) or as p05, p50, p95."""
    value = document.get(name)
    if value is None:
        return otherwise
    if isinstance(value, Mapping):
        points = [number(value, p, 0, 50, "% of the fat") for p in ("p05", "p50", "p95")]
        if None in points or sorted(p for p in points if p is not None) != points:
            raise ImpossibleInput(name, dict(value), "p05 ≤ p50 ≤ p95, per cent of the fat")
        low, middle, high = (p / 100 for p in points if p is not None)
        return low, middle, high
    middle = (number(document, name, 0, 50, "% of the fat") or 0.0) / 100
    return middle / 1.7, middle, middle * 1.7


def _place(book: Book, said: object, moulds: float) -> Place:
    """A place as a casting says it: its name, or an object with ``name``."""
    document = dict(said) if isinstance(said, Mapping) else {"name": said}
    return place_named(book, str(document.pop("name", "cabinet")), {"moulds": moulds, **document})


def _move(book: Book, document: Mapping[str, Any], moulds: float) -> Move:
    after = number(document, "after_min", 0.5, 1440, "min")
    if after is None:
        raise ImpossibleInput("after_min", None, "0.5 to 1440 min")
    return Move(after, _place(book, document.get("space", "cool_room"), moulds).space)


def casting_from(book: Book, document: Mapping[str, Any]) -> Casting:
    """Casting of a plain document.

    Parameters
    ----------
    book
        Own moulds and places.
    document
        ``mould`` (name), ``chocolate`` (kind, or an object with ``kind`` and shares), ``temperature_C``,
        ``form_v_pct_of_fat``, ``unstable_pct_of_fat`` (number or band), ``mould_C``, ``cleanliness``, ``colour``,
        ``wet``, ``space`` (name or object with ``name``), ``then`` (list of ``after_min`` and ``space``: where the
        moulds are carried later), ``moulds``, ``room_C``, ``room_rh_pct``; how it is filled as for
        ``mould_layers.piece_from``.
    """
    assumed: list[str] = []
    named = document.get("chocolate", "dark")
    shares = dict(named) if isinstance(named, Mapping) else {"kind": named}
    kind = shares.pop("kind", "dark")
    if kind not in KINDS:
        raise UnknownName("chocolate", kind, KINDS)
    made = chocolate(kind, **shares)
    low, high = working_window(made)
    temperature = number(document, "temperature_C", 15, 60, "°C", round((low + high) / 2, 1))
    assert temperature is not None
    if document.get("temperature_C") is None:
        assumed.append(f"Temperature of the bowl not said: {temperature:g} °C taken, the middle of its window.")
    if document.get("form_v_pct_of_fat") is None:
        assumed.append(
            "Temper not said: taken as in temper, 0.4-4 % of the fat in form V. It matters most of all: untempered "
            "chocolate does not release."
        )
    room = number(document, "room_C", -10, 45, "°C")
    humidity = number(document, "room_rh_pct", 1, 100, "%")
    if humidity is None:
        assumed.append(
            "Humidity of the room not said: nothing can be told of dew. Between 40 and 70 % the dew point of a room of "
            "22 °C moves from 8 to 16 °C."
        )
    mould_C = number(document, "mould_C", -30, 60, "°C", room if room is not None and room < temperature else 22.0)
    assert mould_C is not None
    if document.get("mould_C") is None:
        assumed.append(f"Temperature of the mould not said: {mould_C:g} °C taken; 10 K less cost gloss and release.")
    moulds = number(document, "moulds", 1, 500, default=1)
    assert moulds is not None
    place = _place(book, document.get("space", "cabinet"), moulds)
    moves = document.get("then") or ()
    if isinstance(moves, str) or any(not isinstance(move, Mapping) for move in moves):
        raise ImpossibleInput("then", moves, "a list of objects with after_min and space")
    place = replace(place, space=replace(place.space, then=tuple(_move(book, move, moulds) for move in moves)))
    # A mould below the dew point is wet whether anybody has looked or not.
    dewy = room is not None and humidity is not None and mould_C < float(dew_point_C(room, humidity))
    surface = Surface(
        document.get("cleanliness", "polished"),
        document.get("colour", "none"),
        mould_C,
        bool(document.get("wet", dewy)),
    )
    piece, more = piece_from(document, made)
    assumed += more
    return Casting(
        mould_named(book, str(document.get("mould", "bar-60"))), made, temperature, place,
        _band(document, "form_v_pct_of_fat", USUAL_TEMPER), _band(document, "unstable_pct_of_fat", UNKNOWN_UNSTABLE),
        surface, int(moulds), piece, room, humidity, tuple(assumed),
    )  # fmt: skip
