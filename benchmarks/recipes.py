"""The recipe book: weighing up a bonbon, searching as typed, rebalancing, the batch sheet; and its prediction of one
laboratory value.
"""

from __future__ import annotations

import http.client
import tempfile
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from time import perf_counter
from urllib.parse import urlencode

from bloomless.assembly import open_house, places
from bloomless.bench.batch_sheet import batch_sheet
from bloomless.bench.cost_terms import terms_of
from bloomless.bench.demo_book import load_demo
from bloomless.bench.ports import MemoryBook
from bloomless.bench.recipes import pantry_of, search_index, weigh_up
from bloomless.recipes import Line, Pantry, Recipe, compose
from bloomless.recipes.documents import recipe_document
from bloomless.recipes.rebalance import Goal, rebalance
from bloomless.recipes.water_activity import water_activity
from bloomless.sheets.batch_sheet import batch_sheet_pdf
from bloomless.web import Door
from bloomless.web.server import configured, listening_socket
from report import Figure, at_most, main

AT = datetime(2026, 3, 1, tzinfo=UTC)
TYPED = "salt caramel bonbon"
GOALS = (Goal("water_activity", high=0.80), Goal("fat_g", 28, 40), Goal("cocoa_butter_g", 12, 22))


def milliseconds(job: Callable[[], object], times: int) -> list[float]:
    """Time of each of so many runs."""
    taken = []
    for _ in range(times):
        began = perf_counter()
        job()
        taken.append(1000.0 * (perf_counter() - began))
    return taken


def _four_parts(pantry: Pantry) -> Recipe:
    bonbon = pantry.recipes["bonbon_harbour"]
    return replace(bonbon, lines=(*bonbon.lines, Line("cherry_gel", 100, is_recipe=True, part="filling")))


def _big_book(pantry: Pantry, number: int) -> MemoryBook:
    book = MemoryBook()
    kinds = list(pantry.recipes.values())
    for n in range(number):
        model = kinds[n % len(kinds)]
        made = replace(model, key=f"r{n}", name=f"{model.name} no. {n}")
        book.put("recipe", made.key, recipe_document(made), at=AT)
    return book


def _typed_over_http(number: int) -> Iterator[Figure]:
    """Every key stroke of a search as a browser sends it: rows of the page, from a book on disk."""
    with tempfile.TemporaryDirectory() as folder:
        house = open_house(places(Path(folder), {}))
        house.book.put("settings", "house", {"language": "en"}, at=AT)
        load_demo(house.book, at=AT)
        for entry in _big_book(pantry_of(house.book), number).latest("recipe"):
            house.book.put("recipe", entry.key, entry.document, at=AT)
        listener = listening_socket("127.0.0.1", 0)
        port = listener.getsockname()[1]
        server = configured(house, Door("127.0.0.1", port))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        wire = http.client.HTTPConnection("127.0.0.1", port, timeout=60)

        def ask(typed: str) -> None:
            wire.request("GET", "/book/find?" + urlencode({"q": typed}))
            answer = wire.getresponse()
            body = answer.read()
            if answer.status != 200 or (typed == TYPED and b"<li>" not in body):
                raise SystemExit(f"{answer.status} for {typed!r}")

        first = milliseconds(lambda: ask(""), 1)[0]
        strokes = [min(milliseconds(lambda n=n: ask(TYPED[:n]), 5)) for n in range(1, len(TYPED) + 1)]
        house.book.put("recipe", "r7", {**house.book.get("recipe", "r7").document, "note": "changed"}, at=AT)
        after = milliseconds(lambda: ask("s"), 1)[0]
        wire.close()
        server.should_exit = True
        thread.join(20)
        listener.close()
        house.close()
    yield at_most(f"{number:,} recipes typed over HTTP, slowest key stroke", max(strokes), "ms", 50.0)
    yield at_most("the same, the first look after the start", first / 1000.0, "s", 5.0)
    yield at_most("the same, the first key stroke after a recipe was changed", after / 1000.0, "s", 3.0)


def _laboratory(pantry: Pantry) -> Iterator[Figure]:
    """450 g chocolate of unstated kind, 160 g cream: one laboratory reported 0.847."""
    for kind in ("dark_55", "dark_60", "dark_64"):
        found = water_activity(compose(Recipe("r", "R", "ganache", (Line(kind, 450), Line("cream_35", 160))), pantry))
        inside = found.low <= 0.847 <= found.high
        yield Figure(f"{kind} 450 g, cream 160 g: predicted", found.value, "1", "0.847 in the band", inside)


def measure(quick: bool) -> Iterator[Figure]:
    """Figures with the targets of the issue."""
    times = 15 if quick else 100
    book = MemoryBook()
    load_demo(book, at=AT)
    pantry = pantry_of(book)
    four, terms = _four_parts(pantry), terms_of(book)
    taken = milliseconds(lambda: weigh_up(four, pantry, terms=terms), times)
    yield at_most("composition, balance, water activity, cost; four sub-recipes", median(taken[1:]), "ms", 20.0)
    index = search_index(_big_book(pantry, 2000))
    slowest = max(max(milliseconds(lambda n=n: index.find(TYPED[:n]), 3)) for n in range(1, len(TYPED) + 1))
    yield at_most("2,000 recipes searched, slowest key stroke", slowest, "ms", 50.0)
    yield from _typed_over_http(2000)
    solves = milliseconds(lambda: rebalance(pantry.recipes["cream_ganache"], pantry, GOALS), 3 if quick else 10)
    yield at_most("a rebalancing solve, three goals, slowest", max(solves) / 1000.0, "s", 1.0)
    sheet = batch_sheet(four, pantry, batch="L1", on="2026-03-01", address="http://localhost/b/L1")
    first, *more = milliseconds(lambda: batch_sheet_pdf(sheet), 5)
    yield at_most("batch sheet PDF, the first in a process", first, "ms", 500.0)
    yield at_most("batch sheet PDF, after that", median(more), "ms", 500.0)
    yield from _laboratory(pantry)


if __name__ == "__main__":
    main(measure, __doc__)
