"""How long something may keep: ranges by what ends it first; where only a laboratory answers, no time at all.

Nothing here releases a food. Published times for one water activity differ three- to five-fold, so a range is given and
never a date; local codes and licensed practice decide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from bloomless.errors import OutsideValidity
from bloomless.recipes.compose import Composed
from bloomless.recipes.findings import Finding
from bloomless.recipes.water_activity import WaterActivity, water_activity
from bloomless.sources import Grade, Sourced, read_csv

__all__ = ["GrowthLimit", "Keeping", "Limit", "growth_limits", "keeping", "keeping_of_a_piece", "life_at_C"]

DECIDES: Final = (
    "An estimate, no release: a predicted water activity proves nothing; a measurement, local codes and licensed "
    "practice decide."
)
STOP_AW: Final = Sourced(0.85, "1", 0.005, "fda_water_activity", Grade.FROM_MEMORY, note="21 CFR 113/114 line")
LABORATORY_AW: Final = Sourced(0.80, "1", 0.01, "common_practice", Grade.TRADE_PRACTICE)
ASKS_FOR_A_LABORATORY: Final = (
    "meat",
    "egg",
    "fresh herb",
    "garlic",
    "oil infusion",
    "cheese",
    "vegetable",
)
TESTS: Final = (
    "water activity at 20 or 25 °C, three lots",
    "pH",
    "yeasts and moulds, Enterobacteriaceae, Salmonella in 25 g",
    "Listeria if moist; a challenge test from 0.86 to 0.92 at room temperature",
)
Q10_OXIDATION: Final = Sourced(2.5, "1", 0.3, "common_practice", Grade.FROM_MEMORY, note="2–3")
ALCOHOL_HURDLE_PCT_VOL: Final = 10.0
ACID_HURDLE_PH: Final = 4.6


@dataclass(frozen=True, slots=True)
class GrowthLimit:
    """Below this water activity a group of microbes does not grow; survivors stay."""

    water_activity: float
    who: str
    danger: bool
    """True if it makes people ill."""
    source: str


@dataclass(frozen=True, slots=True)
class Limit:
    """One thing that ends the life of a piece, with a range in days."""

    by: str
    least_d: float
    most_d: float
    why: str
    source: str = "common_practice"
    of: str = ""
    """Key of the ingredient that is the cause, if it is one."""


@dataclass(frozen=True, slots=True)
class Keeping:
    """What is known of keeping; ``limits`` is empty where no time is proposed."""

    water_activity: WaterActivity
    may_grow: tuple[GrowthLimit, ...]
    """Groups whose limit lies below the upper end of the band."""
    limits: tuple[Limit, ...]
    """Shortest first, at 15–18 °C or where the class says."""
    store: str
    findings: tuple[Finding, ...]
    hurdles: tuple[str, ...]
    tests: tuple[str, ...]
    """What a laboratory would be asked for."""
    note: str = DECIDES

    @property
    def range_d(self) -> tuple[float, float] | None:
        """Shortest least and shortest most of all limits, days; None where no time is proposed."""
        if not self.limits:
            return None
        return min(limit.least_d for limit in self.limits), min(limit.most_d for limit in self.limits)


@cache
def growth_limits() -> tuple[GrowthLimit, ...]:
    """Published growth limits, highest first."""
    return tuple(
        GrowthLimit(float(r["water_activity"]), r["who"], r["danger"] == "yes", r["source"])
        for r in read_csv("bloomless.recipes", "growth_limits.csv")
    )


def life_at_C(life_d: float, from_C: float, to_C: float, q10: float = Q10_OXIDATION.value) -> float:
    """Life at another temperature: ``t₂ = t₁·Q10^((T₁−T₂)/10)``, between −20 and 35 °C."""
    for temperature_C in (from_C, to_C):
        if not -20.0 <= temperature_C <= 35.0:
            raise OutsideValidity(f"The rule of Q10 is used from −20 to 35 °C, not at {temperature_C:g} °C.")
    return float(life_d * q10 ** ((from_C - to_C) / 10.0))


def keeping(made: Composed, aw: WaterActivity | None = None, others: Sequence[Limit] = ()) -> Keeping:
    """How long one filling, bar or paste may keep.

    A predicted water activity counts one class worse than its upper end, a measured one by its upper end. No time is
    proposed where the upper end reaches 0.85, or where meat, egg, fresh herb, garlic, cheese, vegetable or an oil
    infusion is in it. ``others`` are limits found elsewhere, such as graining.
    """
    aw = water_activity(made) if aw is None else aw
    grow = tuple(limit for limit in growth_limits() if limit.water_activity < aw.high)
    asks = [risk for risk in made.keeping_risks if risk in ASKS_FOR_A_LABORATORY]
    findings = [*_stops(aw, asks), *_cautions(made, aw)]
    if any(finding.severity == "stop" for finding in findings):
        return Keeping(aw, grow, (), "as the authority says", tuple(findings), _hurdles(made), TESTS)
    microbial, store = _microbial(aw)
    limits = sorted((microbial, *_rancidity(made), *others), key=lambda limit: limit.least_d)
    tests = TESTS if aw.high >= LABORATORY_AW.value else ()
    return Keeping(aw, grow, tuple(limits), store, tuple(findings), _hurdles(made), tests)


def keeping_of_a_piece(parts: Sequence[tuple[str, Keeping]], between: Sequence[Limit] = ()) -> Keeping:
    """Keeping of a piece of several parts: the worst part decides; a time only if every part has one.

    ``between`` are limits that come from the parts touching each other.
    """
    worst = max((keeping for _, keeping in parts), key=lambda keeping: keeping.water_activity.high)
    limits: list[Limit] = []
    if all(keeping.limits for _, keeping in parts):
        limits = [*(limit for _, keeping in parts for limit in keeping.limits), *between]
    findings = [finding for _, keeping in parts for finding in keeping.findings]
    filling_aw = [keeping.water_activity.high for name, keeping in parts if name == "filling"]
    if filling_aw and max(filling_aw) > 0.75 and limits:
        text = "A filling above 0.75 gives its water to the shell; beyond two months shells of under 1.5 mm crack."
        findings.append(Finding("water_to_shell", "note", text, max(filling_aw), 0.75, "common_practice"))
    return Keeping(
        worst.water_activity,
        worst.may_grow,
        tuple(sorted(limits, key=lambda limit: limit.least_d)),
        worst.store,
        tuple(dict.fromkeys(findings)),
        worst.hurdles,
        worst.tests,
    )


def _stops(aw: WaterActivity, asks: Sequence[str]) -> list[Finding]:
    found = []
    if aw.high >= STOP_AW.value:
        text = (
            f"Water activity may be as high as {aw.high:.2f}: from 0.85 on dangerous germs can grow. No keeping time "
            "is proposed; a laboratory test and the local authority decide."
        )
        found.append(Finding("laboratory", "stop", text, aw.high, STOP_AW.value, STOP_AW.source))
    if asks:
        text = (
            f"There is {' and '.join(asks)} in it: no keeping time is proposed; "
            "a laboratory test and the local authority decide."
        )
        found.append(Finding("risky_ingredient", "stop", text))
    return found


def _cautions(made: Composed, aw: WaterActivity) -> list[Finding]:
    found = []
    if aw.without_alcohol is not None:
        text = f"Alcohol escapes through the shell within weeks; water activity then nears {aw.without_alcohol:.2f}."
        found.append(Finding("alcohol_escapes", "care", text, aw.without_alcohol))
    if aw.grained is not None and aw.all_dissolved is not None:
        text = f"Water activity rises from about {aw.all_dissolved:.2f} to {aw.grained:.2f} when the sugar grains."
        found.append(Finding("rises_when_grained", "care", text, aw.grained))
    if any(leaf.ingredient.crisp for leaf in made.leaves) and aw.high > 0.45:
        text = (
            "What is crisp goes soft above about 0.45; coat it in cocoa butter, or keep it away from a moist filling."
        )
        found.append(Finding("goes_soft", "care", text, aw.high, 0.45))
    return found


@cache
def _classes() -> tuple[dict[str, str], ...]:
    return read_csv("bloomless.recipes", "keeping_classes.csv")


@cache
def _oxidation() -> dict[str, dict[str, str]]:
    return {row["key"]: row for row in read_csv("bloomless.recipes", "rancidity.csv")}


def _microbial(aw: WaterActivity) -> tuple[Limit, str]:
    rows = _classes()
    number = next(n for n, r in enumerate(rows) if float(r["from_aw"]) <= aw.high < float(r["to_aw"]))
    step = 1 if aw.basis == "predicted" and number > 0 else 0
    row = rows[number - step]
    why = f"class of a water activity of {aw.high:.2f}" + (", one class worse because it is predicted" if step else "")
    return Limit(row["limited_by"], float(row["least_d"]), float(row["most_d"]), why, row["source"]), row["store"]


def _rancidity(made: Composed) -> list[Limit]:
    known = _oxidation()
    found = []
    for leaf in made.leaves:
        row = known.get(leaf.ingredient.key)
        if row is None or leaf.mass_g < 0.02 * made.mass_g:
            continue
        why = f"{row['polyunsaturated_pct_of_oil']} % of its oil turns rancid easily; sealed and dark at 18 °C"
        found.append(
            Limit("rancidity", float(row["least_d"]), float(row["most_d"]), why, row["source"], leaf.ingredient.key)
        )
    return found


def _hurdles(made: Composed) -> tuple[str, ...]:
    found = []
    measured = made.recipe.measured
    if measured is not None and measured.ph is not None:
        below = measured.ph < ACID_HURDLE_PH
        found.append(f"pH {measured.ph:.1f}: {'below' if below else 'no hurdle, not below'} {ACID_HURDLE_PH}")
    c = made.per_100g
    if c.alcohol_g > 0.0 and c.water_g > 0.0:
        by_volume = 100.0 * c.alcohol_g / 0.789 / (c.alcohol_g / 0.789 + c.water_g)
        if by_volume > ALCOHOL_HURDLE_PCT_VOL:
            found.append(f"alcohol {by_volume:.0f} % of the water phase, while it lasts")
    if any(leaf.ingredient.key == "potassium_sorbate" for leaf in made.leaves):
        found.append("sorbate, within the legal limit only")
    return tuple(found)
