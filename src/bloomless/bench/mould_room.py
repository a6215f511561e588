"""The room before casting, the moulds and colours in hand, what leaves the cold, and how pieces keep."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

from bloomless.bench.mould_findings import MOULD_C
from bloomless.bench.mould_numbers import number
from bloomless.bench.ports import Json
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.chocolates import KINDS, chocolate
from bloomless.physics.bloom import Climate, Risk, fat_bloom_risk, oil_bloom_risk, sugar_bloom_risk
from bloomless.physics.moist_air import UPTAKE_RH_PCT, dew_point_C, least_surface_C, most_room_rh_pct
from bloomless.physics.mould_melt import melt_of
from bloomless.physics.mould_warming import taking_out
from bloomless.recipes.colours import colour_state
from bloomless.recipes.findings import Finding, Severity
from bloomless.sources import Grade, Sourced

__all__ = ["PRODUCTS", "before_casting", "keeping", "leave_the_cold", "room_today"]


def _limit(value: float, spread: float = 1.5) -> Sourced:
    return Sourced(
        value, "°C", spread, "common_practice", Grade.TRADE_PRACTICE, note="sources put the limit at 23-28 °C"
    )


PRODUCTS: Final[dict[str, tuple[str, Sourced, Sourced]]] = {
    "dark bars": ("dark", _limit(23.0), _limit(30.0)),
    "milk bars": ("milk", _limit(22.0), _limit(27.0)),
    "white bars": ("white", _limit(21.0), _limit(25.0)),
    "dark shells": ("dark", _limit(22.0), _limit(25.0)),
    "milk shells": ("milk", _limit(21.5), _limit(24.5)),
    "white shells": ("white", _limit(21.0), _limit(24.0)),
    "coloured moulds": ("cocoa_butter", _limit(22.0), _limit(25.0)),
}
"""Chocolate, room temperature up to which all is well, and up to which it can be done with care."""
MOIST: Final = (
    Sourced(60.0, "%", 3.0, "common_practice", Grade.TRADE_PRACTICE, note="sources say 50-65 %"),
    Sourced(75.0, "%", 5.0, "assumed", Grade.ASSUMED),
)
COLD_PLACE_C: Final = 12.0
_BOWL_C: Final = 32.0


def room_today(room_C: float, room_rh_pct: float | None, *, cold_C: float = COLD_PLACE_C) -> dict[str, Json]:
    """Whether today's room is too warm or too humid, and for which products, by number.

    Parameters
    ----------
    room_C, room_rh_pct
        Of the room; humidity may be missing.
    cold_C
        Temperature of the place where moulds cool.
    """
    if not -5 <= room_C <= 45:
        raise ImpossibleInput("room_C", room_C, "-5 to 45 °C")
    dew = None if room_rh_pct is None else float(dew_point_C(room_C, room_rh_pct))
    rows = [_verdict(name, room_C, room_rh_pct, cold_C) for name in PRODUCTS]
    found: list[Finding] = []
    loss_pct = 100 * max(_BOWL_C - room_C, 0.0) / (_BOWL_C - 20.0)
    if room_C > 23:
        found.append(
            Finding(
                "room_warm",
                "care",
                f"{room_C:g} °C: start in the coolest hours, before 7 in the morning, or cool the room to 23 °C or "
                f"less. A bowl loses only {loss_pct:.0f} % of the heat it loses at 20 °C, so it stays usable longer "
                "but goes on thickening; seed cools less the warmer it is.",
                room_C,
                23.0,
            )
        )
        found.append(
            Finding(
                "setting_not_temper",
                "note",
                "In a warm room pieces usually fail because they set too slowly, not because the bowl was out of "
                "temper: "
                "leave a spoonful on a cool plate; if it sets clean and the bars turn grey, it is the cooling.",
                room_C,
                23.0,
            )
        )
        found.append(
            Finding(
                "smear_unsure",
                "note",
                "The smear test is not reliable above 23 °C: take a cooled plate, dried, and mind the dew on it.",
                room_C,
                23.0,
            )
        )
    if dew is None:
        found.append(Finding("humidity_missing", "care", "Humidity not said: nothing can be told of dew; measure it."))
    else:
        found += _moist(room_C, room_rh_pct or 0.0, dew, cold_C)
    return {
        "room_C": room_C, "room_rh_pct": room_rh_pct, "cold_C": cold_C, "dew_C": None if dew is None else round(dew, 1),
        "products": rows, "findings": [asdict(finding) for finding in found],
        "most_rh_pct": {
            "bare_without_dew": round(float(most_room_rh_pct(cold_C, room_C, 100.0)), 1),
            "dark": round(float(most_room_rh_pct(cold_C, room_C, UPTAKE_RH_PCT["dark"].value)), 1),
            "milk": round(float(most_room_rh_pct(cold_C, room_C, UPTAKE_RH_PCT["milk"].value)), 1),
        },
    }  # fmt: skip


def _moist(room_C: float, rh_pct: float, dew: float, cold_C: float) -> list[Finding]:
    found: list[Finding] = []
    bare = float(most_room_rh_pct(cold_C, room_C, 100.0))
    if rh_pct > bare:
        found.append(
            Finding(
                "dew_on_leaving",
                "care",
                f"Nothing may leave a place of {cold_C:g} °C unwrapped today: above {bare:.0f} % humidity dew "
                "falls on it, "
                f"the room has {rh_pct:.0f} % (dew point {dew:.1f} °C). Bag it or keep it covered in the mould "
                "until warm.",
                rh_pct,
                bare,
                "wmo_no8",
            )
        )
    if rh_pct > MOIST[0].value:
        found.append(
            Finding(
                "room_moist",
                "care" if rh_pct <= MOIST[1].value else "stop",
                f"{rh_pct:.0f} % humidity: below 60 % is good. Moulds, steam and cold surfaces get wet; dry the "
                "room first.",
                rh_pct,
                MOIST[0].value,
            )
        )
    return found


def _verdict(name: str, room_C: float, rh_pct: float | None, cold_C: float) -> dict[str, Json]:
    kind, good, most = PRODUCTS[name]
    limit = UPTAKE_RH_PCT[kind].value
    dry = rh_pct is None or float(least_surface_C(room_C, rh_pct, limit)) <= cold_C
    verdict, reason = "go", f"{room_C:g} °C is within {good.value:g} °C."
    if room_C > most.value:
        verdict, reason = "not today", f"{room_C:g} °C is above {most.value:g} °C: it will not set cleanly."
    elif rh_pct is not None and rh_pct > MOIST[1].value:
        verdict, reason = "not today", f"{rh_pct:.0f} % humidity: moulds and pieces get wet."
    elif room_C > good.value:
        verdict = "care"
        reason = f"Above {good.value:g} °C only with a cold place of 10-16 °C and moving air."
    if verdict != "not today" and not dry:
        verdict = "care"
        reason += " Out of the cold only covered or bagged."
    return {"product": name, "verdict": verdict, "reason": reason, "good_C": good.value, "most_C": most.value}


def before_casting(document: Mapping[str, Any]) -> dict[str, Json]:
    """Moulds and colours in hand: may it go on, what first, and what to expect if it already did.

    Parameters
    ----------
    document
        ``mould_C``, ``room_C``, ``room_rh_pct``, ``chocolate`` (kind), ``colours`` (objects with ``name``,
        ``temperature_C``, ``thick``), ``brushed`` (true if colour is already in the moulds), ``moulds``.
    """
    mould_C = number(document, "mould_C", -30, 60, "°C")
    if mould_C is None:
        raise ImpossibleInput("mould_C", None, "the temperature of the mould; a hand cannot tell it")
    room_C = number(document, "room_C", -10, 45, "°C", 20.0)
    assert room_C is not None
    rh = number(document, "room_rh_pct", 1, 100, "%")
    kind = document.get("chocolate", "dark")
    if kind not in KINDS:
        raise UnknownName("chocolate", kind, KINDS)
    brushed = bool(document.get("brushed", False))
    moulds = int(number(document, "moulds", 1, 500, default=1) or 1)
    dew = None if rh is None else float(dew_point_C(room_C, rh))
    found = _mould_now(mould_C, dew, kind)
    states = [_colour(colour) for colour in document.get("colours", ())]
    found += [finding for finding in states if finding.code != "colour_ready"]
    bad = [finding for finding in found if finding.severity == "stop"]
    if brushed and bad:
        found.insert(0, _already(moulds))
    may = not bad
    return {
        "may_go_on": may, "dew_C": None if dew is None else round(dew, 1),
        "findings": [asdict(finding) for finding in found],
        "steps": _order(mould_C, dew, states, may, brushed),
    }  # fmt: skip


def _colour(colour: Mapping[str, Any]) -> Finding:
    at = number(colour, "temperature_C", -10, 90, "°C")
    if at is None:
        raise ImpossibleInput("colours", dict(colour), "a temperature_C for each colour")
    return colour_state(str(colour.get("name", "the colour")), at, thick=bool(colour.get("thick", False)))


def _mould_now(mould_C: float, dew: float | None, kind: str) -> list[Finding]:
    if dew is not None and mould_C < dew:
        text = (
            f"The mould at {mould_C:g} °C is below the room's dew point of {dew:.1f} °C: it is wet within "
            "seconds. Bring it "
            "to 20 °C or more, wipe it dry, polish it."
        )
        return [Finding("mould_wet", "stop", text, mould_C, dew, "wmo_no8")]
    if mould_C < MOULD_C["low"].value:
        severity: Severity = "stop" if mould_C < 14 else "care"
        text = (
            f"The mould at {mould_C:g} °C is too cold: colour flakes and stays in it, skins turn dull. 20 °C or more."
        )
        return [Finding("mould_cold", severity, text, mould_C, MOULD_C["low"].value, "chocolatier_mould_page")]
    if mould_C > MOULD_C[kind].value:
        text = f"The mould at {mould_C:g} °C is too warm: colour runs, chocolate sets slowly. 20-24 °C."
        return [Finding("mould_warm", "care", text, mould_C, MOULD_C[kind].value, "assumed")]
    return []


def _already(moulds: int) -> Finding:
    rest = f" before the other {moulds} moulds" if moulds > 1 else ""
    return Finding(
        "colour_will_stay", "care",
        "Brushed so, expect colour that stays in the mould and dull or bare spots on the pieces; the chocolate "
        "poured on it "
        f"cannot mend that. Cast one test cavity{rest}, cool it, knock it out; if colour stays behind, wash the "
        "moulds and "
        "start again with the mould warm and dry and the colour in its window.",
    )  # fmt: skip


def _order(mould_C: float, dew: float | None, states: Sequence[Finding], may: bool, brushed: bool) -> list[str]:
    if may:
        steps = ["Colour thin, at 30-31 °C; wait until it is matt."] if states else []
        return [*steps, "Cast with the mould at 20-24 °C."]
    steps = ["Stop."] if not brushed else ["Do not cast the whole set yet: one test cavity first."]
    if (dew is not None and mould_C < dew) or mould_C < MOULD_C["low"].value:
        steps.append("Moulds to 20 °C or more, in the room, spread out; then wipe dry and polish.")
    for state in states:
        if state.code == "colour_too_set":
            steps.append(f"{state.text.split(' at ')[0]}: warm to 30-31 °C, stir.")
        elif state.code == "colour_temper_lost":
            steps.append(f"{state.text.split(' at ')[0]}: cool to 31-32 °C, seed with 1 %, work at 30-31 °C.")
    if states:
        steps.append("Put colour on thin; wait until it is matt, 5-15 minutes at 18-20 °C.")
    steps.append("Then the shells, with the mould at 20-24 °C.")
    return steps


def _given(document: Mapping[str, Any], name: str, low: float, high: float, otherwise: float) -> float:
    value = number(document, name, low, high, "°C")
    return otherwise if value is None else value


def leave_the_cold(document: Mapping[str, Any]) -> dict[str, Json]:
    """May pieces leave the cold place, how long to wait, how to wrap.

    Parameters
    ----------
    document
        ``chocolate`` (kind), ``thickness_mm``, ``from_C``, ``room_C``, ``room_rh_pct`` (assumed 60 % if missing),
        ``wall_mm``.
    """
    kind = document.get("chocolate", "dark")
    if kind not in KINDS:
        raise UnknownName("chocolate", kind, KINDS)
    rh = number(document, "room_rh_pct", 1, 100, "%")
    told = taking_out(
        melt_of(chocolate(kind), 31.0),
        thickness_mm=number(document, "thickness_mm", 0.5, 60, "mm") or 10.0,
        from_C=_given(document, "from_C", -25, 30, COLD_PLACE_C),
        room_C=_given(document, "room_C", -10, 45, 20.0),
        room_rh_pct=60.0 if rh is None else rh,
        mould_mm=number(document, "wall_mm", 0.1, 10, "mm") or 2.0,
    )
    if told.wetness == "dry":
        text = "It may be opened at once: its surface stays drier than its sugar asks for."
    elif told.wait_minutes is None:
        text = (
            f"This room is too humid to open it at all (its surface must be at least {told.least_C:.1f} °C): "
            "leave it bagged "
            "and take it to a drier room."
        )
    else:
        how = "dew would fall on it" if told.wetness == "dew" else "no dew, but its sugar would take up water"
        text = (
            f"Bare, {how}. Leave it covered in its mould, or bagged, for {told.wait_minutes:.0f} minutes, until "
            "its surface is "
            f"at {told.least_C:.1f} °C (dew point {told.dew_C:.1f} °C); do not open the bag before."
        )
    every = 10
    return {
        "wetness": told.wetness, "text": text, "wait_min": told.wait_minutes, "dew_C": round(told.dew_C, 1),
        "least_surface_C": round(told.least_C, 1), "most_rh_pct": round(told.most_rh_pct, 1),
        "water_g_m2": round(told.water_g_m2, 2), "may_open_now": told.wetness == "dry",
        "assumed": [] if rh is not None else ["Humidity not said: 60 % taken. At 40 % it may often be opened at once."],
        "curves": {
            "minutes": [round(float(t) / 60, 1) for t in told.time_s[::every]],
            "surface_C": [round(float(x), 2) for x in told.surface_C[::every]],
        },
    }  # fmt: skip


def keeping(document: Mapping[str, Any]) -> dict[str, Json]:
    """What can go grey, from what, in which time, and how to store it.

    Parameters
    ----------
    document
        ``chocolate`` (kind), ``temper`` (``good``, ``slight``, ``gross``), ``store_C``, ``swing_K``, ``store_rh_pct``,
        ``warm_times``, ``nut_shell_mm`` (wall over a nut filling), ``seeded_filling``, ``dew_g_m2``, ``sticky``.
    """
    kind = document.get("chocolate", "dark")
    if kind not in KINDS:
        raise UnknownName("chocolate", kind, KINDS)
    temper = document.get("temper", "good")
    store = number(document, "store_C", -30, 40, "°C", 17.0)
    swing = number(document, "swing_K", 0, 30, "K", 2.0)
    assert store is not None
    assert swing is not None
    climate = Climate(
        store,
        swing,
        number(document, "store_rh_pct", 1, 100, "%"),
        int(number(document, "warm_times", 0, 1000, default=0) or 0),
    )
    risks: list[Risk] = [fat_bloom_risk(climate, temper)]
    nut = number(document, "nut_shell_mm", 0.2, 20, "mm")
    if nut is not None:
        risks.append(oil_bloom_risk(nut, climate, seeded_filling=bool(document.get("seeded_filling", False))))
    wet = sugar_bloom_risk(
        climate, UPTAKE_RH_PCT[kind].value, dew_g_m2=number(document, "dew_g_m2", 0, 500, "g/m²", 0.0) or 0.0,
        sticky=bool(document.get("sticky", False)),
    )  # fmt: skip
    if wet is not None:
        risks.append(wet)
    risks.sort(key=lambda risk: risk.days[1])
    advice = [
        "14-18 °C without swings of more than 4 K a day, below 50 % humidity, airtight, dark, away from smells.",
        "For stock: seal it, -18 °C; thaw it sealed, 24 h at 4-12 °C, then at room temperature. Only the seal "
        "keeps it dry.",
    ]
    if climate.temperature_C > 24:
        advice.insert(0, f"{climate.temperature_C:g} °C is too warm to keep chocolate: move it today.")
    elif climate.temperature_C > 20 or climate.swing_K > 4:
        advice.insert(0, "Warmer than 20 °C or swinging more than 4 K a day: every kelvin less counts.")
    return {
        "risks": [asdict(risk) for risk in risks],
        "first": risks[0].cause,
        "storage": advice,
        "decides": "Bloom is no danger; how long a filling keeps is decided by water activity, a laboratory and "
        "local codes.",
    }
