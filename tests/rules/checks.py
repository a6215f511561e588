"""The 66 checks of the sheet "rules and labels", section 9, and more like them.

Every expected value is typed from the law or from the sheet's own arithmetic, never computed by the code under test.
Each check takes ``on``, the law of a day, so that a mutated law can be put under the same question.
"""

from datetime import date
from decimal import Decimal

import pytest

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.rules.common import allergens, colours, dates, gs1, hazards
from bloomless.rules.common.identity import facts_for, judge_name
from bloomless.rules.common.review import Confirmed, review
from bloomless.rules.common.type_height import least_x_height_mm
from bloomless.rules.eu import identity as eu_identity
from bloomless.rules.eu import net_quantity as eu_net
from bloomless.rules.eu import nutrition as eu_nutrition
from bloomless.rules.food import Nutrients, Pack
from bloomless.rules.us import net_quantity as us_net
from bloomless.rules.us import nutrition as us_nutrition
from bloomless.rules.us import serving as us_serving
from rules import foods as f

D = Decimal
TODAY = date(2026, 11, 25)
CHECKS = {}


def check(number):
    def keep(function):
        assert number not in CHECKS
        CHECKS[number] = function
        return function

    return keep


def passes(name, section, law, whole=None):
    return judge_name(name, facts_for(name.split(".")[0], section, law, whole), law).passes


def near(value, expected, places="0.0001"):
    assert abs(D(value) - D(expected)) <= D(places), (value, expected)


DARK = ((f.M, 45), (f.CB, 25), (f.S, 29.5), (f.L, 0.5))


# --------------------------------------------------------------- identity
@check(1)
def dark_in_the_union(on):
    law, bar = on(TODAY), f.chocolate(*DARK)
    facts = facts_for("eu", bar, law)
    near(facts["tdcs_pct"], "69.325")
    near(facts["cacao_fat_pct"], "49.3")
    near(facts["dnfc_pct"], "20.025")
    assert passes("eu.chocolate", bar, law)
    assert passes("eu.couverture", bar, law)
    assert eu_identity.cocoa_solids_minimum_pct(facts["tdcs_pct"]) == 69


@check(2)
def dark_in_the_us(on):
    law, bar = on(TODAY), f.chocolate(*DARK)
    near(facts_for("us", bar, law)["liquor_pct"], "45.54")
    assert passes("us.bittersweet", bar, law)
    assert passes("us.semisweet", bar, law)


@check(3)
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


@check(4)
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


@check(5)
def milk_in_the_union_only(on):
    law, bar = on(TODAY), f.chocolate((f.M, 9), (f.CB, 22), (f.WMP, 22), (f.S, 46.5), (f.L, 0.5))
    facts = facts_for("eu", bar, law)
    near(facts["tdcs_pct"], "30.865")
    near(facts["dnfc_pct"], "4.005")
    assert passes("eu.milk", bar, law)
    near(facts_for("us", bar, law)["liquor_pct"], "9.108")
    assert not passes("us.milk", bar, law)


@check(6)
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


@check(7)
def white_on_both_sides(on):
    law, bar = on(TODAY), f.chocolate((f.CB, 26), (f.WMP, 24), (f.S, 49.5), (f.L, 0.5))
    facts = facts_for("eu", bar, law)
    near(facts["milk_fat_pct"], "6.24")
    near(facts["dms_pct"], "23.28")
    assert passes("us.white", bar, law)
    assert passes("eu.white", bar, law)


@check(8)
def white_too_sweet_for_the_us(on):
    law, bar = on(TODAY), f.chocolate((f.CB, 22), (f.WMP, 21.5), (f.S, 56), (f.L, 0.5))
    assert passes("eu.white", bar, law)
    assert not passes("us.white", bar, law)


@check(9)
def white_with_colour(on):
    law, bar = on(TODAY), f.chocolate((f.CB, 26), (f.WMP, 24), (f.S, 49.2), (f.L, 0.5), (f.COLOUR, 0.3))
    assert not passes("us.white", bar, law)


def _with_shea(grams):
    return f.chocolate((f.HAZEL, 30), (f.SHEA, grams), (f.M, 40), (f.S, 30 - grams))


@check(10)
def vegetable_fat_at_the_limit(on):
    law, bar = on(TODAY), _with_shea(3.5)
    near(facts_for("eu", bar, law)["veg_fat_pct"], "5.00")
    assert passes("eu.chocolate", bar, law)
    label = review(f.food(bar, reserved={"eu": "eu.chocolate"}), "eu", TODAY, law=law).label
    assert label.statements.vegetable_fats == "Contains vegetable fats in addition to cocoa butter"


@check(11)
def vegetable_fat_above(on):
    law, bar = on(TODAY), _with_shea(3.6)
    near(facts_for("eu", bar, law)["veg_fat_pct"], "5.142857", "0.00001")
    assert not passes("eu.chocolate", bar, law)


