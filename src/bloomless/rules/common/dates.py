"""Dates and lots: which form a date takes by length of keeping, when a lot mark is due, what a lot code looks like."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, Final

from bloomless.rules.common.bands import band
from bloomless.rules.food import Food, Section
from bloomless.rules.law import Law

__all__ = ["DAYS_IN_MONTH", "BestBefore", "best_before", "date_facts", "date_form", "lot_mark_due"]

DAYS_IN_MONTH: Final = Decimal("30.4375")
MOIST_AW: Final = Decimal("0.85")
DRY_SHARE: Final = Decimal("0.05")

_FULLER: Final = {
    "day_month": frozenset({"day_month", "day_month_year"}),
    "month_year": frozenset({"month_year", "day_month_year"}),
    "year": frozenset({"year", "month_year", "day_month_year"}),
}


@dataclass(frozen=True, slots=True)
class BestBefore:
    """A date to print."""

    day: date
    """The last day it is good."""
    form: str
    """``day_month``, ``month_year``, ``year`` or ``day_month_year``."""
    phrase: str
    """Key of the words before it: ``best_before``, ``best_before_end``, ``use_by``, ``best_if_used_by``."""
    digits: str
    """The date itself, day-month-year in the Union and the UK, spelt month in the US."""


def date_form(keeps_months: Decimal, law: Law) -> str:
    """Form of the date in the Union and the UK by months of keeping (Annex X 1)."""
    row: Any = band("eu.date_form", keeps_months, law)
    return str(row["form"])


def best_before(packed_on: date, keeps_days: int, market: str, law: Law, *, perishable: bool = False) -> BestBefore:
    """The date to print.

    A date that shows only month or year means its end, so the last full month or year that the keeping time covers is
    printed: never later than the keeping time.
    """
    last = packed_on + timedelta(days=keeps_days)
    if market == "us":
        return BestBefore(
            last, "day_month_year", "best_if_used_by", f"{calendar.month_abbr[last.month]} {last.day}, {last.year}"
        )
    if perishable:
        return BestBefore(last, "day_month_year", "use_by", f"{last:%d/%m/%Y}")
    form = date_form(Decimal(keeps_days) / DAYS_IN_MONTH, law)
    if form == "day_month":
        # the year is never wrong and tells a January date from last January's
        return BestBefore(last, "day_month_year", "best_before", f"{last:%d/%m/%Y}")
    # beyond 18 months the year alone would do, but throw away up to eleven months: month and year are lawful too
    end = _last_full_month(last)
    return BestBefore(end, "month_year", "best_before_end", f"{end:%m/%Y}")


def _last_full_month(day: date) -> date:
    if day.day == calendar.monthrange(day.year, day.month)[1]:
        return day
    return day.replace(day=1) - timedelta(days=1)


def lot_mark_due(
    printed_form: str, law: Law, *, sale: str = "prepacked", largest_surface_cm2: Decimal | None = None
) -> bool:
    """Whether a lot mark is due: not beside day and month, not loose or direct, not on the smallest packs."""
    if sale in {"loose", "direct"}:
        return False
    if largest_surface_cm2 is not None and largest_surface_cm2 < law.figure("eu.lot_exempt_cm2"):
        return False
    return printed_form not in {"day_month", "day_month_year"}


def date_facts(food: Food, market: str, law: Law) -> dict[str, Any]:
    """Facts about date and lot of a food."""
    pack = food.pack
    known = pack.packed_on is not None and pack.keeps_days is not None
    facts: dict[str, Any] = {
        "date_known": known,
        "sale": pack.sale,
        "lot": pack.lot,
        "lot_known": bool(pack.lot),
        "lot_distinct": pack.lot.upper().startswith("L"),
        "keeps_because": bool(pack.keeps_because),
        "moist_filling": _moist(food),
        "printed_form": "",
        "lawful_forms": frozenset(),
        "lot_due": lot_mark_due("", law, sale=pack.sale, largest_surface_cm2=pack.largest_surface_cm2),
    }
    if pack.packed_on is not None and pack.keeps_days is not None:
        chosen = best_before(pack.packed_on, pack.keeps_days, market, law, perishable=pack.perishable)
        months = Decimal(pack.keeps_days) / DAYS_IN_MONTH
        wanted = "day_month_year" if pack.perishable else date_form(months, law)
        form = pack.printed_date_form or chosen.form
        facts |= {
            "printed_form": form,
            "wanted_form": wanted.replace("_", " "),
            "lawful_forms": _FULLER.get(wanted, frozenset({wanted})),
            "keeps_months": months,
            "lot_due": lot_mark_due(form, law, sale=pack.sale, largest_surface_cm2=pack.largest_surface_cm2),
        }
    return facts


def _moist(food: Food) -> bool | None:
    # a nut filling without water needs no water activity; a wet one whose activity nobody knows is an open question
    aw = food.facts.get("filling_aw")
    if isinstance(aw, Decimal):
        return aw > MOIST_AW
    wettest = max((_water_share(section) for section in food.of("filling")), default=Decimal(0))
    return False if wettest < DRY_SHARE else None


def _water_share(section: Section) -> Decimal:
    water = sum(
        (u.mass_g * u.substance.nutrients.water / 100 for u in section.uses if u.substance.nutrients), Decimal(0)
    )
    lost = section.mixing_g - section.finished_g
    return (water - lost) / section.finished_g if section.finished_g else Decimal(0)
