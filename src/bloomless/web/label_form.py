"""The form of a label: every choice the law asks a person for, in plain words, and back to the label's document."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from bloomless.bench.label_documents import LabelDocument, label_document, label_from_document

__all__ = ["GROUPS", "Asked", "Group", "boxed", "changed", "value_of"]


def _(text: str) -> str:
    """Mark a text for translation; the template says it."""
    return text


@dataclass(frozen=True, slots=True)
class Asked:
    """One field: where it stands in the document, and how it is asked."""

    name: str
    where: str
    """``top``, ``pack``, ``facts`` or ``settings`` of the document."""
    label: str
    kind: str = "text"
    """``text``, ``number``, ``whole``, ``date``, ``yes``, ``pick``, ``words`` (a list with commas) or ``ticks``."""
    unit: str = ""
    hint: str = ""
    options: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """Fields under one heading; ``open`` ones are shown at once."""

    title: str
    fields: tuple[Asked, ...]
    open: bool = False


GROUPS: Final = (
    Group(_("Name"), (
        Asked("name", "top", _("Name")),
        Asked("name_de", "top", _("Name in German")),
        Asked("name_fr", "top", _("Name in French")),
        Asked("claims", "pack", _("Claims, with commas"), "words", hint=_("Such as: vegan, organic")),
        Asked("organic_certificate", "facts", _("Number of the organic certificate")),
        Asked("cocoa_solids_pct", "facts", _("Cocoa solids by the supplier's sheet"), "number", "%"),
        Asked("emphasised", "top", _("Ingredients shown in words or pictures"), "ticks"),
        Asked("box", "top", _("Products of a mixed box"),
              hint=_("Product and pieces, such as: hazelnut-bar 4, milk-heart 6")),
        Asked("supplier_vouches", "facts", _("the supplier's sheet vouches for the reserved name chosen"), "yes"),
        Asked("single_mouthful", "top", _("one bite (praline)"), "yes"),
        Asked("filling_is_bakery", "top", _("the inside is pastry, biscuit or ice"), "yes"),
    ), open=True),
    Group(_("Pack"), (
        Asked("net_g", "pack", _("Net quantity"), "number", "g"),
        Asked("pieces", "pack", _("Pieces in the pack"), "whole"),
        Asked("piece_g", "pack", _("One piece"), "number", "g"),
        Asked("inner_packs", "pack", _("Packs or wrapped pieces inside"), "whole"),
        Asked("largest_surface_cm2", "pack", _("Largest surface of the pack"), "number", "cm²"),
        Asked("panel_in2", "pack", _("Front panel (US)"), "number", "in²"),
        Asked("label_area_in2", "pack", _("Room for labels in all (US)"), "number", "in²"),
        Asked("inner_sold", "pack", _("what is inside could be sold by itself"), "yes"),
        Asked("e_mark", "settings", _("print the e of packs filled by the average rule"), "yes"),
    ), open=True),
    Group(_("Date and lot"), (
        Asked("lot", "pack", _("Lot")),
        Asked("packed_on", "pack", _("Packed on"), "date"),
        Asked("keeps_days", "pack", _("Keeps"), "whole", _("days")),
        Asked("keeps_because", "pack", _("The date rests on"), hint=_("A measured water activity, a test, a decision")),
        Asked("perishable", "pack", _("dangerous when old: a use-by date"), "yes"),
    ), open=True),
    Group(_("Business and sale"), (
        Asked("operator", "pack", _("Name of the business")),
        Asked("address", "pack", _("Address")),
        Asked("phone", "pack", _("Telephone")),
        Asked("storage", "pack", _("How to store it")),
        Asked("origin", "pack", _("Origin said on the pack")),
        Asked("primary_origin", "pack", _("Origin of the cocoa, if another")),
        Asked("country", "pack", _("Country of sale in the EU"), "pick", options=(
            ("", "–"), ("AT", _("Austria")), ("BE", _("Belgium")), ("DE", _("Germany")), ("FR", _("France")),
            ("IE", _("Ireland")), ("LU", _("Luxembourg")), ("MT", _("Malta")))),
        Asked("sale", "pack", _("How it is sold"), "pick", options=(
            ("prepacked", _("packed")), ("direct", _("packed where it is sold")), ("loose", _("loose")),
            ("home_kitchen", _("from a home kitchen")))),
        Asked("intended", "top", _("Who it is for"), "pick", options=(
            ("general", _("everybody")), ("infants", _("babies under a year")))),
        Asked("gtin", "pack", _("GTIN, if you have a licence"), "whole"),
        Asked("seating", "facts", _("eaten in the shop, which has seats"), "yes"),
    ), open=True),
    Group(_("Nutrition"), (
        Asked("nutrition", "pack", _("Nutrition"), "pick", options=(
            ("panel", _("print the panel")), ("exempt", _("leave it out, if the law lets me")))),
        Asked("employees", "pack", _("People who work here"), "number"),
        Asked("units_per_year", "pack", _("Packs of it in a year"), "whole"),
        Asked("sales_usd", "pack", _("All sales to consumers in a year (US)"), "number", "USD"),
        Asked("food_sales_usd", "pack", _("Food sales to consumers in a year (US)"), "number", "USD"),
        Asked("energy", "settings", _("Calories (US)"), "pick", options=(
            ("general", _("4, 4 and 9 on everything")), ("less_fibre", _("without fibre")))),
        Asked("racc_category", "settings", _("What it counts as (US)"), "pick", options=(
            ("candy", _("chocolate and candies, 30 g")), ("baking_candies", _("baking chips, 15 g")),
            ("after_dinner", _("after-dinner pieces, 10 g")))),
        Asked("local_direct", "pack", _("small quantities, sold by the maker here and nearby"), "yes"),
        Asked("notice_filed", "pack", _("the yearly notice is filed (US)"), "yes"),
        Asked("divisible", "settings", _("the bar breaks into parts"), "yes"),
        Asked("percent_of_rounded", "settings", _("percentages of the printed amounts (US)"), "yes"),
        Asked("show_fibre", "settings", _("show fibre (EU, UK)"), "yes"),
    )),
    Group(_("List of ingredients"), (
        Asked("list_style", "settings", _("Chocolate in the list"), "pick", options=(
            ("opened", _("opened into its ingredients")), ("nested", _("by its name, with its own list")))),
        Asked("varying", "top", _("In varying proportion"), "ticks"),
        Asked("list_tail", "settings", _("what is 2 % or less at the end (US)"), "yes"),
    )),
    Group(_("Allergens from elsewhere"), (
        Asked("cross_contact", "top", _("Cross-contact, as assessed"),
              hint=_("Source and mg of its protein in 1 kg, such as: milk 12, hazelnut 3")),
        Asked("cross_contact_assessed", "top", _("Who assessed it, when, which paper"),
              hint=_("Without an assessment there is no “may contain”.")),
        Asked("typical_portion_g", "pack", _("Eaten at once, usually"), "number", "g"),
        Asked("rework_allergens", "top", _("Allergens that rework brought in"), "words",
              hint=_("From the lots of the rests that went in, such as: hazelnut")),
        Asked("doses", "settings", _("Reference doses"), "pick", options=(
            ("allergens.reference_dose", _("FAO and WHO")),
            ("allergens.reference_dose_strict", _("the stricter Belgian ones")))),
        Asked("print_precaution", "settings", _("print “may contain” where the assessment asks for it"), "yes"),
    )),
    Group(_("Filling, alcohol, hazards"), (
        Asked("filling_aw", "facts", _("Water activity of the filling, measured"), "number"),
        Asked("filling_ph", "facts", _("pH of the filling, measured"), "number"),
        Asked("cooked_meat_pct", "facts", _("Cooked meat in the piece"), "number", "%"),
        Asked("cadmium_mg_kg", "facts", _("Cadmium in the chocolate"), "number", "mg/kg"),
        Asked("alcohol_pct_vol_liquor", "facts", _("Strength of the spirit"), "number", "% vol"),
        Asked("density_g_ml", "facts", _("Density of the piece"), "number", "g/ml"),
        Asked("filling_packed_hot", "facts", _("filled hot into its pack and sealed"), "yes"),
        Asked("egg_pasteurised", "facts", _("the egg is pasteurised"), "yes"),
        Asked("raw_flour", "facts", _("raw flour is in it"), "yes"),
        Asked("alcohol_from_extracts", "facts", _("alcohol only from flavouring extracts"), "yes"),
        Asked("state_permits_alcohol", "facts", _("the state of sale permits more alcohol (US)"), "yes"),
    )),
)  # fmt: skip
"""Every choice that a label's document holds, in the order a person meets them."""

