"""Foods of the checks, in the recipe notation of the sheet: M = cocoa mass 54 % fat, WMP = whole milk powder 26 %."""

from decimal import Decimal

from bloomless.rules.food import Food, Nutrients, Pack, Section, Substance, Use

D = Decimal


def _substance(key, kind, components, **more):
    names = more.pop("names", {"en": key.replace("_", " ")})
    return Substance(
        key=key,
        kind=kind,
        names=names,
        components={k: D(v) for k, v in components.items()},
        nutrients=Nutrients(),
        **more,
    )


M = _substance("cocoa_mass", "cocoa_mass", {"cacao_fat": "0.54", "cocoa_nf_dry": "0.445", "cocoa_water": "0.015"})
CB = _substance("cocoa_butter", "cocoa_butter", {"cacao_fat": "1"})
CP = _substance("cocoa_powder", "cocoa_powder", {"cacao_fat": "0.11", "cocoa_nf_dry": "0.84", "cocoa_water": "0.05"})
S = _substance("sugar", "sugar", {"sweetener_nutritive": "1"})
WMP = _substance(
    "whole_milk_powder",
    "whole_milk",
    {"milk_fat": "0.26", "milk_snf": "0.71", "milk_water": "0.03"},
    allergens=frozenset({"milk"}),
)
SMP = _substance("skimmed_milk_powder", "skim_milk", {"milk_snf": "0.97", "milk_water": "0.03"})
BMP = _substance("dried_buttermilk", "buttermilk", {"milk_fat": "0", "milk_snf": "0.97", "milk_water": "0.03"})
MF = _substance("milk_fat", "milk_fat", {"milk_fat": "1"})
MALT = _substance("malted_milk", "malted_milk", {"milk_fat": "0.08", "milk_snf": "0.2", "other": "0.72"})
WHEY = _substance("whey_powder", "whey", {"other": "1"})
L = _substance(
    "soy_lecithin",
    "emulsifier",
    {"emulsifier": "1"},
    allergens=frozenset({"soy"}),
    e_number="E 322",
    function="emulsifier",
    names={"en": "lecithins (soya)", "en-US": "soy lecithin"},
)
HAZEL = _substance("hazelnuts", "nut", {"nut_other": "1"}, botanical="hazelnut", allergens=frozenset({"hazelnut"}))
HAZEL_FINE = _substance(
    "ground_hazelnuts", "nut_paste", {"nut_ground_fine": "1"}, botanical="hazelnut", allergens=frozenset({"hazelnut"})
)
ALMOND_FINE = _substance("ground_almonds", "nut_paste", {"nut_ground_fine": "1"}, botanical="almond")
SHEA = _substance("shea_fat", "veg_fat", {"veg_fat": "1"}, botanical="shea")
COCONUT_FAT = _substance("coconut_fat", "veg_fat", {"veg_fat": "1"}, botanical="coconut")
COLOUR = _substance("colour", "colour", {"colour": "1"}, pigments=("E 160a",))
FLOUR = _substance("wheat_flour", "starch_flour", {"starch_flour": "1"}, allergens=frozenset({"wheat"}))
FRUIT = _substance("dried_fruit", "fruit", {"other": "1"})
TALLOW = _substance("tallow", "animal_fat", {"animal_fat": "1"})
STEVIA = _substance("steviol", "sweetener_other", {"sweetener_other": "1"}, function="sweetener")
MIMIC = _substance("chocolate_flavour", "flavour", {"flavour": "1"}, mimics=True)
CREAM = _substance("paste", "compound", {"other": "1"})


def chocolate(*uses, role="chocolate", name="chocolate", **more):
    """A section of (substance, grams) pairs."""
    return Section(role=role, name=name, uses=tuple(Use(substance=s, mass_g=D(str(g))) for s, g in uses), **more)


def food(*sections, name="bar", **more):
    pack = more.pop("pack", Pack())
    return Food(key="food", name=name, reserved=more.pop("reserved", {}), sections=sections, pack=pack, **more)


def colour(*pigments, kind="colour", known=True):
    return _substance("dye", kind, {"colour": "1"}, pigments=pigments, ingredient_list_known=known)