@check(12)
def vegetable_fat_in_the_us(on):
    law, bar = on(TODAY), _with_shea(3.5)
    assert not passes("us.sweet", bar, law)
    assert passes("us.sweet_coating", bar, law)
    named = review(f.food(bar), "us", TODAY, law=law).identity
    assert named.name.endswith("and vegetable fat coating")


@check(13)
def chocolate_share_of_a_bonbon(on):
    law = on(TODAY)
    for shell, right in ((3.0, True), (2.9, False)):
        section = f.chocolate(*((s, g * shell / 100) for s, g in DARK))
        bonbon = f.food(section, f.chocolate((f.CREAM, 12 - shell), role="filling", name="filling"))
        for name in ("eu.filled", "eu.praline", "uk.filled", "uk.praline"):
            assert passes(name, section, law, bonbon) is right
    near(D("2.9") / 12 * 100, "24.17", "0.005")


@check(14)
def other_edibles(on):
    law = on(TODAY)
    for edible, right in ((40, True), (41, False)):
        bar = f.chocolate((f.FRUIT, edible), *((s, g * (100 - edible) / 100) for s, g in DARK))
        assert passes("eu.chocolate", bar, law) is right


@check(15)
def gianduja(on):
    law = on(TODAY)
    for nut, right in ((19, False), (20, True), (40, True), (41, False)):
        bar = f.chocolate((f.HAZEL_FINE, nut), *((s, g * (100 - nut) / 100) for s, g in DARK))
        assert passes("eu.gianduja", bar, law) is right
        found = judge_name("eu.gianduja", facts_for("eu", bar, law), law).findings
        assert any("hazelnut" in x.message for x in found) is not right


@check(16)
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


# --------------------------------------------------------------- US nutrition
def _lines(law, line, unit, pairs):
    for value, expected in pairs:
        assert us_nutrition.line_text(line, D(value), unit, law) == expected, (line, value)


@check(17)
def calories(on):
    law = on(TODAY)
    _lines(
        law,
        "calories",
        "",
        [
            ("2.4", "0"),
            ("4.9", "0"),
            ("47.4", "45"),
            ("47.5", "50"),
            ("50", "50"),
            ("52", "50"),
            ("176.7", "180"),
            ("5", "5"),
            ("54", "50"),
            ("55.1", "60"),
        ],
    )
    assert us_nutrition.calories_lawful(D("4.9"), law) == {"0", "5"}


@check(18)
def fat(on):
    _lines(
        on(TODAY),
        "fat",
        "g",
        [
            ("0.49", "0 g"),
            ("0.5", "0.5 g"),
            ("4.74", "4.5 g"),
            ("4.75", "5 g"),
            ("12.78", "13 g"),
            ("4.99", "5 g"),
            ("5", "5 g"),
            ("5.4", "5 g"),
            ("5.2", "5 g"),
        ],
    )


@check(19)
def cholesterol(on):
    _lines(
        on(TODAY),
        "cholesterol",
        "mg",
        [
            ("1.9", "0 mg"),
            ("2", "less than 5 mg"),
            ("3", "less than 5 mg"),
            ("5", "less than 5 mg"),
            ("5.1", "5 mg"),
            ("7.5", "10 mg"),
        ],
    )


@check(20)
def sodium(on):
    _lines(
        on(TODAY),
        "sodium",
        "mg",
        [
            ("4.9", "0 mg"),
            ("5", "5 mg"),
            ("6", "5 mg"),
            ("138", "140 mg"),
            ("140", "140 mg"),
            ("141", "140 mg"),
            ("145", "150 mg"),
        ],
    )


@check(21)
def fibre(on):
    _lines(
        on(TODAY),
        "carbohydrate",
        "g",
        [
            ("0.4", "0 g"),
            ("0.46", "0 g"),
            ("0.9", "less than 1 g"),
            ("0.5", "less than 1 g"),
            ("0.7", "less than 1 g"),
            ("1", "1 g"),
            ("1.4", "1 g"),
            ("3.06", "3 g"),
        ],
    )


@check(22)
def vitamin_percent(on):
    law = on(TODAY)
    for pct, expected in (
        ("1.4", {"0%", "2%"}),
        ("4.56", {"4%"}),
        ("9.2", {"10%"}),
        ("12.4", {"10%"}),
        ("22.6", {"25%"}),
        ("54", {"50%"}),
        ("2", {"2%"}),
        ("1.99", {"0%"}),
        ("57", {"60%"}),
        ("10", {"10%"}),
        ("48", {"50%"}),
        ("11", {"10%"}),
        ("8.9", {"8%"}),
        ("53", {"50%"}),
        ("46", {"45%"}),
    ):
        assert us_nutrition.vitamin_line("iron_mg", D(pct) * 18 / 100, law).percent in expected, pct


