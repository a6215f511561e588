"""Label cases an inspector would try: each says which rules must speak in a market, and which must stay silent."""

from datetime import date

import pytest

from bloomless.bench.label_documents import food_of, label_from_document
from bloomless.bench.ports import MemoryBook
from bloomless.bench.recipes import pantry_of
from bloomless.rules.common.allergens import allergens_in
from bloomless.rules.common.printed_name import percent_in, reserved_words
from bloomless.rules.common.review import Confirmed, review

DAY = date(2026, 11, 25)
PACK = {
    "net_g": 85, "packed_on": "2026-11-25", "keeps_days": 240, "lot": "L26K25A", "operator": "Sail Loft Chocolate",
    "address": "2 Quay, Port Sorrel", "storage": "Store cool and dry", "largest_surface_cm2": 95, "panel_in2": 15,
}  # fmt: skip
NOW = date(2026, 11, 25)


def judged(market, name, *lines, pack=None, pantry=None, **more):
    """Review of a recipe of (ingredient, grams, part), its allergens confirmed as they are."""
    document = {
        "product": "x", "name": name, "pack": {**PACK, **(pack or {})},
        "recipe": {"key": "x", "name": "x", "kind": more.pop("kind", "bar"),
                   "lines": [{"of": of, "mass_g": float(g), "part": part} for of, g, part in lines]},
    }  # fmt: skip
    label = label_from_document(document | more)
    food = food_of(label, pantry)
    found = allergens_in(food)
    absent = frozenset((key, source) for source, keys in found.unsure.items() for key in keys)
    confirmed = Confirmed(frozenset(found.present), absent)
    return review(food, market, DAY, confirmed=confirmed, settings=label.settings)


def rules(found, *severities):
    return {f.rule for f in found.findings if not severities or f.severity in severities}


DARK = (("dark_70", 100, "shell"),)
MILK = (("milk_38", 100, "shell"),)
WHITE = (("white_28", 90, "shell"), ("raspberry_fd", 10, "inclusion"))
COMPOUND = (
    ("palm_oil", 30, "shell"),
    ("cocoa_powder_10_12", 12, "shell"),
    ("sucrose", 45, "shell"),
    ("smp", 13, "shell"),
)
FAMILY = (("cocoa_mass", 9, "shell"), ("cocoa_butter", 16, "shell"), ("wmp", 26, "shell"), ("sucrose", 49, "shell"))
SWEETENED = (("cocoa_mass", 45, "shell"), ("cocoa_butter", 10, "shell"), ("maltitol", 45, "shell"))
THIN = (("milk_38", 20, "shell"), ("nut_paste_hazelnut", 80, "filling"))
NUTS = (("almond_roasted", 60, "inclusion"), ("cashew", 40, "inclusion"))
GIANDUJA = (("gianduja_milk", 100, "shell"),)
COATED = (("milk_38", 50, "shell"), ("almond_roasted", 50, "inclusion"))


@pytest.mark.parametrize(
    ("market", "name", "lines", "wrong"),
    [
        ("eu", "Chocolate with raspberries", WHITE, "Chocolate"),
        ("us", "Chocolate with raspberries", WHITE, "Chocolate"),
        ("uk", "White chocolate", MILK, "White chocolate"),
        ("eu", "Dark chocolate", MILK, "Dark chocolate"),
        ("eu", "Milk chocolate hearts", COMPOUND, "Milk chocolate"),
        ("us", "Milk chocolate hearts", COMPOUND, "Milk chocolate"),
        ("eu", "Milk chocolate", FAMILY, "Milk chocolate"),
        ("eu", "Milk chocolate with hazelnut filling", THIN, "Milk chocolate"),
        ("us", "Bittersweet chocolate", MILK, "Bittersweet chocolate"),
        ("eu", "Vollmilchschokolade", DARK, "Vollmilchschokolade"),
        ("eu", "Chocolat blanc", MILK, "Chocolat blanc"),
        ("eu", "Hazelnut paste in white chocolate", THIN, "white chocolate"),
        ("us", "Chocolate nuts", NUTS, "Chocolate"),
    ],
)
def test_a_name_the_composition_may_not_carry_blocks(market, name, lines, wrong):
    found = judged(market, name, *lines)
    message = next(f.message for f in found.findings if f.rule == f"{market}.name.reserved")
    assert f"“{wrong}”" in message
    assert found.blocked


