"""Stock by lots, batches closed with weighings, own losses, the shelf, files with photos: on a book in memory."""

import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from recipe_photo import drawn

from bloomless.bench import batches, stock
from bloomless.bench import recipes as jobs
from bloomless.bench.cost_terms import (
    channels_of,
    packaging_of,
    save_packaging,
    save_scale,
    save_terms,
    scale_of,
    terms_of,
)
from bloomless.bench.demo_book import load_demo, remove_demo
from bloomless.bench.exchange import export_book, import_book, kind_of_file
from bloomless.bench.photos import keep_photo, photo_bytes, remove_photo
from bloomless.bench.ports import MemoryBook
from bloomless.bench.shelf import Shelf
from bloomless.costing import Packaging, Terms
from bloomless.costing.price import USUAL_CHANNELS, Channel
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.lots import Lot, draw
from bloomless.quantities import money
from bloomless.recipes import Measured, compose
from bloomless.recipes.scaling import stock_needed
from bloomless.storage.photos import photo_from

AT = datetime(2026, 3, 21, tzinfo=UTC)


@pytest.fixture
def book():
    made = MemoryBook()
    load_demo(made, at=AT)
    return made


def lot(code, on, left, best_before="", cost=None):
    return Lot(code, on, 1000.0, left, None if cost is None else money(cost, "EUR"), best_before=best_before)


def test_the_shortest_date_goes_first():
    lots = (lot("a", "2026-01-01", 300), lot("b", "2026-02-01", 500, "2026-05-01"), lot("c", "2025-12-01", 0))
    drawn_ = draw(lots, 600)
    assert drawn_.taken == (("b", 500), ("a", 100))
    assert drawn_.missing_g == 0
    assert [x.left_g for x in drawn_.lots] == [200, 0, 0]
    assert draw(lots, 1000).missing_g == pytest.approx(200)


@pytest.mark.parametrize(
    "wrong",
    [
        {"code": " "}, {"on": "yesterday"}, {"best_before": "soon"}, {"pack_g": 0.0}, {"left_g": -1.0},
        {"cost": money("-1", "EUR")}, {"usable_share": 0.0},
    ],
)  # fmt: skip
def test_a_lot_that_cannot_be(wrong):
    with pytest.raises(ImpossibleInput) as caught:
        replace(lot("a", "2026-01-01", 1), **wrong)
    assert caught.value.field == next(iter(wrong))
    with pytest.raises(ImpossibleInput):
        draw((), -1)


def test_receive_count_and_the_history_of_prices(book):
    before = stock.stock_of(book)["dark_64"]
    new = Lot("N1", "2026-03-20", 2500, 2500, money("36.00", "EUR"), "Somebody", usable_share=0.98)
    stock.receive(book, "dark_64", new, at=AT)
    assert stock.stock_of(book)["dark_64"] == before + 2500
    prices = jobs.pantry_of(book).ingredients["dark_64"].prices
    assert [p.on for p in prices] == sorted(p.on for p in prices)
    assert prices[-1].lot == "N1"
    assert prices[-1].usable_share == 0.98
    with pytest.raises(ImpossibleInput):
        stock.receive(book, "dark_64", new, at=AT)
    stock.count_lot(book, "dark_64", "N1", 2400, at=AT)
    assert stock.stock_of(book)["dark_64"] == before + 2400
    with pytest.raises(UnknownName):
        stock.count_lot(book, "dark_64", "N2", 1, at=AT)
    assert stock.lots_of(book, "gold") == ()