@check(23)
def minerals(on):
    law = on(TODAY)
    for nutrient, value, amount, percent in (
        ("iron_mg", "3.64", "3.6mg", "20%"),
        ("calcium_mg", "21.9", "20mg", "2%"),
        ("potassium_mg", "214.5", "210mg", "4%"),
    ):
        line = us_nutrition.vitamin_line(nutrient, D(value), law)
        # 21.9 of 1300 mg is 1.68 %: by the older table 2 %, by (c)(8)(iii) it may be 0
        assert line.amount == amount
        assert line.percent == percent or (nutrient == "calcium_mg" and line.percent == "0%")
    assert us_nutrition.vitamin_line("vitamin_d_ug", D("1.04"), law).amount == "1mcg"
    assert us_nutrition.vitamin_line("vitamin_d_ug", D("1.06"), law).amount == "1.1mcg"


DARK_100 = Nutrients(
    fat=D("42.6"),
    saturated=D("25.8"),
    carbohydrate=D("43.6"),
    sugars=D("29.6"),
    added_sugars=D("29.6"),
    fibre=D("10.2"),
    protein=D("7.8"),
    sodium_mg=D(8),
)


@check(24)
def dark_table_of_the_union(on):
    lines = {line.nutrient: line.per_100g for line in eu_nutrition.eu_panel(DARK_100, None, on(TODAY))}
    assert lines == {
        "energy": "2358 kJ / 569 kcal",
        "fat": "43 g",
        "saturated": "26 g",
        "carbohydrate": "33 g",
        "sugars": "30 g",
        "fibre": "10 g",
        "protein": "7.8 g",
        "salt": "0.02 g",
    }


@check(25)
def dark_panel_of_the_us(on):
    law = on(TODAY)
    for rounded, fat_pct, sat_pct in ((False, "16%", "39%"), (True, "17%", "40%")):
        panel = us_nutrition.us_panel(DARK_100, D(30), law, percent_of_rounded=rounded)
        lines = {line.nutrient: (line.amount, line.percent) for line in panel.lines}
        assert lines["fat"] == ("13g", fat_pct)
        assert lines["saturated"] == ("8g", sat_pct)
        assert lines["carbohydrate"] == ("13g", "5%")
        assert lines["fibre"] == ("3g", "11%")
        assert lines["sugars"] == ("9g", "")
        assert lines["added_sugars"] == ("9g", "18%")
        assert lines["protein"] == ("2g", "")
        assert lines["sodium_mg"][0] == "0mg"
        assert panel.calories == "180"
    assert us_nutrition.us_panel(DARK_100, D(30), law, method="less_fibre").calories == "160"


@check(26)
def salt_of_the_union(on):
    law = on(TODAY)
    for value, expected in (
        ("0.0125", {"0 g", "<0.01 g"}),
        ("0.013", {"0.01 g"}),
        ("0.994", {"0.99 g"}),
        ("0.996", {"1.00 g", "1.0 g"}),
        ("1.04", {"1.0 g"}),
        ("1.06", {"1.1 g"}),
    ):
        assert eu_nutrition.eu_amount("salt", D(value), law) in expected, value
    assert eu_nutrition.eu_amount("salt", D("0.0125"), law, floor=True) == "<0.01 g"


@check(27)
def fat_of_the_union(on):
    law = on(TODAY)
    for value, expected in (
        ("0.5", {"0 g"}),
        ("0.51", {"0.5 g"}),
        ("9.94", {"9.9 g"}),
        ("9.96", {"10 g"}),
        ("10.4", {"10 g"}),
        ("10", {"10 g"}),
    ):
        assert eu_nutrition.eu_amount("fat", D(value), law) in expected, value
    assert eu_nutrition.eu_amount("fat", D("0.5"), law, floor=True) == "<0.5 g"
    for value, expected in (("0.1", "0 g"), ("0.11", "0.1 g"), ("9.94", "9.9 g"), ("10.4", "10 g"), ("9.8", "9.8 g")):
        assert eu_nutrition.eu_amount("saturated", D(value), law) == expected
    assert eu_nutrition.eu_amount("saturated", D("0.1"), law, floor=True) == "<0.1 g"


@check(28)
def salt_of_sodium(on):
    near(eu_nutrition.salt_g(D(400), on(TODAY)), "1.0", "0")