_EVERY: Final = tuple(field for group in GROUPS for field in group.fields)


def value_of(document: Mapping[str, Any], field: Asked) -> Any:
    """What the document says now, as a form shows it."""
    if field.name in {"name_de", "name_fr"}:
        return document["names"].get(field.name[-2:], "")
    if field.name == "box":
        return ", ".join(f"{product} {pieces}" for product, pieces in document["box"])
    if field.name == "cross_contact":
        return ", ".join(" ".join(part for part in pair if part) for pair in document["cross_contact"])
    value = document[field.name] if field.where == "top" else document[field.where].get(field.name)
    if field.kind == "words":
        return ", ".join(value or ())
    return "" if value is None else value


def _contact(text: str) -> list[str | None]:
    """One assessed cross-contact as typed: a source, and mg of its protein per kg if that was measured."""
    source, _, amount = text.strip().lower().rpartition(" ")
    return [source, amount] if source and amount[:1].isdigit() else [text.strip().lower(), None]


def boxed(typed: str) -> list[list[str]]:
    """Products of a mixed box as typed: ``hazelnut-bar 4, milk-heart 6``; one piece where no number stands."""
    found = []
    for text in _words(typed):
        product, _, pieces = text.rpartition(" ")
        found.append([product, pieces] if product and pieces.isdigit() else [text, "1"])
    return found


