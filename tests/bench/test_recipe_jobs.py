"""The recipe book's jobs on a book in memory, and the example workshop."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from bloomless.bench import recipes as jobs
from bloomless.bench.cost_terms import DEFAULT_TERMS, packaging_of, terms_of
from bloomless.bench.demo_book import demo_is_loaded, load_demo, remove_demo
from bloomless.bench.ports import MemoryBook
from bloomless.bench.stock import stock_of
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.recipes import Line, Recipe

AT = datetime(2026, 3, 20, tzinfo=UTC)


@pytest.fixture(scope="module")
def demo():
    book = MemoryBook()
    load_demo(book, at=AT)
    return book, jobs.pantry_of(book)


def test_the_example_shows_something_true_looking_everywhere(demo):
    book, pantry = demo
    assert len(pantry.recipes) >= 20
    kinds = {recipe.kind for recipe in pantry.recipes.values()}
    assert len(kinds) == 12
    assert sum(recipe.kind in ("bar", "bonbon", "bark") for recipe in pantry.recipes.values()) >= 10
    for recipe in pantry.recipes.values():
        found = jobs.weigh_up(recipe, pantry, terms=terms_of(book), packaging=packaging_of(book, recipe.key))
        assert found.cost.missing == ()
        assert found.made.per_100g.added_up_g == pytest.approx(100, abs=3)
    bonbon = jobs.weigh_up(pantry.recipes["bonbon_harbour"], pantry)
    assert 0.2 < float(bonbon.cost.per_piece.amount) < 2.5
    assert [e.document.get("closed", {}).get("outcome") for e in book.latest("batch")].count("failed") == 1
    assert {e.kind for kind in ("mould", "workbench", "stock") for e in book.latest(kind)} == {
        "mould",
        "workbench",
        "stock",
    }


def test_keeping_of_the_example(demo):
    _, pantry = demo
    cream = jobs.weigh_up(pantry.recipes["bonbon_cream"], pantry)
    assert cream.keeping.range_d is None
    bar = jobs.weigh_up(pantry.recipes["bar_dark_salt"], pantry)
    assert bar.keeping.range_d is not None
    assert [part.name for part in jobs.weigh_up(pantry.recipes["bonbon_harbour"], pantry).parts].count("filling") == 2


def test_example_goes_in_one_step():
    book = MemoryBook()
    assert not demo_is_loaded(book)
    assert remove_demo(book, at=AT) == 0
    written = load_demo(book, at=AT)
    assert load_demo(book, at=AT) == written
    assert demo_is_loaded(book)
    mine, _ = jobs.recipe_named(book, "cream_ganache")
    jobs.save_recipe(book, replace(mine, note="mine now"), at=AT)
    assert remove_demo(book, at=AT) == written - 1
    assert [e.key for e in book.latest("recipe")] == ["cream_ganache"]


def test_save_versions_and_variants():
    book = MemoryBook()
    load_demo(book, at=AT)
    recipe, entry = jobs.recipe_named(book, "cherry_gel")
    lines = (replace(recipe.lines[0], mass_g=520), *recipe.lines[1:])
    assert jobs.save_recipe(book, replace(recipe, lines=lines), at=AT).version == entry.version + 1
    changed = jobs.version_difference(book, "cherry_gel", 1, 2)
    assert [(d.what, d.before, d.after) for d in changed] == [("Sour cherry puree", "500 g", "520 g")]
    variant = jobs.duplicate(book, "cherry_gel", "plum_gel", "Plum gel", at=AT)
    assert variant.document["variant_of"] == "cherry_gel"
    with pytest.raises(ImpossibleInput):
        jobs.duplicate(book, "cherry_gel", "plum_gel", "Plum gel", at=AT)


def test_a_loop_or_an_unknown_line_is_not_saved():
    book = MemoryBook()
    a = Recipe("a", "A", "other", (Line("sucrose", 1),))
    jobs.save_recipe(book, a, at=AT)
    jobs.save_recipe(book, Recipe("b", "B", "other", (Line("a", 1, is_recipe=True),)), at=AT)
    with pytest.raises(ImpossibleInput) as caught:
        jobs.save_recipe(book, replace(a, lines=(Line("b", 1, is_recipe=True),)), at=AT)
    assert caught.value.code == "loop"
    with pytest.raises(UnknownName):
        jobs.save_recipe(book, replace(a, lines=(Line("gold", 1),)), at=AT)
    assert len(book.history("recipe", "a")) == 1


def test_own_ingredient_stock_and_terms(demo):
    book, pantry = demo
    own = replace(pantry.ingredients["salt"], key="own_salt", name="Own salt")
    fresh = MemoryBook()
    jobs.save_ingredient(fresh, own, at=AT)
    assert jobs.pantry_of(fresh).ingredients["own_salt"].name == "Own salt"
    assert terms_of(fresh) == DEFAULT_TERMS
    assert terms_of(book).energy_price is not None
    assert jobs.line_from("salt", 1, pantry).is_recipe is False
    assert jobs.line_from("cherry_gel", 1, pantry).is_recipe
    with pytest.raises(UnknownName):
        jobs.line_from("gold", 1, pantry)
    most = jobs.makeable(pantry, stock_of(book))
    assert most[0][1] >= most[-1][1] > 0
    assert jobs.search_index(book).find("harb")[0] == "bonbon_harbour"
    assert jobs.search_index(book, jobs.names_of(pantry)).find("cherry puree") == ["cherry_gel"]
