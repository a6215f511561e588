"""Checks beyond the 66: the rest of the law's tables, each value typed from the sheet, and who reads them."""

from datetime import date
from decimal import Decimal

import pytest

from bloomless.errors import ImpossibleInput
from bloomless.rules.common import allergens, colours, gs1, hazards, markets
from bloomless.rules.common.filling import filling_target
from bloomless.rules.common.identity import names_of
from bloomless.rules.common.ingredient_list import ingredient_list
from bloomless.rules.common.review import review
from bloomless.rules.eu import net_quantity as eu_net
from bloomless.rules.eu import nutrition as eu_nutrition
from bloomless.rules.food import Nutrients, Pack
from bloomless.rules.us import net_quantity as us_net
from bloomless.rules.us import nutrition as us_nutrition
from bloomless.rules.us import serving as us_serving
from rules import foods as f

D = Decimal
TODAY = date(2026, 11, 25)
MORE = {}

US_WORDS = {
    "milk": "milk",
    "goat milk": "goat milk",
    "egg": "egg",
    "fish": "fish",
    "crustacea": "crustacean shellfish",
    "almond": "almonds",
    "black walnut": "black walnuts",
    "brazil nut": "Brazil nuts",
    "california walnut": "California walnuts",
    "cashew": "cashews",
    "hazelnut": "hazelnuts",
    "heartnut": "heartnuts",
    "macadamia": "macadamia nuts",
    "pecan": "pecans",
    "pine nut": "pine nuts",
    "pistachio": "pistachios",
    "walnut": "walnuts",
    "peanut": "peanuts",
    "wheat": "wheat",
    "spelt": "wheat (spelt)",
    "khorasan": "wheat (khorasan)",
    "soy": "soy",
    "sesame": "sesame",
    "sulphites": "sulfites",
}
US_WERE = {
    "coconut": "coconut",
    "chestnut": "chestnuts",
    "beech nut": "beech nuts",
    "butternut": "butternuts",
    "chinquapin": "chinquapins",
    "ginkgo": "ginkgo nuts",
    "hickory": "hickory nuts",
    "pili": "pili nuts",
    "shea": "shea nuts",
}
EU_WORDS = {
    "milk": "milk",
    "goat milk": "milk",
    "egg": "egg",
    "fish": "fish",
    "crustacea": "crustaceans",
    "mollusc": "molluscs",
    "almond": "almonds",
    "hazelnut": "hazelnuts",
    "walnut": "walnuts",
    "cashew": "cashews",
    "pecan": "pecan nuts",
    "brazil nut": "Brazil nuts",
    "pistachio": "pistachio nuts",
    "macadamia": "macadamia nuts",
    "peanut": "peanuts",
    "wheat": "wheat",
    "spelt": "spelt (wheat)",
    "khorasan": "khorasan wheat",
    "rye": "rye",
    "barley": "barley",
    "oats": "oats",
    "soy": "soya",
    "sesame": "sesame",
    "celery": "celery",
    "mustard": "mustard",
    "lupin": "lupin",
    "sulphites": "sulphites",
}
CA_WORDS = {
    "milk": "milk",
    "goat milk": "milk",
    "egg": "egg",
    "fish": "fish",
    "crustacea": "crustaceans",
    "mollusc": "molluscs",
    "almond": "almonds",
    "hazelnut": "hazelnuts",
    "walnut": "walnuts",
    "cashew": "cashews",
    "pecan": "pecans",
    "brazil nut": "Brazil nuts",
    "pistachio": "pistachios",
    "macadamia": "macadamia nuts",
    "pine nut": "pine nuts",
    "peanut": "peanuts",
    "wheat": "wheat",
    "spelt": "wheat",
    "triticale": "triticale",
    "rye": "rye",
    "barley": "barley",
    "oats": "oats",
    "soy": "soy",
    "sesame": "sesame",
    "mustard": "mustard",
    "sulphites": "sulphites",
}
GROUPS = {
    "us": {
        "milk",
        "egg",
        "fish",
        "crustacean shellfish",
        "tree nuts",
        "peanuts",
        "wheat",
        "soybeans",
        "sesame",
        "sulfites",
    },
    "eu": {
        "milk",
        "eggs",
        "fish",
        "crustaceans",
        "molluscs",
        "nuts",
        "peanuts",
        "cereals containing gluten",
        "soybeans",
        "sesame",
        "celery",
        "mustard",
        "lupin",
        "sulphur dioxide and sulphites",
    },
    "ca": {
        "milk",
        "eggs",
        "fish",
        "crustaceans",
        "molluscs",
        "tree nuts",
        "peanuts",
        "wheat and triticale",
        "gluten sources",
        "soy",
        "sesame",
        "mustard",
        "sulphites",
    },
}


