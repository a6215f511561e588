"""From ingredients of the materials room and a composed recipe to the food the law judges."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Final

from bloomless.errors import ImpossibleInput
from bloomless.materials.composition import Composition
from bloomless.materials.ingredients import Ingredient, ingredient_library
from bloomless.recipes.compose import Composed, Pantry, Portion
from bloomless.rules.decimals import HUNDRED, ZERO, dec
from bloomless.rules.food import COMPONENTS, Nutrients, Section, Substance, Use
from bloomless.sources import Grade, read_csv

__all__ = ["SPREAD_OF_GRADE", "sections_of", "substance_of"]

SPREAD_OF_GRADE: Final[Mapping[Grade, float]] = {
    Grade.MEASURED: 0.05, Grade.PUBLISHED: 0.08, Grade.DERIVED: 0.10, Grade.TRADE_PRACTICE: 0.15,
    Grade.FROM_MEMORY: 0.15, Grade.ASSUMED: 0.25,
}  # fmt: skip
"""One standard deviation of a nutrient as a share of it, by how the composition is known [assumed]."""

_SOURCE: Final = {"soya": "soy", "sulphite": "sulphites"}
"""The materials room's words where the law's tables have others."""

_SECTION: Final = {"": "chocolate", "shell": "chocolate", "cap": "chocolate", "filling": "filling",
                   "colour": "decoration", "inclusion": "chocolate"}  # fmt: skip
"""Part of a piece → section; an inclusion lies in the chocolate, whose standard then binds what is around it."""

_KIND_OF_GROUP: Final = {
    "dairy": "whole_milk", "sugar": "sugar", "polyol": "polyol", "fibre": "fibre", "cocoa": "cocoa_mass",
    "chocolate_dark": "chocolate", "chocolate_milk": "chocolate", "chocolate_white": "chocolate", "fat": "veg_fat",
    "nut": "nut", "seed": "seed", "fruit": "fruit", "fruit_dry": "fruit", "flavour": "flavour", "spice": "spice",
    "cereal": "cereal", "salt": "salt", "meat": "meat", "water": "water", "acid": "acid", "additive": "other",
    "alcohol": "alcohol", "egg": "egg", "hydrocolloid": "hydrocolloid", "colour": "colour", "composite": "compound",
}  # fmt: skip

_REST: Final = {
    "sugar": "sweetener_nutritive", "syrup": "sweetener_nutritive", "honey": "sweetener_nutritive",
    "polyol": "sweetener_other", "sweetener_other": "sweetener_other", "whole_milk": "sweetener_nutritive",
    "nut": "nut_other", "nut_paste": "nut_ground_fine", "starch_flour": "starch_flour", "emulsifier": "emulsifier",
    "colour": "colour", "dust": "colour", "flavour": "flavour", "spice": "flavour", "alcohol": "alcohol", "egg": "egg",
    "meat": "meat", "veg_fat": "veg_fat", "animal_fat": "animal_fat", "chocolate": "sweetener_nutritive",
}  # fmt: skip
"""What is left of a substance when its water, cocoa and milk are counted: by its kind."""

_NAMES: Final = ("en", "en-US", "de", "fr")
_COUNTED: Final = frozenset({
    "water_g", "cocoa_butter_g", "fat_free_cocoa_solids_g", "milk_fat_g", "milk_solids_nonfat_g",
})  # fmt: skip
_NEEDED: Final = frozenset({"fat_g", "saturated_fat_g", "carbohydrate_g", "sugars_g", "protein_g", "sodium_mg"})


@cache
def _traits() -> Mapping[str, Mapping[str, str]]:
    return {row["key"]: row for row in read_csv("bloomless.rules.common", "substances.csv")}


def _d(number: float) -> Decimal:
    return dec(repr(round(number, 9)))


def _components(composition: Composition, kind: str) -> dict[str, Decimal]:
    """Mass fractions of a composition; what is left over goes to the component of its kind.

    Empty where cocoa or milk are not known: a chocolate with no cocoa stated is one nobody has described.
    """
    stated = composition.cocoa_butter_g + composition.fat_free_cocoa_solids_g > 0
    if _COUNTED & composition.unknown or (kind == "chocolate" and not stated):
        return {}
    shares = dict.fromkeys(COMPONENTS, ZERO)
    water = (
        "cocoa_water"
        if kind.startswith("cocoa")
        else "milk_water"
        if composition.milk_solids_nonfat_g
        else "water_other"
    )
    shares[water] = _d(composition.water_g) / HUNDRED
    shares["cacao_fat"] = _d(composition.cocoa_butter_g) / HUNDRED
    shares["cocoa_nf_dry"] = _d(composition.fat_free_cocoa_solids_g) / HUNDRED
    if kind not in {"whey", "lactose"}:  # lactose and whey beyond the natural amount are no milk solids in the US
        shares["milk_snf"] = _d(composition.milk_solids_nonfat_g) / HUNDRED
    shares["milk_fat"] = _d(composition.milk_fat_g) / HUNDRED
    rest = 1 - sum(shares.values(), ZERO)
    if rest > 0:
        shares[_REST.get(kind, "other")] += rest  # a lecithin is an emulsifier whole, its oil included
    return {name: share for name, share in shares.items() if share > 0}


def _nutrients(composition: Composition) -> Nutrients | None:
    if _NEEDED & composition.unknown:
        return None
    return Nutrients(
        fat=_d(composition.fat_g),
        saturated=_d(composition.saturated_fat_g),
        trans=_d(composition.trans_fat_g),
        cholesterol_mg=_d(composition.cholesterol_mg),
        sodium_mg=_d(composition.sodium_mg),
        carbohydrate=_d(composition.carbohydrate_g),
        fibre=_d(composition.fibre_g),
        sugars=_d(composition.sugars_g),
        added_sugars=_d(composition.added_sugars_g),
        polyols=_d(composition.polyols_g),
        protein=_d(composition.protein_g),
        alcohol=_d(composition.alcohol_g),
        vitamin_d_ug=_d(composition.vitamin_d_ug),
        calcium_mg=_d(composition.calcium_mg),
        iron_mg=_d(composition.iron_mg),
        potassium_mg=_d(composition.potassium_mg),
        water=_d(composition.water_g),
    )


def substance_of(ingredient: Ingredient, pantry: Pantry) -> Substance:
    """The substance an ingredient is by law.

    Kind, botanical source and names come from the packaged table of substances; an ingredient of the book that is not
    in it takes the kind of its group and its own English name, and a label in another language then waits for a person.
    """
    row = _traits().get(ingredient.key, {})
    kind = row.get("kind") or _KIND_OF_GROUP.get(ingredient.group, "other")
    if kind == "other" and ingredient.function == "emulsifier":
        kind = "emulsifier"
    names = {tag: row[tag] for tag in _NAMES if row.get(tag)} or {"en": ingredient.label_name or ingredient.name}
    e_number = f"E {ingredient.additive.removeprefix('E').strip()}" if ingredient.additive else ""
    return Substance(
        key=ingredient.key,
        kind=kind,
        names=names,
        components=_components(ingredient.composition, kind),
        nutrients=_nutrients(ingredient.composition),
        spread_share=SPREAD_OF_GRADE[ingredient.grade],
        allergens=_sources(n.substance for n in ingredient.allergens if n.present),
        allergens_unsure=_sources(n.substance for n in ingredient.allergens if not n.present),
        botanical=row.get("botanical", ""),
        function=ingredient.function,
        e_number=e_number,
        allergens_known=_allergens_stated(ingredient),
        traces=_sources(ingredient.may_contain),
        parts=_parts(ingredient, pantry),
        in_order=_in_order(ingredient, pantry),
        alkalised=ingredient.key.endswith("_alk") or "alkalised" in ingredient.name.lower(),
        grade=str(ingredient.grade),
        pigments=_pigments(ingredient),
        ingredient_list_known=kind not in {"colour", "dust"} or bool(_pigments(ingredient)),
    )


def _pigments(ingredient: Ingredient) -> tuple[str, ...]:
    # a colour of the book names its pigments in its additive field, comma-separated: "E 171, E 172"
    if ingredient.group != "colour" or ingredient.made_of:
        return ()
    given = [part.strip() for part in ingredient.additive.split(",") if part.strip()]
    if ingredient.key == "spirulina":
        return ("spirulina",)
    return tuple(f"E {part.removeprefix('E').strip()}" for part in given)


def _parts(ingredient: Ingredient, pantry: Pantry) -> tuple[tuple[Substance, Decimal], ...]:
    """Parts of a compound whose shares and substances are all known; otherwise none, and it stays whole."""
    made = ingredient.made_of
    if not made or any(c.share is None or c.key not in pantry.ingredients for c in made):
        return ()
    ground = any(word in ingredient.name.lower() for word in _GROUND)
    found = [(substance_of(pantry.ingredients[c.key], pantry), _d(c.share or 0.0)) for c in made]
    return tuple((_ground(substance) if ground else substance, share) for substance, share in found)


_GROUND: Final = ("gianduja", "praline", "praliné", "paste", "marzipan", "nougat", "cream")


def _ground(substance: Substance) -> Substance:
    """A nut as it stands in a paste: finely ground, nothing to bite on."""
    if substance.kind != "nut":
        return replace(substance, parts=tuple((_ground(part), share) for part, share in substance.parts))
    fine = substance.share("nut_other") + substance.share("nut_ground_fine")
    rest = {name: share for name, share in substance.components.items() if name != "nut_other"}
    return replace(substance, kind="nut_paste", components=rest | {"nut_ground_fine": fine})


def _in_order(ingredient: Ingredient, pantry: Pantry) -> tuple[Substance, ...]:
    """The supplier's list without shares, in its order; what is not in the book stands by its own name."""
    if not ingredient.made_of or all(c.share is not None and c.key in pantry.ingredients for c in ingredient.made_of):
        return ()
    return tuple(
        substance_of(pantry.ingredients[c.key], pantry)
        if c.key in pantry.ingredients
        else Substance(key=c.name, kind="other", names={"en": c.name})
        for c in ingredient.made_of
    )