def test_a_batch_teaches_draws_and_keeps_its_cost(book):
    written = jobs.pantry_of(book).recipes["salt_caramel"].left_behind_share
    code = batches.start_batch(book, "bonbon_harbour", at=AT, pieces=100)
    recipe, pantry, entry = batches.planned(book, code)
    assert set(entry.document["versions"]) == {"salt_caramel", "hazelnut_praline", "sea_blue"}
    caramel = next(p for p in batches.to_weigh(recipe, pantry) if p.recipe.key == "salt_caramel")
    whole_g = caramel.made.mass_g + caramel.made.left_behind_g
    there, needed = stock.stock_of(book), stock_needed(recipe, pantry)
    assert set(batches.lots_for(book, recipe, pantry)) == set(needed)
    closing = batches.Closing("good", {"salt_caramel": 0.9 * whole_g}, good=94, hands_min=150)
    done = batches.close_batch(book, code, closing, at=AT).document["closed"]
    assert done["shares"]["salt_caramel"]["left"] == pytest.approx(0.1, abs=1e-4)
    assert float(done["cost"]["amount"]) > 50
    assert stock.stock_of(book)["dark_64"] == pytest.approx(there["dark_64"] - needed["dark_64"])
    assert sum(g for _, g in done["lots"]["dark_64"]) == pytest.approx(needed["dark_64"])
    own = batches.own_losses(book)["salt_caramel"].left_behind
    assert written < own.share < 0.1
    assert own.low < own.share < own.high
    working = batches.working_pantry(book).recipes["salt_caramel"]
    assert working.left_behind_share == own.share
    # The sheet of an older batch stays as it was planned.
    assert batches.planned(book, code)[1].recipes["salt_caramel"].left_behind_share != own.share
    with pytest.raises(ImpossibleInput):
        batches.close_batch(book, code, closing, at=AT)


def test_what_a_batch_cannot_have_given(book):
    code = batches.start_batch(book, "bonbon_harbour", at=AT, pieces=10)
    before = stock.stock_of(book)
    for closing, field in (
        (batches.Closing("good", {"salt_caramel": 5000}), "weighed_g.salt_caramel"),
        (batches.Closing("good", {"moonlight": 5}), "weighed_g.moonlight"),
        (batches.Closing("good", good=500), "good"),
    ):
        with pytest.raises(ImpossibleInput) as caught:
            batches.close_batch(book, code, closing, at=AT)
        assert caught.value.field == field
    assert stock.stock_of(book) == before
    for wrong in ({"outcome": "fine"}, {"outcome": "good", "hands_min": 0}):
        with pytest.raises(ImpossibleInput):
            batches.Closing(**wrong)
    # A batch that failed as a whole says nothing of usual rejects.
    failed = batches.Closing("failed", good=0, from_stock=False)
    done = batches.close_batch(book, code, failed, at=AT).document["closed"]
    assert "bonbon_harbour" not in done["shares"]
    assert "lots" not in done
    assert stock.stock_of(book) == before
    grams = batches.start_batch(book, "salt_caramel", at=AT, grams=500)
    assert grams != code
    with pytest.raises(ImpossibleInput):
        batches.close_batch(book, grams, batches.Closing("good", good=3), at=AT)
    with pytest.raises(UnknownName):
        batches.start_batch(book, "moonlight", at=AT)


def test_terms_packaging_and_scale(book):
    fresh = MemoryBook()
    assert channels_of(fresh) == USUAL_CHANNELS
    assert scale_of(fresh) == (1.0, 0.1)
    assert packaging_of(fresh, "x") == ()
    made = Terms(money("20", "USD"), 0.1, None, 0.15, 2.0, money("0.2", "USD"), "average", 0.8)
    ways = (Channel("Market", *(money(x, "USD").amount for x in ("0.5", "0.2", "0.08"))),)
    save_terms(fresh, made, ways, at=AT)
    assert (terms_of(fresh), channels_of(fresh)) == (made, ways)
    with pytest.raises(ImpossibleInput):
        save_terms(fresh, replace(made, energy_price=money("1", "EUR")), ways, at=AT)
    box = Packaging("Box", money("1.2", "USD"), 1 / 12)
    save_packaging(fresh, "x", [box], at=AT)
    assert packaging_of(fresh, "x") == (box,)
    save_packaging(fresh, "x", [], at=AT)
    assert packaging_of(fresh, "x") == ()
    assert save_packaging(fresh, "x", [], at=AT) is None
    save_scale(fresh, 5.0, None, at=AT)
    assert scale_of(fresh) == (5.0, None)
    for step, fine in ((0.0, None), (1.0, 2.0)):
        with pytest.raises(ImpossibleInput):
            save_scale(fresh, step, fine, at=AT)
    # Prices in euros count as missing for a shop that reckons in dollars.
    save_terms(book, made, ways, at=AT)
    weighed = jobs.weigh_up(jobs.pantry_of(book).recipes["salt_caramel"], jobs.pantry_of(book), terms=terms_of(book))
    assert len(weighed.cost.missing) == 6


