"""A product's label as a document of the book, and back to the food the law judges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.ingredients import ingredient_library
from bloomless.recipes import Pantry, Recipe, compose
from bloomless.recipes.documents import recipe_document, recipe_from_document
from bloomless.rules.common.from_recipe import sections_of
from bloomless.rules.common.review import Settings
from bloomless.rules.food import Food, Pack, Section

__all__ = ["FACTS", "LabelDocument", "food_of", "label_document", "label_from_document"]

_DECIMALS: Final = frozenset({
    "net_g", "piece_g", "largest_surface_cm2", "panel_in2", "label_area_in2", "employees", "sales_usd",
    "food_sales_usd",
    "typical_portion_g",
})  # fmt: skip
_WHOLE: Final = frozenset({"pieces", "keeps_days", "units_per_year", "inner_packs"})
_YES: Final = frozenset({"perishable", "local_direct", "notice_filed", "inner_sold"})
_MOST: Final = {"pieces": 10_000, "keeps_days": 3_700, "units_per_year": 10**9, "inner_packs": 1000}


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelDocument:
    """What a person decides about a product's label; everything else is worked out from the recipe and the law."""

    product: str
    name: str
    recipe: Recipe | str
    """A recipe of its own, or the key of one in the book."""
    names: Mapping[str, str] = field(default_factory=dict)
    reserved: Mapping[str, str] = field(default_factory=dict)
    pack: Pack = field(default_factory=Pack)
    facts: Mapping[str, Any] = field(default_factory=dict)
    cross_contact: tuple[tuple[str, Decimal | None], ...] = ()
    cross_contact_assessed: str = ""
    emphasised: frozenset[str] = frozenset()
    varying: frozenset[str] = frozenset()
    single_mouthful: bool = False
    filling_is_bakery: bool = False
    box: tuple[tuple[str, int], ...] = ()
    """A mixed box: products of the book and how many pieces of each; then there is no recipe of its own."""
    intended: str = "general"
    rework_allergens: frozenset[str] = frozenset()
    settings: Settings = field(default_factory=Settings)


def _decimal(name: str, value: object) -> Decimal:
    try:
        found = Decimal(str(value).replace(",", "."))
    except InvalidOperation:
        raise ImpossibleInput(name, value, "a number") from None
    if not found.is_finite() or not 0 <= found < 10**9:
        raise ImpossibleInput(name, value, "a number of at least 0")
    return found


def _value(name: str, value: Any) -> Any:
    if name in _DECIMALS:
        return _decimal(name, value)
    if name in _WHOLE:
        number = _decimal(name, value)
        if number != int(number) or not 0 <= number <= _MOST[name]:
            raise ImpossibleInput(name, value, f"a whole number up to {_MOST[name]:,}")
        return int(number)
    if name == "packed_on":
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            raise ImpossibleInput(name, value, "a day such as 2026-11-25") from None
    if name in _YES:
        return value if isinstance(value, bool) else str(value).lower() in {"1", "yes", "true", "on"}
    return tuple(value) if name == "claims" else value


def _pack(given: Mapping[str, Any]) -> Pack:
    known = {item.name for item in fields(Pack)}
    values: dict[str, Any] = {}
    for name, value in given.items():
        if name not in known:
            raise UnknownName("pack", name, known)
        if value is not None and value != "":
            values[name] = _value(name, value)
    if values.get("sale", "prepacked") not in {"prepacked", "direct", "loose", "home_kitchen"}:
        raise ImpossibleInput("sale", values["sale"], "prepacked, direct, loose or home_kitchen")
    return Pack(**values)


_CHOICES: Final[Mapping[str, frozenset[Any]]] = {
    "list_style": frozenset({"opened", "nested"}), "energy": frozenset({"general", "less_fibre"}),
    "doses": frozenset({"allergens.reference_dose", "allergens.reference_dose_strict"}),
}  # fmt: skip


def _settings(given: Mapping[str, Any]) -> Settings:
    known = {item.name for item in fields(Settings)}
    for name, value in given.items():
        if name not in known:
            raise UnknownName("settings", name, known)
        if name in _CHOICES and value not in _CHOICES[name]:
            raise ImpossibleInput(name, value, f"one of {', '.join(sorted(_CHOICES[name]))}")
    return Settings(**given)


def _recipe(given: Any) -> Recipe | str:
    return given if isinstance(given, str) else recipe_from_document(given)


def _box_line(line: Any) -> tuple[str, int]:
    try:
        product, pieces = line
    except (TypeError, ValueError):
        raise ImpossibleInput("box", line, "pairs of a product and its number of pieces") from None
    number = _decimal("box", pieces)
    if number != int(number) or not 1 <= number <= 1000:
        raise ImpossibleInput("box", pieces, "1 to 1,000 pieces of a product")
    return str(product), int(number)


