"""One food, one market, one day: every finding, and the text of its label."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from bloomless.rules.common.allergens import (
    AllergenSources,
    allergens_in,
    declared,
    judge_allergens,
    judge_cross_contact,
)
from bloomless.rules.common.claims import judge_claims, nutrition_claimed
from bloomless.rules.common.colours import judge_colours, southern_colours
from bloomless.rules.common.dates import best_before, date_facts
from bloomless.rules.common.gs1 import judge_gtin
from bloomless.rules.common.hazards import cadmium_facts, hazard_facts, judge_hazards
from bloomless.rules.common.identity import Verdict
from bloomless.rules.common.ingredient_list import IngredientList, ingredient_list
from bloomless.rules.common.markets import MARKETS, Market
from bloomless.rules.common.naming import Named, list_facts, named
from bloomless.rules.common.nutrients import Calculated, nutrients_of
from bloomless.rules.common.statements import Statements, statements
from bloomless.rules.common.words import phrase, stem, storage_words
from bloomless.rules.decimals import floor_to, plain
from bloomless.rules.eu.nutrition import EuLine, eu_panel
from bloomless.rules.food import Food
from bloomless.rules.law import Law, law_of
from bloomless.rules.rule import NO_ADVICE, Finding, Severity, Status
from bloomless.rules.us.net_quantity import net_words
from bloomless.rules.us.nutrition import EnergyMethod, UsPanel, us_panel
from bloomless.rules.us.serving import Serving, serving

__all__ = ["Confirmed", "LabelText", "Review", "Settings", "review"]


@dataclass(frozen=True, slots=True)
class Confirmed:
    """What a person confirmed about allergens, for this market's label."""

    present: frozenset[str]
    absent: frozenset[tuple[str, str]] = frozenset()
    """Pairs (ingredient, source) that depended on the supplier and are absent in these lots."""


@dataclass(frozen=True, slots=True)
class Settings:
    """Choices the law leaves open."""

    list_style: str = "opened"
    list_tail: bool = False
    energy: EnergyMethod = "general"
    percent_of_rounded: bool = False
    print_precaution: bool = True
    doses: str = "allergens.reference_dose"
    e_mark: bool = False
    show_fibre: bool = True
    racc_category: str = "candy"
    divisible: bool = True


@dataclass(frozen=True, slots=True)
class LabelText:
    """Every word and number of a label; the rim lays it out, nothing is worked out there."""

    market: str
    language: str
    name: str
    statements: Statements
    ingredients: IngredientList
    contains: tuple[str, ...]
    """Allergens of a "Contains" statement; empty where the list itself shows them."""
    may_contain: tuple[str, ...]
    net: str
    date_phrase: str
    date_text: str
    lot: str
    storage: str
    operator: str
    address: str
    origin: str
    gtin: str
    us_panel: UsPanel | None
    us_pack_panel: UsPanel | None
    """Second column for the whole pack."""
    serving: Serving | None
    eu_lines: tuple[EuLine, ...]
    piece_g: str
    """Mass of a piece for the head of its column, or nothing."""
    short: bool
    """True if only the short label of Art. 16(2) has room."""
    e_mark: bool
    advice: str = NO_ADVICE


@dataclass(frozen=True, slots=True)
class Review:
    """What the law of a day says about a food in a market."""

    market: str
    day: date
    findings: tuple[Finding, ...]
    label: LabelText | None
    identity: Verdict | None
    sources: AllergenSources
    nutrients: Calculated
    advice: str = field(default=NO_ADVICE)

    @property
    def blocked(self) -> bool:
        """Whether printing is blocked."""
        return any(finding.severity is Severity.BLOCK for finding in self.findings)

    def of(self, severity: Severity) -> tuple[Finding, ...]:
        """Findings of one severity."""
        return tuple(finding for finding in self.findings if finding.severity is severity)


def _no_rules(code: str) -> Finding:
    known = ", ".join(MARKETS)
    return Finding.told(
        "common.market.unknown", "common", Severity.BLOCK, "There are no rules for the market {market}.",
        "no law is encoded", Status.PRACTICE,
        cure="Choose one of {known}, or have the label made by somebody who knows.", where="market",
        facts={"market": code, "known": known},
    )  # fmt: skip