def more(function):
    MORE[function.__name__] = function
    return function


def _one(source):
    return allergens.AllergenSources({source: ("x",)}, {}, ())


@more
def every_allergen_is_named(on):
    law = on(TODAY)
    for jurisdiction, words in (("us", US_WORDS), ("eu", EU_WORDS), ("uk", EU_WORDS), ("ca", CA_WORDS)):
        for source, word in words.items():
            assert allergens.declared(_one(source), jurisdiction, law) == (word,), (jurisdiction, source)
    for jurisdiction, groups in GROUPS.items():
        assert {row["group"] for row in law.rows(f"{jurisdiction}.allergens")} == groups
    assert {row["source"] for row in law.rows("us.not_allergens")} == {*US_WERE, "cola", "palm"}


@more
def allergens_grew_over_the_years(on):
    for source, word in US_WERE.items():
        assert allergens.declared(_one(source), "us", on(date(2025, 1, 5))) == (word,)
        assert allergens.declared(_one(source), "us", on(date(2025, 1, 6))) == ()
    for source in set(US_WORDS) - {"sesame"}:
        assert allergens.listed(source, "us", on(date(2007, 1, 1)))
    assert not allergens.listed("sesame", "us", on(date(2022, 12, 31)))
    assert allergens.listed("sesame", "us", on(date(2023, 1, 1)))
    assert {row["group"] for row in on(date(2020, 1, 1)).rows("us.allergens")} == GROUPS["us"] - {"sesame"}


@more
def exceptions_of_annex_two(on):
    law = on(TODAY)
    for source, name, marked in (
        ("wheat", "glucose syrup", False),
        ("wheat", "dextrose", False),
        ("barley", "glucose syrup", False),
        ("soy", "fully refined soya oil", False),
        ("soy", "natural tocopherols", False),
        ("milk", "lactitol", False),
        ("wheat", "wheat starch", True),
        ("soy", "lecithins", True),
        ("barley", "malt", True),
        ("milk", "lactose", True),
    ):
        thing = f._substance("thing", "other", {"other": "1"}, names={"en": name}, allergens=frozenset({source}))
        found = ingredient_list(f.food(f.chocolate((thing, 10))), "eu", "en-GB", law)
        assert bool(found.emphasised) is marked, (source, name)


@more
def sulphite_level(on):
    assert on(TODAY).figure("eu.sulphite_mg_kg") == 10


