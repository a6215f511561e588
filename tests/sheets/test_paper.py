"""Paper: repeatable, own fonts only, a warning is an error, text cannot become markup, codes can be read."""

import io

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from bloomless.sheets import code_svg, pdf, pictures

SOURCE = '#set page(paper: "a4")\n#heading[#d.title]\n#tick() #blank(2cm) #d.text\n#svg(d.code, width: 3cm)'


def data(text="Bowl"):
    return {"title": "Sheet", "lang": "de", "text": text, "code": code_svg("https://kitchen.example/b/7")}


def text_of(made):
    with pypdfium2.PdfDocument(made) as document:
        return "\n".join(page.get_textpage().get_text_range() for page in document)


def test_same_bytes_for_the_same_input():
    assert pdf(SOURCE, data()) == pdf(SOURCE, data())


def test_text_never_becomes_markup():
    awkward = "#panic() *x* $a$ `b` Große Čokoláda Σοκολάτα Шоколад ½ ≥"
    assert awkward in text_of(pdf(SOURCE, data(awkward)))


def test_a_warning_is_an_error():
    with pytest.raises(ValueError, match="unknown font family"):
        pdf('#set text(font: "No Such Face")\nx', data())


def test_the_printed_code_can_be_read():
    page = Image.open(io.BytesIO(pictures(SOURCE, data(), ppi=150)[0]))
    assert [c.text for c in zxingcpp.read_barcodes(np.asarray(page.convert("L")))] == ["https://kitchen.example/b/7"]


def test_several_pages():
    assert len(pictures("a #pagebreak() b", data())) == 2
