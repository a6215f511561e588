"""Labels on paper: codes read by another library from the rendered PDF, type heights from its pixels and its glyphs."""

import io
import re
import subprocess
import warnings
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pypdfium2
import pytest
from matplotlib.ft2font import FT2Font, LoadFlags
from pyzbar import pyzbar

from bloomless.bench.label_documents import food_of, label_from_document
from bloomless.bench.labels import judge
from bloomless.bench.ports import MemoryBook
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules import law_of
from bloomless.rules.common.gs1 import digital_link
from bloomless.rules.common.review import Confirmed, review
from bloomless.sheets.codes import symbol
from bloomless.sheets.labels import STOCKS, label_pdf, lay_out, stock
from bloomless.sheets.specification import specification_pdf

with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)  # the library compares versions in an old way when it is loaded
    from pylibdmtx import pylibdmtx

DAY = date(2026, 11, 25)
LAW = law_of(DAY)
GTIN = "09506000134352"
DPI = 300
BAR = {
    "product": "hazelnut-bar",
    "name": "Dark chocolate with roasted hazelnuts",
    "recipe": {
        "key": "bar",
        "name": "bar",
        "kind": "bar",
        "lines": [
            {"of": "dark_70", "mass_g": 700, "part": "shell"},
            {"of": "hazelnut_roasted", "mass_g": 200, "part": "inclusion"},
            {"of": "lecithin_soy", "mass_g": 2, "part": "shell"},
        ],
    },
    "pack": {
        "net_g": 85,
        "packed_on": "2026-11-25",
        "keeps_days": 365,
        "operator": "Sail Loft Chocolate",
        "address": "2 Quay, Port Sorrel",
        "storage": "Store cool and dry",
        "lot": "L26K25A",
        "largest_surface_cm2": 95,
        "panel_in2": 15,
    },
}


def made(market, on, **more):
    food = food_of(label_from_document(BAR))
    food = replace(food, pack=replace(food.pack, **more.pop("pack", {})))
    found = review(food, market, DAY, confirmed=Confirmed(frozenset({"hazelnut", "soy"})), **more.pop("how", {}))
    return lay_out(found.label, food.pack, LAW, stock(on), **more)


def page(pdf, number=0, dpi=DPI):
    document = pypdfium2.PdfDocument(pdf)
    picture = document[number].render(scale=dpi / 72).to_pil().convert("L")
    document.close()
    return picture


def words(pdf):
    done = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True)
    return done.stdout.decode()


FLAT = "z"  # as high as x in this font, and it stands in «hazelnuts»
ELEMENTS = f"(01){GTIN}(15)271031(10)L26K25A"
LINK = digital_link(GTIN, LAW, lot="L26K25A", best_before=date(2027, 10, 31))


@pytest.fixture(scope="module")
def coded():
    codes = (("ean13", GTIN[1:]), ("gs1_128", ELEMENTS))
    return page(label_pdf(made("eu", "roll_100x150", codes=codes))), page(
        label_pdf(made("eu", "a4_2x3", codes=(("datamatrix", ELEMENTS), ("qr", LINK))))
    )


def test_linear_codes_are_read_back_from_the_page(coded):
    read = {(found.type, found.data.decode()) for found in pyzbar.decode(coded[0])}
    assert ("EAN13", GTIN[1:]) in read
    # fixed elements need no separator; the variable lot stands last
    assert ("CODE128", f"01{GTIN}1527103110L26K25A") in {(kind, data.replace("\x1d", "")) for kind, data in read}


def test_matrix_codes_are_read_back_from_the_page(coded):
    assert ("QRCODE", LINK) in {(found.type, found.data.decode()) for found in pyzbar.decode(coded[1])}
    found = pylibdmtx.decode(coded[1], max_count=1, timeout=8000)
    assert [code.data.decode().replace("\x1d", "") for code in found] == [f"01{GTIN}1527103110L26K25A"]


def test_the_roll_names_itself_in_a_code():
    sheet = made("eu", "roll_62x100", roll_code="R|hazelnut-bar|L26K25A|eu|1", count=2)
    pdf = label_pdf(sheet)
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) == 3  # leader and two labels
    document.close()
    assert "R|hazelnut-bar|L26K25A|eu|1" in {found.data.decode() for found in pyzbar.decode(page(pdf))}
    assert "Check against the law in force where you sell; this is no legal advice." in " ".join(words(pdf).split())


