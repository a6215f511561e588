"""Walk-through 1: from a fresh start to a printed batch sheet, by someone who has never seen it, in a real browser.

The installation itself is ``make setup``; here the clock starts when the first page opens.
"""

import io

import pypdfium2
import pytest

from bloomless.assembly import open_house, places
from services.web import serving


@pytest.mark.xdist_group("browser")
@pytest.mark.browser
def test_from_first_page_to_paper(browser, tmp_path):
    house = open_house(places(tmp_path / "fresh", {}))
    with serving(house) as address:
        context = browser.new_context(viewport={"width": 1280, "height": 900}, locale="en-GB")
        page = context.new_page()
        page.goto(address)
        assert page.url.endswith("/welcome")  # four choices, sensible ones made already
        page.locator("main form button").first.click()
        page.goto(f"{address}/book")
        page.get_by_role("link", name="Make bars").click()
        page.get_by_label("Name").fill("Dark, almond and salt")
        assert page.get_by_label("How many").input_value() == "12"
        page.get_by_label("First").fill("Almonds, dry roasted")
        page.get_by_label("Second").fill("Sea salt flakes")
        page.get_by_role("button", name="Make the batch sheet").click()
        page.get_by_text("chop as seed").wait_for()
        assert page.get_by_text("a quarter more").count() == 1
        code = page.url.rsplit("/", 1)[1]
        paper = context.request.get(f"{address}/book/batches/{code}/sheet.pdf").body()
        context.close()
    house.close()
    with pypdfium2.PdfDocument(io.BytesIO(paper)) as document:
        assert len(document) == 1
        text = document[0].get_textpage().get_text_range()
    for part in (code, "12 pieces of 60", "almond", "°C", "time", "lot", "burn"):
        assert part in text

    # The plug is pulled and put back: all there.
    house = open_house(places(tmp_path / "fresh", {}))
    with serving(house) as address:
        page = browser.new_page()
        page.goto(f"{address}/book/batches/{code}")
        assert "Dark, almond and salt" in page.content()
        page.close()
    house.close()