_NONE: Final = frozenset({"none", "keine", "aucun"})
"""What a person writes where the supplier's sheet says that there are none."""


def _sources(words: Iterable[str]) -> frozenset[str]:
    lower = (word.strip().lower() for word in words)
    return frozenset(_SOURCE.get(word, word) for word in lower if word not in _NONE)


def _allergens_stated(ingredient: Ingredient) -> bool:
    # the packaged table states them for its own; of anything else an empty note may mean that nobody has looked
    return bool(ingredient.allergens) or ingredient.no_allergens or ingredient.key in ingredient_library()


_PASTES: Final = frozenset({"gianduja", "praline", "marzipan"})
"""Kinds of recipes whose nuts are ground."""


def _uses(portion: Portion, pantry: Pantry, *, ground: bool) -> list[Use]:
    if portion.ingredient is not None:
        substance = substance_of(portion.ingredient, pantry)
        if ground and portion.line.part != "inclusion":
            substance = _ground(substance)
        return [Use(substance=substance, mass_g=_d(portion.mass_g), lot=portion.line.lot)]
    inside = portion.inside
    if inside is None:
        raise ImpossibleInput("portion", portion.name, "an ingredient or a recipe")
    ground = ground or inside.recipe.kind in _PASTES
    return [use for inner in inside.portions for use in _uses(inner, pantry, ground=ground)]


def sections_of(composed: Composed, pantry: Pantry) -> tuple[Section, ...]:
    """Sections of a composed recipe by part of the piece; sub-recipes opened, boiled-off water as a yield."""
    by_role: dict[str, list[Portion]] = {}
    for portion in composed.portions:
        by_role.setdefault(_SECTION.get(portion.line.part, "chocolate"), []).append(portion)
    found = []
    for role, portions in by_role.items():
        ground = composed.recipe.kind in _PASTES
        uses = tuple(use for portion in portions for use in _uses(portion, pantry, ground=ground))
        mixing = sum((use.mass_g for use in uses), ZERO)
        finished = sum((_d(p.mass_g) for p in portions), ZERO)
        if len(by_role) == 1:
            finished = _d(composed.mass_g)
        names = dict.fromkeys(p.name for p in portions)
        share = min(Decimal(1), finished / mixing) if mixing else Decimal(1)
        found.append(
            Section(role=role, name=", ".join(names) if role != "chocolate" else role, uses=uses, yield_share=share)
        )
    return tuple(found)