@pytest.mark.parametrize("kind", ["datamatrix", "gs1_128"])
def test_gs1_content_is_gs1_not_text_with_brackets(kind):
    import zxingcpp

    from bloomless.sheets.codes import KINDS

    form, gs1 = KINDS[kind]
    assert zxingcpp.create_barcode(ELEMENTS, form, gs1=gs1).content_type == zxingcpp.ContentType.GS1
    assert symbol(kind, ELEMENTS, LAW).text == ELEMENTS


@pytest.mark.parametrize(
    ("kind", "wide_mm"),
    # GS1 General Specifications 5.2.3 (from memory): EAN-13 at 100 % is 113 modules of 0.33 mm, quiet zones included
    [("ean13", 37.29)],
)
def test_symbols_have_their_real_size(kind, wide_mm):
    assert symbol(kind, GTIN[1:], LAW).width_mm == pytest.approx(wide_mm)


def test_quiet_zones_stay_white(coded):
    svg = symbol("qr", LINK, LAW)
    assert svg.width_mm == svg.height_mm
    with pytest.raises(ImpossibleInput):
        symbol("qr", LINK, LAW, module_mm=0.1)
    with pytest.raises(ImpossibleInput):
        symbol("ean13", "9506000134353", LAW)  # a wrong check digit
    with pytest.raises(UnknownName):
        symbol("barcode", "1", LAW)


def glyph_heights_mm(pdf, letter):
    """Heights of a letter's outline on the page, from the PDF's own glyph boxes as another library reads them."""
    document = pypdfium2.PdfDocument(pdf)
    text = document[0].get_textpage()
    chars = text.get_text_range()
    found = []
    for index, char in enumerate(chars):
        if char == letter:
            _, bottom, _, top = text.get_charbox(index)
            found.append((top - bottom) / 72 * 25.4)
    document.close()
    return found


def em(char, bold):
    """Height of a glyph of the label's font over its size, as the font file itself has it."""
    font = FT2Font(str(Path(mpl.get_data_path(), "fonts", "ttf", f"DejaVuSans{'-Bold' if bold else ''}.ttf")))
    font.set_size(1000, 72)
    font.load_char(ord(char), flags=LoadFlags.NO_HINTING)
    low, high = font.get_path()[0][:, 1].min(), font.get_path()[0][:, 1].max()
    return (high - low) / 1000


def points_of(pdf, phrase, *, bold):
    """Sizes a phrase is set in, from the outline of its first letter wherever it stands in the panel."""
    document = pypdfium2.PdfDocument(pdf)
    text = document[0].get_textpage()
    chars = text.get_text_range()
    found = []
    for hit in re.finditer(phrase.replace(" ", r"\s+"), chars):
        _, bottom, _, top = text.get_charbox(hit.start())
        found.append((top - bottom) / em(phrase[0], bold))
    document.close()
    assert found, phrase
    return found


# 21 CFR 101.9(d)(1)(iii), (d)(3) and (j)(13)(ii)(A), from memory: least points
STANDARD = {"Calories": 16, "310": 22, "Serving size": 10, "1 serving": 10, "Total Fat": 8, "Trans": 8, "Iron": 8,
            "Amount per": 6, "tells you": 6, "Nutrition Facts": 16}  # fmt: skip
SMALL = {"Calories": 10, "310": 14, "Serving size": 9, "1 serving": 9, "Total Fat": 8, "Trans": 8, "Iron": 8,
         "Nutrition Facts": 10}  # fmt: skip
BOLD = {"Calories", "310", "Serving size", "Total Fat", "Amount per", "Nutrition Facts"}