def review(
    food: Food,
    market_code: str,
    day: date,
    *,
    confirmed: Confirmed | None = None,
    language: str = "",
    settings: Settings | None = None,
    law: Law | None = None,
) -> Review:
    """Judge a food for a market as of a day and write its label.

    Parameters
    ----------
    food
        The food.
    market_code
        ``us``, ``eu``, ``uk`` or ``ni``; anything else gives a blocking finding, never a silent gap.
    day
        Day whose law binds.
    confirmed
        What a person confirmed about allergens; None blocks printing.
    language
        Language tag; the market's and country's own unless given.
    settings
        Choices the law leaves open.
    law
        Another law than the packaged one, for tests.
    """
    found_law = law if law is not None else law_of(day)
    absent = confirmed.absent if confirmed else frozenset()
    sources = allergens_in(food, confirmed_absent=absent)
    nutrients = nutrients_of(food)
    if market_code not in MARKETS:
        return Review(market_code, day, (_no_rules(market_code),), None, None, sources, nutrients)
    place = MARKETS[market_code]
    chosen = settings or Settings()
    readable = place.languages(food.pack.country)
    tongue = language or (min(readable) if len(readable) == 1 else place.language)
    work = _Work(food, place, tongue, readable, found_law, chosen, sources, nutrients)
    label = work.label()
    findings = [*work.findings(label), *_allergen_findings(work, confirmed)]
    return Review(market_code, day, _ordered(findings), label, work.named.verdict, sources, nutrients)


def _ordered(findings: list[Finding]) -> tuple[Finding, ...]:
    rank = {Severity.BLOCK: 0, Severity.WARN: 1, Severity.INFO: 2}
    return tuple(sorted(dict.fromkeys(findings), key=lambda finding: rank[finding.severity]))


def _allergen_findings(work: _Work, confirmed: Confirmed | None) -> tuple[Finding, ...]:
    return judge_allergens(
        work.sources, work.law, confirmed=confirmed is not None, confirmed_set=confirmed.present if confirmed else None
    )


