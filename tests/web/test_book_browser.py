"""The pages of the recipe book in a real browser: sizes, targets, axe, German, and a picture of each."""

from datetime import UTC, datetime

import pytest
from recipe_photo import drawn

from bloomless.assembly import open_house, places
from bloomless.bench.demo_book import load_demo
from bloomless.bench.photos import keep_photo
from bloomless.storage.photos import photo_from
from services.looks import look_over, tour
from services.web import OUT, SIZES, serving

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]
AT = datetime(2026, 3, 25, tzinfo=UTC)
PAGES = {
    "book": "/book",
    "book-recipe": "/book/recipes/bonbon_harbour",
    "book-ganache": "/book/recipes/cream_ganache",
    "book-edit": "/book/recipes/salt_caramel/edit",
    "book-change": "/book/recipes/cream_ganache/change?quantity=water_activity&high=0.80",
    "book-versions": "/book/recipes/cream_ganache/versions",
    "book-bar": "/book/new-bar",
    "book-batches": "/book/batches",
    "book-batch": "/book/batches/LOFT-8",
    "book-closed": "/book/batches/LOFT-2",
    "book-stock": "/book/stock",
    "book-lots": "/book/stock/dark_64",
    "book-costs": "/book/costs",
    "book-packaging": "/book/recipes/bonbon_harbour/packaging",
    "book-ingredients": "/book/ingredients?q=choc",
    "book-ingredient": "/book/ingredients/hazelnut_roasted",
    "book-sheet": "/book/ingredients/new",
    "book-wrapper": "/book/ingredients/wrapper?kind=milk&cocoa_pct=38&fat_g=36&sugars_g=48",
    "book-tools": "/book/tools?chocolate=milk_38&mass=1000&aim=1.5&lecithin=&bowl=800&water=30&filling_aw=0.7&filling=6"
    "&crisp=1&salt0=sodium_chloride&at0=22&shown0=0.77",
    "book-import": "/book/import",
}


@pytest.fixture(scope="module")
def loft(tmp_path_factory):
    house = open_house(places(tmp_path_factory.mktemp("loft"), {}))
    house.book.put("settings", "house", {"language": "en", "temperature": "C", "mass": "g", "country": "EU"}, at=AT)
    load_demo(house.book, at=AT)
    keep_photo(house.book, "bonbon_harbour", photo_from(drawn("PNG")), at=AT)
    with serving(house) as address:
        yield address
    house.close()


def test_every_page_on_a_phone(browser, loft):
    tour(browser, loft, PAGES, sizes=["phone"])


def test_every_page_in_german(browser, loft):
    tour(browser, loft, PAGES, sizes=["laptop"], language="de")


def test_the_main_pages_elsewhere(browser, loft):
    main = {name: PAGES[name] for name in ("book", "book-recipe", "book-edit", "book-batch", "book-costs")}
    tour(browser, loft, main, sizes=["tablet"], contrast="night", temperature="F", mass="oz")


@pytest.mark.parametrize("size", ["phone", "tablet", "laptop"])
def test_a_mark_up_and_what_follows_from_it(browser, loft, size):
    width, height = SIZES[size]
    context = browser.new_context(viewport={"width": width, "height": height}, has_touch=True)
    page = context.new_page()
    page.goto(f"{loft}/book/costs")
    page.fill("#channel0", "Door")
    for cleared in ("#fee0", "#tax0"):
        page.fill(cleared, "")
    page.tap("#markup0")
    page.fill("#markup0", "200")
    assert page.input_value("#margin0") == "66.7"
    said = page.locator(".channel").first.locator(".follows")
    assert said.inner_text() == "A cost of 1.00 EUR sells for 3.00 EUR."
    page.fill("#fee0", "20")
    page.fill("#tax0", "7")
    assert page.input_value("#margin0") == "53.3"
    assert said.inner_text() == "A cost of 1.00 EUR sells for 3.75 EUR, with tax 4.01 EUR."
    page.fill("#margin0", "50")
    assert page.input_value("#markup0") == "166.7"
    page.fill("#markup0", "9999")
    page.focus("#markup0")
    page.keyboard.press("Enter")
    assert page.inner_text("#markup0-wrong") == "A number from 0 to 2,000."
    page.fill("#markup0", "150")
    look_over(page, "costs")
    page.screenshot(path=OUT / f"costs-{size}.png", full_page=True)
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Kept.")
    assert (page.input_value("#markup0"), page.input_value("#margin0")) == ("150", "48")
    page.goto(f"{loft}/book/recipes/bonbon_harbour#cost")
    assert "150 % mark-up" in page.inner_text("#cost").replace("\u00a0", " ")
    context.close()
