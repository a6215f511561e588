"""What is asked for again and again of the recipe book, read once for every state the book has."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, TypeVar

from bloomless.bench import batches, recipes, stock
from bloomless.bench.ports import Book
from bloomless.recipes import Pantry, Recipe
from bloomless.recipes.finding_recipes import SearchIndex

__all__ = ["Shelf"]

T = TypeVar("T")
_WRITTEN: Final = ("ingredient", "recipe", "stock")


class Shelf:
    """The book's pantry, index and stock; each is made anew only after something it rests on was written.

    May be used by several threads: the worst they can do is to make the same thing twice.
    """

    def __init__(self, book: Book) -> None:
        self.book = book
        self._kept: dict[str, tuple[int, Any]] = {}

    def _at(self, name: str, kinds: tuple[str, ...], make: Callable[[], T]) -> T:
        revision = self.book.revision(*kinds)
        known = self._kept.get(name)
        if known is None or known[0] != revision:
            known = self._kept[name] = (revision, make())
        found: T = known[1]
        return found

    def written(self) -> Pantry:
        """Ingredients and recipes as they are written."""
        return self._at("written", _WRITTEN, lambda: recipes.pantry_of(self.book))

    def own(self) -> dict[str, batches.Own]:
        """What own batches have taught, by recipe."""
        return self._at("own", ("batch", "recipe"), lambda: batches.own_losses(self.book))

    def pantry(self) -> Pantry:
        """The pantry to scale and to cost with: own losses in place of written ones."""

        def make() -> Pantry:
            written, own = self.written(), self.own()
            inside = {key: batches.with_own(r, own.get(key)) for key, r in written.recipes.items()}
            return Pantry(written.ingredients, inside)

        return self._at("pantry", (*_WRITTEN, "batch"), make)

    def index(self, language: str = "en", say: Callable[[str], str] = str) -> SearchIndex:
        """Index for searching as typed, ingredients under the names a language gives them as well."""

        def make() -> SearchIndex:
            names = recipes.names_of(self.written())
            return recipes.search_index(self.book, {key: f"{name} {say(name)}" for key, name in names.items()})

        return self._at(f"index {language}", ("ingredient", "recipe"), make)

    def makeable(self) -> dict[str, tuple[Recipe, float, str]]:
        """Recipes the stock allows: how many times their written size, and what ends first."""

        def make() -> dict[str, tuple[Recipe, float, str]]:
            found = recipes.makeable(self.pantry(), stock.stock_of(self.book))
            return {one[0].key: one for one in found}

        return self._at("makeable", (*_WRITTEN, "batch"), make)