@check(29)
def tolerance(on):
    law = on(TODAY)
    within = eu_nutrition.within_tolerance
    for line, declared, found, right in (
        ("carbohydrate", "30", "36.0", True),
        ("carbohydrate", "30", "36.1", False),
        ("carbohydrate", "9", "11", True),
        ("carbohydrate", "9", "11.01", False),
        ("carbohydrate", "50", "58", True),
        ("carbohydrate", "50", "58.1", False),
        ("carbohydrate", "9.99", "11.99", True),
        ("carbohydrate", "10", "12.01", False),
        ("carbohydrate", "40", "48", True),
        ("carbohydrate", "10.1", "12.11", True),
        ("carbohydrate", "41", "49.1", False),
        ("carbohydrate", "39.5", "47.5", False),
        ("fat", "9", "10.5", True),
        ("fat", "9", "10.51", False),
        ("fat", "30", "36", True),
        ("fat", "30", "36.1", False),
        ("fat", "50", "58", True),
        ("fat", "50", "58.1", False),
        ("fat", "9.9", "11.41", False),
        ("fat", "10", "12", True),
        ("fat", "10.1", "12.1", True),
        ("fat", "41", "49.1", False),
        ("fat", "39.5", "47.5", False),
        ("saturated", "3", "3.8", True),
        ("saturated", "3", "3.81", False),
        ("saturated", "10", "12", True),
        ("saturated", "10", "12.1", False),
        ("saturated", "3.95", "4.75", True),
        ("saturated", "4.05", "4.86", True),
        ("saturated", "3.95", "4.76", False),
        ("saturated", "4.05", "4.87", False),
        ("saturated", "4", "4.8", True),
        ("salt", "1", "1.375", True),
        ("salt", "1", "1.38", False),
        ("salt", "2", "2.4", True),
        ("salt", "2", "2.41", False),
        ("salt", "1.24", "1.61", True),
        ("salt", "1.26", "1.52", False),
        ("salt", "1.25", "1.6", False),
    ):
        assert within(line, D(declared), D(found), law) is right, (line, declared, found)


@check(30)
def servings_of_pieces(on):
    law = on(TODAY)
    ten = us_serving.serving(D(100), 10, law)
    assert ten.words == "3 pieces (30g)"
    seventeen = us_serving.serving(D(170), 10, law)
    assert {seventeen.words, *seventeen.alternatives} == {"1 piece (17g)", "2 pieces (34g)"}
    fifty = us_serving.serving(D(50), 1, law, unit="bar")
    assert (fifty.words, fifty.servings) == ("1 bar (50g)", "1")


@check(31)
def large_bars(on):
    law = on(TODAY)
    assert us_serving.package_rule(D(85), D(30), law) == "dual_column"
    assert us_serving.serving(D(85), 1, law, unit="bar").dual_column
    hundred = us_serving.serving(D(100), 1, law, unit="bar")
    assert (hundred.words, hundred.servings, hundred.dual_column) == ("1/3 bar (33g)", "3", False)


def _exempt(law, **pack):
    facts = {
        "claim": False,
        "panel": False,
        "sale": "prepacked",
        "seating": False,
        "employees": None,
        "sales_usd": None,
        "units_per_year": None,
        "food_sales_usd": None,
        "label_area_in2": None,
    } | pack
    found = [x for x in law.judge("us", "nutrition_exempt", facts) if not x.unknown]
    assert all(x.severity == "info" for x in found)  # an exemption frees, it never blocks
    return {x.rule for x in found}


@check(32)
def low_volume(on):
    law = on(TODAY)
    free, notice = "us.exempt.low_volume_no_notice", "us.exempt.low_volume"
    assert _exempt(law, employees=8, units_per_year=9_999) == {free}
    assert _exempt(law, employees=8, units_per_year=10_000) == {notice}
    assert _exempt(law, employees=8, units_per_year=100_000) == set()
    assert _exempt(law, employees=8, units_per_year=9_999, claim=True) == set()
    assert _exempt(law, employees=10, units_per_year=9_999) == {notice}
    assert _exempt(law, employees=D("9.9"), units_per_year=9_900) == {free}
    assert _exempt(law, employees=99, units_per_year=99_999) == {notice}
    assert _exempt(law, employees=100, units_per_year=10) == set()
    assert _exempt(law, employees=99, units_per_year=100_000) == set()
    assert _exempt(law, employees=D("10.2"), units_per_year=9_999) == {notice}
    assert _exempt(law, employees=D("9.8"), units_per_year=10_200) == {notice}


@check(33)
def smallest_packs_of_the_union(on):
    law = on(TODAY)
    bar = f.chocolate(*DARK)

    def made(surface, **more):
        return review(
            f.food(bar, pack=Pack(largest_surface_cm2=D(surface), nutrition="exempt", **more)), "eu", TODAY, law=law
        )

    assert made("9").label.short
    assert made("9.9").label.short
    assert not made("10").label.short
    assert "eu.exempt.small_pack" in {x.rule for x in made("24").findings}
    assert "eu.exempt.small_pack" not in {x.rule for x in made("25").findings}
    assert least_x_height_mm(D(79), law) == D("0.9")
    assert least_x_height_mm(D(80), law) == D("1.2")


# --------------------------------------------------------------- allergens, colours
def _sources(**substances):
    section = f.chocolate(*((s, 10) for s in substances.values()))
    return allergens.allergens_in(f.food(section))


def _nut(source):
    return f._substance(
        source.replace(" ", "_"), "nut", {"nut_other": "1"}, allergens=frozenset({source}), botanical=source
    )


@check(34)
def pine_nut(on):
    law = on(TODAY)
    assert allergens.listed("pine nut", "us", law)
    assert allergens.listed("pine nut", "ca", law)
    assert not allergens.listed("pine nut", "eu", law)
    assert allergens.declared(_sources(a=_nut("pine nut")), "us", law) == ("pine nuts",)


