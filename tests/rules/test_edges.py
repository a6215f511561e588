"""What is refused, what is said at the edges, and statements that few labels carry."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules import all_law, law_of
from bloomless.rules.common import allergens, dates, gs1, markets
from bloomless.rules.common.colours import judge_colours
from bloomless.rules.common.filling import filling_target
from bloomless.rules.common.nutrients import nutrients_of
from bloomless.rules.common.review import review
from bloomless.rules.common.words import phrase
from bloomless.rules.decimals import dec
from bloomless.rules.eu import net_quantity as eu_net
from bloomless.rules.food import Nutrients, Pack, Section, Substance, Use
from bloomless.rules.law import Law
from bloomless.rules.predicate import predicate
from bloomless.rules.us import net_quantity as us_net
from rules import foods as f
from rules.checks.register import DARK, TODAY, D
from rules.test_label_cases import judged
from rules.test_label_cases import rules as spoken

LAW = law_of(TODAY)
GTIN = ("01", "09506000134352")


@pytest.mark.parametrize(
    "refused",
    [
        lambda: allergens.action_level_mg_kg("milk", D(0), LAW),
        lambda: filling_target(D(100), [100.0] * 4, LAW, market="eu", batch=50),
        lambda: filling_target(D(100), [100.0] * 6, LAW, market="mars", batch=50),
        lambda: filling_target(D(100), [100.0] * 6, LAW, market="eu", batch=0),
        lambda: eu_net.check_batch(D(100), [], LAW),
        lambda: us_net.sample_correction(1, LAW),
        lambda: us_net.check_lot(D(100), LAW, net_g=[99.0], lot=300),
        lambda: gs1.check_digit("12a"),
        lambda: gs1.gtin14("6291041500214"),
        lambda: gs1.date_from_yymmdd("2702", LAW, today=TODAY),
        lambda: gs1.date_from_yymmdd("271300", LAW, today=TODAY),
        lambda: gs1.date_from_yymmdd("270230", LAW, today=TODAY),
        lambda: gs1.mass_element(D("0.4")),
        lambda: gs1.element_string([GTIN, ("37", "12")], LAW),
        lambda: gs1.parse_element_string("(01)0950600013435(10", LAW),
        lambda: gs1.parse_element_string("99123", LAW),
        lambda: gs1.digital_link(GTIN[1], LAW, domain="ftp://x"),
        lambda: dec("nan"),
        lambda: Nutrients(fat=D(-1)),
        lambda: Substance(key="x", kind="magic", names={}),
        lambda: Use(substance=f.S, mass_g=D(-1)),
        lambda: Section(role="hat", name="", uses=()),
        lambda: Section(role="filling", name="", uses=(), yield_share=D(2)),
    ],
)
def test_what_cannot_be_is_refused(refused):
    with pytest.raises(ImpossibleInput):
        refused()


@pytest.mark.parametrize(
    "unknown",
    [
        lambda: allergens.action_level_mg_kg("soy", D(10), LAW),
        lambda: LAW.figure("eu.nothing"), lambda: LAW.table("eu.nothing"), lambda: LAW.rule("eu.nothing"),
        lambda: markets.market("mars"), lambda: phrase("fat", "xx"), lambda: phrase("no such phrase", "en"),
        lambda: Substance(key="x", kind="sugar", names={}, components={"gold": D(1)}),
    ],
)  # fmt: skip
def test_what_nobody_knows_is_named(unknown):
    with pytest.raises((UnknownName, ImpossibleInput)):
        unknown()


@pytest.mark.parametrize("broken", ["1 < x < 3", "x + ", "open('x')", "[x for x in y]"])
def test_a_predicate_is_a_comparison_and_nothing_else(broken):
    with pytest.raises((ValueError, SyntaxError)):
        predicate(broken)


def test_a_law_that_stands_twice_on_a_day_is_a_fault():
    rule = all_law().rules[0]
    with pytest.raises(ValueError, match="twice"):
        Law((rule, rule), (), ()).on(TODAY)


def test_shares_that_do_not_sum_block_with_the_reason():
    odd = replace(f.M, components={"cacao_fat": D("0.54"), "cocoa_nf_dry": D("0.3")})
    for faulty, reason in ((odd, "sum to 84.0 %"), (replace(f.M, components={"cacao_fat": D("-0.1")}), "below zero"),
                           (replace(f.M, components={}), "nobody has stated")):  # fmt: skip
        found = review(f.food(f.chocolate((faulty, 50), (f.S, 50)), name="Dark chocolate"), "eu", TODAY)
        finding = next(x for x in found.findings if x.rule == "eu.identity.unknown")
        assert finding.severity == "block"
        assert reason in finding.message
    empty = review(f.food(f.chocolate((f.M, 0)), name="Dark chocolate"), "eu", TODAY)
    assert "holds nothing" in next(x.message for x in empty.findings if x.rule == "eu.identity.unknown")


def test_cross_contact_by_dose():
    lines = (("dark_70", 100, "shell"),)

    def by(*contact, **pack):
        return judged("eu", "Dark chocolate", *lines, cross_contact=contact, cross_contact_assessed="MO, sheet 7",
                      settings={"print_precaution": False}, pack=pack)  # fmt: skip

    # milk 2 mg, 25 g eaten: 80 mg/kg
    assert "allergen.precaution_due" not in spoken(by(("milk", 80), typical_portion_g=25))
    assert "allergen.precaution_due" in spoken(by(("milk", 81), typical_portion_g=25), "block")
    assert "allergen.precaution_due" in spoken(by(("milk", 81)), "block")  # no portion: it counts
    assert "allergen.precaution_word" in spoken(by(("nuts", 1)), "block")
    assert "allergen.precaution_no_dose" in spoken(by(("soy", 1), typical_portion_g=25), "warn")


def test_the_rarer_statements():
    lines = (("dark_70", 98, "shell"), ("spirit_40", 2, "filling"))
    found = judged("eu", "Dark chocolate with spirit", *lines, kind="bonbon",
                   pack={"origin": "Sorrel", "primary_origin": "Elsewhere", "sale": "home_kitchen", "country": "DE"},
                   names={"de": "Dunkle Schokolade mit Geist"})  # fmt: skip
    said = found.label.statements
    assert said.alcohol.startswith("Enthält Alkohol, 1")
    assert said.primary_origin == "Herkunft Kakao: Elsewhere"
    assert said.home_kitchen
    weak = judged("eu", "Dark chocolate", ("dark_70", 999, "shell"), ("vanilla_extract", 1, "filling"))
    assert weak.label.statements.alcohol in {"", "Contains alcohol, 0 % vol", "Contains alcohol, 0.1 % vol"}
    assert "gs1.gtin.check" in spoken(
        judged("eu", "Dark chocolate", *lines[:1], pack={"gtin": "6291041500214"}), "block"
    )


def test_nutrients_of_a_compound_come_from_its_parts_and_a_wrong_yield_is_told():
    paste = replace(f.CREAM, nutrients=None, parts=((f.S, D("0.5")), (f.HAZEL_FINE, D("0.5"))))
    assert nutrients_of(f.food(f.chocolate((paste, 10)))).per_100g is not None
    dry = f.food(f.chocolate((f.S, 100), yield_share=D("0.5")))
    assert nutrients_of(dry).unknown == ("chocolate yield",)


def test_a_colour_without_pigments_is_no_colour_for_food():
    blank = replace(f.COLOUR, pigments=(), ingredient_list_known=True)
    painted = f.food(f.chocolate(*DARK), f.chocolate((blank, 1), role="decoration", name="dots"))
    assert "eu.dust.no_list" in {x.rule for x in judge_colours(painted, "eu", LAW, standardized=True)}


def test_a_food_without_chocolate_has_no_reserved_name():
    sweet = f.food(f.chocolate((f.S, 10), role="filling", name="fondant"), name="Fondant", pack=Pack(net_g=D(50)))
    found = review(sweet, "eu", TODAY)
    assert found.identity is None
    assert not [x for x in found.findings if x.rule.startswith("eu.identity")]


def test_a_digital_link_reads_back():
    link = gs1.digital_link(GTIN[1], LAW, lot="A/B-1", best_before=date(2027, 3, 31))
    assert gs1.read_digital_link(link) == (GTIN[1], "A/B-1")
    assert gs1.read_digital_link("https://elsewhere.example/01/12") is None


def test_pounds_and_kilograms():
    assert us_net.net_words(D(1000), LAW) == "Net Wt 35.27 oz (2 lb 3.27 oz; 1 kg)"
    assert us_net.net_words(D(2000), LAW) == "Net Wt 4 lb 6.54 oz (2 kg)"


def test_the_last_day_of_a_month_keeps_its_month():
    made = dates.best_before(date(2026, 6, 30), 365, "eu", LAW)
    assert made.digits == "06/2027"
    assert isinstance(made.day, date)
    assert Decimal(dates.DAYS_IN_MONTH) > 30


def test_a_box_judges_every_chocolate_in_it():
    from bloomless.bench import labels
    from bloomless.bench.label_documents import label_from_document
    from bloomless.bench.ports import MemoryBook

    book = MemoryBook()
    for product, of in (("dark", "dark_70"), ("fat", "palm_oil")):
        lines = [
            {"of": of, "mass_g": 100, "part": "shell"},
            {"of": "cocoa_powder_10_12", "mass_g": 20, "part": "shell"},
        ]
        document = {"product": product, "name": product, "pack": {"piece_g": 10},
                    "recipe": {"key": product, "name": product, "kind": "bar", "lines": lines}}  # fmt: skip
        labels.save(book, label_from_document(document), at=TODAY)
    box = label_from_document({"product": "box", "name": "Assorted chocolates", "box": [["dark", 4], ["fat", 4]]})
    found = labels.judge(book, box, "eu", TODAY).review
    message = next(x.message for x in found.findings if x.rule == "eu.identity.none")
    assert message.startswith("fat: chocolate: No reserved name holds")
    assert "eu.identity.assortment" in {x.rule for x in found.findings}