# --------------------------------------------------------------- colours
US_COLOURS = {
    "E 129": "Red 40",
    "E 129 lake": "Red 40 Lake",
    "E 102": "Yellow 5",
    "E 102 lake": "Yellow 5 Lake",
    "E 110": "Yellow 6",
    "E 110 lake": "Yellow 6 Lake",
    "E 133": "Blue 1",
    "E 133 lake": "Blue 1 Lake",
    "E 132": "Blue 2",
    "E 127": "Red 3",
    "E 120": "carmine",
    "E 100": "colored with turmeric",
    "E 160a": "colored with beta-carotene",
    "E 160b": "colored with annatto",
    "E 160c": "colored with paprika",
    "E 162": "colored with beet juice",
    "E 163": "colored with fruit juice",
    "spirulina": "colored with spirulina extract",
    "E 150a": "caramel color",
    "E 171": "titanium dioxide (artificial color)",
    "E 172": "iron oxide (artificial color)",
    "E 555": "mica-based pearlescent pigments (artificial color)",
    "E 170": "calcium carbonate (artificial color)",
}
CERTIFIED = {
    "E 129",
    "E 129 lake",
    "E 102",
    "E 102 lake",
    "E 110",
    "E 110 lake",
    "E 133",
    "E 133 lake",
    "E 132",
    "E 127",
}
EU_COLOURS = {
    "E 100": "curcumin",
    "E 102": "tartrazine",
    "E 104": "quinoline yellow",
    "E 110": "sunset yellow FCF",
    "E 120": "carmines",
    "E 122": "carmoisine",
    "E 124": "ponceau 4R",
    "E 129": "allura red AC",
    "E 132": "indigotine",
    "E 133": "brilliant blue FCF",
    "E 140": "chlorophylls",
    "E 141": "copper complexes of chlorophylls",
    "E 150a": "plain caramel",
    "E 153": "vegetable carbon",
    "E 160a": "carotenes",
    "E 160c": "paprika extract",
    "E 160e": "beta-apo-8'-carotenal",
    "E 162": "beetroot red",
    "E 163": "anthocyanins",
    "E 170": "calcium carbonate",
    "E 172": "iron oxides and hydroxides",
    "E 174": "silver",
    "E 175": "gold",
}
SIX = {"E 102", "E 104", "E 110", "E 122", "E 124", "E 129"}


@more
def every_colour_is_named(on):
    law = on(TODAY)
    pearls = {"E 171": "titanium dioxide", "E 555": "potassium aluminium silicate (carrier of pearls)"}
    for jurisdiction, words in (("us", US_COLOURS), ("eu", EU_COLOURS), ("uk", EU_COLOURS | pearls)):
        for pigment, word in words.items():
            assert colours.colour_names(f.colour(pigment), jurisdiction, law) == (word,), (jurisdiction, pigment)
            assert not [x for x in _layer(pigment, jurisdiction, law) if x.rule.endswith("not_listed")]
        assert [x.rule for x in _layer("E 999", jurisdiction, law)] == [f"{jurisdiction}.colour.not_listed"]
    for jurisdiction in ("eu", "uk"):
        for pigment in EU_COLOURS:
            piece = f.food(f.chocolate((f.colour(pigment), 1), role="decoration"))
            assert bool(colours.southern_colours(piece, jurisdiction, law)) is (pigment in SIX)
    assert {r["e_number"] for r in law.rows("us.colours") if r["certified"]} == CERTIFIED


def _layer(pigment, jurisdiction, law, grams=0.0001):
    piece = f.food(
        f.chocolate((f.CB, 100)), f.chocolate((f.CB, 1), (f.colour(pigment), grams), role="decoration", name="x")
    )
    return colours.judge_colours(piece, jurisdiction, law, standardized=False)


@more
def colours_came_and_went(on):
    assert colours.colour_names(f.colour("E 127"), "us", on(date(2027, 1, 15))) == ("Red 3",)
    assert colours.colour_names(f.colour("E 127"), "us", on(date(2027, 1, 16))) == ("E 127",)
    assert colours.colour_names(f.colour("E 171"), "eu", on(date(2022, 8, 7))) == ("titanium dioxide",)
    assert colours.colour_names(f.colour("E 171"), "eu", on(date(2022, 8, 8))) == ("E 171",)
    law = on(TODAY)
    # 500 mg of the six in 1 kg of layer
    assert not [x for x in _layer("E 129", "eu", law, grams=0.0005) if x.rule == "eu.colour.sum"]
    assert [x for x in _layer("E 129", "eu", law, grams=0.00052) if x.rule == "eu.colour.sum"]


# --------------------------------------------------------------- nutrition
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