@pytest.mark.parametrize(
    ("market", "name", "lines"),
    [
        ("eu", "White chocolate with raspberries", WHITE),
        ("us", "White chocolate with raspberries", WHITE),
        ("eu", "Family milk chocolate", FAMILY),
        ("uk", "Milk chocolate", FAMILY),
        ("eu", "Weiße Schokolade mit Himbeeren", WHITE),
        ("eu", "Chocolat au lait", MILK),
        ("eu", "Hazelnut paste in milk chocolate", THIN),
        ("eu", "Milk chocolate-coated almonds", COATED),
        ("eu", "Nut mix", NUTS),
        ("us", "Nut mix", NUTS),
        ("us", "Chocolatey hearts: sweet cocoa and vegetable fat coating", COMPOUND),
        ("eu", "Cocoa hearts with palm fat", COMPOUND),
        ("us", "Bittersweet chocolate", DARK),
        ("eu", "Gianduja", GIANDUJA),
        ("us", "Gianduja with milk chocolate", GIANDUJA),
        ("us", "Milk chocolate with bacon", (("milk_38", 99, "shell"), ("cured_pork_cooked", 1, "inclusion"))),
        ("eu", "White chocolate with spirulina", (("white_28", 98, "shell"), ("spirulina", 2, "colour"))),
    ],
)
def test_a_name_that_holds_is_let_through(market, name, lines):
    found = judged(market, name, *lines)
    assert rules(found, "block") == set()
    assert f"{market}.name.unsaid" not in rules(found)


def test_a_fancy_name_alone_is_told():
    assert "eu.name.unsaid" in rules(judged("eu", "Sail No. 4", *MILK), "warn")


def test_the_milk_solids_of_the_british_milk_chocolate_are_printed():
    assert judged("uk", "Milk chocolate", *FAMILY).label.statements.milk_solids == "Milk solids: 25 % minimum"


@pytest.mark.parametrize(("name", "blocks"), [("Dark chocolate 69 %", False), ("Dark chocolate 70 %", True)])
def test_a_percentage_above_the_cocoa_solids_blocks(name, blocks):
    # 58 % mass (54 % fat, 44.5 % dry) and 12 % butter: 69.13 % dry cocoa solids, though the bag says 70
    assert ("eu.name.cocoa_pct" in rules(judged("eu", name, *DARK))) is blocks
    assert "us.name.cacao_pct" not in rules(judged("us", name, *DARK))


def test_a_word_of_quality_asks_for_more():
    thin = (("milk_33", 100, "shell"),)  # 32 % cocoa solids with its butter, 6 % milk fat, but 22 % milk solids
    assert "eu.name.quality" not in rules(judged("eu", "Fine milk chocolate", *MILK))
    poor = (("cocoa_mass", 33, "shell"), ("cocoa_butter", 4, "shell"), ("sucrose", 63, "shell"))
    found = judged("eu", "Finest dark chocolate", *poor)
    assert "eu.name.quality" in rules(found, "block")
    assert "at least 43 %" in next(f.message for f in found.findings if f.rule == "eu.name.quality")
    assert "us.name.quality" not in rules(judged("us", "Finest milk chocolate", *thin))


@pytest.mark.parametrize(
    ("claims", "lines", "spoken"),
    [
        (("gluten free",), DARK, "allergen.claim"), (("glutenfrei",), DARK, "allergen.claim"),
        (("sans lactose",), DARK, "allergen.claim"), (("nut-free",), DARK, "allergen.claim"),
        (("vegan",), MILK, "claim.vegan"), (("vegan",), DARK, None), (("vegetarian",), MILK, None),
        (("vegetarian",), (*DARK, ("gelatin", 2, "filling")), "claim.vegetarian"),
        (("sugar-free",), DARK, "claim.sugar_free"), (("sugar-free",), SWEETENED, None),
        (("no added sugar",), DARK, "claim.no_added_sugar"), (("ohne Zuckerzusatz",), SWEETENED, None),
        (("organic",), DARK, "claim.organic"), (("healthy",), DARK, "claim.health"),
        (("rich in fibre",), DARK, "claim.nutrition"), (("wonderful",), DARK, "claim.nutrition"),
    ],
)  # fmt: skip
def test_claims_are_held_against_the_food(claims, lines, spoken):
    found = rules(judged("eu", "Nr. 4", *lines, pack={"claims": list(claims)}))
    said = {rule for rule in found if rule.startswith("claim.") or rule == "allergen.claim"}
    assert said == ({spoken} if spoken else set())


