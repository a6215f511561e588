"""Limits asked beside the label: cadmium, water activity and pH, Listeria, meat, alcohol, traceability, choking."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from bloomless.rules.common.bands import band
from bloomless.rules.common.composition import Leaf, leaves
from bloomless.rules.common.identity import Verdict
from bloomless.rules.decimals import HUNDRED, ONE, ZERO
from bloomless.rules.food import Food
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding

__all__ = [
    "alcohol_pct_vol",
    "cadmium_facts",
    "cadmium_limit_mg_kg",
    "food_code_class",
    "hazard_facts",
    "judge_hazards",
]

ETHANOL_g_ml: Final = Decimal("0.789")
"""Density of ethanol at 20 °C [g/ml], the figure of the definition of strength in the sheet (section 7.5)."""


def cadmium_limit_mg_kg(family: str, tdcs_pct: Decimal, law: Law) -> Decimal:
    """Most cadmium [mg/kg] in ``milk``, ``dark`` or ``powder`` by total dry cocoa solids, Reg. (EU) 2023/915."""
    row: Any = band("eu.cadmium", tdcs_pct, law, family)
    limit: Decimal = row["mg_kg"]
    return limit


def food_code_class(aw: Decimal, ph: Decimal, law: Law, *, packed_hot: bool = False) -> str:
    """``non_tcs`` or ``assess`` by Food Code table B, or table A for food packed hot and sealed."""
    row: Any = band("us.food_code_a" if packed_hot else "us.food_code_b", aw, law)
    within = ph < row["ph_limit"] or (row["ph_closed"] and ph == row["ph_limit"])
    return "non_tcs" if within else "assess"


def alcohol_pct_vol(ethanol_g: Decimal, mass_g: Decimal, density_g_ml: Decimal) -> Decimal:
    """Alcohol [% vol] of a piece: 100 × (ethanol/0.789) / (mass/density)."""
    return HUNDRED * (ethanol_g / ETHANOL_g_ml) / (mass_g / density_g_ml)


def _kinds(found: list[Leaf], *kinds: str) -> list[Leaf]:
    return [leaf for leaf in found if leaf.substance.kind in kinds and leaf.mass_g > 0]


def _alcohol(food: Food, found: list[Leaf]) -> dict[str, Any]:
    ethanol_g = sum(
        (x.mass_g * x.substance.nutrients.alcohol / HUNDRED for x in found if x.substance.nutrients is not None), ZERO
    )
    total = food.finished_g
    density = food.facts.get("density_g_ml", Decimal("1.2"))
    known = isinstance(density, Decimal) and density > 0 and total > 0
    return {
        "has_alcohol": ethanol_g > 0,
        "alcohol_pct_vol": alcohol_pct_vol(ethanol_g, total, density) if known else None,  # type: ignore[arg-type]
        "alcohol_l_per_kg": ethanol_g / ETHANOL_g_ml / total if total else None,
        "alcohol_pct_vol_liquor": food.facts.get("alcohol_pct_vol_liquor", ZERO),
        "alcohol_from_extracts": bool(food.facts.get("alcohol_from_extracts", False)),
        "state_permits": bool(food.facts.get("state_permits_alcohol", False)),
        "heaviest_piece_g": food.pack.piece_g or food.pack.net_g,
    }


def hazard_facts(food: Food, law: Law) -> dict[str, Any]:
    """Facts the hazard rules ask for; what nobody measured stays None, and the rule says so."""
    found = [leaf for section in food.sections for leaf in leaves(section.uses)]
    filling = [leaf for section in food.of("filling") for leaf in leaves(section.uses)]
    aw, ph = food.facts.get("filling_aw"), food.facts.get("filling_ph")
    water = sum((x.mass_g * x.substance.nutrients.water for x in filling if x.substance.nutrients), ZERO)
    filling_g = sum((x.mass_g for x in filling), ZERO)
    polyols = sum((x.mass_g * x.substance.nutrients.polyols for x in found if x.substance.nutrients), ZERO)
    total = food.finished_g
    pastes = [x.substance.names.get("en", x.substance.key) for x in _kinds(found, "nut_paste")]
    meat = sum((x.mass_g for x in _kinds(found, "meat")), ZERO)
    # a dry limit: a moist one waits for measured numbers, and a class needs both of them
    hot = bool(food.facts.get("filling_packed_hot", False))
    known = isinstance(aw, Decimal) and isinstance(ph, Decimal)
    code = food_code_class(aw, ph, law, packed_hot=hot) if known else None  # type: ignore[arg-type]
    facts: dict[str, Any] = {
        "has_filling": bool(filling),
        "filling_water": "dry" if filling_g and water / filling_g < 5 * ONE else "moist",
        "filling_aw": aw,
        "filling_ph": ph,
        "food_code": code,
        "food_code_table": "A (packed hot and sealed)" if hot else "B",
        "cadmium_known": "cadmium_mg_kg" in food.facts,
        "cadmium_mg_kg": food.facts.get("cadmium_mg_kg"),
        "keeps_days": food.pack.keeps_days,
        "has_meat": meat > 0,
        "cooked_meat_pct": food.facts.get("cooked_meat_pct", meat / total * HUNDRED if total else None),
        "nut_butter_uncooked": ", ".join(dict.fromkeys(pastes)),
        "sale": food.pack.sale,
        "has_honey": bool(_kinds(found, "honey")),
        "intended": food.intended,
        "has_whole_nuts": any(x.substance.share("nut_other") > 0 for x in _kinds(found, "nut")),
        "has_egg": bool(_kinds(found, "egg")),
        "egg_pasteurised": bool(food.facts.get("egg_pasteurised", False)),
        "has_raw_flour": bool(food.facts.get("raw_flour", False)),
        "polyols_pct": polyols / total if total else None,
        "laxative_words": True,
    }
    return facts | _alcohol(food, found)


def cadmium_facts(verdict: Verdict | None, facts: Mapping[str, Any], law: Law) -> dict[str, Any]:
    """The limit of a chocolate by its kind and cocoa; a white one is held to the milk chocolate's lowest line."""
    families = {"milk": "milk", "white": "milk", "dark": "dark", "gianduja": "dark"}
    family = families.get(verdict.family) if verdict is not None else None
    tdcs = facts.get("tdcs_pct")
    if family is None or tdcs is None:
        return {"cadmium_limited": False}
    return {"cadmium_limited": True, "cadmium_limit_mg_kg": cadmium_limit_mg_kg(family, tdcs, law)}


def judge_hazards(facts: dict[str, Any], jurisdiction: str, law: Law) -> tuple[Finding, ...]:
    """Findings of every market and of one about what may be sold, from the facts of ``hazard_facts``."""
    return (*law.judge("common", "hazards", facts), *law.judge(jurisdiction, "hazards", facts))