@more
def factors_of_the_union(on):
    law = on(TODAY)
    for nutrients, kj, kcal in (
        ({"carbohydrate": 10}, 170, 40),
        ({"protein": 10}, 170, 40),
        ({"fat": 10}, 370, 90),
        ({"alcohol": 10}, 290, 70),
        ({"carbohydrate": 10, "polyols": 10}, 100, 24),
        ({"carbohydrate": 10, "fibre": 10}, 80, 20),
        ({"carbohydrate": 10, "organic_acids": 10}, 130, 30),
    ):
        found = eu_nutrition.energy_eu(Nutrients(**{k: D(v) for k, v in nutrients.items()}), law)
        assert found == (D(kj), D(kcal)), nutrients
    rows = law.table("eu.energy").by("nutrient")
    assert (rows["salatrims"]["kj_per_g"], rows["salatrims"]["kcal_per_g"]) == (25, 6)
    assert (rows["erythritol"]["kj_per_g"], rows["erythritol"]["kcal_per_g"]) == (0, 0)


@more
def reference_intakes(on):
    law = on(TODAY)
    whole = Nutrients(fat=D(70), saturated=D(20), carbohydrate=D(260), sugars=D(90), protein=D(50), sodium_mg=D(2400))
    lines = {line.nutrient: line.intake for line in eu_nutrition.eu_panel(whole, D(100), law)}
    for nutrient in ("fat", "saturated", "carbohydrate", "sugars", "protein", "salt"):
        assert lines[nutrient] == "100 %"
    # 2000 kcal of fat alone
    energy = eu_nutrition.eu_panel(Nutrients(fat=D(2000) / 9), D(100), law)[0].intake
    assert energy == "100 %"
    assert {r["nutrient"]: r["value"] for r in law.rows("eu.reference_intakes")}["energy_kj"] == 8400
    assert {r["nutrient"]: r["value"] for r in law.rows("eu.nutrient_reference_values")} == {
        "vitamin_d_ug": 5,
        "potassium_mg": 2000,
        "calcium_mg": 800,
        "iron_mg": 14,
    }
    assert law.figure("eu.significant_share") == 15


@more
def rounding_of_the_union_in_every_band(on):
    law = on(TODAY)
    for line, value, expected in (
        ("energy", "2358.4", "2358 g"),
        ("energy", "25", "25 g"),
        ("fat", "9.5", "9.5 g"),
        ("fat", "25", "25 g"),
        ("fat", "0.49", "0 g"),
        ("fat", "0.52", "0.5 g"),
        ("saturated", "25", "25 g"),
        ("saturated", "0.104", "0.1 g"),
        ("salt", "0.5", "0.50 g"),
        ("salt", "2.5", "2.5 g"),
        ("salt", "0.0129", "0.01 g"),
        ("salt", "0.98", "0.98 g"),
        ("salt", "1.02", "1.0 g"),
        ("fat", "9.7", "9.7 g"),
        ("fat", "10.2", "10 g"),
        ("saturated", "0.096", "0 g"),
        ("salt", "0.0121", "0 g"),
        ("saturated", "10", "10 g"),
        ("salt", "1", "1.0 g"),
        ("saturated", "9.7", "9.7 g"),
        ("saturated", "10.2", "10 g"),
        ("salt", "0.97", "0.97 g"),
    ):
        assert eu_nutrition.eu_amount(line, D(value), law) == expected, (line, value)


# --------------------------------------------------------------- net quantity
@more
def double_sampling(on):
    law = on(TODAY)
    plan = eu_net.double_plan
    for batch, first, accept, reject, second, both, too_many in (
        (100, 30, 1, 3, 30, 4, 5),
        (500, 30, 1, 3, 30, 4, 5),
        (501, 50, 2, 5, 50, 6, 7),
        (3200, 50, 2, 5, 50, 6, 7),
        (3201, 80, 3, 7, 80, 8, 9),
        (490, 30, 1, 3, 30, 4, 5),
        (510, 50, 2, 5, 50, 6, 7),
        (3100, 50, 2, 5, 50, 6, 7),
        (3300, 80, 3, 7, 80, 8, 9),
    ):
        found = plan(batch, accept, law)
        assert (found.first, found.second, found.decision) == (first, second, "accept"), batch
        assert plan(batch, accept + 1, law).decision == "second"
        assert plan(batch, reject, law).decision == "reject"
        assert plan(batch, reject - 1, law).decision == "second"
        assert plan(batch, accept + 1, law, both - accept - 1).decision == "accept"
        assert plan(batch, accept + 1, law, too_many - accept - 1).decision == "reject"
    destructive = law.rows("eu.destructive_plan")[0]
    assert (destructive["sample"], destructive["accept"], destructive["reject"]) == (20, 1, 2)
    rows = {int(r["limit"]): (int(r["accept_both"]), int(r["reject_both"])) for r in law.rows("eu.double_plan")}
    assert rows == {500: (4, 5), 3200: (6, 7), 1_000_000: (8, 9)}
    with pytest.raises(ImpossibleInput):
        plan(99, 0, law)
    plan(101, 0, law)