def test_a_claim_in_the_name_counts_and_takes_the_exemption_away():
    pack = {"nutrition": "exempt", "largest_surface_cm2": 20}
    assert "eu.nutrition.claim" in rules(judged("eu", "Sugar-free dark chocolate", *SWEETENED, pack=pack), "block")
    assert "eu.exempt.small_pack" in rules(judged("eu", "Dark chocolate", *DARK, pack=pack))
    assert "claim.natural_sugars" in rules(judged("eu", "Milk sweets", ("wmp", 100, "shell"),
                                                  pack={"claims": ["no added sugar"]}))  # fmt: skip
    assert "claim.vegan_traces" in rules(judged("eu", "Vegan dark chocolate", *DARK, cross_contact=[["milk", 4]],
                                                cross_contact_assessed="MO, sheet 7"), "warn")  # fmt: skip


def test_a_bar_with_maltitol():
    found = judged("eu", "Sugar-free dark chocolate", *SWEETENED)
    assert not found.blocked
    assert found.label.statements.sweetener == "with sweetener"
    assert "laxative" in found.label.statements.laxative
    assert [line.nutrient for line in found.label.eu_lines][4:6] == ["sugars", "polyols"]
    us = judged("us", "Sugar-free dark chocolate", *SWEETENED)
    assert rules(us, "block") == set()
    assert "us.name.modified" in rules(us, "warn")
    assert "Sugar Alcohol" in [line.label for line in us.label.us_panel.lines]
    assert "us.identity.none" in rules(judged("us", "Dark chocolate", *SWEETENED), "block")


@pytest.mark.parametrize("sale", ["direct", "loose"])
def test_food_packed_where_it_is_sold_needs_less(sale):
    bare = {"sale": sale, "net_g": "", "packed_on": "", "lot": "", "operator": "", "address": "", "storage": "",
            "nutrition": "exempt"}  # fmt: skip
    for market in ("eu", "uk"):
        found = judged(market, "Dark chocolate", *DARK, pack=bare)
        assert not found.blocked
        assert f"{market}.label.national" in rules(found)
    us = rules(judged("us", "Dark chocolate", *DARK, pack=bare), "block")
    assert us == ({"us.net.missing", "us.label.operator"} if sale == "direct" else set())


def test_the_smallest_pack_needs_four_things():
    pack = {"largest_surface_cm2": 9, "operator": "", "storage": "", "lot": "", "net_g": 4, "nutrition": "exempt"}
    found = judged("eu", "Milk chocolate", *MILK, pack=pack)
    assert rules(found, "block", "warn") == set()
    assert found.label.short
    assert found.label.contains == ("milk",)
    assert {"eu.label.short", "eu.net.small"} <= rules(found)


def test_the_french_name_asks_for_the_walnuts_share():
    lines = (("dark_70", 80, "shell"), ("walnut", 20, "inclusion"))
    found = judged("eu", "Dark chocolate", *lines, pack={"country": "FR"}, names={"fr": "Chocolat noir aux noix"})
    assert "noix (20\u00a0%)" in found.label.ingredients.text


def test_several_packs_in_one():
    def net(market, **pack):
        return judged(market, "Milk chocolate", *MILK, pack={"net_g": 100, "inner_packs": 4, **pack}).label.net

    assert net("eu", inner_sold=True) == "4 × 25 g"
    assert net("eu") == "100 g, 4 pieces"
    assert net("us", inner_sold=True) == "4 packs, each Net Wt 0.88 oz (25 g). Total Net Wt 3.52 oz (100 g)"
    assert net("us") == "Net Wt 3.52 oz (100 g)"
    assert "us.label.inner" in rules(judged("us", "Milk chocolate", *MILK, pack={"inner_packs": 4}))


PASTE = {
    "key": "loft_paste", "name": "Loft paste", "group": "composite", "grade": "assumed",
    "composition": {"water_g": 2, "protein_g": 6, "fat_g": 30, "saturated_fat_g": 12, "carbohydrate_g": 60,
                    "sugars_g": 50, "added_sugars_g": 50, "ash_g": 2, "sodium_mg": 40},
}  # fmt: skip


def with_paste(market="eu", **more):
    book = MemoryBook()
    book.put("ingredient", "loft_paste", PASTE | more, at=date(2026, 11, 1))
    lines = (("dark_70", 60, "shell"), ("loft_paste", 40, "filling"))
    return judged(market, "Dark chocolate with a filling", *lines, pantry=pantry_of(book))


def test_an_ingredient_nobody_has_read_the_allergens_of_blocks():
    assert "allergen.unstated" in rules(with_paste(), "block")
    assert "allergen.unstated" not in rules(with_paste(no_allergens=True))
    assert "allergen.unstated" not in rules(with_paste(allergens=[{"substance": "none"}]))
    assert "allergen.unstated" not in rules(with_paste(allergens=[{"substance": "milk"}]))


