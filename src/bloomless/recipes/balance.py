"""Balance of a filling: water, fats, sugars, alcohol; will it split, will it grain, how firm and how sweet is it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Final, Literal, TypeAlias

from bloomless.recipes.compose import Composed
from bloomless.recipes.findings import Finding
from bloomless.recipes.firmness import firmness_index, solid_fat_pct
from bloomless.recipes.solubility import dissolved_and_crystals, sucrose_limit_g_per_g
from bloomless.recipes.solutes import solute_table, solutes_in
from bloomless.sources import read_csv

__all__ = ["Balance", "Style", "Target", "balance", "style_of", "usual_targets"]

Style: TypeAlias = Literal["dark", "milk", "white"]

FAT_KG_L: Final = 0.91
WATER_PHASE_KG_L: Final = 1.25
OIL_SHARE_CARE: Final = 0.65
OIL_SHARE_STOP: Final = 0.74
"""Close packing of equal spheres: beyond it droplets cannot stay apart (geometry)."""
LEAST_WATER_PCT: Final = 3.0
SUCROSE_CARE, SUCROSE_GRAINS = 1.0, 1.3
LACTOSE_CARE, LACTOSE_GRAINS = 0.30, 0.45
DEXTROSE_CARE: Final = 1.0
ALCOHOL_CARE_PCT: Final = 5.0
WORDS: Final = {
    "water_g": "water",
    "fat_g": "fat",
    "cocoa_butter_g": "cocoa butter",
    "milk_fat_g": "milk fat",
    "sweet_g": "sugars and other sweeteners",
    "fat_free_cocoa_solids_g": "fat-free cocoa",
}


@dataclass(frozen=True, slots=True)
class Target:
    """Usual range of one quantity of a ganache."""

    quantity: str
    low: float
    high: float
    source: str = "common_practice"


@dataclass(frozen=True, slots=True)
class Balance:
    """Figures of a filling, g in 100 g unless the name says otherwise."""

    style: Style
    water_g: float
    fat_g: float
    cocoa_butter_g: float
    milk_fat_g: float
    liquid_oil_g: float
    sweet_g: float
    """Sugars, syrup solids and polyols."""
    fat_free_cocoa_solids_g: float
    alcohol_g: float
    alcohol_pct_vol: float
    """Alcohol by volume of the water phase, estimated."""
    sugars_g: Mapping[str, float]
    """Every dissolved or crystalline sugar by kind."""
    fat_to_water: float | None
    oil_volume_share: float | None
    """Oil in the volume of oil and water phase; above 0.74 it cannot stay an emulsion of oil in water."""
    sweetness: float
    """Sucrose equivalents, g in 100 g."""
    firmness_index: float
    solid_fat_g: Mapping[int, float]
    """Solid fat at 18, 20 and 22 °C, g in 100 g."""
    sucrose_saturation: float | None
    """Sucrose over what the water can hold beside the other sugars."""
    lactose_per_water: float | None
    findings: tuple[Finding, ...]


@cache
def usual_targets(style: Style) -> tuple[Target, ...]:
    """Usual ranges of a ganache of that style [trade practice]."""
    return tuple(
        Target(row["quantity"], float(row["low"]), float(row["high"]), row["source"])
        for row in read_csv("bloomless.recipes", "balance_targets.csv")
        if row["style"] == style
    )


def style_of(made: Composed) -> Style:
    """Dark, milk or white: by the chocolate there is most of, without chocolate by the cocoa."""
    amounts = {"chocolate_dark": 0.0, "chocolate_milk": 0.0, "chocolate_white": 0.0}
    for leaf in made.leaves:
        if leaf.ingredient.group in amounts:
            amounts[leaf.ingredient.group] += leaf.mass_g
    if not any(amounts.values()):
        return "dark" if made.per_100g.fat_free_cocoa_solids_g > 5.0 else "white"
    best = max(amounts, key=lambda key: amounts[key])
    styles: dict[str, Style] = {"chocolate_dark": "dark", "chocolate_milk": "milk", "chocolate_white": "white"}
    return styles[best]


def balance(made: Composed) -> Balance:
    """Figures and findings of one filling.

    Parameters
    ----------
    made
        What was composed. Usual ranges are checked for a ganache only; splitting, graining and alcohol for everything.
    """
    c = made.per_100g
    table = solute_table()
    solutes_g = {
        k: 100.0 * g / made.mass_g for k, g in solutes_in((x.ingredient, x.mass_g) for x in made.leaves).items()
    }
    sweet = {k: g for k, g in solutes_g.items() if table[k].kind in ("sugar", "syrup", "polyol")}
    kinds = {k: s.kind for k, s in table.items()}
    dissolved, _ = dissolved_and_crystals(solutes_g, kinds, c.water_g)
    phase_g = c.water_g + c.alcohol_g + sum(g for k, g in dissolved.items() if k in sweet)
    has_water = c.water_g >= 1.0
    oil_ml, phase_ml = c.fat_g / FAT_KG_L, phase_g / WATER_PHASE_KG_L
    others_g = sum(g for k, g in dissolved.items() if k in sweet and k != "sucrose")
    figures = Balance(
        style=style_of(made),
        water_g=c.water_g,
        fat_g=c.fat_g,
        cocoa_butter_g=c.cocoa_butter_g,
        milk_fat_g=c.milk_fat_g,
        liquid_oil_g=c.liquid_oil_g,
        sweet_g=sum(sweet.values()),
        fat_free_cocoa_solids_g=c.fat_free_cocoa_solids_g,
        alcohol_g=c.alcohol_g,
        alcohol_pct_vol=100.0 * (c.alcohol_g / 0.789) / (c.alcohol_g / 0.789 + c.water_g) if c.alcohol_g > 0 else 0.0,
        sugars_g=sweet,
        fat_to_water=c.fat_g / c.water_g if has_water else None,
        oil_volume_share=oil_ml / (oil_ml + phase_ml) if has_water else None,
        sweetness=sum(g * table[k].relative_sweetness for k, g in sweet.items()),
        firmness_index=firmness_index(c),
        solid_fat_g={t: solid_fat_pct(c, t) for t in (18, 20, 22)},
        sucrose_saturation=(
            solutes_g.get("sucrose", 0.0) / c.water_g / sucrose_limit_g_per_g(others_g / c.water_g)
            if has_water
            else None
        ),
        lactose_per_water=solutes_g.get("lactose", 0.0) / c.water_g if has_water else None,
        findings=(),
    )
    found = [*_emulsion(figures), *_graining(figures, cooked=made.water_lost_g > 0.0), *_alcohol(figures)]
    if made.recipe.kind == "ganache":
        found += _against_usual(figures)
    return replace(figures, findings=tuple(found))


def _emulsion(figures: Balance) -> list[Finding]:
    share = figures.oil_volume_share
    if share is None or share <= OIL_SHARE_CARE or figures.water_g < 5.0:
        return []
    advice = "Add 1–3 % of warm skimmed milk or syrup at 35 °C to 40 °C and shear, or take fat out."
    if share > OIL_SHARE_STOP:
        text = f"{100 * share:.0f} % of the volume is oil: it cannot hold together and will split. {advice}"
        return [Finding("splits", "stop", text, share, OIL_SHARE_STOP)]
    text = f"{100 * share:.0f} % of the volume is oil: close to splitting. {advice}"
    return [Finding("may_split", "care", text, share, OIL_SHARE_CARE)]


def _graining(figures: Balance, *, cooked: bool) -> list[Finding]:
    found = []
    sucrose, lactose = figures.sucrose_saturation, figures.lactose_per_water
    if figures.water_g < LEAST_WATER_PCT:
        return []  # sugar was never dissolved here
    if sucrose is not None and sucrose > SUCROSE_CARE:
        severity: Literal["note", "care"] = "care" if cooked and sucrose > SUCROSE_GRAINS else "note"
        text = (
            f"There is {sucrose:.2f} times the sucrose that the water can hold: "
            + ("it grains when stirred or seeded; " if cooked else "some stays as fine crystals; ")
            + "glucose syrup or invert sugar in place of a part of it helps."
        )
        found.append(Finding("sucrose_grains", severity, text, sucrose, SUCROSE_CARE, "assumed"))
    if lactose is not None and lactose > LACTOSE_CARE:
        grave = lactose > LACTOSE_GRAINS
        text = f"{lactose:.2f} g of lactose for each gram of water: {'it will' if grave else 'it may'} turn sandy."
        limit = LACTOSE_GRAINS if grave else LACTOSE_CARE
        found.append(Finding("lactose_sandy", "care" if grave else "note", text, lactose, limit, "assumed"))
    dextrose = figures.sugars_g.get("glucose", 0.0) / figures.water_g if figures.water_g >= 1.0 else 0.0
    if dextrose > DEXTROSE_CARE:
        text = f"{dextrose:.2f} g of dextrose for each gram of water: it can grain in the cool."
        found.append(Finding("dextrose_grains", "note", text, dextrose, DEXTROSE_CARE, "common_practice"))
    return found


def _alcohol(figures: Balance) -> list[Finding]:
    if figures.alcohol_g <= 0.0:
        return []
    text = (
        f"{figures.alcohol_g:.1f} % alcohol by mass: it escapes within weeks and water activity rises; "
        "limits, labels and ages of sale are set by local law."
    )
    severity: Literal["note", "care"] = "care" if figures.alcohol_g > ALCOHOL_CARE_PCT else "note"
    return [Finding("alcohol", severity, text, figures.alcohol_g, ALCOHOL_CARE_PCT)]


def _against_usual(figures: Balance) -> list[Finding]:
    found = []
    for target in usual_targets(figures.style):
        value = getattr(figures, target.quantity)
        if value is None or target.low - 0.005 <= value <= target.high + 0.005:
            continue
        amount, unit = f"{value:.3g} parts of fat to one of water", ""
        if target.quantity != "fat_to_water":
            amount, unit = f"{value:.3g} % of {WORDS[target.quantity]}", " %"
        side = "below" if value < target.low else "above"
        text = f"{amount}: {side} the usual {target.low:g}–{target.high:g}{unit} of a {figures.style} ganache."
        limit = target.low if side == "below" else target.high
        found.append(Finding(f"{target.quantity}_{side}", "note", text, value, limit, target.source))
    return found