@more
def handbook_samples(on):
    law = on(TODAY)
    for lot, sample, short in (
        (1, 1, 0),
        (11, 11, 0),
        (12, 12, 0),
        (250, 12, 0),
        (251, 24, 0),
        (3200, 24, 0),
        (3201, 48, 1),
        (245, 12, 0),
        (260, 24, 0),
        (3100, 24, 0),
        (3300, 48, 1),
    ):
        assert us_net.sample_size(lot, law) == (sample, short), lot
    light = [100.0] * 11 + [92.7]
    assert "us.net.mav" in {x.rule for x in us_net.check_lot(D(100), law, net_g=light).findings}
    heavy = [100.9] * 11 + [92.9]
    assert us_net.check_lot(D(100), law, net_g=heavy).passes


@more
def packers_rules(on):
    law = on(TODAY)
    good = eu_net.check_batch(D(100), [100.1] * 40, law)
    assert good.passes
    assert (good.below_tne, good.below_two_tne) == (0, 0)
    # one pack of 40 below 95.5 is 2.5 %, two are 5 %
    assert eu_net.check_batch(D(100), [100.5] * 39 + [95.4], law).passes
    two = eu_net.check_batch(D(100), [100.5] * 38 + [95.4, 95.4], law)
    assert {x.rule for x in two.findings} == {"eu.net.rule_2"}
    three = eu_net.check_batch(D(100), [100.5] * 39 + [90.9], law)
    assert {x.rule for x in three.findings} == {"eu.net.rule_3"}
    # batches at the edge of weighing every pack
    for batch, rejected in ((96, True), (104, False)):
        assert bool(eu_net.reference_mean_test(D(100), law, batch=batch, mean_g=99.9, sd_g=3.0)) is rejected


@more
def filling_targets(on):
    law = on(TODAY)
    weighed = [100.0 + 0.5 * ((n * 7) % 11 - 5) for n in range(22)]
    union = filling_target(D(100), weighed, law, market="eu", batch=80)
    assert union.binding == "the mean"
    assert 100.2 < union.target_g < 100.5
    wide = [100.0 + 2.5 * ((n * 7) % 11 - 5) for n in range(22)]
    tail = filling_target(D(100), wide, law, market="eu", batch=1000)
    assert tail.binding == "the single pack"
    # 2.5 % of packs below 95.5 is z = 1.96; with 95 % chance in a batch of 1000 the share has to be smaller
    assert 95.5 + 1.96 * tail.sd_high_g < tail.target_g < 95.5 + 2.2 * tail.sd_high_g
    assert filling_target(D(100), weighed, law, market="us", batch=200).give_away_g == 0.0


@more
def small_figures(on):
    law = on(TODAY)
    typed = {
        "eu.tne_step_g": "0.1",
        "eu.e_mark_mm": "3",
        "eu.smallest_net_g": "5",
        "eu.largest_net_g": "10000",
        "eu.all_packs_below": "100",
        "eu.mean_confidence": "0.995",
        "eu.packs_below_share": "2.5",
        "us.net_bottom_share": "30",
        "us.net_bottom_waived_in2": "5",
        "us.blown_extra_in": "0.0625",
        "us.cylinder_share": "40",
        "us.wrapped_piece_oz": "0.5",
        "us.hb133_confidence": "0.975",
        "us.tail_pct": "2",
        "eu.water_named_pct": "5",
        "eu.compound_list_pct": "2",
        "us.small_type_in": "0.0625",
        "us.small_format_in2": "40",
        "us.energy_alcohol": "7",
        "us.liquor_factor": "2.2",
        "eu.lot_exempt_cm2": "10",
        "ca.reference_g": "40",
        "gs1.century_window": "51",
        "eu.salt_of_sodium": "2.5",
        "eu.x_height_mm": "1.2",
        "eu.x_height_small_mm": "0.9",
        "eu.x_height_small_below_cm2": "80",
        "eu.short_label_cm2": "10",
    }
    for key, value in typed.items():
        assert law.figure(key) == D(value), key
    assert abs(law.figure("us.oz_per_g") - D("0.035274")) < D("0.0000005")
    assert us_net.panel_area_in2("cylinder", law, height_in=D(4), width_in=D(10)) == 16
    assert us_net.panel_area_in2("rectangle", law, height_in=D(4), width_in=D(10)) == 40