@check(35)
def coconut(on):
    law = on(TODAY)
    assert allergens.declared(_sources(a=_nut("coconut")), "us", law) == ()
    # before edition 5 of the guidance it was a tree nut
    assert allergens.declared(_sources(a=_nut("coconut")), "us", on(date(2025, 1, 5))) == ("coconut",)
    assert allergens.declared(_sources(a=_nut("coconut")), "us", on(date(2025, 1, 6))) == ()


@check(36)
def soy_lecithin(on):
    law = on(TODAY)
    bar = f.food(f.chocolate(*DARK))
    assert review(bar, "us", TODAY, law=law).label.contains == ("soy",)
    union = review(bar, "eu", TODAY, law=law).label
    assert union.ingredients.emphasised == ("soya",)
    assert union.contains == ()


@check(37)
def red_40(on):
    law = on(TODAY)
    piece = f.food(f.chocolate(*DARK), f.chocolate((f.CB, 1), (f.colour("E 129"), 0.1), role="decoration", name="dots"))
    assert colours.southern_colours(piece, "eu", law) == ("allura red AC",)
    said = review(piece, "eu", TODAY, law=law).label.statements.attention
    assert said == "allura red AC: may have an adverse effect on activity and attention in children"
    assert colours.colour_names(f.colour("E 129"), "us", law) == ("Red 40",)
    assert colours.colour_names(f.colour("E 129 lake"), "us", law) == ("Red 40 Lake",)
    facts = {
        "southern": True,
        "warned": False,
        "pigment": "E 129",
        "listed": True,
        "colour": "dye",
        "section": "dots",
        "group_three_mg_kg": D(10),
        "pearl_on_iron_oxide": False,
    }
    for j in ("eu", "uk"):
        assert {x.rule for x in law.judge(j, "colours", facts)} == {f"{j}.colour.six"}


def _coloured(pigment, where, grams, jurisdiction, law, standardized=True, kind="colour"):
    dye = (f.colour(pigment, kind=kind), grams)
    if where == "mass":
        piece = f.food(f.chocolate(*DARK, dye))
    else:
        piece = f.food(f.chocolate(*DARK), f.chocolate((f.CB, 0.001), dye, role="decoration", name="layer"))
    return {
        (x.rule, str(x.severity)) for x in colours.judge_colours(piece, jurisdiction, law, standardized=standardized)
    }


@check(38)
def titanium_and_mica(on):
    law = on(TODAY)
    assert ("eu.colour.titanium", "block") in _coloured("E 171", "layer", 0.5, "eu", law)
    assert ("eu.colour.pearl", "block") in _coloured("E 555", "layer", 0.5, "eu", law)
    assert _coloured("E 555+E 172", "layer", 0.5, "eu", law) == set()
    assert _coloured("E 171", "layer", 0.5, "uk", law) == set()
    assert _coloured("E 555", "layer", 0.5, "uk", law) == set()
    # the US: up to 1 and 1.25 % on a layer that is no standardized food
    assert _coloured("E 171", "layer", 0.99, "us", law, standardized=False) == set()
    assert _coloured("E 171", "layer", 1.03, "us", law, standardized=False) == {("us.colour.titanium_share", "block")}
    assert _coloured("E 555", "layer", 1.25, "us", law, standardized=False) == set()
    assert _coloured("E 555", "layer", 1.29, "us", law, standardized=False) == {("us.colour.mica_share", "block")}
    for pigment in ("E 171", "E 555"):
        assert ("us.colour.in_standardized", "block") in _coloured(pigment, "mass", 0.5, "us", law)
        assert _coloured(pigment, "layer", 0.5, "us", law, kind="dust") == {("us.colour.on_standardized", "warn")}
        assert _coloured(pigment, "layer", 0.5, "us", law) == set()
    # before Reg. (EU) 2022/63 bit, titanium was a colour like others
    assert _coloured("E 171", "layer", 0.5, "eu", on(date(2022, 8, 7))) == set()


@check(39)
def dust_without_list(on):
    law = on(TODAY)
    dust = f.colour(kind="dust", known=False)
    piece = f.food(f.chocolate(*DARK), f.chocolate((dust, 0.1), role="decoration", name="dust"))
    for j in ("us", "eu", "uk"):
        found = colours.judge_colours(piece, j, law, standardized=True)
        assert {(x.rule, str(x.severity)) for x in found} == {(f"{j}.dust.no_list", "block")}


