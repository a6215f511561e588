"""Labels: the checks, bent rules found, time of rules, of one label and of a thousand, codes read back."""

from __future__ import annotations

import statistics
import subprocess
import sys
import warnings
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from time import perf_counter

import pypdfium2
from pyzbar import pyzbar

from bloomless.bench.label_documents import food_of, label_from_document
from bloomless.rules import all_law, law_of
from bloomless.rules.common.gs1 import digital_link
from bloomless.rules.common.review import Confirmed, review
from bloomless.rules.food import Food
from bloomless.sheets.labels import LabelSheet, label_pdf, lay_out, stock
from report import Figure, at_least, at_most, main

with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    from pylibdmtx import pylibdmtx

ROOT = Path(__file__).resolve().parents[1]
DAY = date(2026, 11, 25)
LAW = law_of(DAY)
GTIN = "09506000134352"
LINES = (
    ("milk_38", 300, "shell"), ("dark_64", 80, "shell"), ("cocoa_butter", 20, "shell"), ("lecithin_soy", 1, "shell"),
    ("hazelnut_roasted", 60, "inclusion"), ("almond_roasted", 40, "inclusion"), ("sesame_roasted", 10, "inclusion"),
    ("puffed_rice_crisp", 12, "inclusion"), ("raisin", 20, "inclusion"), ("candied_ginger", 15, "inclusion"),
    ("sea_salt_flakes", 2, "inclusion"), ("cinnamon", 1, "inclusion"), ("cardamom", 1, "inclusion"),
    ("nut_paste_pistachio", 90, "filling"), ("icing_sugar", 40, "filling"), ("smp", 20, "filling"),
    ("amf", 15, "filling"),
    ("vanilla_extract", 1, "filling"), ("raspberry_fd", 6, "filling"), ("spirit_40", 2, "filling"),
)  # fmt: skip
PACK = {
    "net_g": 85, "packed_on": "2026-11-25", "keeps_days": 120, "lot": "L26K25A", "operator": "Sail Loft Chocolate",
    "address": "2 Quay, Port Sorrel", "storage": "Store cool and dry", "largest_surface_cm2": 95, "panel_in2": 15,
}  # fmt: skip


def _food(lines: tuple[tuple[str, float, str], ...]) -> Food:
    recipe = {
        "key": "bench", "name": "bench", "kind": "bonbon",
        "lines": [{"of": of, "mass_g": float(g), "part": part} for of, g, part in lines],
    }  # fmt: skip
    document = {"product": "bench", "name": "Milk chocolate with pistachio filling", "recipe": recipe, "pack": PACK}
    return food_of(label_from_document(document))


def _median_ms(what: Callable[[], object], times: int) -> float:
    what()
    found = []
    for _ in range(times):
        start = perf_counter()
        what()
        found.append((perf_counter() - start) * 1e3)
    return statistics.median(found)


def _three_markets(food: Food) -> None:
    confirmed = Confirmed(frozenset())
    for market in ("us", "eu", "uk"):
        review(food, market, DAY, confirmed=confirmed)


def _sheet(food: Food, market: str, on: str, *, count: int = 1, codes: tuple[tuple[str, str], ...] = ()) -> LabelSheet:
    label = review(food, market, DAY).label
    assert label is not None
    return lay_out(label, food.pack, LAW, stock(on), count=count, codes=codes)


def _picture(pdf: bytes) -> object:
    document = pypdfium2.PdfDocument(pdf)
    picture = document[0].render(scale=300 / 72).to_pil().convert("L")
    document.close()
    return picture


def codes_read_back(food: Food) -> Iterator[Figure]:
    """Codes of a label, read from its PDF at 300 dpi by two libraries that did not write them."""
    elements, link = f"(01){GTIN}(15)270325(10)L26K25A", digital_link(GTIN, LAW, lot="L26K25A")
    plain = elements.replace("(", "").replace(")", "")
    read = 0
    linear = _sheet(food, "eu", "roll_100x150", codes=(("ean13", GTIN[1:]), ("gs1_128", elements)))
    found = {code.data.decode().replace("\x1d", "") for code in pyzbar.decode(_picture(label_pdf(linear)))}
    read += (GTIN[1:] in found) + (plain in found)
    matrix = _picture(label_pdf(_sheet(food, "eu", "a4_2x2", codes=(("datamatrix", elements), ("qr", link)))))
    read += link in {code.data.decode() for code in pyzbar.decode(matrix)}
    read += [c.data.decode().replace("\x1d", "") for c in pylibdmtx.decode(matrix, max_count=1, timeout=9000)] == [
        plain
    ]
    yield at_least("EAN-13, GS1-128, DataMatrix and QR read back from a PDF at 300 dpi", read, "of 4", 4)


def suite(quick: bool) -> Iterator[Figure]:
    """The 66 checks, and the test that bends every rule."""
    sys.path.insert(0, str(ROOT / "tests"))
    from rules import test_mutation as bent
    from rules.checks import CHECKS

    passed = 0
    for number in range(1, 67):
        try:
            CHECKS[number](law_of)
            passed += 1
        except Exception:
            print(f"check {number} fails", file=sys.stderr)
    yield at_least("checks of section 9 that pass", passed, "of 66", 66)
    if quick:
        return
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "tests/rules/test_mutation.py"],
        cwd=ROOT,
        check=False,
        capture_output=True,
    )
    law = all_law()
    tried = sum(1 for rule in law.rules for _ in bent.mutants_of_rule(rule))
    tried += sum(1 for table in law.tables for _ in bent.mutants_of_table(table))
    tried += sum(1 for figure in law.figures for _ in bent.mutants_of_figure(figure))
    yield at_least(
        "bent rules, tables and figures found by a check",
        1.0 if done.returncode == 0 else 0.0,
        f"of {tried}, share",
        1.0,
    )


def measure(quick: bool) -> Iterator[Figure]:
    """Every figure of the issue."""
    yield from suite(quick)
    food = _food(LINES)
    assert sum(1 for _ in food.uses()) == 20
    times = 10 if quick else 60
    yield at_most(
        "rules of a 20-ingredient recipe, three markets", _median_ms(lambda: _three_markets(food), times), "ms", 20
    )
    bar = _food(LINES[:5])
    bar = replace(bar, pack=replace(bar.pack, net_g=Decimal(50)))
    for market, on in (("eu", "a4_2x3"), ("uk", "a4_2x3"), ("us", "letter_2x2")):
        found = _median_ms(lambda m=market, o=on: label_pdf(_sheet(bar, m, o)), 5 if quick else 25)  # type: ignore[misc]
        yield at_most(f"one label laid out, measured and written as PDF, {market}", found, "ms", 300)
    for on in ("a4_2x3", "roll_62x100"):
        start = perf_counter()
        pdf = label_pdf(_sheet(bar, "eu", on, count=1000))
        yield at_most(f"1,000 labels in one file, {on} ({len(pdf) / 1e6:.1f} MB)", perf_counter() - start, "s", 20)
    yield from codes_read_back(bar)


if __name__ == "__main__":
    main(measure, __doc__)