@more
def additive_limits(on):
    law = on(TODAY)
    for e_number, limit in (("E 476", 5), ("E 442", 10), ("E 492", 10)):
        thing = f._substance("gum", "emulsifier", {"emulsifier": "1"}, e_number=e_number, function="emulsifier")
        for grams, right in ((limit, True), (limit * 1.02, False)):
            bar = f.food(f.chocolate((f.M, 600), (f.S, 400 - grams), (thing, grams)))
            found = {x.rule for x in review(bar, "eu", TODAY, law=law).findings}
            assert ("eu.list.additive_limit" not in found) is right, (e_number, grams)


@more
def canadas_symbol(on):
    rows = [(r["limit"], r["closed"], r["percent_dv"]) for r in on(TODAY).rows("ca.front_symbol")]
    assert rows == [(30, True, 10), (1_000_000, True, 15)]


# --------------------------------------------------------------- codes, fillings, names
IDENTIFIERS = {
    "00": ("SSCC", 18, False, True, False),
    "01": ("GTIN", 14, False, True, False),
    "02": ("CONTENT", 14, False, True, False),
    "10": ("BATCH/LOT", 20, True, False, False),
    "11": ("PROD DATE", 6, False, True, True),
    "13": ("PACK DATE", 6, False, True, True),
    "15": ("BEST BEFORE", 6, False, True, True),
    "16": ("SELL BY", 6, False, True, True),
    "17": ("USE BY", 6, False, True, True),
    "21": ("SERIAL", 20, True, False, False),
    "30": ("VAR. COUNT", 8, True, True, False),
    "37": ("COUNT", 8, True, True, False),
    "310": ("NET WEIGHT (kg)", 6, False, True, False),
    "320": ("NET WEIGHT (lb)", 6, False, True, False),
    "414": ("LOC No", 13, False, True, False),
    "422": ("ORIGIN", 3, False, True, False),
}


@more
def identifiers(on):
    law = on(TODAY)
    rows = law.table("gs1.identifiers").by("ai")
    assert {
        k: (r["title"], r["length"], r["variable"], r["numeric"], r["date"]) for k, r in rows.items()
    } == IDENTIFIERS
    both = ("01", "02")
    assert {k: r["needs"] for k, r in rows.items()} == {
        "00": (),
        "01": (),
        "02": ("37",),
        "10": both,
        "11": both,
        "13": both,
        "15": both,
        "16": both,
        "17": both,
        "21": ("01",),
        "30": both,
        "37": ("02+00",),
        "310": both,
        "320": both,
        "414": (),
        "422": both,
    }
    assert {k: r["bars"] for k, r in rows.items() if r["bars"]} == {"01": ("02", "37")}
    gtin = ("01", "09506000134352")
    assert gs1.element_string([("10", "AB12"), gtin, ("15", "270331")], law) == "(01)09506000134352(15)270331(10)AB12"
    scanned = "0109506000134352" + "15270331" + "10AB12\x1d" + "3103000085"
    assert gs1.parse_element_string(scanned, law) == (gtin, ("15", "270331"), ("10", "AB12"), ("3103", "000085"))
    for wrong in (
        [gtin, ("10", "A" * 21)],
        [gtin, ("15", "2703")],
        [gtin, ("30", "x")],
        [("01", "09506000134351")],
        [gtin, ("10", "lot é")],
        [("99", "1")],
    ):
        with pytest.raises(ImpossibleInput):
            gs1.element_string(wrong, law)
    assert {r["prefix"] for r in law.rows("gs1.predefined")} == {
        "00",
        "01",
        "02",
        "03",
        "04",
        *(str(n) for n in range(11, 21)),
        *(str(n) for n in range(31, 37)),
        "41",
    }


