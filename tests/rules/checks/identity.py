"""Reserved names: 21 CFR 163, Directive 2000/36/EC and its UK schedule, Codex, Canada."""

from bloomless.rules.common.identity import facts_for, judge_name, names_of
from bloomless.rules.common.review import review
from bloomless.rules.eu import identity as eu_identity
from rules import foods as f
from rules.checks.register import DARK, TODAY, D, check, more, near, passes


@check(1, "Directive 2000/36/EC Annex I A 3, C; Art. 3(3)")
def dark_in_the_union(on):
    law, bar = on(TODAY), f.chocolate(*DARK)
    facts = facts_for("eu", bar, law)
    near(facts["tdcs_pct"], "69.325")
    near(facts["cacao_fat_pct"], "49.3")
    near(facts["dnfc_pct"], "20.025")
    assert passes("eu.chocolate", bar, law)
    assert passes("eu.couverture", bar, law)
    assert eu_identity.cocoa_solids_minimum_pct(facts["tdcs_pct"]) == 69


@check(2, "21 CFR 163.123(a)(2), (3)")
def dark_in_the_us(on):
    law, bar = on(TODAY), f.chocolate(*DARK)
    near(facts_for("us", bar, law)["liquor_pct"], "45.54")
    assert passes("us.bittersweet", bar, law)
    assert passes("us.semisweet", bar, law)


@check(3, "Directive 2000/36/EC Annex I A 3; 21 CFR 163.123")
def sweet_not_bittersweet(on):
    law, bar = on(TODAY), f.chocolate((f.M, 15), (f.CB, 40), (f.S, 44.5), (f.L, 0.5))
    facts = facts_for("eu", bar, law)
    near(facts["tdcs_pct"], "54.775")
    near(facts["dnfc_pct"], "6.675")
    assert not passes("eu.chocolate", bar, law)
    assert passes("eu.couverture", bar, law)
    near(facts_for("us", bar, law)["liquor_pct"], "15.18")
    assert passes("us.sweet", bar, law)
    assert not passes("us.bittersweet", bar, law)


@check(4, "Directive 2000/36/EC Annex I A 4; 21 CFR 163.130")
def milk_on_both_sides(on):
    law, bar = on(TODAY), f.chocolate((f.M, 12), (f.CB, 22), (f.WMP, 22), (f.S, 43.5), (f.L, 0.5))
    facts = facts_for("eu", bar, law)
    for name, expected in (("tdcs", "33.82"), ("dnfc", "5.34"), ("dms", "21.34"), ("milk_fat", "5.72")):
        near(facts[f"{name}_pct"], expected)
    near(facts["total_fat_pct"], "34.2")
    assert passes("eu.milk", bar, law)
    assert passes("eu.milk_couverture", bar, law)
    near(facts_for("us", bar, law)["liquor_pct"], "12.144")
    assert passes("us.milk", bar, law)


@check(5, "Directive 2000/36/EC Annex I A 4; 21 CFR 163.130(a)")
def milk_in_the_union_only(on):
    law, bar = on(TODAY), f.chocolate((f.M, 9), (f.CB, 22), (f.WMP, 22), (f.S, 46.5), (f.L, 0.5))
    facts = facts_for("eu", bar, law)
    near(facts["tdcs_pct"], "30.865")
    near(facts["dnfc_pct"], "4.005")
    assert passes("eu.milk", bar, law)
    near(facts_for("us", bar, law)["liquor_pct"], "9.108")
    assert not passes("us.milk", bar, law)


@check(6, "21 CFR 163.130(a); Directive 2000/36/EC Annex I A 4")
def milk_in_the_us_only(on):
    law, bar = on(TODAY), f.chocolate((f.M, 10), (f.CB, 12), (f.WMP, 14), (f.S, 63.5), (f.L, 0.5))
    facts = facts_for("us", bar, law)
    near(facts["liquor_pct"], "10.12")
    near(facts["milk_fat_milk_pct"], "3.64")
    near(facts["milk_solids_milk_pct"], "13.58")
    assert passes("us.milk", bar, law)
    union = facts_for("eu", bar, law)
    for name, expected in (("tdcs", "21.85"), ("dms", "13.58"), ("total_fat", "21.04")):
        near(union[f"{name}_pct"], expected)
    assert not passes("eu.milk", bar, law)


@check(7, "21 CFR 163.124(a); Directive 2000/36/EC Annex I A 6")
def white_on_both_sides(on):
    law, bar = on(TODAY), f.chocolate((f.CB, 26), (f.WMP, 24), (f.S, 49.5), (f.L, 0.5))
    facts = facts_for("eu", bar, law)
    near(facts["milk_fat_pct"], "6.24")
    near(facts["dms_pct"], "23.28")
    assert passes("us.white", bar, law)
    assert passes("eu.white", bar, law)


