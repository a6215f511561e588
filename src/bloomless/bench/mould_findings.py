"""What is worth saying of a casting, in the order in which it matters."""

from __future__ import annotations

import math
from typing import Final

from bloomless.bench.mould_inputs import Casting
from bloomless.materials.chocolates import working_window
from bloomless.physics.coating_flow import USE_WORDS, tempered
from bloomless.physics.moist_air import dew_point_C
from bloomless.physics.mould_cooling import CoolingSpace
from bloomless.physics.mould_forecast import Forecast
from bloomless.physics.mould_melt import melt_of
from bloomless.physics.release import CAPPED_REST_MIN
from bloomless.recipes.filling import FILLING_WARN_C
from bloomless.recipes.findings import Finding
from bloomless.recipes.inclusions import plan_inclusions
from bloomless.sources import Grade, Sourced

__all__ = ["MOULD_C", "SKIN_RATE", "if_stuck", "left", "noticed"]

MOULD_C: Final = {
    "low": Sourced(18.0, "°C", 1.0, "trade_leaflet_qa", Grade.ASSUMED, note="near the workshop's 20 °C read"),
    "dark": Sourced(29.0, "°C", 1.0, "assumed", Grade.ASSUMED),
    "milk": Sourced(28.0, "°C", 1.0, "assumed", Grade.ASSUMED),
    "white": Sourced(27.0, "°C", 1.0, "assumed", Grade.ASSUMED),
    "cocoa_butter": Sourced(29.0, "°C", 1.0, "assumed", Grade.ASSUMED),
}
SKIN_RATE: Final = Sourced(2.0, "K/min", 0.7, "assumed", Grade.ASSUMED, note="between 27 and 22 °C, against form IV")
TOO_COLD_C: Final = Sourced(8.0, "°C", 1.5, "assumed", Grade.ASSUMED, note="air below it: dull skin, cracks, dew")
COLD_STAY_MIN: Final = Sourced(20.0, "min", 5.0, "assumed", Grade.ASSUMED, note="10-20 min in the cold, then milder")
LOAD_K: Final = Sourced(3.0, "K", 1.0, "assumed", Grade.ASSUMED, note="a space that warms this much is too full")


def noticed(casting: Casting, told: Forecast) -> tuple[Finding, ...]:
    """Findings of a casting: stops first."""
    found = [*_temper(casting), *_mould(casting), *_space(casting, told), *_run(casting, told), *_filled(casting)]
    found += [Finding("flat_picture", "note", text) for text in told.nominal.cautions]
    if casting.room_rh_pct is None:
        found.append(
            Finding(
                "humidity_missing", "note", "Humidity of the room not said: measure it before anything leaves the cold."
            )
        )
    order = {"stop": 0, "care": 1, "note": 2}
    return tuple(sorted(found, key=lambda finding: order[finding.severity]))


def _temper(casting: Casting) -> list[Finding]:
    v, u = 100 * casting.form_v[1], 100 * casting.unstable[1]
    if v < 0.4:
        return [
            Finding(
                "not_in_temper",
                "stop",
                f"The bowl holds about {v:.2f} % of its fat in form V, less than 0.4 %: it sets late, clings and "
                "blooms "
                "within days. Temper it first; untempered chocolate does not release.",
                v,
                0.4,
                "assumed",
            )
        ]
    if u > v / 3:
        return [
            Finding(
                "unstable_in_bowl",
                "care",
                f"Unstable crystals are {u:.2f} % of the fat against {v:.2f} % in form V: warm the bowl a little "
                "so that "
                "they melt.",
                u,
                v / 3,
                "assumed",
            )
        ]
    if v > 6:
        return [
            Finding(
                "over_seeded",
                "care",
                f"{v:.1f} % of the fat is already set in the bowl: thick shells, bubbles, and less left to "
                "contract. Warm it "
                "within its window or add a little untempered melt.",
                v,
                6.0,
                "assumed",
            )
        ]
    return []


