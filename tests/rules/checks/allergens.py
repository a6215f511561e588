"""Allergens: lists of the markets, names, exceptions, reference doses."""

from datetime import date

from bloomless.rules.common import allergens
from bloomless.rules.common.ingredient_list import ingredient_list
from bloomless.rules.common.review import review
from rules import foods as f
from rules.checks.register import DARK, TODAY, D, check, more, near


def _sources(**substances):
    section = f.chocolate(*((s, 10) for s in substances.values()))
    return allergens.allergens_in(f.food(section))


def _nut(source):
    return f._substance(
        source.replace(" ", "_"), "nut", {"nut_other": "1"}, allergens=frozenset({source}), botanical=source
    )


@check(34, "FDA allergen guidance, edition 5, III; Reg. (EU) 1169/2011 Annex II; Canada from memory")
def pine_nut(on):
    law = on(TODAY)
    assert allergens.listed("pine nut", "us", law)
    assert allergens.listed("pine nut", "ca", law)
    assert not allergens.listed("pine nut", "eu", law)
    assert allergens.declared(_sources(a=_nut("pine nut")), "us", law) == ("pine nuts",)


@check(35, "FDA allergen guidance, edition 5, III")
def coconut(on):
    law = on(TODAY)
    assert allergens.declared(_sources(a=_nut("coconut")), "us", law) == ()
    # before edition 5 of the guidance it was a tree nut
    assert allergens.declared(_sources(a=_nut("coconut")), "us", on(date(2025, 1, 5))) == ("coconut",)
    assert allergens.declared(_sources(a=_nut("coconut")), "us", on(date(2025, 1, 6))) == ()


@check(36, "21 U.S.C. 343(w); Reg. (EU) 1169/2011 Art. 21")
def soy_lecithin(on):
    law = on(TODAY)
    bar = f.food(f.chocolate(*DARK))
    assert review(bar, "us", TODAY, law=law).label.contains == ("soy",)
    union = review(bar, "eu", TODAY, law=law).label
    assert union.ingredients.emphasised == ("soya",)
    assert union.contains == ()


@check(40, "FAO/WHO expert consultation, part 2 (2022)")
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


UNLISTED = {
    "buckwheat", "kiwi", "apple", "peach", "banana", "orange", "beef", "chicken", "pork", "gelatine", "yam", "maize",
    "rice", "pea", "chickpea", "lentil", "sunflower", "poppy", "cocoa",
}  # fmt: skip


@more
def words_on_no_list_are_known(on):
    law = on(TODAY)
    assert {row["source"] for row in law.rows("allergens.unlisted")} == UNLISTED
    for word, blocks in (("buckwheat", False), ("nuts", True)):
        found = allergens.judge_allergens(_one(word), law, confirmed=True)
        assert ("allergen.word" in {x.rule for x in found}) is blocks