def test_the_shelf_is_made_anew_only_when_something_was_written(book):
    shelf = Shelf(book)
    first, able = shelf.pantry(), shelf.makeable()
    assert shelf.pantry() is first
    book.put("settings", "house", {"language": "de"}, at=AT)
    assert shelf.pantry() is first
    assert "bonbon_harbour" in able
    jobs.save_recipe(book, replace(first.recipes["cherry_gel"], note="new", left_behind_share=0.05), at=AT)
    assert shelf.pantry() is not first
    assert shelf.index("de", {"Pistachios, dry roasted": "Pistazien"}.get).find("pistazien") == ["bark_winter"]
    stock.count_lot(book, "dark_64", stock.lots_of(book, "dark_64")[-1].code, 0, at=AT)
    assert "bonbon_harbour" not in shelf.makeable()


def test_what_was_measured_goes_when_the_recipe_changes(book):
    recipe, _ = jobs.recipe_named(book, "cream_ganache")
    assert recipe.measured is not None
    jobs.save_recipe(book, replace(recipe, note="a note"), at=AT)
    assert jobs.recipe_named(book, "cream_ganache")[0].measured == recipe.measured
    other = (replace(recipe.lines[0], mass_g=500), *recipe.lines[1:])
    jobs.save_recipe(book, replace(recipe, lines=other), at=AT)
    assert jobs.recipe_named(book, "cream_ganache")[0].measured is None
    jobs.save_recipe(book, replace(recipe, lines=other, measured=Measured(0.8)), at=AT)
    assert jobs.recipe_named(book, "cream_ganache")[0].measured == Measured(0.8)


def test_the_book_goes_out_and_comes_in_with_its_photos(book):
    name = keep_photo(book, "cherry_gel", photo_from(drawn("JPEG")), at=AT)
    text = export_book(book)
    assert kind_of_file(text) == "book"
    other = MemoryBook()
    assert import_book(other, text, at=AT, redraw=photo_from) == (27, 2, ())
    assert jobs.recipe_named(other, "cherry_gel")[0].photo == name
    assert photo_bytes(other, name, small=True)[:2] == b"\xff\xd8"
    assert compose(jobs.pantry_of(other).recipes["bonbon_harbour"], jobs.pantry_of(other)).mass_g > 0
    assert len(json.loads(export_book(book, "cherry_gel"))["photos"]) == 1
    remove_photo(book, "cherry_gel", at=AT)
    assert name not in json.loads(export_book(book))["photos"]

    def broken(change):
        data = json.loads(text)
        change(data)
        empty = MemoryBook()
        _, _, problems = import_book(empty, json.dumps(data), at=AT, redraw=photo_from)
        assert problems
        assert not empty.entries
        return problems[0]

    assert broken(lambda d: d["photos"].update({name: "AAAA"})).field == f"photos.{name}"
    assert "lines" in broken(lambda d: d["recipes"][0]["lines"][0].update({"of": "moonlight"})).field
    assert broken(lambda d: d["recipes"][0].pop("name")).field == "recipes[0].name"
    assert kind_of_file("a,b\n1,2") == "table"
    assert kind_of_file('{"@type":"Recipe"}') == "schema.org"


def test_the_example_looks_as_if_written_up_to_yesterday():
    late = datetime(2031, 5, 1, tzinfo=UTC)
    book = MemoryBook()
    written = load_demo(book, at=late)
    days = sorted(entry.document["on"] for entry in book.latest("batch"))
    assert "2031-04" in days[-1]
    assert all(x.best_before >= "2031-05" for x in stock.lots_of(book, "cream_35") if x.best_before)
    assert load_demo(book, at=AT) == written  # already there: nothing moves
    assert remove_demo(book, at=late) == written
