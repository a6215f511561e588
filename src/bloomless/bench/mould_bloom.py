"""Whether a casting will go grey: what its bowl, its cooling, its filling and the way out of the cold add up to."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

import numpy as np

from bloomless.bench.mould_findings import SKIN_RATE, left
from bloomless.bench.mould_inputs import Casting
from bloomless.physics.bloom import Climate, Risk, fat_bloom_risk, oil_bloom_risk, sugar_bloom_risk
from bloomless.physics.moist_air import UPTAKE_RH_PCT
from bloomless.physics.mould_forecast import Forecast
from bloomless.physics.mould_melt import melt_of
from bloomless.physics.mould_warming import taking_out
from bloomless.sources import Grade, Sourced

__all__ = ["bloom_of", "temper_of"]

SLOW_MIN: Final = Sourced(60.0, "min", 15.0, "common_practice", Grade.TRADE_PRACTICE, note="bars set in 15-60 min")
IMPURE: Final = Sourced(0.015, "1", 0.01, "assumed", Grade.ASSUMED, note="of what set in the skin, not form V")
_SKIN: Final = 0.15  # of the depth, at the mould


def temper_of(casting: Casting, told: Forecast) -> tuple[Literal["good", "slight", "gross"], str]:
    """Temper of the finished piece as bloom sees it, and why in sentences."""
    run = told.nominal
    if casting.form_v[1] < 0.004:
        return "gross", "The bowl was out of temper."
    skin = run.depth_mm >= (1 - _SKIN) * run.depth_mm[-1]
    impure = float(np.mean((run.form_iv + run.form_ii)[-1, skin] / np.maximum(run.solid[-1, skin], 1e-6)))
    said = []
    if impure > IMPURE.value:
        said.append(f"{100 * impure:.0f} % of what set in the skin is not form V.")
    if told.skin_rate_K_min[1] > SKIN_RATE.value:
        said.append(f"The skin cooled fast, {told.skin_rate_K_min[1]:.1f} K a minute.")
    if told.set_min is None:
        said.append("It did not set through in the time looked at.")
    elif told.set_min[1] > SLOW_MIN.value:
        said.append(f"It set slowly, in about {told.set_min[1]:.0f} minutes.")
    return ("slight", " ".join(said)) if said else ("good", "Set cleanly in form V.")


def bloom_of(casting: Casting, told: Forecast) -> tuple[Risk, ...]:
    """Ways to go grey, soonest first, in a store of 17 °C, 50 % and small swings unless the casting says worse."""
    temper, reason = temper_of(casting, told)
    climate = Climate()
    risks = [fat_bloom_risk(climate, temper, reason=reason)]
    piece = casting.piece
    if piece.form == "capped" and piece.filling == "praline" and piece.shell_mm is not None:
        risks.append(oil_bloom_risk(min(piece.shell_mm, piece.cap_mm), climate))
    if casting.room_C is not None and casting.room_rh_pct is not None:
        out = taking_out(
            melt_of(casting.chocolate, casting.temperature_C),
            thickness_mm=min(max(float(told.nominal.depth_mm[-1]), 0.5), 60.0),
            from_C=min(left(casting, told).air_C, 30.0),
            room_C=casting.room_C,
            room_rh_pct=casting.room_rh_pct,
            mould_mm=casting.mould.wall_mm,
        )
        limit = UPTAKE_RH_PCT[casting.chocolate.kind].value
        dew_g_m2 = out.water_g_m2 if out.wetness == "dew" else 0.0
        wet = sugar_bloom_risk(climate, limit, dew_g_m2=dew_g_m2, sticky=out.wetness != "dry")
        if wet is not None and out.wetness != "dry":
            risks.append(replace(wet, reason=f"Taken out bare. {wet.reason}"))
    return tuple(sorted(risks, key=lambda risk: risk.days[1]))
