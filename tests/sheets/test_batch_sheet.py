"""The batch sheet: what it must hold, on one page, readable back."""

from datetime import UTC, datetime

import pypdfium2
import pytest

from bloomless.bench.batch_sheet import batch_sheet, quick_bar, to_temper
from bloomless.bench.demo_book import load_demo
from bloomless.bench.ports import MemoryBook
from bloomless.bench.recipes import pantry_of
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.mould_library import library
from bloomless.sheets.batch_sheet import batch_sheet_pdf

BOOK = MemoryBook()
load_demo(BOOK, at=datetime(2026, 3, 1, tzinfo=UTC))
PANTRY = pantry_of(BOOK)


def bar():
    return quick_bar(
        PANTRY, chocolate="dark_64", bars=12, piece_g=60, inclusions=[("buckwheat", 0.08), ("sea_salt_flakes", 0.005)]
    )


def words(made):
    with pypdfium2.PdfDocument(made) as document:
        return len(document), "\n".join(page.get_textpage().get_text_range() for page in document)


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_a_newcomers_bar_fits_one_page(paper):
    sheet = batch_sheet(
        bar(), PANTRY, batch="L1", on="2026-03-20", address="http://localhost/b/L1", mould=library()["bar-60"]
    )
    made = batch_sheet_pdf(sheet, paper=paper)
    pages, text = words(made)
    assert pages == 1
    for part in (
        "12 pieces of 60.0 g",
        "4 × Bar of 60 g",
        "melt",
        "as seed",
        "buckwheat",
        "wheat",
        "time",
        "burn",
        "L1",
    ):
        assert part in text
    assert "safe" not in text.lower()
    assert batch_sheet_pdf(sheet, paper=paper) == made


def test_sub_recipes_come_first_and_moist_fillings_get_no_time():
    sheet = batch_sheet(PANTRY.recipes["bonbon_cream"], PANTRY, batch="L2", on="2026-03-20")
    assert [s["heading"] for s in sheet.sections] == ["Cream ganache, dark", "Evening cream"]
    assert "No keeping time" in sheet.keeping
    assert any("moist" in caution for caution in sheet.cautions)
    assert sheet.data()["title"] == "Evening cream"


def test_melt_more_than_needed_and_seed():
    needed = to_temper(bar(), PANTRY)[0]
    assert needed.melt_g + needed.seed_g > needed.need_g
    assert 0.05 < needed.seed_g / needed.melt_g < 0.2
    assert "a quarter more" in needed.why
    assert to_temper(PANTRY.recipes["cream_ganache"], PANTRY) == ()
    assert [t.name for t in to_temper(PANTRY.recipes["bark_winter"], PANTRY)] == ["House dark 66 %"]


def test_a_bar_as_a_newcomer_says_it():
    made = bar()
    assert made.put_in_g == pytest.approx(720)
    assert made.key == "dark_couverture_64___bar"
    for wrong in (
        {"bars": 0},
        {"piece_g": 0},
        {"inclusions": [("buckwheat", 0.6)]},
        {"inclusions": [("buckwheat", -0.1)]},
    ):
        with pytest.raises(ImpossibleInput):
            quick_bar(PANTRY, **{"chocolate": "dark_64", "bars": 12, "piece_g": 60, "inclusions": [], **wrong})
    with pytest.raises(UnknownName):
        quick_bar(PANTRY, chocolate="gold", bars=1, piece_g=60, inclusions=[])