@check(40)
def action_levels(on):
    law = on(TODAY)
    near(allergens.action_level_mg_kg("hazelnut", D(30), law), "100", "0")
    near(allergens.action_level_mg_kg("milk", D(25), law), "80", "0")
    for source, mg in (
        ("walnut", "1"),
        ("pecan", "1"),
        ("cashew", "1"),
        ("pistachio", "1"),
        ("almond", "1"),
        ("peanut", "2"),
        ("egg", "2"),
        ("milk", "2"),
        ("sesame", "2"),
        ("hazelnut", "3"),
        ("wheat", "5"),
        ("fish", "5"),
        ("crustacea", "200"),
    ):
        near(allergens.action_level_mg_kg(source, D(1000), law), mg, "0")
    strict = "allergens.reference_dose_strict"
    for source, mg in (
        ("peanut", "1.1"),
        ("milk", "1.2"),
        ("egg", "0.3"),
        ("hazelnut", "0.5"),
        ("cashew", "0.6"),
        ("almond", "0.5"),
        ("walnut", "0.5"),
        ("pecan", "0.5"),
        ("pistachio", "0.5"),
        ("macadamia", "0.5"),
        ("brazil nut", "0.5"),
        ("soy", "2.9"),
        ("wheat", "1.3"),
        ("sesame", "0.4"),
        ("mustard", "0.1"),
        ("lupin", "4.5"),
    ):
        near(allergens.action_level_mg_kg(source, D(1000), law, doses=strict), mg, "0")


# --------------------------------------------------------------- net quantity
@check(41)
def tolerable_errors(on):
    law = on(TODAY)
    for qn, expected in (
        (10, "0.9"),
        (40, "3.6"),
        (50, "4.5"),
        (75, "4.5"),
        (100, "4.5"),
        (150, "6.8"),
        (200, "9"),
        (250, "9"),
        (400, "12"),
        (750, "15"),
        (51, "4.5"),
        (49, "4.5"),
        (101, "4.6"),
        (98, "4.5"),
        (103, "4.7"),
        (196, "8.9"),
        (290, "9"),
        (310, "9.3"),
        (490, "14.7"),
        (510, "15"),
        (990, "15"),
        (1030, "15.5"),
        (2000, "30"),
        (300, "9"),
        (9900, "148.5"),
        (5, "0.5"),
        (48, "4.4"),
        (208, "9"),
        (90, "4.5"),
    ):
        assert eu_net.tolerable_negative_error_g(D(qn), law) == D(expected), qn
    for outside in (D("4.9"), D(10_001)):
        with pytest.raises(ImpossibleInput):
            eu_net.tolerable_negative_error_g(outside, law)
    eu_net.tolerable_negative_error_g(D(10_000), law)


@check(42)
def no_e_mark(on):
    law = on(TODAY)
    assert not eu_net.may_carry_e_mark(D("90.9"), D(100), law)
    assert eu_net.may_carry_e_mark(D("91.0"), D(100), law)


@check(43)
def mean_test(on):
    law = on(TODAY)
    near(D(eu_net.mean_limit_g(100.0, 1.0, 30, law)), "99.497", "0.0005")
    near(D(eu_net.mean_limit_g(100.0, 1.5, 30, law)), "99.245", "0.001")
    near(D(100 - eu_net.mean_limit_g(100.0, 1.0, 50, law)), "0.379", "0.0005")
    near(D(100 - eu_net.mean_limit_g(100.0, 1.0, 20, law)), "0.640", "0.0005")
    assert eu_net.reference_mean_test(D(100), law, batch=300, mean_g=99.4, sd_g=1.0)
    assert not eu_net.reference_mean_test(D(100), law, batch=300, mean_g=99.4, sd_g=1.5)
    # sample of 30 for 100 to 500 packs, of 50 above: 0.503·s and 0.379·s
    for batch, limit in ((490, 99.497), (510, 99.621), (500, 99.497), (100, 99.497)):
        assert eu_net.reference_mean_test(D(100), law, batch=batch, mean_g=limit - 0.002, sd_g=1.0), batch
        assert not eu_net.reference_mean_test(D(100), law, batch=batch, mean_g=limit + 0.002, sd_g=1.0), batch


@check(44)
def variation_allowed(on):
    law = on(TODAY)
    for label, expected in (
        (30, "3.0"),
        (40, "3.6"),
        (100, "7.2"),
        (200, "10.8"),
        (36, "3.6"),
        (37, "3.6"),
        (35, "3.5"),
        (53, "3.6"),
        (54, "3.6"),
        (55, "5.4"),
        (80, "5.4"),
        (81, "5.4"),
        (82, "7.2"),
        (116, "7.2"),
        (117, "7.2"),
        (118, "9.0"),
        (154, "9.0"),
        (155, "10.8"),
        (208, "10.8"),
        (209, "12.7"),
        (263, "12.7"),
        (264, "14.5"),
        (317, "14.5"),
        (318, "16.3"),
        (381, "16.3"),
        (382, "18.1"),
        (426, "18.1"),
        (427, "19.9"),
        (489, "19.9"),
    ):
        near(us_net.maximum_allowable_variation_g(D(label), law), expected, "0")


@check(45)
def handbook_mean(on):
    law = on(TODAY)
    with pytest.raises(OutsideValidity):
        us_net.maximum_allowable_variation_g(D(490), law)
    near(D(us_net.sample_correction(12, law)) * D("0.7"), "0.4445", "0.0005")
    assert not us_net.check_lot(D(100), law, summary=(12, -0.5, 0.7)).passes
    passed = us_net.check_lot(D(100), law, summary=(12, -0.5, 0.9))
    assert passed.passes
    near(D(passed.facts["mean_error_plus_limit_g"]), "0.0715", "0.0005")
    for n, factor in ((2, "8.985"), (5, "1.242"), (10, "0.715"), (24, "0.422"), (48, "0.290")):
        near(D(us_net.sample_correction(n, law)), factor, "0.0006")


