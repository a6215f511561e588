"""Nutrition of the Union and the UK: energy, rounding, tolerances, the smallest packs."""

from bloomless.rules.common.review import review
from bloomless.rules.common.type_height import least_x_height_mm
from bloomless.rules.eu import nutrition as eu_nutrition
from bloomless.rules.food import Nutrients, Pack
from rules import foods as f
from rules.checks.register import DARK, DARK_100, TODAY, D, check, more, near


@check(24, "Reg. (EU) 1169/2011 Annex XIV, XV; Commission guidance 2012")
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


@check(26, "Commission guidance 2012, table of rounding")
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


@check(27, "Commission guidance 2012, table of rounding")
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


@check(28, "Reg. (EU) 1169/2011 Annex I 11")
def salt_of_sodium(on):
    near(eu_nutrition.salt_g(D(400), on(TODAY)), "1.0", "0")


@check(29, "Commission guidance 2012, table 1, from memory")
def tolerance(on):
    law = on(TODAY)

    def within(line, declared, found, law):
        return abs(found - declared) <= eu_nutrition.tolerance_g(line, declared, law)

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


@check(33, "Reg. (EU) 1169/2011 Art. 13(2), (3), 16(2); Annex V 18")
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
