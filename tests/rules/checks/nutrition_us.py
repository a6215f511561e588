"""Nutrition Facts: rounding, daily values, energy, servings and exemptions of 21 CFR 101."""

from datetime import date

from bloomless.rules.food import Nutrients
from bloomless.rules.us import nutrition as us_nutrition
from bloomless.rules.us import serving as us_serving
from rules.checks.register import DARK_100, TODAY, D, check, more


def _lines(law, line, unit, pairs):
    for value, expected in pairs:
        assert us_nutrition.line_text(line, D(value), unit, law) == expected, (line, value)


@check(17, "21 CFR 101.9(c)(1)")
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


@check(18, "21 CFR 101.9(c)(2)")
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


@check(19, "21 CFR 101.9(c)(3)")
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


@check(20, "21 CFR 101.9(c)(4)")
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


@check(21, "21 CFR 101.9(c)(6)(i)")
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


@check(22, "21 CFR 101.9(c)(8)(iii)")
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


@check(23, "21 CFR 101.9(c)(8)(iii), (iv); the step of calcium and potassium from memory")
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


@check(25, "21 CFR 101.9(c), (d); percent of the rounded amount, (d)(7)(ii), from memory")
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


@check(30, "21 CFR 101.9(b)(2)(i); 101.12(b)")
def servings_of_pieces(on):
    law = on(TODAY)
    ten = us_serving.serving(D(100), 10, law)
    assert ten.words == "3 pieces (30g)"
    seventeen = us_serving.serving(D(170), 10, law)
    assert {seventeen.words, *seventeen.alternatives} == {"1 piece (17g)", "2 pieces (34g)"}
    fifty = us_serving.serving(D(50), 1, law, unit="bar")
    assert (fifty.words, fifty.servings) == ("1 bar (50g)", "1")


@check(31, "21 CFR 101.9(b)(6), (12); the fractions of (b)(2)(ii) from memory")
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


@check(32, "21 CFR 101.9(j)(18)")
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


@more
def daily_values(on):
    law, then = on(TODAY), on(date(2015, 6, 1))
    now = {
        "fat": 78,
        "saturated": 20,
        "cholesterol_mg": 300,
        "sodium_mg": 2300,
        "carbohydrate": 275,
        "fibre": 28,
        "added_sugars": 50,
        "protein": 50,
        "vitamin_d_ug": 20,
        "calcium_mg": 1300,
        "iron_mg": 18,
        "potassium_mg": 4700,
    }
    old = {
        "fat": 65,
        "saturated": 20,
        "cholesterol_mg": 300,
        "sodium_mg": 2400,
        "carbohydrate": 300,
        "fibre": 25,
        "protein": 50,
        "calcium_mg": 1000,
        "iron_mg": 18,
        "potassium_mg": 3500,
    }
    for day, values in ((law, now), (then, old)):
        for nutrient, value in values.items():
            assert us_nutrition.daily_percent(nutrient, D(value), day) == "100%"
    assert us_nutrition.daily_percent("added_sugars", D(50), then) == ""
    assert us_nutrition.daily_percent("trans", D(1), law) == ""


@more
def energy_factors_of_the_us(on):
    law = on(TODAY)
    for nutrient, kcal in (("protein", 4), ("carbohydrate", 4), ("fat", 9), ("alcohol", 7)):
        assert us_nutrition.energy_kcal(Nutrients(**{nutrient: D(10)}), law) == 10 * kcal
    special = {row["nutrient"]: row["kcal_per_g"] for row in law.rows("us.energy_special")}
    assert special == {
        "isomalt": D(2),
        "lactitol": D(2),
        "xylitol": D("2.4"),
        "maltitol": D("2.1"),
        "sorbitol": D("2.6"),
        "hydrogenated_starch_hydrolysate": D(3),
        "mannitol": D("1.6"),
        "erythritol": D("0.2"),
        "soluble_fibre": D(2),
    }
    polyol = Nutrients(carbohydrate=D(10), polyols=D(10))
    assert us_nutrition.energy_kcal(polyol, law, "less_fibre") == 26


@more
def mineral_steps(on):
    law = on(TODAY)
    for nutrient, value, amount in (
        ("calcium_mg", "264", "260mg"),
        ("calcium_mg", "266", "270mg"),
        ("calcium_mg", "1250", "1250mg"),
        ("potassium_mg", "1204", "1200mg"),
        ("potassium_mg", "1206", "1210mg"),
        ("iron_mg", "1.04", "1mg"),
        ("iron_mg", "10.5", "10.5mg"),
        ("vitamin_d_ug", "10.5", "10.5mcg"),
        ("potassium_mg", "2500", "2500mg"),
    ):
        assert us_nutrition.vitamin_line(nutrient, D(value), law).amount == amount
    labels = [line.label for line in us_nutrition.us_panel(Nutrients(), D(30), law).vitamins]
    assert labels == ["Vitamin D", "Calcium", "Iron", "Potassium"]