def _mould(casting: Casting) -> list[Finding]:
    found: list[Finding] = []
    at, kind = casting.surface.mould_C, casting.chocolate.kind
    if casting.room_C is not None and casting.room_rh_pct is not None:
        dew = float(dew_point_C(casting.room_C, casting.room_rh_pct))
        if at < dew:
            found.append(
                Finding(
                    "mould_wet",
                    "stop",
                    f"The mould at {at:g} °C is below the room's dew point of {dew:.1f} °C: it is wet within "
                    "seconds. Bring "
                    "it to 20 °C or more, wipe, polish, then fill.",
                    at,
                    dew,
                    "wmo_no8",
                )
            )
    if at < MOULD_C["low"].value:
        found.append(
            Finding(
                "mould_cold",
                "care",
                f"The mould at {at:g} °C chills the skin into unstable forms: dull and clinging. 20-24 °C is good.",
                at,
                MOULD_C["low"].value,
                "trade_leaflet_qa",
            )
        )
    if at > MOULD_C[kind].value:
        found.append(
            Finding(
                "mould_warm",
                "care",
                f"The mould at {at:g} °C is nearly as warm as the chocolate: it sets slowly and may lose temper. "
                "20-26 °C "
                "is good.",
                at,
                MOULD_C[kind].value,
                "assumed",
            )
        )
    if casting.surface.colour == "untempered":
        found.append(
            Finding(
                "colour_untempered",
                "care",
                "A colour out of temper stays in the mould and dulls: try one cavity first.",
            )
        )
    if casting.surface.cleanliness == "dirty" or casting.mould.scratched:
        found.append(
            Finding(
                "mould_surface",
                "care",
                "Rests and scratches hold pieces and can carry allergens over: wash, dry, polish; retire "
                "scratched moulds.",
            )
        )
        found.append(Finding("care_of_mould", "note", casting.mould.wall.care))
    return found


def left(casting: Casting, told: Forecast) -> CoolingSpace:
    """The place that pieces come out of when they are turned out."""
    return casting.place.space.at(math.inf if told.out_min is None else told.out_min[1])


def _space(casting: Casting, told: Forecast) -> list[Finding]:
    space, last = casting.place.space, left(casting, told)
    found: list[Finding] = []
    melt = melt_of(casting.chocolate, casting.temperature_C)
    if float(melt.solid_share(last.air_C)) < melt.set_share:
        found.append(
            Finding(
                "space_too_warm",
                "stop",
                f"At {last.air_C:g} °C this chocolate cannot set through: it would stay soft and lose its temper "
                "in the "
                "mould. It needs a place of 10-18 °C.",
                last.air_C,
                20.0,
                "derived",
            )
        )
    elif last.air_C > 20:
        found.append(
            Finding(
                "space_warm",
                "care",
                f"{last.air_C:g} °C is warm for setting: slow, dull, and thick pieces warm by their own heat. "
                "12-16 °C with "
                "moving air is good.",
                last.air_C,
                20.0,
                "common_practice",
            )
        )
    # Cold is well for a while: what counts is where the moulds still stand after that.
    cold_C = space.at(COLD_STAY_MIN.value).air_C
    if cold_C < TOO_COLD_C.value:
        found.append(
            Finding(
                "space_cold",
                "care",
                f"{cold_C:g} °C is colder than needed: dull skin, cracks, dew when it comes out. 10-20 "
                "minutes, then a "
                "place of 14-16 °C; in a fridge covered, away from smells and raw food.",
                cold_C,
                TOO_COLD_C.value,
                "assumed",
            )
        )
    warmed = told.air_rise_K[1]
    if warmed > LOAD_K.value:
        fewer = max(1, int(space.moulds * LOAD_K.value / warmed))
        found.append(
            Finding(
                "space_full",
                "care",
                f"{space.moulds} moulds warm this place by about {warmed:.0f} K: put in {fewer} at a time.",
                warmed,
                LOAD_K.value,
                "assumed",
            )
        )
    return found