@check(46)
def figure_heights(on):
    law = on(TODAY)
    for net, mm in (
        (50, 2),
        (51, 3),
        (200, 3),
        (201, 4),
        (49, 2),
        (195, 3),
        (205, 4),
        (1000, 4),
        (1001, 6),
        (980, 4),
        (1020, 6),
    ):
        assert eu_net.figure_height_mm(D(net), law) == mm, net


@check(47)
def panel_heights(on):
    law = on(TODAY)
    for area, inches in (
        ("5", "0.0625"),
        ("6", "0.125"),
        ("26", "0.1875"),
        ("101", "0.25"),
        ("401", "0.5"),
        ("4.9", "0.0625"),
        ("5.1", "0.125"),
        ("25", "0.125"),
        ("24.5", "0.125"),
        ("25.5", "0.1875"),
        ("100", "0.1875"),
        ("98", "0.1875"),
        ("102", "0.25"),
        ("400", "0.25"),
        ("392", "0.25"),
        ("408", "0.5"),
    ):
        assert us_net.net_height_in(D(area), law) == D(inches), area
    assert us_net.net_height_in(D(5), law, blown=True) == D("0.125")


@check(48)
def ounces(on):
    law = on(TODAY)
    assert us_net.net_words(D(100), law) == "Net Wt 3.52 oz (100 g)"
    assert us_net.net_words(D(85), law) == "Net Wt 2.99 oz (85 g)"
    assert us_net.net_words(D(681), law) == "Net Wt 24.02 oz (1 lb 8.02 oz; 681 g)"


# --------------------------------------------------------------- codes and dates
@check(49)
def check_digits(on):
    on(TODAY)
    assert gs1.check_digit("950600013435") == 2
    assert gs1.check_digit("629104150021") == 3
    assert gs1.check_digit("9638507") == 4


@check(50)
def gtin_14(on):
    on(TODAY)
    assert gs1.check_digit("1950600013435") == 9
    assert gs1.checked_gtin("19506000134359")


@check(51)
def wrong_gtin(on):
    assert not gs1.checked_gtin("6291041500214")
    assert {x.rule for x in gs1.judge_gtin("6291041500214", on(TODAY))} == {"gs1.gtin.check"}
    assert gs1.judge_gtin("6291041500213", on(TODAY)) == ()


@check(52)
def day_00(on):
    law = on(TODAY)
    assert gs1.date_from_yymmdd("270200", law, today=TODAY) == date(2027, 2, 28)
    # 2026: 76 is 50 years ahead, 77 is 51 ahead and belongs to the century before
    assert gs1.date_from_yymmdd("760101", law, today=TODAY) == date(2076, 1, 1)
    assert gs1.date_from_yymmdd("770101", law, today=TODAY) == date(1977, 1, 1)


@check(53)
def net_mass_element(on):
    on(TODAY)
    near(gs1.mass_kg("3103", "000085"), "0.085", "0")


@check(54)
def date_forms(on):
    law = on(TODAY)
    for months, form in (
        (2, "day_month"),
        (12, "month_year"),
        (24, "year"),
        (3, "day_month"),
        ("3.05", "month_year"),
        (18, "month_year"),
        ("18.1", "year"),
    ):
        assert dates.date_form(D(months), law) == form, months


@check(55)
def lot_due(on):
    law = on(TODAY)
    assert not dates.lot_mark_due("day_month_year", law)
    assert dates.lot_mark_due("month_year", law)
    facts = {
        "date_known": True,
        "printed_form": "month_year",
        "lawful_forms": {"month_year"},
        "lot_due": True,
        "lot": "",
        "lot_known": False,
        "lot_distinct": False,
        "moist_filling": False,
        "keeps_because": False,
    }
    for j in ("eu", "uk"):
        assert {x.rule for x in law.judge(j, "dates", facts)} == {f"{j}.lot.missing"}
        wrong = facts | {"lot": "26-1", "lot_known": True}
        assert {x.rule for x in law.judge(j, "dates", wrong)} == {f"{j}.lot.prefix"}
        assert law.judge(j, "dates", facts | {"lot_due": False}) == ()
    assert not dates.lot_mark_due("", law, largest_surface_cm2=D("9.9"))
    assert dates.lot_mark_due("", law, largest_surface_cm2=D(10))


# --------------------------------------------------------------- limits
@check(56)
def cadmium(on):
    law = on(TODAY)
    for family, tdcs, limit in (
        ("milk", "29", "0.10"),
        ("milk", "30", "0.30"),
        ("dark", "50", "0.80"),
        ("dark", "49.9", "0.30"),
        ("milk", "29.9", "0.10"),
        ("dark", "70", "0.80"),
        ("powder", "100", "0.60"),
    ):
        near(hazards.cadmium_limit_mg_kg(family, D(tdcs), law), limit, "0")