@pytest.mark.parametrize("market", ["eu", "us"])
def test_a_compound_opens_its_own_list(market):
    closed = with_paste(market, no_allergens=True)
    assert f"{market}.list.compound" in rules(closed, "block")
    made_of = [{"name": "sugar", "key": "sucrose"}, {"name": "tiger nuts"}, {"name": "salt", "key": "salt"}]
    known = with_paste(market, no_allergens=True, made_of=made_of)
    assert f"{market}.list.compound" not in rules(known)
    assert "(sugar, tiger nuts, salt)" in known.label.ingredients.text


def test_a_suppliers_warning_has_to_be_assessed():
    assert "allergen.supplier_traces" in rules(with_paste(no_allergens=True, may_contain=["peanut"]), "warn")


def test_what_stands_behind_with_is_a_part():
    assert [(said.words, said.head) for said in reserved_words("Milk chocolate with white chocolate chips")] == [
        ("Milk chocolate", True), ("white chocolate", False),
    ]  # fmt: skip
    assert percent_in("Dark chocolate with 30 % hazelnuts") is None
    assert percent_in("Bar with 70 % cacao") == 70


def test_nuts_of_a_paste_are_ground():
    found = judged("eu", "Gianduja", *GIANDUJA)
    assert found.identity.key == "eu.milk_gianduja"
    assert found.label.statements.choking == ""


def test_a_colouring_food_stands_by_its_name_in_the_union():
    lines = (("white_28", 98, "shell"), ("spirulina", 2, "colour"))
    assert "spirulina concentrate" in judged("eu", "White chocolate with spirulina", *lines).label.ingredients.text
    assert "colored with spirulina" in judged("us", "White chocolate", *lines).label.ingredients.text


def test_an_unknown_fact_is_asked_in_words():
    wet = (("dark_64", 50, "shell"), ("cream_35", 25, "filling"), ("dark_64", 25, "filling"))
    messages = [f.message for f in judged("eu", "Dark chocolate with ganache", *wet, kind="bonbon").findings]
    assert "Cannot be judged: the pH of the filling is not known." in messages


@pytest.mark.parametrize(("word", "shown"), [("nuts", False), ("hazelnuts", False), ("Hazelnut", True), ("soya", True)])
def test_a_word_no_list_has_blocks_instead_of_vanishing(word, shown):
    found = with_paste(allergens=[{"substance": word}])
    assert ("allergen.word" in rules(found, "block")) is not shown


def test_every_allergen_word_of_the_packaged_ingredients_is_on_a_list():
    from bloomless.materials.ingredients import ingredient_library

    for key in ingredient_library():
        assert "allergen.word" not in rules(judged("eu", "x", (key, 10, "filling"))), key


def bought(**composition):
    book = MemoryBook()
    document = PASTE | {"key": "bought", "group": "chocolate_dark", "no_allergens": True}
    document["composition"] = PASTE["composition"] | composition
    book.put("ingredient", "bought", document, at=date(2026, 11, 1))
    return pantry_of(book)


@pytest.mark.parametrize("unknown", [{}, {"cocoa_butter_g": None}, {"water_g": 2, "fat_free_cocoa_solids_g": None}])
def test_a_chocolate_of_unknown_composition_blocks_with_that_reason(unknown):
    lines, pantry = (("bought", 100, "shell"),), bought(**unknown)
    found = judged("eu", "Dark chocolate", *lines, pantry=pantry)
    assert "nobody has stated its composition" in next(
        f.message for f in found.findings if f.rule == "eu.identity.unknown"
    )
    vouched = judged("eu", "Dark chocolate", *lines, pantry=pantry, reserved={"eu": "eu.chocolate"},
                     facts={"supplier_vouches": True})  # fmt: skip
    assert "eu.identity.vouched" in rules(vouched)
    assert "eu.list.cocoa_solids" in rules(vouched, "block")  # the figure has to come from the supplier too
    told = judged("eu", "Dark chocolate", *lines, pantry=pantry, reserved={"eu": "eu.chocolate"},
                  facts={"supplier_vouches": True, "cocoa_solids_pct": 69.4})  # fmt: skip
    assert told.label.statements.cocoa_solids == "Cocoa solids: 69 % minimum"


def test_nuts_of_a_recipe_for_gianduja_are_ground_but_not_those_on_top():
    lines = (("milk_38", 65, ""), ("hazelnut_roasted", 35, ""))
    ground = judged("eu", "Milk gianduja", *lines, kind="gianduja")
    assert ground.identity.key == "eu.milk_gianduja"
    topped = judged("eu", "Milk gianduja with hazelnuts", *lines, ("hazelnut_roasted", 5, "inclusion"), kind="gianduja")
    assert topped.label.statements.choking