@check(8, "21 CFR 163.124(a); Directive 2000/36/EC Annex I A 6")
def white_too_sweet_for_the_us(on):
    law, bar = on(TODAY), f.chocolate((f.CB, 22), (f.WMP, 21.5), (f.S, 56), (f.L, 0.5))
    assert passes("eu.white", bar, law)
    assert not passes("us.white", bar, law)


@check(9, "21 CFR 163.124(a)(1)")
def white_with_colour(on):
    law, bar = on(TODAY), f.chocolate((f.CB, 26), (f.WMP, 24), (f.S, 49.2), (f.L, 0.5), (f.COLOUR, 0.3))
    assert not passes("us.white", bar, law)


def _with_shea(grams):
    return f.chocolate((f.HAZEL, 30), (f.SHEA, grams), (f.M, 40), (f.S, 30 - grams))


@check(10, "Directive 2000/36/EC Art. 2(1), (2)")
def vegetable_fat_at_the_limit(on):
    law, bar = on(TODAY), _with_shea(3.5)
    near(facts_for("eu", bar, law)["veg_fat_pct"], "5.00")
    assert passes("eu.chocolate", bar, law)
    label = review(f.food(bar, reserved={"eu": "eu.chocolate"}), "eu", TODAY, law=law).label
    assert label.statements.vegetable_fats == "Contains vegetable fats in addition to cocoa butter"


@check(11, "Directive 2000/36/EC Art. 2(1)")
def vegetable_fat_above(on):
    law, bar = on(TODAY), _with_shea(3.6)
    near(facts_for("eu", bar, law)["veg_fat_pct"], "5.142857", "0.00001")
    assert not passes("eu.chocolate", bar, law)


@check(12, "21 CFR 163.153")
def vegetable_fat_in_the_us(on):
    law, bar = on(TODAY), _with_shea(3.5)
    assert not passes("us.sweet", bar, law)
    assert passes("us.sweet_coating", bar, law)
    named = review(f.food(bar), "us", TODAY, law=law).identity
    assert named.name.endswith("and vegetable fat coating")


@check(13, "Directive 2000/36/EC Annex I A 7, 10")
def chocolate_share_of_a_bonbon(on):
    law = on(TODAY)
    for shell, right in ((3.0, True), (2.9, False)):
        section = f.chocolate(*((s, g * shell / 100) for s, g in DARK))
        bonbon = f.food(section, f.chocolate((f.CREAM, 12 - shell), role="filling", name="filling"))
        for name in ("eu.filled", "eu.praline", "uk.filled", "uk.praline"):
            assert passes(name, section, law, bonbon) is right
    near(D("2.9") / 12 * 100, "24.17", "0.005")


@check(14, "Directive 2000/36/EC Annex I B 1")
def other_edibles(on):
    law = on(TODAY)
    for edible, right in ((40, True), (41, False)):
        bar = f.chocolate((f.FRUIT, edible), *((s, g * (100 - edible) / 100) for s, g in DARK))
        assert passes("eu.chocolate", bar, law) is right


@check(15, "Directive 2000/36/EC Annex I A 3(b)")
def gianduja(on):
    law = on(TODAY)
    for nut, right in ((19, False), (20, True), (40, True), (41, False)):
        bar = f.chocolate((f.HAZEL_FINE, nut), *((s, g * (100 - nut) / 100) for s, g in DARK))
        assert passes("eu.gianduja", bar, law) is right
        found = judge_name("eu.gianduja", facts_for("eu", bar, law), law).findings
        assert any("hazelnut" in x.message for x in found) is not right


@check(16, "21 CFR 163.112–163.114")
def cocoa_by_fat(on):
    law = on(TODAY)
    for fat, name in (
        (D("9.9"), "us.lowfat_cocoa"),
        (D(10), "us.cocoa"),
        (D("21.9"), "us.cocoa"),
        (D(22), "us.breakfast_cocoa"),
    ):
        for key in ("us.lowfat_cocoa", "us.cocoa", "us.breakfast_cocoa"):
            assert judge_name(key, {"cacao_fat_pct": fat}, law).passes is (key == name), (fat, key)