class _Work:
    """The steps of one review share food, market, language and law; each step below is one question of the law."""

    def __init__(
        self, food: Food, place: Market, language: str, readable: frozenset[str], law: Law, settings: Settings,
        sources: AllergenSources, nutrients: Calculated,
    ) -> None:  # fmt: skip
        self.food, self.place, self.language, self.readable = food, place, language, readable
        self.law, self.settings, self.sources, self.nutrients = law, settings, sources, nutrients
        self.us = place.jurisdiction == "us"
        names = food.standing_names
        self.printed = names.get(language, names.get(language[:2], food.name))
        self.named: Named = named(food, place.jurisdiction, law, self.printed)
        style = "nested" if settings.list_style == "nested" else "opened"
        self.list = ingredient_list(food, place.jurisdiction, language, law, style=style, tail=settings.list_tail)  # type: ignore[arg-type]
        self.southern = southern_colours(food, place.colours, law)
        self.hazards = hazard_facts(food, law) | cadmium_facts(self.named.verdict, self.named.facts, law)
        self.exempt = self._exemptions()
        surface = food.pack.largest_surface_cm2
        self.short = not self.us and surface is not None and surface < law.figure("eu.short_label_cm2")

    # -- facts
    def _nutrition_facts(self) -> dict[str, Any]:
        pack = self.food.pack
        return {
            "claim": nutrition_claimed(self.food, self.printed), "panel": pack.nutrition == "panel",
            "sale": pack.sale, "seating": bool(self.food.facts.get("seating", False)),
            "employees": pack.employees, "units_per_year": pack.units_per_year, "sales_usd": pack.sales_usd,
            "food_sales_usd": pack.food_sales_usd, "label_area_in2": pack.label_area_in2,
            "largest_surface_cm2": pack.largest_surface_cm2, "local_direct": pack.local_direct,
            "notice_filed": pack.notice_filed,
        }  # fmt: skip

    def _exemptions(self) -> tuple[Finding, ...]:
        return self.law.judge(self.place.jurisdiction, "nutrition_exempt", self._nutrition_facts())

    def _net_facts(self) -> dict[str, Any]:
        net = self.food.pack.net_g
        ounces = net * self.law.figure("us.oz_per_g") if net is not None else None
        return {"net_known": net is not None, "sale": self.food.pack.sale,
                "net_g": net if net is not None else Decimal(10**6),
                "net_oz": ounces if ounces is not None else Decimal(10**6)}  # fmt: skip

    def _label_facts(self) -> dict[str, Any]:
        pack = self.food.pack
        return {
            "operator": pack.operator, "address": pack.address, "storage": pack.storage, "origin": pack.origin,
            "primary_origin": pack.primary_origin, "origin_said": bool(pack.primary_origin),
            "language": self.language, "languages": self.readable or frozenset({"a language of the country"}),
            "untranslated": self._untranslated(), "surface_known": pack.largest_surface_cm2 is not None,
            "largest_surface_cm2": pack.largest_surface_cm2, "same_field": True, "sale": pack.sale,
            "short": self.short, "inner_packs": pack.inner_packs, "inner_sold": pack.inner_sold,
            "has_list": pack.sale != "loose", "panel_known": pack.panel_in2 is not None,
        }  # fmt: skip

    def _untranslated(self) -> str:
        """What has no name in the label's language, the food's own name first."""
        names = self.food.standing_names
        known = self.language.startswith("en") or self.language in names or self.language[:2] in names
        return ", ".join((*(() if known else ("the name itself",)), *self.list.untranslated))

    # -- the label
    def label(self) -> LabelText:
        pack, us = self.food.pack, self.us
        date_phrase, date_text = self._date()
        panel, pack_panel, portion = self._us_panels()
        short = self.short
        has_list = pack.sale != "loose" and not short
        contains = declared(self.sources, self.place.jurisdiction, self.law) if us or not has_list else ()
        return LabelText(
            market=self.place.code,
            language=self.language,
            name=self.printed,
            statements=statements(self.food, self.named, self.place, self.language, self.southern, self.hazards),
            ingredients=self.list,
            contains=contains,
            may_contain=self._precaution(),
            net=self._net(),
            date_phrase=date_phrase,
            date_text=date_text,
            lot=pack.lot,
            storage=storage_words(pack.storage, self.language),
            operator=pack.operator,
            address=pack.address,
            origin=pack.origin,
            gtin=pack.gtin,
            us_panel=panel,
            us_pack_panel=pack_panel,
            serving=portion,
            eu_lines=self._eu_lines(),
            piece_g=f"{pack.piece_g.normalize():f}" if pack.piece_g is not None else "",
            short=short,
            e_mark=self.settings.e_mark,
        )

    def _precaution(self) -> tuple[str, ...]:
        if not self.settings.print_precaution or not self.food.cross_contact_assessed:
            return ()
        table = "us" if self.us else "eu"
        rows = self.law.table(f"{table}.allergens").by("source")
        wanted = [s for s, _ in self.food.cross_contact if s in rows and s not in self.sources.present]
        return tuple(rows[source]["declared"] for source in wanted)

    def _net(self) -> str:
        pack = self.food.pack
        if pack.net_g is None:
            return ""
        number = pack.inner_packs
        if number > 1 and pack.inner_sold:  # 21 CFR 101.7(s), Reg. 1169/2011 Annex IX 3
            each = self._mass(pack.net_g / number)
            return f"{number} packs, each {each}. Total {self._mass(pack.net_g)}" if self.us else f"{number} × {each}"
        if number > 1 and not self.us:  # Annex IX 4: total and number, unless they can be counted from outside
            return f"{self._mass(pack.net_g)}, {phrase('pieces', self.language, n=number)}"
        return self._mass(pack.net_g)

    def _mass(self, mass_g: Decimal) -> str:
        if self.us:
            return net_words(mass_g, self.law)
        return f"{plain(floor_to(mass_g, Decimal('0.1')))} g"

    def _date(self) -> tuple[str, str]:
        pack = self.food.pack
        if pack.packed_on is None or pack.keeps_days is None:
            return "", ""
        market = "us" if self.us else self.place.jurisdiction
        found = best_before(pack.packed_on, pack.keeps_days, market, self.law, perishable=pack.perishable)
        return found.phrase, found.digits

    def _us_panels(self) -> tuple[UsPanel | None, UsPanel | None, Serving | None]:
        pack, per_100g = self.food.pack, self.nutrients.per_100g
        if not self.us or pack.nutrition != "panel" or per_100g is None or not pack.net_g:
            return None, None, None
        portion = serving(
            pack.net_g, pack.pieces, self.law, category=self.settings.racc_category,
            unit="piece" if pack.pieces > 1 else "bar", divisible=self.settings.divisible,
        )  # fmt: skip
        more = {"method": self.settings.energy, "percent_of_rounded": self.settings.percent_of_rounded}
        panel = us_panel(per_100g, portion.mass_g, self.law, **more)  # type: ignore[arg-type]
        whole = us_panel(per_100g, pack.net_g, self.law, **more) if portion.dual_column else None  # type: ignore[arg-type]
        return panel, whole, portion

    def _eu_lines(self) -> tuple[EuLine, ...]:
        pack, per_100g = self.food.pack, self.nutrients.per_100g
        if self.us or pack.nutrition != "panel" or per_100g is None:
            return ()
        return eu_panel(per_100g, pack.piece_g, self.law, fibre=self.settings.show_fibre)

    # -- the findings
    def findings(self, label: LabelText) -> list[Finding]:
        law, food, place = self.law, self.food, self.place
        j = place.jurisdiction
        found: list[Finding] = list(self.named.findings)
        found += law.judge(j, "ingredients", list_facts(food, self.named, self.list, label.statements, j, law))
        found += law.judge(j, "allergens", self._shown_facts(label))
        found += judge_colours(
            food,
            place.colours,
            law,
            standardized=self.named.verdict is not None,
            warned=bool(label.statements.attention),
        )
        found += judge_cross_contact(food, law, precaution_printed=bool(label.may_contain), doses=self.settings.doses)
        found += judge_claims(food, label.name, self.nutrients.per_100g, law)
        found += self._nutrition_findings()
        found += law.judge(j, "dates", date_facts(food, j, law))
        found += law.judge(j, "net_label", self._net_facts())
        found += law.judge(j, "label", self._label_facts())
        found += judge_hazards(self.hazards, j, law)
        if food.pack.gtin:
            found += judge_gtin(food.pack.gtin, law, sold_outside=food.pack.sale == "prepacked")
        return found

    def _shown_facts(self, label: LabelText) -> dict[str, Any]:
        words = declared(self.sources, self.place.jurisdiction, self.law)
        # rework is in no recipe line; the list names it at its end, and this asks whether it really does
        shown = " ".join(self.list.emphasised).lower()
        rework = {s for s, keys in self.sources.present.items() if keys == ("rework",)}
        missing = set() if self.us else {s for s in rework if not _seen(s, shown, self.language)}
        off = set(label.contains) & {row["source"] for row in self.law.rows("us.not_allergens")}
        return {
            "allergen_count": Decimal(len(words)),
            "contains_missing": ", ".join(sorted(set(words) - set(label.contains))) if self.us else "",
            "declared_off_list": ", ".join(sorted(off)),
            "not_emphasised": ", ".join(sorted(missing)),
            "has_list": self.food.pack.sale != "loose" and not label.short,
            "contains_box": bool(label.contains),
        }

    def _nutrition_findings(self) -> list[Finding]:
        freed = [finding for finding in self.exempt if not finding.unknown]
        without_notice = [f for f in freed if f.rule != "us.exempt.low_volume"]
        facts = self._nutrition_facts() | {
            "exempt": bool(freed),
            "notice_due": bool(freed) and not without_notice,
        }
        found = list(self.law.judge(self.place.jurisdiction, "nutrition_claim", facts))
        if self.food.pack.nutrition != "panel":
            found += freed
        elif self.nutrients.per_100g is None:
            found.append(_panel_unknown(self.nutrients, self.place))
        return found


def _seen(source: str, shown: str, language: str) -> bool:
    return any(option in shown for option in stem(source, language).split("|"))


def _panel_unknown(nutrients: Calculated, place: Market) -> Finding:
    lacking = ", ".join(nutrients.unknown)
    citation = "21 CFR 101.9" if place.jurisdiction == "us" else "Reg. (EU) 1169/2011 Art. 31(4)"
    return Finding.told(
        f"{place.jurisdiction}.nutrition.unknown", place.jurisdiction, Severity.BLOCK,
        "The panel cannot be worked out: nobody has stated the nutrients of {lacking}.", citation, Status.SEEN,
        cure="Enter the supplier's sheet, or have the food analysed.", where="nutrition", facts={"lacking": lacking},
    )  # fmt: skip