def _words(typed: str) -> list[str]:
    return [text.strip() for text in typed.split(",") if text.strip()]


def _read(field: Asked, typed: str, chosen: Sequence[str]) -> Any:
    if field.kind == "yes":
        return bool(typed)
    if field.kind == "ticks":
        return list(chosen)
    if field.kind == "words":
        found = _words(typed)
        return [text.lower() for text in found] if field.name == "rework_allergens" else found
    if field.name == "box":
        return boxed(typed)
    return [_contact(text) for text in _words(typed)] if field.name == "cross_contact" else typed.strip()


def changed(found: LabelDocument, values: Mapping[str, str], lists: Mapping[str, Sequence[str]]) -> LabelDocument:
    """The label with what was typed; what the form did not ask stays.

    Parameters
    ----------
    found
        The label before.
    values
        Typed fields by name; boxes that are not ticked count as no only if the form says that it is ``whole``.
    lists
        Ticked values by name.
    """
    document = label_document(found)
    if ":" in values.get("reserved", ""):  # "eu:eu.milk", or "eu:" for the one its composition gives
        place, _, key = values["reserved"].partition(":")
        rest = {other: name for other, name in document["reserved"].items() if other != place}
        document["reserved"] = rest | ({place: key} if key else {})
    whole = "whole" in values
    for field in _EVERY:
        if field.name not in values and not (whole and field.kind in {"yes", "ticks"}):
            continue
        value = _read(field, values.get(field.name, ""), lists.get(field.name, ()))
        if field.name in {"name_de", "name_fr"}:
            rest = {tag: name for tag, name in document["names"].items() if tag != field.name[-2:]}
            document["names"] = {**rest, field.name[-2:]: value} if value else rest
        elif field.where == "top":
            document[field.name] = value
        elif value in ("", []):
            document[field.where].pop(field.name, None)
        else:
            document[field.where][field.name] = value
    return label_from_document(document)