@check(57)
def filling_086(on):
    law = on(TODAY)
    assert hazards.food_code_class(D("0.86"), D("5.5"), law) == "non_tcs"
    facts = {
        "has_filling": True,
        "filling_water": "moist",
        "filling_aw": D("0.86"),
        "filling_ph": D("5.5"),
        "food_code": "non_tcs",
    }
    found = {(x.rule, str(x.severity)) for x in law.judge("us", "hazards", facts) if not x.unknown}
    assert found == {("us.hazard.canned_line", "warn")}


@check(58)
def filling_093(on):
    law = on(TODAY)
    assert hazards.food_code_class(D("0.93"), D("4.9"), law) == "assess"
    facts = {
        "has_filling": True,
        "filling_water": "moist",
        "filling_aw": D("0.93"),
        "filling_ph": D("4.9"),
        "keeps_days": 60,
        "has_alcohol": False,
        "polyols_pct": D(0),
    }
    for j in ("eu", "uk"):
        assert f"{j}.hazard.listeria" not in {x.rule for x in law.judge(j, "hazards", facts)}


@check(59)
def meat(on):
    law = on(TODAY)
    for share, right in (("1.9", True), ("2.0", False)):
        found = {
            x.rule for x in law.judge("us", "hazards", {"has_meat": True, "cooked_meat_pct": D(share)}) if not x.unknown
        }
        assert ("us.hazard.meat" not in found) is right


@check(60)
def alcohol(on):
    law = on(TODAY)
    strength = hazards.alcohol_pct_vol(D("0.3"), D(100), D("1.2"))
    near(strength, "0.456", "0.0005")
    facts = {"has_alcohol": True, "state_permits": False, "alcohol_pct_vol": strength, "alcohol_from_extracts": True}
    assert not {x.rule for x in law.judge("us", "hazards", facts) if "alcohol" in x.rule}
    spirits = facts | {"alcohol_from_extracts": False}
    assert "us.hazard.alcohol_source" in {x.rule for x in law.judge("us", "hazards", spirits)}


@check(61)
def traceability_list(on):
    law = on(TODAY)
    paste = f._substance("pistachio_paste", "nut_paste", {"nut_ground_fine": "1"}, botanical="pistachio")
    seed = f._substance("sesame_paste", "seed_paste", {"other": "1"})
    for substance, flagged in ((paste, True), (seed, False)):
        piece = f.food(f.chocolate(*DARK), f.chocolate((substance, 5), role="filling", name="filling"))
        found = {x.rule for x in hazards.judge_hazards(piece, "us", law)}
        assert ("us.hazard.trace_list" in found) is flagged


@check(62)
def rework(on):
    law = on(TODAY)
    plain = f.food(f.chocolate(*DARK), rework_allergens=frozenset({"hazelnut"}))
    assert allergens.declared(allergens.allergens_in(plain), "us", law) == ("hazelnuts", "soy")
    confirmed = Confirmed(frozenset({"soy"}))
    found = {x.rule: str(x.severity) for x in review(plain, "us", TODAY, confirmed=confirmed, law=law).findings}
    assert found["allergen.changed"] == "block"


@check(63)
def buttermilk_is_not_milk(on):
    law = on(TODAY)
    bar = f.chocolate((f.M, 12), (f.CB, 22), (f.WMP, 8), (f.BMP, 14), (f.S, 43.5), (f.L, 0.5))
    facts = facts_for("us", bar, law)
    near(facts["milk_fat_milk_pct"], "2.08")
    near(facts["milk_solids_milk_pct"], "7.76")
    assert not passes("us.milk", bar, law)


@check(64)
def too_much_lecithin(on):
    law = on(TODAY)
    assert not passes("us.bittersweet", f.chocolate((f.M, 45), (f.CB, 25), (f.S, 28.7), (f.L, 1.3)), law)
    assert passes("us.white", f.chocolate((f.CB, 26), (f.WMP, 24), (f.S, 48.7), (f.L, 1.3)), law)


@check(65)
def pairings(on):
    law = on(TODAY)
    for elements in ([("10", "AB12")], [("01", "09506000134352"), ("37", "12")]):
        with pytest.raises(ImpossibleInput) as error:
            gs1.element_string(elements, law)
        assert error.value.code == "gs1_pairing"


@check(66)
def small_batch(on):
    law = on(TODAY)
    assert eu_net.reference_mean_test(D(100), law, batch=80, mean_g=99.99)
    assert not eu_net.reference_mean_test(D(100), law, batch=80, mean_g=100.0)
    assert eu_net.reference_mean_test(D(100), law, batch=99, mean_g=99.99, sd_g=9.0)
    assert not eu_net.reference_mean_test(D(100), law, batch=102, mean_g=99.99, sd_g=9.0)
