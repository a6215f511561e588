"""«What if»: the same casting in other places, air, moulds and thicknesses; one point recommended, with its reason."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from bloomless.bench.mould_findings import SKIN_RATE, TOO_COLD_C
from bloomless.bench.mould_inputs import Casting, casting_from
from bloomless.bench.moulds import run
from bloomless.bench.ports import Book, Json
from bloomless.errors import ImpossibleInput
from bloomless.estimation.mould_space import usual_space
from bloomless.materials.mould_library import words_of
from bloomless.materials.moulds import Frustum
from bloomless.physics.moist_air import UPTAKE_RH_PCT, least_surface_C, most_room_rh_pct

__all__ = ["AIR_C", "AIR_SPEED_M_S", "MOULD_C", "THICKNESS", "what_if"]

AIR_C = (6.0, 9.0, 12.0, 15.0, 18.0)
AIR_SPEED_M_S = (0.0, 0.5, 1.0, 2.0)
MOULD_C = (16.0, 20.0, 24.0, 27.0)
THICKNESS = (0.6, 0.8, 1.0, 1.25)
_MEMBERS = 24


@dataclass(frozen=True, slots=True)
class _Tried:
    values: dict[str, float]
    minutes: float | None
    late: float | None
    chance: float
    skin: float
    hottest: float
    trouble: tuple[str, ...]
    wait: bool


def _try(casting: Casting, seed: int, **values: float) -> _Tried:
    told = run(casting, seed=seed, members=_MEMBERS, minutes=120.0)
    air, kind = casting.place.space.air_C, casting.chocolate.kind
    trouble: list[str] = []
    if told.skin_rate_K_min[1] > SKIN_RATE.value:
        trouble.append("skin cools too fast")
    if air < TOO_COLD_C.value:
        trouble.append("colder than needed")
    if told.hottest_C[1] > casting.temperature_C + 0.3:
        trouble.append("warms by its own heat")
    if casting.surface.mould_C < 18:
        trouble.append("mould too cold")
    if casting.surface.mould_C > casting.temperature_C - 4.0:
        trouble.append("mould too warm")
    if told.out_min is None or told.chance < 0.8:
        trouble.append("may not let go")
    wet = False
    if casting.room_C is not None and casting.room_rh_pct is not None:
        wet = float(least_surface_C(casting.room_C, casting.room_rh_pct, UPTAKE_RH_PCT[kind].value)) > air
    return _Tried(
        values, None if told.out_min is None else told.out_min[1], None if told.out_min is None else told.out_min[2],
        told.chance, told.skin_rate_K_min[1], told.hottest_C[1], tuple(trouble), wet,
    )  # fmt: skip


def _moved(casting: Casting, air: float, speed: float) -> Casting:
    place = casting.place
    fan = (speed > 0.1) != (place.space.air_speed_m_s > 0.1)
    # What was learned in still air says nothing of a fan, and the other way round.
    learned = usual_space(speed) if fan or not place.learned.logs else place.learned
    space = replace(place.space, air_C=air, air_speed_m_s=speed, set_C=air, factor=learned.film_factor, then=())
    return replace(casting, place=replace(place, space=space, learned=learned))


def _thicker(casting: Casting, factor: float) -> Casting:
    cavity = casting.mould.cavity
    if not isinstance(cavity, Frustum):
        raise ImpossibleInput("thickness", factor, "bars and other truncated pyramids only")
    return replace(casting, mould=replace(casting.mould, cavity=replace(cavity, depth_mm=cavity.depth_mm * factor)))


def _best(tried: Sequence[_Tried]) -> _Tried | None:
    """Fewest troubles, then dry on leaving, then soonest out within two minutes, then the mildest place."""
    able = [t for t in tried if t.minutes is not None]
    if not able:
        return None
    least = min(len(t.trouble) for t in able)
    good = [t for t in able if len(t.trouble) == least]
    quick = min(t.minutes or 0.0 for t in good)
    near = [t for t in good if (t.minutes or 0.0) <= max(1.25 * quick, quick + 4.0)]
    return min(near, key=lambda t: (t.wait, -t.values.get("air_C", 0.0), t.values.get("air_speed_m_s", 0.0)))


def _pct(chance: float) -> str:
    return "above 99 %" if chance > 0.99 else f"{100 * chance:.0f} %"


def _why(best: _Tried, tried: Sequence[_Tried]) -> str:
    """Why that point, in sentences."""
    quickest = min((t for t in tried if t.minutes is not None), key=lambda t: t.minutes or 0.0)
    says = [f"Out after about {best.minutes:.0f} minutes, chance of a clean release {_pct(best.chance)}."]
    gain = (best.minutes or 0.0) - (quickest.minutes or 0.0)
    if quickest is not best and gain > 0.5:
        says.append(
            f"The quickest place, {quickest.values['air_C']:g} °C and {quickest.values['air_speed_m_s']:g} m/s, "
            f"would save {gain:.0f} minutes."
        )
        if quickest.trouble:
            says.append(f"But there: “{quickest.trouble[0]}”.")
    if best.values["air_speed_m_s"] > 0:
        says.append("Moving air is worth more than cold air.")
    else:
        says.append("Still air is enough.")
    if best.wait:
        says.append("Keep pieces covered until they are warm: out of this place water falls on them in this room.")
    if best.trouble:
        says.append("Not without trouble: " + ", ".join(f"“{t}”" for t in best.trouble) + ".")
    return " ".join(says)


def what_if(book: Book, document: Mapping[str, Any], *, seed: int = 1) -> dict[str, Json]:
    """Table over air temperature and speed, and one line each over mould temperature and thickness.

    Parameters
    ----------
    book, document
        The casting, as for ``moulds.predict``.
    seed
        Of the draws; the same for every point, so that points differ by what was changed only.
    """
    casting = casting_from(book, document)
    if casting.place.space.then:
        text = "Compared are places in which the moulds stay: the move to another place is left out."
        casting = replace(casting, assumed=(*casting.assumed, text))
    grid = [
        _try(_moved(casting, air, speed), seed, air_C=air, air_speed_m_s=speed)
        for speed in AIR_SPEED_M_S
        for air in AIR_C
    ]
    best = _best(grid)
    here = casting if best is None else _moved(casting, best.values["air_C"], best.values["air_speed_m_s"])
    moulds = [
        _try(replace(here, surface=replace(here.surface, mould_C=m)), seed, mould_C=m)
        for m in MOULD_C if m < casting.temperature_C
    ]  # fmt: skip
    flat = isinstance(casting.mould.cavity, Frustum) and casting.piece.form in ("solid", "layers")
    thick = (
        [_try(_thicker(here, f), seed, depth_mm=casting.mould.cavity.depth_mm * f) for f in THICKNESS] if flat else []
    )
    recommended: dict[str, Json] | None = None
    if best is not None:
        recommended = {**_told(best), "why": _why(best, grid)}
    return {
        "mould": casting.mould.name, "mould_words": words_of().get(casting.mould.name, ""),
        "chocolate": casting.chocolate.kind, "air_C": list(AIR_C),
        "air_speed_m_s": list(AIR_SPEED_M_S), "grid": [_told(t) for t in grid],
        "mould_line": [_told(t) for t in moulds],
        "thickness_line": [_told(t) for t in thick], "recommended": recommended, "assumed": list(casting.assumed),
        "bare_rh_pct": None if casting.room_C is None else {
            f"{air:g}": round(float(most_room_rh_pct(air, casting.room_C, 100.0)), 1) for air in AIR_C
        },
    }  # fmt: skip


def _told(tried: _Tried) -> dict[str, Json]:
    def short(value: float | None, digits: int = 1) -> float | None:
        return None if value is None else round(value, digits)

    return {
        **{name: round(value, 2) for name, value in tried.values.items()}, "out_min": short(tried.minutes),
        "late_min": short(tried.late), "chance": round(tried.chance, 3), "skin_K_min": round(tried.skin, 2),
        "hottest_C": round(tried.hottest, 1), "trouble": list(tried.trouble), "wait_before_opening": tried.wait,
    }  # fmt: skip