FACTS: Final = {
    "filling_aw": "number", "filling_ph": "number", "filling_packed_hot": "yes", "density_g_ml": "number",
    "alcohol_pct_vol_liquor": "number", "alcohol_from_extracts": "yes", "state_permits_alcohol": "yes",
    "cooked_meat_pct": "number", "egg_pasteurised": "yes", "raw_flour": "yes", "seating": "yes",
    "cadmium_mg_kg": "number", "organic_certificate": "text", "supplier_vouches": "yes",
    "cocoa_solids_pct": "number",
}  # fmt: skip
"""Measured or stated facts the rules ask for, and what each is."""


def _facts(given: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, value in given.items():
        if name not in FACTS:
            raise UnknownName("facts", name, FACTS)
        if value is None or value == "":
            continue
        if FACTS[name] == "yes":
            found[name] = value if isinstance(value, bool) else str(value).lower() in {"1", "yes", "true", "on"}
        else:
            found[name] = _decimal(name, value) if FACTS[name] == "number" else str(value)
    if found.get("filling_aw", Decimal(0)) > 1:
        raise ImpossibleInput("filling_aw", found["filling_aw"], "a water activity from 0 to 1")
    if found.get("filling_ph", Decimal(7)) > 14:
        raise ImpossibleInput("filling_ph", found["filling_ph"], "a pH from 0 to 14")
    return found


def label_from_document(document: Mapping[str, Any]) -> LabelDocument:
    """A label from its document.

    Raises
    ------
    ImpossibleInput
        With the field, for anything that cannot be; an unknown field is refused by name, so that nothing typed is lost.
    """
    known = {item.name for item in fields(LabelDocument)}
    for name in document:
        if name not in known:
            raise UnknownName("label", name, known)
    for needed in ("product", "name") if document.get("box") else ("product", "name", "recipe"):
        if not document.get(needed):
            raise ImpossibleInput(needed, document.get(needed), "given; it is missing", code="missing_field")
    given = dict(document)
    given["recipe"] = _recipe(given.get("recipe") or "")
    given["box"] = tuple(_box_line(line) for line in given.get("box", ()))
    given["pack"] = _pack(given.get("pack", {}))
    given["facts"] = _facts(given.get("facts", {}))
    given["cross_contact"] = tuple(
        (str(source), None if mg is None else _decimal("cross_contact", mg))
        for source, mg in given.get("cross_contact", ())
    )
    for name in ("emphasised", "varying", "rework_allergens"):
        given[name] = frozenset(given.get(name, ()))
    given["settings"] = _settings(given.get("settings", {}))
    return LabelDocument(**given)


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, Mapping):
        return {name: _plain(v) for name, v in value.items()}
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    if hasattr(value, "__dataclass_fields__"):
        return {item.name: _plain(getattr(value, item.name)) for item in fields(value)}
    return value


def label_document(label: LabelDocument) -> dict[str, Any]:
    """A label as the document of the book; reading it back gives the same label."""
    document: dict[str, Any] = _plain(label)
    document["recipe"] = label.recipe if isinstance(label.recipe, str) else recipe_document(label.recipe)
    return document


def _sections(label: LabelDocument, pantry: Pantry) -> tuple[Section, ...]:
    recipe = label.recipe
    if isinstance(recipe, str):
        if recipe not in pantry.recipes:
            raise UnknownName("recipe", recipe, pantry.recipes)
        recipe = pantry.recipes[recipe]
    return sections_of(compose(recipe, pantry), pantry)


def _boxed(label: LabelDocument, pantry: Pantry, others: Mapping[str, LabelDocument]) -> tuple[Section, ...]:
    """Sections of every product of a box, scaled to its pieces."""
    found: list[Section] = []
    for product, pieces in label.box:
        if product not in others:
            raise UnknownName("box", product, others)
        other = others[product]
        piece_g = other.pack.piece_g
        if piece_g is None:
            raise ImpossibleInput(f"{product}.piece_g", None, "the mass of one piece, to know its share of the box")
        sections = _sections(other, pantry)
        whole = sum((section.finished_g for section in sections), Decimal(0))
        factor = piece_g * pieces / whole
        found += [
            replace(
                section,
                name=f"{other.name}: {section.name}",
                uses=tuple(replace(use, mass_g=use.mass_g * factor) for use in section.uses),
            )
            for section in sections
        ]
    return tuple(found)


def food_of(
    label: LabelDocument, pantry: Pantry | None = None, others: Mapping[str, LabelDocument] | None = None
) -> Food:
    """The food of a label; the packaged ingredients unless a pantry is given, ``others`` are what a box may hold."""
    from_book = pantry or Pantry(ingredient_library())
    return Food(
        key=label.product,
        name=label.name,
        reserved=label.reserved,
        sections=_boxed(label, from_book, others or {}) if label.box else _sections(label, from_book),
        assortment=bool(label.box),
        pack=label.pack,
        single_mouthful=label.single_mouthful,
        cross_contact=label.cross_contact,
        cross_contact_assessed=label.cross_contact_assessed,
        emphasised=label.emphasised,
        varying=label.varying,
        standing_names=label.names,
        filling_is_bakery=label.filling_is_bakery,
        facts=label.facts,
        rework_allergens=label.rework_allergens,
        intended=label.intended,
    )
