"""Jobs of a label on a book in memory: S15 of the job map, confirmation, print, history."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.bench import label_records as records
from bloomless.bench import labels
from bloomless.bench.label_documents import label_document, label_from_document
from bloomless.bench.ports import MemoryBook
from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.lots import RollMark

AT = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
DAY = date(2026, 11, 25)
BAR = {
    "product": "hazelnut-bar",
    "name": "Dark chocolate with roasted hazelnuts",
    "recipe": {
        "key": "hazelnut_bar",
        "name": "Hazelnut bar",
        "kind": "bar",
        "lines": [
            {"of": "dark_70", "mass_g": 700, "part": "shell"},
            {"of": "hazelnut_roasted", "mass_g": 200, "part": "inclusion"},
        ],
    },
    "pack": {
        "net_g": "85",
        "packed_on": "2026-11-25",
        "keeps_days": 365,
        "operator": "Sail Loft Chocolate",
        "address": "2 Quay",
        "storage": "Store cool and dry",
        "lot": "L26K25A",
        "largest_surface_cm2": 95,
        "panel_in2": 15,
    },
}


@pytest.fixture
def book():
    book = MemoryBook()
    labels.save(book, label_from_document(BAR), at=AT)
    return book


def drafted(book, market="eu", **more):
    return labels.draft(book, "hazelnut-bar", market, DAY, **more)


def confirmed(book, market="eu", present=("hazelnut",), absent=()):
    labels.confirm(book, drafted(book, market), by="M. Orrin", present=present, absent=absent, at=AT)
    return drafted(book, market)


def with_lines(*lines):
    return label_from_document({**BAR, "recipe": {**BAR["recipe"], "lines": [*BAR["recipe"]["lines"], *lines]}})


def test_a_label_reads_back_as_it_was_written():
    label = label_from_document(BAR)
    assert label_from_document(label_document(label)) == label


def test_nothing_is_printed_before_a_person_has_confirmed(book):
    found = drafted(book)
    assert not found.may_print
    with pytest.raises(Misuse, match="confirmed"):
        labels.release(book, found, count=10, by="MO", at=AT)
    assert confirmed(book).may_print


def test_the_confirmation_is_recorded_with_who_when_and_what(book):
    confirmed(book)
    document = book.get("label_confirmation", "hazelnut-bar/eu").document
    assert document["by"] == "M. Orrin"
    assert document["present"] == ["hazelnut"]
    assert document["at"] == AT.isoformat()
    assert "hazelnut_roasted: hazelnut" in document["rests_on"]


@pytest.mark.parametrize("present", [(), ("milk",), ("hazelnut", "milk")])
def test_a_confirmation_has_to_be_what_the_recipe_brings(book, present):
    with pytest.raises(ImpossibleInput) as error:
        confirmed(book, present=present)
    assert error.value.field == "present"


def test_a_confirmation_has_a_name(book):
    with pytest.raises(ImpossibleInput):
        labels.confirm(book, drafted(book), by=" ", present=["hazelnut"], at=AT)


def test_a_new_allergen_blocks_until_it_is_confirmed(book):
    confirmed(book)
    labels.save(book, with_lines({"of": "lecithin_soy", "mass_g": 2, "part": "shell"}), at=AT)
    found = drafted(book)
    assert "allergen.changed" in {x.rule for x in found.review.findings if x.severity == "block"}
    assert "soy" in next(x.message for x in found.review.findings if x.rule == "allergen.changed")
    assert confirmed(book, present=("hazelnut", "soy")).may_print


def test_another_ingredient_without_a_new_allergen_is_read_again(book):
    confirmed(book)
    labels.save(book, with_lines({"of": "sea_salt_flakes", "mass_g": 4, "part": "inclusion"}), at=AT)
    assert "allergen.unconfirmed" in {x.rule for x in drafted(book).review.findings}


def test_an_unsure_allergen_needs_an_answer(book):
    labels.save(book, with_lines({"of": "glucose_syrup_de42", "mass_g": 5, "part": "shell"}), at=AT)
    assert "allergen.unsure" in {x.rule for x in drafted(book).review.findings}
    with pytest.raises(ImpossibleInput) as error:
        confirmed(book)
    assert error.value.field == "absent"
    pair = ("glucose_syrup_de42", "sulphites")
    assert "allergen.unsure" not in {x.rule for x in confirmed(book, absent=[pair]).review.findings}


def test_the_wrong_wrapper_is_a_hard_stop(book):
    mark = labels.release(book, confirmed(book), count=50, by="MO", at=AT).mark
    assert labels.scan(book, "T|hazelnut-bar|L26K25A", mark.text, by="MO", at=AT).ok
    for tray in ("T|praline-half-shells|L26K25B", "T|hazelnut-bar|L26K25B"):
        found = labels.scan(book, tray, mark.text, by="MO", at=AT)
        assert not found.ok
        assert found.reason.startswith("STOP")
        assert book.get("label_match", tray).document["ok"] is False
    never = RollMark("hazelnut-bar", "L26K25A", "us", 1)
    assert not labels.scan(book, "T|hazelnut-bar|L26K25A", never.text, by="MO", at=AT).ok
    with pytest.raises(ImpossibleInput):
        labels.scan(book, mark.text, mark.text, by="MO", at=AT)
    with pytest.raises(ImpossibleInput):
        labels.scan(book, "T|a|b", "T|a|b", by="MO", at=AT)


def test_an_old_roll_is_as_wrong_as_a_foreign_one(book):
    old = labels.release(book, confirmed(book), count=5, by="MO", at=AT).mark
    labels.save(book, label_from_document({**BAR, "name": "Dark chocolate, roasted hazelnuts"}), at=AT)
    new = labels.release(book, confirmed(book), count=5, by="MO", at=AT).mark
    assert new.version == old.version + 1
    assert not labels.scan(book, "T|hazelnut-bar|L26K25A", old.text, by="MO", at=AT).ok
    assert labels.scan(book, "T|hazelnut-bar|L26K25A", new.text, by="MO", at=AT).ok


def test_labels_are_counted_against_what_was_printed_and_the_pieces(book):
    roll = labels.release(book, confirmed(book), count=50, by="MO", at=AT).mark.text
    count = partial(records.tally, book, roll, by="MO", at=AT)
    assert count(used=46, spoiled=1, left=3, pieces=46).agrees
    lost = count(used=46, spoiled=1, left=2, pieces=46)
    assert (lost.unaccounted, lost.agrees) == (1, False)
    assert "1 labels are missing" in lost.answer
    assert book.get("label_tally", roll).document["unaccounted"] == 1
    assert "2 labels more than were printed" in count(used=46, spoiled=1, left=5, pieces=46).answer
    assert "4 pieces carry no label" in count(used=46, spoiled=1, left=3, pieces=50).answer
    assert "6 labels more were used" in count(used=46, spoiled=1, left=3, pieces=40).answer
    for wrong in ({"used": -1}, {"by": " "}):
        with pytest.raises(ImpossibleInput):
            count(**({"used": 1, "spoiled": 0, "left": 0, "pieces": 1} | wrong))
    for foreign in ("T|hazelnut-bar|L26K25A", "R|hazelnut-bar|L26K25A|us|1", "R|praline|L1|eu|1"):
        with pytest.raises(ImpossibleInput, match="roll"):
            records.tally(book, foreign, used=1, spoiled=0, left=0, pieces=1, by="MO", at=AT)


def test_a_second_print_of_a_lot_adds_to_the_first(book):
    for day in (0, 1):
        mark = labels.release(book, confirmed(book), count=20, by="MO", at=AT + timedelta(days=day)).mark
    assert records.printed(book, mark) == 40


def test_a_printed_label_is_made_again_though_everything_changed_since(book):
    first = labels.release(book, confirmed(book), count=5, by="MO", at=AT, on="a4_2x3").mark.text
    later = AT + timedelta(days=9)
    labels.save(book, with_lines({"of": "lecithin_soy", "mass_g": 2, "part": "shell"}), at=later)
    book.put("ingredient", "hazelnut_roasted", {**NUT, "label_name": "other nuts"}, at=later)
    found = records.again(book, first)
    assert found.same
    assert found.draft.version == 1
    assert "lecithin" in found.draft.review.label.ingredients.text
    assert "soy" not in found.draft.review.label.ingredients.text
    assert found.entry.document["on"] == "a4_2x3"
    for foreign in ("R|hazelnut-bar|L26K25A|eu|7", "R|praline|L1|eu|1", "T|hazelnut-bar|L26K25A"):
        with pytest.raises(ImpossibleInput):
            records.again(book, foreign)


NUT = {
    "key": "hazelnut_roasted", "name": "Hazelnuts", "group": "nut", "grade": "assumed",
    "composition": {"water_g": 2, "protein_g": 15, "fat_g": 62, "carbohydrate_g": 18, "ash_g": 3},
    "allergens": [{"substance": "hazelnut"}, {"substance": "milk"}],
}  # fmt: skip


def test_laboratory_figures_are_kept_with_who_and_which_report(book):
    figures = {"fat": Decimal(47), "sugars": Decimal(60)}
    keep = partial(records.laboratory, book, sheet="Report 7", by="MO", at=AT)
    made = keep(drafted(book), figures)
    assert [line.holds for line in made.lines] == [True, False]
    assert [finding.rule for finding in made.findings] == ["eu.lab.outside"]
    assert book.get("label_laboratory", "hazelnut-bar/eu").document["outside"] == 1
    assert keep(drafted(book, "us"), {"calories": Decimal(900)}).findings[0].rule == "us.lab.outside"
    with pytest.raises(UnknownName):
        keep(drafted(book), {"gold": Decimal(1)})
    for wrong in ({"sheet": " "}, {"by": ""}):
        with pytest.raises(ImpossibleInput):
            keep(drafted(book), figures, **wrong)
    with pytest.raises(ImpossibleInput):
        keep(drafted(book), {})
    with pytest.raises(ImpossibleInput):
        keep(drafted(book), {"fat": Decimal(-1)})
    bare = label_from_document({**BAR, "pack": {**BAR["pack"], "nutrition": "exempt"}})
    labels.save(book, bare, at=AT)
    with pytest.raises(Misuse):
        keep(drafted(book, "us"), figures)


def test_canada_is_shown_for_information(book):
    found = records.canada(drafted(book))
    assert found.allergens == ("hazelnuts",)
    assert [words.split(" ")[0] for words in found.symbol] == ["saturated"]


def test_facts_nobody_knows_are_refused_by_name():
    with pytest.raises(UnknownName):
        label_from_document({**BAR, "facts": {"filling_awe": 0.7}})
    with pytest.raises(UnknownName):
        label_from_document({**BAR, "settings": {"colour": "red"}})
    for wrong in ({"filling_aw": 1.2}, {"filling_ph": 15}):
        with pytest.raises(ImpossibleInput):
            label_from_document({**BAR, "facts": wrong})
    with pytest.raises(ImpossibleInput):
        label_from_document({**BAR, "settings": {"energy": "bomb"}})


@pytest.mark.parametrize(("count", "by", "field"), [(0, "MO", "count"), (20_001, "MO", "count"), (1, "", "by")])
def test_a_print_says_how_many_and_who(book, count, by, field):
    with pytest.raises(ImpossibleInput) as error:
        labels.release(book, confirmed(book), count=count, by=by, at=AT)
    assert error.value.field == field


def test_history_keeps_versions_confirmations_and_prints(book):
    labels.release(book, confirmed(book), count=5, by="MO", at=AT)
    kinds = [entry.kind for entry in records.history(book, "hazelnut-bar")]
    assert sorted(kinds) == ["label", "label_confirmation", "label_print"]


def test_the_label_of_a_day_is_made_again_as_of_that_day(book):
    labels.save(book, with_lines({"of": "sesame_roasted", "mass_g": 30, "part": "inclusion"}), at=AT)
    then = labels.draft(book, "hazelnut-bar", "us", date(2022, 12, 31)).review.label.contains
    now = labels.draft(book, "hazelnut-bar", "us", date(2026, 11, 25)).review.label.contains
    assert "sesame" not in then
    assert "sesame" in now
    assert drafted(book, version=1).version == 1


def test_a_market_without_rules_blocks_with_the_reason(book):
    found = drafted(book, market="jp")
    assert not found.may_print
    assert found.review.label is None
    assert "no rules" in found.review.findings[0].message


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"produkt": 1}, "label"),
        ({"product": ""}, "product"),
        ({"recipe": None}, "recipe"),
        ({"pack": {"net_g": "heavy"}}, "net_g"),
        ({"pack": {"net_g": -1}}, "net_g"),
        ({"pack": {"keeps_days": 1.5}}, "keeps_days"),
        ({"pack": {"packed_on": "25/11/2026"}}, "packed_on"),
        ({"pack": {"sale": "car boot"}}, "sale"),
        ({"pack": {"colour": "blue"}}, "pack"),
        ({"facts": {"filling_aw": "wet"}}, "filling_aw"),
    ],
)
def test_a_wrong_field_is_refused_by_name(change, field):
    with pytest.raises(ImpossibleInput) as error:
        label_from_document({**BAR, **change})
    assert error.value.field == field


def test_an_unknown_product_is_answered_with_the_known_ones(book):
    with pytest.raises(UnknownName, match="hazelnut-bar"):
        labels.draft(book, "hazelnut-bra", "eu", DAY)


@given(st.decimals(min_value=0, max_value=999_999, places=2, allow_nan=False, allow_infinity=False))
def test_masses_survive_the_document(net):
    label = label_from_document({**BAR, "pack": {"net_g": str(net)}})
    assert label_from_document(label_document(label)).pack.net_g == Decimal(str(net))


MILK = {
    **BAR,
    "product": "milk-heart",
    "name": "Milk chocolate heart",
    "recipe": {**BAR["recipe"], "lines": [{"of": "milk_38", "mass_g": 100, "part": "shell"}]},
    "pack": {**BAR["pack"], "piece_g": 10},
}
BOX = {
    "product": "box",
    "name": "Assorted chocolates",
    "box": [["hazelnut-bar", 4], ["milk-heart", 6]],
    "pack": {"net_g": 100},
}


def test_a_mixed_box_has_one_list_and_every_allergen(book):
    labels.save(book, label_from_document(MILK), at=AT)
    labels.save(book, label_from_document({**BAR, "pack": {**BAR["pack"], "piece_g": 10}}), at=AT)
    labels.save(book, label_from_document(BOX), at=AT)
    found = labels.draft(book, "box", "eu", DAY)
    assert set(found.review.sources.present) == {"hazelnut", "milk"}
    assert found.review.label.statements.cocoa_solids == ""
    assert "eu.identity.assortment" in {x.rule for x in found.review.findings}
    assert not {x.rule for x in found.review.findings if x.severity == "block"} & {
        "eu.identity.none",
        "eu.identity.unknown",
    }
    # 40 g of bars with 2/9 nuts, 60 g of hearts: hazelnuts are 8.9 % of the box
    share = next(item.pct for item in found.review.label.ingredients.items if "hazelnut_roasted" in item.keys)
    assert abs(share - Decimal(40) * 200 / 900) < Decimal("0.001")


def test_a_box_needs_the_mass_of_a_piece_and_products_that_are_there(book):
    labels.save(book, label_from_document(BOX), at=AT)
    with pytest.raises(UnknownName):
        labels.draft(book, "box", "eu", DAY)
    labels.save(book, label_from_document(MILK), at=AT)
    with pytest.raises(ImpossibleInput) as error:
        labels.draft(book, "box", "eu", DAY)
    assert error.value.field == "hazelnut-bar.piece_g"
    for wrong in ([["milk-heart", 0]], [["milk-heart"]], [["milk-heart", "some"]]):
        with pytest.raises(ImpossibleInput):
            label_from_document({**BOX, "box": wrong})


def test_a_label_in_another_language_needs_its_name_in_it(book):
    german = {**BAR, "pack": {**BAR["pack"], "country": "DE"}}
    labels.save(book, label_from_document(german), at=AT)
    messages = [x.message for x in drafted(book).review.findings if x.rule == "eu.label.untranslated"]
    assert messages == ["No name in the label's language for: the name itself."]
    labels.save(book, label_from_document({**german, "names": {"de": "Zartbitterschokolade mit Haselnüssen"}}), at=AT)
    assert not [x for x in drafted(book).review.findings if x.rule == "eu.label.untranslated"]


GTIN = "9506000134352"


@pytest.mark.parametrize(
    ("code", "ok", "said"),
    [
        (GTIN, True, "names no lot"),
        (f"(01)0{GTIN}(10)L26K25A", True, "wrapper and tray agree"),
        (f"010{GTIN}10L26K25A", True, "wrapper and tray agree"),
        (f"https://id.gs1.org/01/0{GTIN}/10/L26K25A?15=271031", True, "wrapper and tray agree"),
        (f"(01)0{GTIN}(10)L26K25B", False, "STOP. The wrapper is for lot L26K25B"),
        (f"https://id.gs1.org/01/0{GTIN}/10/L26K25B", False, "STOP"),
        ("6291041500213", False, "STOP. The wrapper is of no product in the book"),
    ],
)
def test_a_wrapper_is_matched_by_its_own_code(book, code, ok, said):
    labels.save(book, label_from_document({**BAR, "pack": {**BAR["pack"], "gtin": GTIN}}), at=AT)
    found = labels.scan(book, "T|hazelnut-bar|L26K25A", code, by="MO", at=AT)
    assert found.ok is ok
    assert said in found.reason
    assert book.get("label_match", "T|hazelnut-bar|L26K25A").document["roll"] == code
    other = labels.scan(book, "T|praline|L26K25A", code, by="MO", at=AT)
    assert not other.ok


@pytest.mark.parametrize("nothing", ["hello", "0199", "6291041500214", "(01)0950600013435"])
def test_a_code_that_is_none_is_refused(book, nothing):
    with pytest.raises(ImpossibleInput):
        labels.scan(book, "T|hazelnut-bar|L26K25A", nothing, by="MO", at=AT)