@more
def large_amounts_round_to_their_step(on):
    law = on(TODAY)
    for line, value, expected in (
        ("calories", "1050", "1050"),
        ("calories", "40", "40"),
        ("fat", "25", "25"),
        ("fat", "4.5", "4.5"),
        ("cholesterol", "125", "125"),
        ("sodium", "135", "135"),
        ("sodium", "1010", "1010"),
        ("carbohydrate", "25", "25"),
        ("calories", "50.1", "50"),
        ("calories", "5.1", "5"),
        ("calories", "48.9", "50"),
        ("calories", "51.5", "50"),
        ("cholesterol", "5.1", "5"),
    ):
        assert us_nutrition.line_text(line, D(value), "", law) == expected, (line, value)


@more
def reference_amounts(on):
    law = on(TODAY)
    for category, grams in (
        ("candy", 30),
        ("after_dinner", 10),
        ("baking_candies", 15),
        ("hard_candy", 15),
        ("breath_mint", 2),
        ("roll_mini", 5),
        ("marshmallow", 30),
        ("confectioners_sugar", 30),
        ("baking_decoration", 4),
    ):
        assert us_serving.racc_g(category, law) == grams
    assert us_serving.racc_g("candy", on(date(2019, 12, 31))) == 40  # the edition of 2015: a trap


@more
def servings_by_grams(on):
    law = on(TODAY)
    for pack, pieces, words, count in (
        ("64", 20, "9 pieces (29g)", "about 2"),
        ("1200", 400, "10 pieces (30g)", "40"),
        ("70", 7, "3 pieces (30g)", "about 2.5"),
        ("95", 10, "3 pieces (29g)", "about 3.5"),
        ("240", 8, "1 piece (30g)", "8"),
        ("165", 11, "2 pieces (30g)", "about 6"),
        ("300", 20, "2 pieces (30g)", "10"),
        ("160", 10, "1 piece (16g)", "10"),
        ("400", 20, "1 piece (20g)", "20"),
        ("402", 20, "1 piece (20g)", "20"),
        ("205", 10, "1 piece (21g)", "10"),
        ("590", 10, "1 piece (59g)", "10"),
        ("198", 10, "1 piece (20g)", "10"),
        ("130", 9, "2 pieces (29g)", "about 4.5"),
        ("61", 2, "1 piece (31g)", "2"),
    ):
        found = us_serving.serving(D(pack), pieces, law)
        assert (found.words, found.servings) == (words, count), (pack, pieces, found)
    assert us_serving.serving(D(198), 10, law).alternatives == ("2 pieces (40g)",)
    assert us_serving.serving(D(205), 10, law).alternatives == ()
    assert us_serving.serving(D("151.5"), 10, law).alternatives == ("2 pieces (30g)",)
    small = us_serving.serving(D(30), 20, law, category="breath_mint")
    assert small.words == "1 piece (1.5g)"
    assert us_serving.serving(D(44), 20, law, category="breath_mint").words == "1 piece (2g)"
    assert us_serving.serving(D(66), 20, law, category="roll_mini").words == "1 piece (3.5g)"
    assert us_serving.serving(D(96), 20, law, category="roll_mini").words == "1 piece (5g)"
    assert us_serving.serving(D(108), 20, law, category="roll_mini").words == "1 piece (5g)"
    assert us_serving.serving(D(90), 20, law, category="roll_mini").words == "1 piece (4.5g)"
    assert us_serving.serving(D(104), 20, law, category="roll_mini").words == "1 piece (5g)"
    assert us_serving.serving(D("35.2"), 20, law, category="breath_mint").words == "1 piece (1.8g)"
    assert us_serving.serving(D("38.6"), 20, law, category="breath_mint").words == "1 piece (1.9g)"
    assert us_serving.serving(D("96.8"), 20, law, category="roll_mini").words == "1 piece (5g)"


@more
def shares_of_the_reference_amount(on):
    law = on(TODAY)
    for net, rule in (
        ("59", "single"),
        ("59.9", "single"),
        ("60", "dual_column"),
        ("61", "dual_column"),
        ("90", "dual_column"),
        ("89", "dual_column"),
        ("90.5", "multiple"),
        ("92", "multiple"),
        ("58", "single"),
    ):
        assert us_serving.package_rule(D(net), D(30), law) == rule, net
    for net, words in (
        ("60", "1/2 bar (30g)"),
        ("90", "1/3 bar (30g)"),
        ("120", "1/4 bar (30g)"),
        ("150", "1/5 bar (30g)"),
        ("180", "1/6 bar (30g)"),
        ("240", "1/8 bar (30g)"),
        ("270", "1/9 bar (30g)"),
        ("300", "1/10 bar (30g)"),
        ("360", "1/12 bar (30g)"),
    ):
        assert us_serving.serving(D(net), 1, law, unit="bar").words == words