NAMES = {
    "us": {
        "us.sweet": "sweet chocolate",
        "us.bittersweet": "bittersweet chocolate",
        "us.semisweet": "semisweet chocolate",
        "us.white": "white chocolate",
        "us.milk": "milk chocolate",
        "us.buttermilk": "buttermilk chocolate",
        "us.skim_milk": "skim milk chocolate",
        "us.mixed_dairy": "milk and skim milk chocolate",
        "us.sweet_coating": "sweet chocolate and vegetable fat coating",
        "us.milk_coating": "milk chocolate and vegetable fat coating",
        "us.cocoa_coating": "sweet cocoa and vegetable fat coating",
        "us.liquor": "unsweetened chocolate",
        "us.nibs": "cacao nibs",
        "us.breakfast_cocoa": "breakfast cocoa",
        "us.cocoa": "cocoa",
        "us.lowfat_cocoa": "lowfat cocoa",
        "us.dss_cocoa": "cocoa with dioctyl sodium sulfosuccinate",
    },
    "eu": {
        "chocolate": "chocolate",
        "vermicelli": "chocolate vermicelli",
        "couverture": "couverture chocolate",
        "gianduja": "gianduja chocolate",
        "milk": "milk chocolate",
        "milk_vermicelli": "milk chocolate vermicelli",
        "milk_couverture": "milk couverture chocolate",
        "milk_gianduja": "milk gianduja chocolate",
        "cream": "cream chocolate",
        "skimmed_milk": "skimmed milk chocolate",
        "family_milk": "family milk chocolate",
        "white": "white chocolate",
        "a_la_taza": "chocolate a la taza",
        "familiar_a_la_taza": "chocolate familiar a la taza",
        "filled": "filled chocolate",
        "praline": "praline",
        "cocoa_butter": "cocoa butter",
        "press_cocoa_butter": "press cocoa butter",
        "cocoa_powder": "cocoa powder",
        "fat_reduced_cocoa": "fat-reduced cocoa powder",
        "powdered_chocolate": "chocolate in powder",
        "drinking_chocolate": "drinking chocolate",
        "quality_chocolate": "chocolate with a quality word",
        "quality_milk": "milk chocolate with a quality word",
        "quality_couverture": "couverture with a quality word",
    },
    "codex": {
        "chocolate": "chocolate",
        "sweet": "sweet chocolate",
        "couverture": "couverture chocolate",
        "milk": "milk chocolate",
        "family_milk": "family milk chocolate",
        "milk_couverture": "milk couverture chocolate",
        "white": "white chocolate",
        "gianduja": "gianduja chocolate",
        "milk_gianduja": "milk gianduja chocolate",
        "filled": "filled chocolate",
    },
    "ca": {"chocolate": "chocolate", "sweet": "sweet chocolate", "milk": "milk chocolate", "white": "white chocolate"},
}


FAMILIES = {
    "white": "white",
    "cocoa_butter": "raw",
    "press_cocoa_butter": "raw",
    "cocoa_powder": "cocoa",
    "fat_reduced_cocoa": "cocoa",
    "powdered_chocolate": "powder",
    "drinking_chocolate": "powder",
    "filled": "piece",
    "praline": "piece",
    "cream": "milk",
    "gianduja": "gianduja",
    "milk_gianduja": "gianduja",
    "a_la_taza": "taza",
    "familiar_a_la_taza": "taza",
    "milk": "milk",
    "chocolate": "dark",
    "vermicelli": "dark",
    "couverture": "dark",
    "sweet": "dark",
    "bittersweet": "dark",
    "semisweet": "dark",
    "buttermilk": "milk",
    "skim_milk": "milk",
    "mixed_dairy": "milk",
    "sweet_coating": "coating",
    "milk_coating": "coating",
    "cocoa_coating": "coating",
    "liquor": "raw",
    "nibs": "raw",
    "breakfast_cocoa": "cocoa",
    "cocoa": "cocoa",
    "lowfat_cocoa": "cocoa",
    "dss_cocoa": "raw",
    "milk_vermicelli": "milk",
    "milk_couverture": "milk",
    "skimmed_milk": "milk",
    "family_milk": "milk",
    "quality_chocolate": "quality",
    "quality_milk": "quality",
    "quality_couverture": "quality",
    "milk_20": "milk",
}


@more
def reserved_names(on):
    law = on(TODAY)
    union = NAMES["eu"]
    wanted = {
        "us": NAMES["us"],
        "eu": {f"eu.{k}": v for k, v in union.items()},
        "uk": {f"uk.{k}": v for k, v in union.items()} | {"uk.milk_20": "milk chocolate (with milk solids declared)"},
        "codex": {f"codex.{k}": v for k, v in NAMES["codex"].items()},
        "ca": {f"ca.{k}": v for k, v in NAMES["ca"].items()},
    }
    for jurisdiction, names in wanted.items():
        found = names_of(jurisdiction, law)
        assert {key: row["name"] for key, row in found.items()} == names
        assert {key.split(".")[1]: row["family"] for key, row in found.items()} == {
            key.split(".")[1]: FAMILIES[key.split(".")[1]] for key in names
        }


@more
def dairy_by_section(on):
    rows = on(TODAY).table("us.dairy").by("kind")
    counted = {
        kind: tuple(name for name in ("sweet", "white", "milk", "buttermilk", "skim") if row[name])
        for kind, row in rows.items()
    }
    assert counted == {
        "milk_fat": ("sweet", "white", "milk"),
        "whole_milk": ("sweet", "white", "milk"),
        "skim_milk": ("sweet", "white", "milk", "skim"),
        "buttermilk": ("sweet", "white", "buttermilk"),
        "malted_milk": ("sweet", "white"),
    }