@pytest.mark.parametrize(
    ("panel", "on", "least"),
    [("vertical", "roll_100x150", STANDARD), ("tabular", "roll_150x80", SMALL), ("linear", "roll_62x100", SMALL)],
)
def test_the_us_panel_is_as_large_as_the_law_asks_as_rendered(panel, on, least):
    pdf = label_pdf(made("us", on, panel=panel, pack={"net_g": Decimal(50)}))
    sizes = {phrase: points_of(pdf, phrase, bold=phrase in BOLD)[0] for phrase in least}
    for phrase, points in least.items():
        assert sizes[phrase] >= points - 0.05, phrase
    # (d)(2): the heading is larger than everything but the number of calories
    assert all(
        sizes["Nutrition Facts"] > size for phrase, size in sizes.items() if phrase not in {"310", "Nutrition Facts"}
    )


def test_the_dual_column_panel_is_as_large_too():
    pdf = label_pdf(made("us", "roll_100x150"))
    assert min(points_of(pdf, "180", bold=True)[0], points_of(pdf, "530", bold=True)[0]) >= 22 - 0.05
    assert points_of(pdf, "Per container", bold=True)[0] >= 6 - 0.05
    assert points_of(pdf, "Incl. Added", bold=False)[0] >= 8 - 0.05


def test_the_net_quantity_stands_low_and_clear_on_the_us_panel():
    sheet = made("us", "roll_100x150", pack={"net_g": Decimal(50)})
    document = pypdfium2.PdfDocument(label_pdf(sheet))
    text, page_pt = document[0].get_textpage(), document[0].get_height()
    chars = text.get_text_range()
    _, bottom, _, top = text.get_charbox(chars.index("Net Wt"))
    _, above, _, _ = text.get_charbox(chars.index("y Nov"))  # the y of "by" hangs lowest
    document.close()
    assert top / page_pt <= 0.30  # 101.7(f): bottom 30 % of the panel
    assert above - top >= (top - bottom) - 0.05  # 101.7(e): as clear as its letters are high
    assert sheet.findings == ()
    low = made("us", "letter_2x5", pack={"net_g": Decimal(50), "panel_in2": Decimal(101)})
    assert "us.net.placement" not in {f.rule for f in low.findings}


@pytest.mark.parametrize(("surface", "least"), [(95, 1.2), (79, 0.9)])
def test_the_x_height_is_what_the_union_asks_as_rendered(surface, least):
    sheet = made("eu", "a4_2x4", pack={"largest_surface_cm2": Decimal(surface)}, largest_pt=5.0)
    assert not sheet.findings
    heights = [h for h in glyph_heights_mm(label_pdf(sheet), FLAT) if h < 2.2]
    assert min(heights) >= least - 0.005
    if surface == 79:
        assert min(heights) < 1.2  # the smaller height is really used


def test_the_o_height_is_what_the_us_asks_as_rendered():
    sheet = made("us", "roll_62x100", panel="linear", largest_pt=5.0)
    assert not sheet.findings
    body = words(label_pdf(sheet))
    assert "Contains: hazelnuts, soy." in body
    # 101.2(c): 1/16 in on the lower-case o of every mandatory text outside the panel
    assert sheet.fit.letter_mm >= 25.4 / 16
    heights = glyph_heights_mm(label_pdf(sheet), "o")
    assert max(heights) >= 25.4 / 16 - 0.005


def test_the_x_height_is_measured_in_pixels_too():
    sheet = made("eu", "a4_2x4", largest_pt=5.0)
    dpi = 1200
    document = pypdfium2.PdfDocument(label_pdf(sheet))
    text = document[0].get_textpage()
    index = next(i for i, c in enumerate(text.get_text_range()) if c == FLAT and text.get_charbox(i)[3] > 0)
    left, bottom, right, top = text.get_charbox(index)
    height = document[0].get_height()
    picture = np.asarray(document[0].render(scale=dpi / 72).to_pil().convert("L"))
    document.close()
    scale = dpi / 72
    cut = picture[
        int((height - top) * scale) - 20 : int((height - bottom) * scale) + 20,
        int(left * scale) + 2 : int(right * scale) - 2,
    ]
    rows = np.flatnonzero((cut < 128).any(axis=1))
    assert (rows[-1] - rows[0] + 1) / dpi * 25.4 >= 1.2 - 25.4 / dpi