@more
def shop_numbers(on):
    law = on(TODAY)
    for prefix in ("02", *(str(n) for n in range(20, 30))):
        data = prefix + "0000000001"
        gtin = data + str(gs1.check_digit(data))
        assert {x.rule for x in gs1.judge_gtin(gtin, law)} == {"gs1.gtin.restricted"}, prefix
        assert gs1.judge_gtin(gtin, law, sold_outside=False) == ()
    for prefix in ("01", "03", "19", "30"):
        data = prefix + "0000000001"
        assert gs1.judge_gtin(data + str(gs1.check_digit(data)), law) == ()


@more
def food_code_tables(on):
    law = on(TODAY)
    for aw, ph, hot, right in (
        ("0.87", "7", False, True),
        ("0.879", "13.9", False, True),
        ("0.88", "5.0", False, True),
        ("0.88", "5.1", False, False),
        ("0.90", "5.0", False, True),
        ("0.90", "5.01", False, False),
        ("0.905", "4.6", False, True),
        ("0.92", "4.6", False, True),
        ("0.92", "4.61", False, False),
        ("0.93", "4.19", False, True),
        ("0.93", "4.2", False, False),
        ("0.92", "9", True, True),
        ("0.93", "5.6", True, True),
        ("0.93", "5.61", True, False),
        ("0.95", "5.6", True, True),
        ("0.951", "4.6", True, True),
        ("0.96", "4.61", True, False),
        ("0.99", "4.61", False, False),
        ("0.90", "4.9", False, True),
        ("0.895", "4.95", False, True),
        ("0.915", "4.55", False, True),
        ("0.91", "4.7", False, False),
        ("0.86", "6", False, True),
        ("1", "4.1", False, True),
        ("1", "4.5", True, True),
        ("0.90", "4.95", False, True),
        ("0.91", "6", True, True),
        ("0.945", "5.5", True, True),
        ("0.955", "5.5", True, False),
        ("0.925", "5.7", True, False),
    ):
        found = hazards.food_code_class(D(aw), D(ph), law, packed_hot=hot)
        assert (found == "non_tcs") is right, (aw, ph, hot)
    for key, limits in (
        ("us.food_code_a", (("0.92", "14"), ("0.95", "5.6"), ("1", "4.6"))),
        ("us.food_code_b", (("0.88", "14"), ("0.90", "5.0"), ("0.92", "4.6"), ("1", "4.2"))),
    ):
        assert [(r["limit"], r["ph_limit"]) for r in law.rows(key)] == [(D(a), D(b)) for a, b in limits]


@more
def cadmium_bands(on):
    law = on(TODAY)
    for family, tdcs, limit in (
        ("milk", "30.5", "0.30"),
        ("milk", "29.5", "0.10"),
        ("dark", "49.5", "0.30"),
        ("dark", "51", "0.80"),
    ):
        assert hazards.cadmium_limit_mg_kg(family, D(tdcs), law) == D(limit)


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


@more
def markets_have_a_jurisdiction(on):
    on(TODAY)
    assert {code: (m.jurisdiction, m.colours) for code, m in markets.MARKETS.items()} == {
        "us": ("us", "us"),
        "eu": ("eu", "eu"),
        "uk": ("uk", "uk"),
        "ni": ("uk", "eu"),
    }


@more
def whole_packs(on):
    law = on(TODAY)
    bar = f.chocolate((f.M, 45), (f.CB, 25), (f.S, 29.5), (f.L, 0.5))
    facts = Pack(net_g=D(12), largest_surface_cm2=D(40))
    found = {x.rule for x in review(f.food(bar, pack=facts), "us", TODAY, law=law).findings}
    assert "us.net.wrapped_piece" in found  # 12 g is 0.42 oz