def _run(casting: Casting, told: Forecast) -> list[Finding]:
    found: list[Finding] = []
    rate = told.skin_rate_K_min[1]
    if rate > SKIN_RATE.value:
        found.append(
            Finding(
                "skin_fast",
                "care",
                f"The skin cools by {rate:.1f} K a minute between 27 and 22 °C: form IV may set in it. A milder place.",
                rate,
                SKIN_RATE.value,
                "assumed",
            )
        )
    if told.hottest_C[1] > casting.temperature_C + 0.3:
        found.append(
            Finding(
                "warms_in_mould",
                "care",
                f"By its own heat the inside rises to {told.hottest_C[1]:.1f} °C before it sets: slow, and near the "
                "end of its window it loses temper in the mould. Cool it with moving air.",
                told.hottest_C[1],
                casting.temperature_C,
                "derived",
            )
        )
    if told.out_min is None:
        found.append(
            Finding(
                "no_release",
                "care",
                f"In {100 * (1 - told.released_share):.0f} of 100 runs nothing lets go within the time looked at.",
                told.released_share,
                0.5,
                "derived",
            )
        )
    return found


def _filled(casting: Casting) -> list[Finding]:
    """What a filling or pieces in the chocolate ask for."""
    piece, found = casting.piece, list[Finding]()
    low, _ = working_window(casting.chocolate)
    flow = tempered(USE_WORDS["bars"], casting.temperature_C, min(casting.form_v[1] + casting.unstable[1], 0.3))
    for inside in piece.inclusions:
        plan = plan_inclusions(
            casting.mould, casting.moulds, inside.name, share_by_mass=inside.share_by_mass, where=inside.where,
            chocolate_C=casting.temperature_C, inclusion_C=inside.temperature_C, working_low_C=low,
            yield_Pa=flow.yield_Pa,
        )  # fmt: skip
        found += plan.findings
    if piece.form == "capped":
        found.append(
            Finding(
                "capped_practice", "note",
                "The cap sets within minutes, but capped pieces usually stay 20-60 minutes; a couverture maker asks "
                "for two hours at 14-16 °C against dull spots.",
                CAPPED_REST_MIN.value, 120.0, "couverture_maker_technique",
            )
        )  # fmt: skip
        if piece.filling_C > FILLING_WARN_C.value:
            found.append(
                Finding(
                    "filling_warm", "care",
                    f"Filling at {piece.filling_C:g} °C melts the shell from inside and lifts colour: below 28 °C is "
                    "common advice.",
                    piece.filling_C, FILLING_WARN_C.value, "couverture_maker_technique",
                )
            )  # fmt: skip
        if piece.filling in ("ganache", "caramel", "jelly"):
            found.append(
                Finding(
                    "moist_filling", "care",
                    "A filling with water keeps only as long as its water activity allows: a prediction is no release, "
                    "a laboratory value and the local code decide.",
                )
            )  # fmt: skip
    return found


def if_stuck(casting: Casting) -> tuple[str, ...]:
    """What to do when pieces do not let go."""
    steps = [
        "Look from below: dark, wet-looking areas still touch; light, silvery ones have lifted. Wait until nine "
        "tenths are light.",
        "10-15 minutes more at 10-12 °C in moving air, then a tap on a board or a gentle twist; never flex it hard.",
        "Still stuck: five minutes in the freezer, covered, and knock out at once; expect marks and dew, wipe nothing.",
        "If every cavity sticks, the chocolate was out of temper or the mould too cold or wet; if always the "
        "same one, it "
        "is scratched or dirty.",
        "What is scraped out: plain, melt it again; with filling, nuts or colour, only into a product that "
        "declares them.",
    ]  # fmt: skip
    if casting.mould.wall.bends:
        steps.insert(1, "Peel the soft mould off the piece, not the piece out of the mould, once it is set through.")
    return tuple(steps)
