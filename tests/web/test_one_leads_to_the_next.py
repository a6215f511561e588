"""From a recipe over its batch to bowl, moulds and label: each page brings the next one what it knows."""

import re
from html import unescape
from urllib.parse import parse_qs, urlsplit

import pytest

BAR = {"name": "Sea salt dark", "chocolate": "dark_64", "bars": "40", "mould": "bar-60", "with1": "Sea salt flakes"}


@pytest.fixture
def batch(client):
    client.cookies.set("view", "language=en&temperature=C&mass=g&contrast=auto")
    return client.post("/book/new-bar", data=BAR | {"share1": "0.6"}).headers["location"]


def link(page, words):
    """Where the link of these words leads."""
    return unescape(re.search(rf'href="([^"]*)"[^>]*>(?:<[^>]*>)*{re.escape(words)}<', page)[1])


def test_the_sheet_brings_its_chocolate_and_amount_to_the_bench(client, batch):
    path = link(client.get(batch).text, "To the bench with it")
    asked = {name: values[0] for name, values in parse_qs(urlsplit(path).query).items()}
    assert (asked["of"], asked["kind"]) == ("dark_64", "dark")
    for language, sign in (("en", "."), ("de", ",")):
        for mass in ("g", "oz"):
            client.cookies.set("view", f"language={language}&temperature=C&mass={mass}&contrast=auto")
            page = client.get(path).text
            assert '<option value="dark_64" selected' in page
            typed = re.search(r'name="mass"[^>]* value="([^"]*)"', page)[1]
            grams = float(typed.replace(sign, ".")) * (1.0 if mass == "g" else 28.3495)
            assert grams == pytest.approx(float(asked["grams"]), abs=2), (language, typed)
            start = {"chocolate": "dark", "own_chocolate": "dark_64", "mass": typed, "room": "21", "state": "melted",
                     "material": "steel"}  # fmt: skip
            assert client.post("/start", data=start).status_code == 303


def test_an_address_that_cannot_be_changes_nothing(client, batch):
    plain = client.get("/start").text
    assert client.get("/start?of=gold&kind=gold&grams=1e9").text == plain


def test_the_sheet_leads_to_how_its_moulds_cool(client, batch):
    path = link(client.get(batch).text, "How will they cool?")
    assert parse_qs(urlsplit(path).query) == {"mould": ["bar-60"], "moulds": ["14"], "chocolate": ["dark"]}
    assert "Turn out" in client.get(path).text


def test_a_recipe_leads_to_its_label(client, batch):
    recipe = "/book/recipes/sea_salt_dark"
    page = client.get(link(client.get(recipe).text, "Label")).text
    assert '<option value="sea_salt_dark" selected' in page
    assert 'value="Sea salt dark"' in page
    made = client.post("/labels", data={"recipe": "sea_salt_dark", "name": "Dark with salt"}).headers["location"]
    assert link(client.get(recipe).text, "Label") == made == "/labels/dark-with-salt"
    assert client.get("/labels?recipe=nothing").status_code == 200


def test_a_cost_without_every_price_says_at_least_and_leads_to_the_shelf(client, batch):
    page = client.get("/book/recipes/sea_salt_dark").text
    assert re.search(r'<p class="figure">at least \d', page)
    assert "too low until then" in page
    shelf = client.get(link(page, "Enter what it cost")).text
    assert 'value="Dark couverture 64 %"' in shelf
    for of, cost in (("Dark couverture 64 %", "72.50"), ("Sea salt flakes", "6")):
        assert client.post("/book/stock", data={"of": of, "mass": "5000", "cost": cost}).status_code == 303
    page = client.get("/book/recipes/sea_salt_dark").text
    assert "at least" not in page.split('id="cost"')[1].split("</section>")[0]
