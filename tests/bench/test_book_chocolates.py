"""A chocolate of the book in the bowl: spelt out in the log, and a window of its own."""

import pytest

from bloomless.bench.book_chocolates import chocolates_of, named_in
from bloomless.bench.contract import event_from
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation.begin import chocolate_of
from bloomless.materials.chocolates import chocolate, melting_shift_K, working_window
from bloomless.materials.ingredients import ingredient_library
from bloomless.materials.wrapper import Wrapper, chocolate_from_wrapper

BOOK = ingredient_library()


def test_a_name_of_the_book_is_spelt_out_with_its_fats():
    start = named_in({"what": "start", "at": 0, "chocolate": "milk_38", "mass_g": 700}, BOOK)
    of = start["chocolate"]
    has = BOOK["milk_38"].composition
    assert of["kind"] == "milk"
    assert of["milk_fat"] == pytest.approx(has.milk_fat_g / 100, abs=0.002)
    assert of["cocoa_butter"] == pytest.approx(has.cocoa_butter_g / 100, abs=0.005)
    assert of["liquid_oil"] == pytest.approx(0.0, abs=0.001)
    assert event_from(start).event.chocolate.milk_fat_share == of["milk_fat"]


def test_kinds_and_objects_stay_as_they_were_told():
    for told in ("dark", {"kind": "milk", "fat_pct": 36}):
        assert named_in({"chocolate": told}, BOOK) == {"chocolate": told}


def test_a_wrapper_with_more_milk_fat_melts_lower():
    plain, rich = (
        chocolate_from_wrapper(Wrapper("milk", cocoa_pct=33, milk_solids_pct=milk), key=name, name=name)
        for name, milk in (("plain", 14.0), ("rich", 30.0))
    )
    shifts = []
    for one in (plain, rich):
        start = named_in({"what": "start", "at": 0, "chocolate": one.key, "mass_g": 500}, {one.key: one})
        shifts.append(melting_shift_K(chocolate_of(event_from(start).event.chocolate)))
    assert shifts[1] < shifts[0] - 0.2


def test_what_is_no_chocolate_is_named():
    with pytest.raises(UnknownName, match="milk_33"):
        named_in({"chocolate": "milk_3"}, BOOK)
    assert "sucrose" not in chocolates_of(BOOK)


def test_coloured_cocoa_butter_is_cocoa_butter_with_fine_solids():
    told = {"what": "start", "at": 0, "chocolate": {"colour_pct": 6}, "mass_g": 50}
    composition = event_from(told).event.chocolate
    assert (composition.kind, composition.colour_share) == ("cocoa_butter", 0.06)
    of, plain = chocolate_of(composition), chocolate("cocoa_butter")
    assert of.fat_share == pytest.approx(0.94)
    assert of.ash_share == pytest.approx(0.06)
    assert working_window(of) == working_window(plain) == (29.5, 32.5)


@pytest.mark.parametrize("key", ["coloured_cocoa_butter_lake", "coloured_cocoa_butter_white"])
def test_a_coloured_cocoa_butter_of_the_book_can_be_in_the_bowl(key):
    assert key in chocolates_of(BOOK)
    start = named_in({"what": "start", "at": 0, "chocolate": key, "mass_g": 50}, BOOK)
    share = 1.0 - BOOK[key].composition.fat_g / 100.0
    assert start["chocolate"] == {"kind": "cocoa_butter", "colour": pytest.approx(share, abs=1e-3)}
    assert event_from(start).event.chocolate.colour_share == start["chocolate"]["colour"]


@pytest.mark.parametrize(
    "told",
    [
        {"kind": "dark", "colour": 0.05},
        {"colour": 0.05, "fat": 0.9},
        {"colour": 0.05, "milk_fat": 0.1},
        {"colour": 0.6},
    ],
)
def test_colour_belongs_to_cocoa_butter_alone_and_is_not_the_most_of_it(told):
    with pytest.raises(ImpossibleInput, match="colour"):
        event_from({"what": "start", "at": 0, "chocolate": told, "mass_g": 50})


def test_plain_colour_powder_is_nothing_for_a_bowl():
    assert "colour_lake" not in chocolates_of(BOOK)
