"""The specification sheet for wholesale: what a buyer and an inspector ask about a product, on one or two pages."""

from __future__ import annotations

from typing import Any, Final

from bloomless.bench.labels import Draft
from bloomless.rules.common.allergens import declared
from bloomless.rules.common.nutrients import Doubt
from bloomless.rules.common.words import phrase, runs_text
from bloomless.rules.eu.nutrition import carbohydrate_eu, energy_eu, salt_g
from bloomless.rules.law import law_of
from bloomless.rules.rule import NO_ADVICE, Severity
from bloomless.sheets.paper import pdf, template

__all__ = ["specification_data", "specification_pdf"]

_SEVERITY: Final = {Severity.BLOCK: "Blocks printing", Severity.WARN: "A person decides", Severity.INFO: "Note"}
_DOUBTS: Final = (
    ("fat", "Fat"), ("saturated", "Saturates"), ("carbohydrate", "Carbohydrate with fibre"), ("sugars", "Sugars"),
    ("fibre", "Fibre"), ("protein", "Protein"),
)  # fmt: skip


def _doubt(found: Doubt, words: str, value: object) -> list[str]:
    share = f"{found.largest_share * 100:.0f} % of it from {found.largest.replace('_', ' ')}" if found.largest else ""
    return [words, f"{value:.1f} g", f"± {found.sd:.1f} g", share]


def _nutrition(found: Draft) -> tuple[list[list[str]], list[list[str]]]:
    per_100g = found.review.nutrients.per_100g
    if per_100g is None:
        return [], []
    law = law_of(found.review.day)
    kj, kcal = energy_eu(per_100g, law)
    rows = [
        ["Energy", f"{kj:.0f} kJ / {kcal:.0f} kcal"],
        ["Fat", f"{per_100g.fat:.1f} g"],
        ["of which saturates", f"{per_100g.saturated:.1f} g"],
        ["Carbohydrate (without fibre)", f"{carbohydrate_eu(per_100g):.1f} g"],
        ["Carbohydrate (with fibre)", f"{per_100g.carbohydrate:.1f} g"],
        ["of which sugars", f"{per_100g.sugars:.1f} g"],
        ["of which added", f"{per_100g.added_sugars:.1f} g"],
        ["Fibre", f"{per_100g.fibre:.1f} g"],
        ["Protein", f"{per_100g.protein:.1f} g"],
        ["Salt", f"{salt_g(per_100g.sodium_mg, law):.2f} g"],
    ]
    doubts = [_doubt(found.review.nutrients.doubt(name), words, getattr(per_100g, name)) for name, words in _DOUBTS]
    return rows, doubts


def _sources(found: dict[str, tuple[str, ...]]) -> list[list[str]]:
    return [[source, ", ".join(keys).replace("_", " ")] for source, keys in found.items()]


def _canada(found: Draft) -> str:
    return ", ".join(declared(found.review.sources, "ca", law_of(found.review.day))) or "none found"


def specification_data(found: Draft) -> dict[str, Any]:
    """Data of the sheet; a label that does not exist (a market without rules) leaves its part empty."""
    label, pack = found.review.label, found.food.pack
    rows, doubts = _nutrition(found)
    identity = found.review.identity
    needs = [] if identity is None else [
        [need.words, need.rule.citation,
         f"{need.margin_pct:+.2f} points"]
        for need in identity.needs
        if need.margin_pct is not None and need.rule.predicate.limit
    ]  # fmt: skip
    facts = [
        ("Product", found.product), ("Name on the label", label.name if label else found.label.name),
        ("Reserved name", f"{identity.name} ({identity.citation})" if identity else "none"),
        ("Market", f"{found.market.upper()}, law as of {found.review.day:%d %B %Y}"),
        ("Net quantity", label.net if label else ""), ("Pieces", str(pack.pieces)), ("Lot", pack.lot),
        ("Date", f"{label.date_text} ({pack.keeps_days} days)" if label and pack.keeps_days else "not decided"),
        ("The date rests on", pack.keeps_because or "nothing stated"), ("Storage", pack.storage or "not stated"),
        ("Origin", pack.origin or "not stated"), ("GTIN", pack.gtin or "none"),
        ("Maker", ", ".join(x for x in (pack.operator, pack.address, pack.phone) if x) or "not stated"),
        ("Allergens as Canada lists them, for information", _canada(found)),
        ("Allergens confirmed by", found.confirmed_by or "nobody yet: not for print"),
    ]  # fmt: skip
    return {
        "title": phrase("spec_title", "en"),
        "lang": "en",
        "advice": NO_ADVICE,
        "facts": [[name, value] for name, value in facts if value],
        "runs": [[run.text, run.strong] for run in label.ingredients.runs] if label else [],
        "items": [[runs_text(item.runs), f"{item.pct:.1f} %" if item.pct >= 0.05 else "below 0.1 %"]
                  for item in label.ingredients.items] if label else [],
        "allergens": _sources(found.review.sources.present),
        "unsure": _sources(found.review.sources.unsure),
        "nutrition": rows,
        "doubts": doubts,
        "needs": needs,
        "findings": [[_SEVERITY[f.severity], f.message, f.cure, f.law] for f in found.review.findings],
    }  # fmt: skip


def specification_pdf(found: Draft, *, page: str = "a4") -> bytes:
    """The sheet as PDF; ``page`` is ``a4`` or ``us-letter``."""
    return pdf(template("specification.typ"), specification_data(found) | {"page": page})
