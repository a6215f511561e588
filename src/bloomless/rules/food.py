"""The food as the law sees it: substances, their use in sections of a piece, the pack and what a person declares."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from datetime import date
from decimal import Decimal
from typing import Final

from bloomless.errors import ImpossibleInput
from bloomless.rules.decimals import ZERO

__all__ = ["COMPONENTS", "KINDS", "Food", "Nutrients", "Pack", "Section", "Substance", "Use"]

COMPONENTS: Final = (
    "cacao_fat", "cocoa_nf_dry", "cocoa_water", "milk_fat", "milk_snf", "milk_water", "sweetener_nutritive",
    "sweetener_other", "veg_fat", "nut_ground_fine", "nut_other", "starch_flour", "emulsifier", "colour", "flavour",
    "alcohol", "egg", "meat", "animal_fat", "water_other", "other",
)  # fmt: skip
"""Mass fractions a substance is split into; they sum to one."""

KINDS: Final = frozenset({
    "cocoa_mass", "cocoa_nibs", "cocoa_butter", "cocoa_powder", "chocolate", "milk_fat", "whole_milk", "skim_milk",
    "buttermilk", "malted_milk", "whey", "lactose", "sugar", "syrup", "honey", "polyol", "sweetener_other", "fibre",
    "emulsifier", "colour", "dust", "flavour", "spice", "coffee", "salt", "nut", "nut_paste", "seed", "seed_paste",
    "fruit", "cereal", "starch_flour", "bakery", "egg", "meat", "gelatine", "hydrocolloid", "veg_fat", "animal_fat",
    "alcohol", "water", "acid", "preservative", "compound", "other",
})  # fmt: skip
"""Legal kinds of substances; a rule may ask for a kind, never for a product."""

_SUM_TOLERANCE: Final = Decimal("0.005")


@dataclass(frozen=True, slots=True, kw_only=True)
class Nutrients:
    """Per 100 g: masses in g unless named; ``carbohydrate`` in the US sense, by difference, fibre and polyols in it."""

    fat: Decimal = ZERO
    saturated: Decimal = ZERO
    trans: Decimal = ZERO
    cholesterol_mg: Decimal = ZERO
    sodium_mg: Decimal = ZERO
    carbohydrate: Decimal = ZERO
    fibre: Decimal = ZERO
    sugars: Decimal = ZERO
    added_sugars: Decimal = ZERO
    polyols: Decimal = ZERO
    protein: Decimal = ZERO
    alcohol: Decimal = ZERO
    organic_acids: Decimal = ZERO
    vitamin_d_ug: Decimal = ZERO
    calcium_mg: Decimal = ZERO
    iron_mg: Decimal = ZERO
    potassium_mg: Decimal = ZERO
    water: Decimal = ZERO

    def __post_init__(self) -> None:
        for item in fields(self):
            value = getattr(self, item.name)
            if not isinstance(value, Decimal) or not value.is_finite() or value < 0:
                raise ImpossibleInput(item.name, value, "a decimal number of at least 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """One ingredient as bought, with what the law asks about it.

    Parameters
    ----------
    key
        Name in the book.
    kind
        Legal kind, one of ``KINDS``.
    names
        What stands on a label, by language tag; ``en`` stands in for ``en-US`` and ``en-GB``.
    components
        Mass fractions by ``COMPONENTS``; empty when nobody knows them, which blocks identity.
    nutrients
        Per 100 g, or None when nobody knows them, which blocks the panel.
    spread_share
        One standard deviation of its nutrients as a share of the value.
    allergens, allergens_unsure
        Sources by name (``milk``, ``hazelnut`` …); unsure ones depend on the supplier and wait for a person.
    allergens_known
        False when nobody has stated the allergens: then printing is blocked.
    parts
        A compound ingredient's own parts as mass fractions, known or not.
    """

    key: str
    kind: str
    names: Mapping[str, str]
    components: Mapping[str, Decimal] = field(default_factory=dict)
    nutrients: Nutrients | None = None
    spread_share: float = 0.1
    allergens: frozenset[str] = frozenset()
    allergens_unsure: frozenset[str] = frozenset()
    allergens_known: bool = True
    botanical: str = ""
    """Source of a vegetable fat, nut or lecithin: ``shea``, ``hazelnut``, ``soya``."""
    function: str = ""
    """Additive class: ``emulsifier``, ``colour`` …"""
    e_number: str = ""
    us_colour: str = ""
    """Name in the US list of colour additives."""
    pigments: tuple[str, ...] = ()
    """E numbers of the pigments of a colour, carriers in it named too (``E 171``, ``E 555``, ``E 555+E 171``)."""
    ingredient_list_known: bool = True
    """For colours and dusts: whether the maker states what is in it."""
    parts: tuple[tuple[Substance, Decimal], ...] = ()
    in_order: tuple[Substance, ...] = ()
    """A compound's own list of ingredients in falling order, where its shares are not known."""
    traces: frozenset[str] = frozenset()
    """Sources the supplier warns of as traces."""
    supplier_names: frozenset[str] = frozenset()
    """Reserved names the supplier vouches for, such as ``us.bittersweet``."""
    hydrogenated: str = ""
    alkalised: bool = False
    mimics: bool = False
    """A flavouring that tastes of chocolate, milk or butter."""
    origin: str = ""
    grade: str = ""
    """How its composition is known, in the words of the grades of evidence."""
    processing_aid: bool = False
    loses_water: bool = False

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ImpossibleInput("kind", self.kind, f"one of {', '.join(sorted(KINDS))}")
        unknown = set(self.components) - set(COMPONENTS)
        if unknown:
            raise ImpossibleInput("components", sorted(unknown), "names of components")

    @property
    def composition_fault(self) -> str:
        """What is wrong with the composition vector, or nothing."""
        if not self.components:
            return "nobody has stated its composition"
        if any(value < 0 for value in self.components.values()):
            return "a share is below zero"
        total = sum(self.components.values(), ZERO)
        if abs(total - 1) > _SUM_TOLERANCE:
            return f"its shares sum to {total * 100:.1f} %, not to 100 %"
        return ""

    def share(self, component: str) -> Decimal:
        """Mass fraction of a component."""
        return self.components.get(component, ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """A mass of a substance, from a lot, as it went in."""

    substance: Substance
    mass_g: Decimal
    lot: str = ""
    as_liquor: bool = False
    """Cocoa powder or cocoa butter declared as part of the chocolate liquor (21 CFR 163.111)."""
    rework: bool = False

    def __post_init__(self) -> None:
        if not self.mass_g.is_finite() or self.mass_g < 0:
            raise ImpossibleInput("mass_g", self.mass_g, "a mass of at least 0 g")


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A part of the piece a customer can tell apart: the chocolate, a filling, a decoration, an inclusion."""

    role: str
    """``chocolate``, ``filling``, ``decoration`` or ``inclusion``."""
    name: str
    uses: tuple[Use, ...]
    yield_share: Decimal = Decimal(1)
    """Finished mass over mixing mass: what cooking and drying leave (water goes first)."""

    def __post_init__(self) -> None:
        if self.role not in {"chocolate", "filling", "decoration", "inclusion"}:
            raise ImpossibleInput("role", self.role, "chocolate, filling, decoration or inclusion")
        if not Decimal(0) < self.yield_share <= 1:
            raise ImpossibleInput("yield_share", self.yield_share, "above 0, up to 1")

    @property
    def mixing_g(self) -> Decimal:
        """Mass that went in."""
        return sum((use.mass_g for use in self.uses), ZERO)

    @property
    def finished_g(self) -> Decimal:
        """Mass that came out."""
        return self.mixing_g * self.yield_share


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """The pack and what a person declares on it; what is empty gives a finding, never a guess."""

    net_g: Decimal | None = None
    pieces: int = 1
    piece_g: Decimal | None = None
    lot: str = ""
    packed_on: date | None = None
    keeps_days: int | None = None
    keeps_because: str = ""
    """What the date rests on: a measured water activity, a challenge test, a person's decision."""
    perishable: bool = False
    """Dangerous when it is old: a use-by date instead of best-before."""
    storage: str = ""
    operator: str = ""
    address: str = ""
    phone: str = ""
    origin: str = ""
    primary_origin: str = ""
    gtin: str = ""
    largest_surface_cm2: Decimal | None = None
    panel_in2: Decimal | None = None
    """Principal display panel, square inches."""
    label_area_in2: Decimal | None = None
    sale: str = "prepacked"
    """``prepacked``, ``direct`` (packed where it is sold), ``loose`` or ``home_kitchen``."""
    claims: tuple[str, ...] = ()
    employees: Decimal | None = None
    units_per_year: int | None = None
    sales_usd: Decimal | None = None
    food_sales_usd: Decimal | None = None
    local_direct: bool = False
    """Small quantities from the maker to the consumer or to local shops."""
    notice_filed: bool = False
    nutrition: str = "panel"
    """``panel`` or ``exempt`` as the person wants it; the rules answer."""
    country: str = ""
    """Country of sale where it decides the language: ``DE``, ``FR``, ``IE`` …"""
    state: str = ""
    inner_packs: int = 0
    """Packs or wrapped pieces of equal mass inside; 0 where nothing is wrapped on its own."""
    inner_sold: bool = False
    """Whether an inner pack could be sold by itself."""
    typical_portion_g: Decimal | None = None
    printed_date_form: str = ""
    registration: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Food:
    """A food to be named and labelled."""

    key: str
    name: str
    """The name a person wants to print."""
    reserved: Mapping[str, str]
    """Reserved name of the chocolate by jurisdiction: ``{"us": "us.bittersweet", "eu": "eu.chocolate"}``."""
    sections: tuple[Section, ...]
    pack: Pack = field(default_factory=Pack)
    single_mouthful: bool = False
    cross_contact: tuple[tuple[str, Decimal | None], ...] = ()
    """Allergen and assessed mg of its protein per kg of food, None when assessed without a number."""
    cross_contact_assessed: str = ""
    """Who assessed cross-contact, when, and the document."""
    emphasised: frozenset[str] = frozenset()
    """Keys of substances emphasised in words or pictures."""
    varying: frozenset[str] = frozenset()
    """Keys of fats, nuts or fruit used in varying proportion."""
    assortment: bool = False
    """A box of several products under one list of ingredients; every chocolate in it is judged on its own."""
    standing_names: Mapping[str, str] = field(default_factory=dict)
    """The name by language, where it is not ``name``."""
    quality_word: str = ""
    filling_is_bakery: bool = False
    facts: Mapping[str, object] = field(default_factory=dict)
    """Measured or stated facts the rules may ask for: ``filling_aw``, ``filling_ph``, ``cooked_meat_pct`` …"""
    rework_allergens: frozenset[str] = frozenset()
    """Allergens carried in by rework, from the lot graph."""
    intended: str = "general"

    @property
    def finished_g(self) -> Decimal:
        """Mass of all sections."""
        return sum((section.finished_g for section in self.sections), ZERO)

    def of(self, role: str) -> tuple[Section, ...]:
        """Sections of a role."""
        return tuple(section for section in self.sections if section.role == role)

    def uses(self) -> Iterator[tuple[Section, Use]]:
        """Every use with its section."""
        for section in self.sections:
            for use in section.uses:
                yield section, use