@pytest.mark.parametrize(("net", "least_mm"), [(40, 2), (85, 3), (250, 4)])  # Directive 76/211/EEC Annex I 3.1
def test_the_net_quantity_is_high_enough_as_rendered(net, least_mm):
    sheet = made("eu", "a4_2x3", pack={"net_g": Decimal(net)})
    assert sheet.fit.net_mm >= least_mm
    assert max(glyph_heights_mm(label_pdf(sheet), str(net)[-1])) >= least_mm - 0.01


def test_too_much_text_gives_the_size_it_needs_and_then_fits():
    small = made("eu", "roll_50x30")
    overflow = [x for x in small.findings if x.rule == "eu.label.overflow"]
    assert overflow
    assert overflow[0].severity == "block"
    assert "it needs 50 × " in overflow[0].message
    needed = float(overflow[0].message.split("it needs 50 × ")[1].split(" ")[0])
    food = food_of(label_from_document(BAR))
    label = review(food, "eu", DAY).label
    fit = lay_out(label, food.pack, LAW, replace(stock("roll_50x30"), height_mm=needed)).fit
    assert fit.tall_mm <= fit.room_mm + 0.01
    assert fit.wide_mm <= fit.room_wide_mm + 0.01


@pytest.mark.parametrize("panel", ["vertical", "tabular", "linear"])
def test_every_us_panel_says_the_same(panel):
    text = " ".join(
        words(label_pdf(made("us", "roll_100x150" if panel != "tabular" else "letter_2x2", panel=panel))).split()
    )
    for said in ("Nutrition Facts", "1/3 bar (28g)", "Calories", "Net Wt 2.99 oz (85 g)", "Lot L26K25A"):
        assert said in text


@pytest.mark.parametrize(
    ("country", "said"),
    [
        ("DE", ("Zutaten", "Kakao: 69 % mindestens", "Mindestens haltbar bis Ende 10/2027", "Brennwert|Energie")),
        ("FR", ("Ingrédients", "Cacao : 69 % minimum", "À consommer de préférence avant fin 10/2027")),
        ("IE", ("Ingredients", "Cocoa solids: 69 % minimum", "Best before end 10/2027")),
    ],
)
def test_a_label_speaks_the_language_of_the_country(country, said):
    text = " ".join(words(label_pdf(made("eu", "a4_2x2", pack={"country": country}))).split())
    for phrase in said:
        assert any(option in text for option in phrase.split("|")), phrase


def test_a_sheet_has_its_labels_where_they_belong():
    sheet = made("eu", "a4_2x4", count=9, cut_line=True)
    document = pypdfium2.PdfDocument(label_pdf(sheet))
    assert len(document) == 2
    assert document[0].get_size() == pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=0.05)
    document.close()
    assert words(label_pdf(sheet)).count("L26K25A") == 9


def test_stocks_lie_on_their_page():
    for found in STOCKS.values():
        if found.kind == "sheet":
            right = found.left_mm + found.columns * found.width_mm + (found.columns - 1) * found.gap_x_mm
            assert found.left_mm >= 3
            assert right <= found.page_width_mm - 3
            assert found.top_mm + found.rows * found.height_mm <= found.page_height_mm


def test_the_same_label_gives_the_same_bytes():
    assert label_pdf(made("uk", "a4_2x3")) == label_pdf(made("uk", "a4_2x3"))


def test_text_a_person_typed_cannot_break_the_page():
    sheet = made("eu", "a4_2x2", pack={"operator": '#panic("x") $ *a* \\ "', "address": "§ ½ µ 漢"[:5]})
    assert '#panic("x")' in words(label_pdf(sheet))


@pytest.mark.parametrize("count", [0, 20_001])
def test_a_file_holds_one_to_twenty_thousand(count):
    with pytest.raises(ImpossibleInput):
        made("eu", "a4_2x4", count=count)


def test_the_specification_says_what_a_buyer_asks():
    found = judge(MemoryBook(), label_from_document(BAR), "eu", DAY)
    text = " ".join(words(specification_pdf(found)).split())
    wanted = ("Product specification", "Ingredients", "Allergens", "hazelnut", "Nutrition per 100 g", "no legal advice")
    for said in (*wanted, "total dry cocoa solids", "nobody yet: not for print"):
        assert said in text
    assert "Blocks printing." in text
    assert io.BytesIO(specification_pdf(found, page="us-letter")).read(4) == b"%PDF"
