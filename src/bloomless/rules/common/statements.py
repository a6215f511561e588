"""Statements beside the list of ingredients: cocoa and milk solids, vegetable fats, warnings the law words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from bloomless.rules.common.composition import leaves
from bloomless.rules.common.markets import Market
from bloomless.rules.common.words import phrase
from bloomless.rules.decimals import ONE, plain, round_to
from bloomless.rules.eu.identity import cocoa_solids_minimum_pct
from bloomless.rules.food import Food

if TYPE_CHECKING:
    from bloomless.rules.common.naming import Named

__all__ = ["Statements", "statements"]

_LAXATIVE_PCT: Final = Decimal(10)
_TENTH: Final = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class Statements:
    """What stands beside the list, each empty where it is not due."""

    cocoa_solids: str = ""
    cocoa_solids_pct: Decimal | None = None
    milk_solids: str = ""
    vegetable_fats: str = ""
    """In bold, at least as large as the list, near the name (Directive 2000/36/EC Art. 2(2))."""
    attention: str = ""
    laxative: str = ""
    sweetener: str = ""
    alcohol: str = ""
    choking: str = ""
    home_kitchen: str = ""
    primary_origin: str = ""

    def beside_name(self) -> tuple[str, ...]:
        """Statements that go with the name."""
        return tuple(line for line in (self.cocoa_solids, self.milk_solids, self.sweetener) if line)

    def notices(self) -> tuple[str, ...]:
        """Warnings and notices that follow the list."""
        found = (
            self.attention,
            self.laxative,
            self.alcohol,
            self.choking,
            self.home_kitchen,
            self.primary_origin,
        )
        return tuple(line for line in found if line)

    def lines(self) -> tuple[str, ...]:
        """Every plain statement; the one about vegetable fats stands apart, in bold."""
        return (*self.beside_name(), *self.notices())


def statements(
    food: Food, named: Named, place: Market, language: str, southern: tuple[str, ...], facts: Mapping[str, Any]
) -> Statements:
    """Statements a label of this market carries; ``facts`` are those of ``hazards.hazard_facts``."""
    union = place.jurisdiction in {"eu", "uk"}
    found: dict[str, object] = {}
    if union and named.cocoa_solids_due and "tdcs_pct" in named.facts:
        pct = cocoa_solids_minimum_pct(named.facts["tdcs_pct"])
        found["cocoa_solids_pct"] = pct
        found["cocoa_solids"] = phrase("cocoa_solids", language, x=plain(pct))
    if place.jurisdiction == "uk" and named.verdict is not None and named.verdict.key == "uk.milk_20":
        solids = cocoa_solids_minimum_pct(named.facts["dms_pct"])
        found["milk_solids"] = phrase("milk_solids", language, x=plain(solids))
    if union and named.verdict is not None and named.facts.get("veg_fat_pct", 0) > 0:
        found["vegetable_fats"] = phrase("vegetable_fats", language)
    if union and southern:
        found["attention"] = phrase("attention", language, colours=", ".join(southern))
    if union and facts["polyols_pct"] is not None and facts["polyols_pct"] > _LAXATIVE_PCT:
        found["laxative"] = phrase("laxative", language)
    if union and any(
        leaf.substance.function == "sweetener" for section in food.sections for leaf in leaves(section.uses)
    ):
        found["sweetener"] = phrase("sweetener", language)
    if facts["has_alcohol"]:
        shown = round_to(facts["alcohol_pct_vol"], ONE if facts["alcohol_pct_vol"] >= 1 else _TENTH)
        found["alcohol"] = phrase("alcohol", language, x=plain(shown))
    if facts["has_whole_nuts"]:
        found["choking"] = phrase("choking", language)
    if food.pack.sale == "home_kitchen":
        found["home_kitchen"] = phrase("home_kitchen", language)
    if union and food.pack.origin and food.pack.primary_origin and food.pack.origin != food.pack.primary_origin:
        cocoa = {"de": "Kakao", "fr": "cacao"}.get(language, "cocoa")
        found["primary_origin"] = phrase("primary_origin", language, ingredient=cocoa, origin=food.pack.primary_origin)
    return Statements(**found)  # type: ignore[arg-type]
