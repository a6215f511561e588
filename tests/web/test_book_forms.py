"""Forms of the recipe book without a browser: what is written comes back, what cannot be is said at its field."""

import json
import re

import pytest
from recipe_photo import drawn

from bloomless.bench.cost_terms import channels_of, marked_up
from bloomless.bench.recipes import recipe_named
from bloomless.bench.stock import lots_of, stock_of
from bloomless.quantities import money


@pytest.fixture
def demo(client):
    client.cookies.set("view", "language=en&temperature=C&mass=g&contrast=auto")
    assert client.post("/book/example", data={"do": "load"}).status_code == 303
    return client


def wrong(page):
    """A form that came back: 422, with something said at a field."""
    assert page.status_code == 422
    assert 'class="wrong"' in page.text
    return page.text


def test_something_came_and_was_counted(demo, house):
    came = {"of": "Cream 35 % fat", "mass": "2000", "cost": "9,60", "code": "M7", "supplier": "Mill", "waste": "2"}
    before = stock_of(house.book)["cream_35"]
    assert demo.post("/book/stock", data=came).headers["location"] == "/book/stock/cream_35"
    assert stock_of(house.book)["cream_35"] == before + 2000
    page = demo.get("/book/stock/cream_35").text
    assert "M7" in page
    assert "4.90" in page  # 9.60 for 1.96 usable kilograms
    assert demo.post("/book/stock/cream_35", data={"code": "M7", "left": "1500"}).status_code == 303
    assert {lot.code: lot.left_g for lot in lots_of(house.book, "cream_35")}["M7"] == 1500
    wrong(demo.post("/book/stock/cream_35", data={"code": "M7", "left": "many"}))
    for change in (
        {"of": "creme 35 % fat"},
        {"mass": "-1"},
        {"cost": "much"},
        {"code": "M7"},
        {"best_before": "soon", "code": "x"},
    ):
        page = wrong(demo.post("/book/stock", data=came | change))
        assert 'value="Mill"' in page
    assert "has this name. Cream 3" in wrong(demo.post("/book/stock", data=came | {"of": "creme 35 % fat"}))
    assert demo.get("/book/stock?of=Sea+salt").status_code == 200
    assert demo.get("/book/stock/gold").status_code == 404


def test_terms_packaging_and_prices(demo):
    terms = {"currency": "eur", "wage": "20.00", "on_cost": "25", "hands_exponent": "0.7", "policy": "average"}
    terms |= {"channel0": "Door", "margin0": "60", "channel1": "Market", "margin1": "50", "fee1": "20", "tax1": "7"}
    terms |= {"step": "1", "fine_step": "0.1", "energy_kWh": "2", "energy_price": "0.30", "overhead_share": "10"}
    assert demo.post("/book/costs", data=terms).status_code == 303
    page = demo.get("/book/recipes/bonbon_harbour").text
    assert "60\u00a0% margin, 150\u00a0% mark-up" in page
    assert "<svg" in page
    assert "with tax" in page
    for change in ({"currency": "euros"}, {"wage": ""}, {"margin1": "90"}, {"hands_exponent": "2"}, {"fine_step": "5"}):
        assert 'value="Market"' in wrong(demo.post("/book/costs", data=terms | change))
    packed = {"name0": "Box", "cost0": "1.35", "holds0": "12", "spoil0": "3"}
    assert demo.post("/book/recipes/bonbon_harbour/packaging", data=packed).status_code == 303
    assert 'value="12"' in demo.get("/book/recipes/bonbon_harbour/packaging").text
    wrong(demo.post("/book/recipes/bonbon_harbour/packaging", data=packed | {"cost0": "x"}))


def test_a_mark_up_is_typed(demo, house):
    terms = {"currency": "EUR", "wage": "20", "hands_exponent": "0.6", "policy": "latest", "step": "1"}
    terms |= {"channel0": "Door", "markup0": "200", "channel1": "Market", "markup1": "100", "fee1": "20"}
    assert demo.post("/book/costs", data=terms).status_code == 303
    door, market = channels_of(house.book)
    assert (float(door.margin), float(market.margin)) == pytest.approx((2 / 3, 0.4))
    assert market.price(money("1", "EUR")).net.rounded() == money(
        "2.50", "EUR"
    )  # 2 that come in, and the fee of a fifth
    page = demo.get("/book/costs").text
    for name, shown in (
        ("margin0", "66.7"),
        ("markup0", "200"),
        ("margin1", "40"),
        ("markup1", "100"),
        ("by1", "markup"),
    ):
        assert re.search(f'name="{name}"[^>]* value="{shown}"', page), name
    assert "67\u00a0% margin, 200\u00a0% mark-up" in demo.get("/book/recipes/bonbon_harbour").text
    # Written again as shown, a third stays a third: the mark-up leads, the rounded margin beside it does not.
    again = terms | {"margin0": "66.7", "by0": "markup", "margin1": "40", "by1": "markup"}
    assert demo.post("/book/costs", data=again).status_code == 303
    assert float(channels_of(house.book)[0].margin) == pytest.approx(2 / 3)
    assert marked_up(house.book) == {"Door", "Market"}
    changed = again | {"markup1": "", "margin1": "50", "by1": "margin"}
    assert demo.post("/book/costs", data=changed).status_code == 303
    assert marked_up(house.book) == {"Door"}


def test_a_mark_up_that_cannot_be_is_said_at_its_field(demo):
    terms = {"currency": "EUR", "wage": "20", "hands_exponent": "0.6", "policy": "latest", "step": "1"}
    for change, said in (
        ({"markup0": "-5"}, "A number from 0 to 2,000."),
        ({"markup0": "plenty"}, "A number from 0 to 2,000."),
        ({"markup0": "200", "margin0": "50"}, "This mark-up is a margin of 66.7 %, not the one beside it"),
        ({"markup0": "200", "margin0": "50", "by0": "markup"}, "This mark-up is a margin of 66.7 %"),
    ):
        page = wrong(demo.post("/book/costs", data=terms | {"channel0": "Door"} | change))
        assert said in page.split('id="markup0-wrong"')[1][:160], change


def test_measured_photo_and_withdrawal(demo, house):
    path = "/book/recipes/hazelnut_praline"
    assert demo.post(f"{path}/measured", data={"aw": "0.39", "sd": "0.01", "ph": ""}).status_code == 303
    assert recipe_named(house.book, "hazelnut_praline")[0].measured.on == "2031-05-01"
    assert "0.37–0.41, measured" in demo.get(path).text
    wrong(demo.post(f"{path}/measured", data={"aw": "", "ph": ""}))
    wrong(demo.post(f"{path}/measured", data={"aw": "1.2"}))
    assert demo.post(f"{path}/measured", data={"do": "remove"}).status_code == 303
    assert recipe_named(house.book, "hazelnut_praline")[0].measured is None
    sent = {"photo": ("x.png", drawn("PNG"), "image/png")}
    assert demo.post(f"{path}/photo", files=sent).status_code == 303
    name = recipe_named(house.book, "hazelnut_praline")[0].photo
    assert f"/book/photos/{name}.jpg" in demo.get(path).text
    assert demo.get(f"/book/photos/{name}.jpg?small").content[:2] == b"\xff\xd8"
    assert name in demo.get("/book?q=praline").text
    wrong(demo.post(f"{path}/photo", files={"photo": ("x.jpg", b"<script>", "image/jpeg")}))
    assert demo.post(f"{path}/photo", data={"do": "remove"}).status_code == 303
    assert "Harbour light" in wrong(demo.post(f"{path}/withdraw"))
    assert demo.post("/book/recipes/bark_winter/withdraw").status_code == 303
    assert demo.get("/book/recipes/bark_winter").status_code == 404
    wrong(demo.post("/book/recipes/cherry_gel/variant", data={"variant": "Cherry gel"}))


def test_versions_and_changes_are_taken(demo, house):
    goal = {"quantity": "water_activity", "low": "", "high": "0.80", "lock-dark_64": "1"}
    page = demo.get("/book/recipes/cream_ganache/change", params=goal).text
    assert "Save as a new version" in page
    assert demo.post("/book/recipes/cream_ganache/change", data=goal).status_code == 303
    changed, entry = recipe_named(house.book, "cream_ganache")
    assert entry.version == 2
    assert changed.lines[0].mass_g == 450  # it was to stay
    assert demo.post("/book/recipes/cream_ganache/versions", data={"version": "1"}).status_code == 303
    assert recipe_named(house.book, "cream_ganache")[0] == recipe_named(house.book, "cream_ganache", 1)[0]
    assert "A lower end" in demo.get("/book/recipes/cream_ganache/change?quantity=fat_g&low=&high=").text
    wrong(demo.post("/book/recipes/cherry_gel/variant", data={"variant": ""}))


def test_cooking_lines_and_risks(demo, house):
    form = {"name": "Pear caramel", "kind": "caramel", "of0": "Sugar, white (sucrose)", "g0": "0.4 kg"}
    form |= {
        "of1": "Cream 35 % fat",
        "g1": "200 ml",
        "of2": "hazelnut_roasted",
        "g2": "2 oz",
        "trim2": "3",
        "prep2": "chopped",
    }
    form |= {
        "base0": "1",
        "cooking": "temperature",
        "cook_value": "118",
        "risk-oil infusion": "1",
        "step0": "Cook",
        "warm0": "118",
        "hands0": "20",
    }
    assert demo.post("/book/new", data=form).headers["location"] == "/book/recipes/pear_caramel"
    made, _ = recipe_named(house.book, "pear_caramel")
    assert made.lines[0].mass_g == 400
    assert made.lines[1].mass_g == pytest.approx(199)
    assert made.lines[2].from_stock_g == pytest.approx(56.7 / 0.97, abs=0.01)
    assert made.lines[0].base
    assert made.cooking.end_temperature_C == 118
    assert made.keeping_risks == ("oil infusion",)
    edit = demo.get("/book/recipes/pear_caramel/edit").text
    assert 'value="118.0"' in edit
    for change in (
        {"cook_value": "60"}, {"cook_value": ""}, {"g1": "2 cups"}, {"of1": ""}, {"pressure": "2"}, {"trim2": "99"},
        {"of2": "Nut paste", "g2": "5 ml"}, {"cooking": "weighed", "cook_value": "5000"},
    ):  # fmt: skip
        wrong(demo.post("/book/recipes/pear_caramel/edit", data=form | change))
    for how, value in (("water", "9"), ("weighed", "600"), ("", "")):
        changed = form | {"cooking": how, "cook_value": value}
        assert demo.post("/book/recipes/pear_caramel/edit", data=changed).status_code == 303
        assert demo.get("/book/recipes/pear_caramel/edit").status_code == 200


def test_a_batch_is_closed(demo, house):
    code = demo.post("/book/recipes/salt_caramel/batches", data={"grams": "900"}).headers["location"].rsplit("/", 1)[1]
    done = {"outcome": "good", "weighed-salt_caramel": "880", "hands": "35", "note": "clear", "from_stock": "1"}
    assert "9000" in wrong(demo.post(f"/book/batches/{code}/close", data=done | {"weighed-salt_caramel": "9000"}))
    wrong(demo.post(f"/book/batches/{code}/close", data=done | {"outcome": ""}))
    assert demo.post(f"/book/batches/{code}/close", data=done).status_code == 303
    page = demo.get(f"/book/batches/{code}").text
    assert "left behind" in page
    assert "It cost" in page
    assert "It is done" not in page
    assert "from your own batches (4)" in demo.get("/book/recipes/salt_caramel").text
    assert code in demo.get("/book/batches").text


def test_ingredients_from_sheet_and_wrapper(demo, house):
    sheet = {
        "name": "Nut paste",
        "group": "nut",
        "fat_g": "65",
        "carbohydrate_g": "6",
        "fibre_g": "9",
        "protein_g": "15",
    }
    sheet |= {"allergens": "hazelnut, soya?", "sheet_name": "2026-02", "fibre_within": "no", "energy_kcal": "500"}
    assert demo.post("/book/ingredients/new", data=sheet).headers["location"] == "/book/ingredients/nut_paste"
    page = demo.get("/book/ingredients/nut_paste").text
    assert "ask the supplier" in page
    assert "The printed energy is far" in page
    for change in ({"fat_g": ""}, {"fat_g": "99"}, {"group": "stone"}, {"name": ""}, {"water_g": "60"}):
        assert "2026-02" in wrong(demo.post("/book/ingredients/nut_paste/edit", data=sheet | change))
    wrong(demo.post("/book/ingredients/new", data=sheet))
    assert "Nut paste" in demo.get("/book/ingredients?q=nut").text
    assert demo.get("/book/ingredients/gold").status_code == 404
    assert demo.get("/book/ingredients/gold/edit").status_code == 404
    assert demo.get("/book/ingredients/dark_64/edit").status_code == 200
    printed = {
        "kind": "dark",
        "cocoa_pct": "70",
        "fat_g": "42",
        "name": "Shop dark",
        "allergens": "soya",
        "may_contain": "milk",
    }
    assert "Keep it in the book" in demo.get("/book/ingredients/wrapper", params=printed).text
    assert demo.post("/book/ingredients/wrapper", data=printed).headers["location"] == "/book/ingredients/shop_dark"
    assert "Shop dark" in demo.get("/book/new-bar").text
    wrong(demo.post("/book/ingredients/wrapper", data=printed | {"name": ""}))
    wrong(demo.get("/book/ingredients/wrapper", params={"kind": "dark"}))
    wrong(demo.get("/book/ingredients/wrapper", params={"kind": "dark", "cocoa_pct": "70", "fat_g": "12"}))


def test_tools(demo):
    page = demo.get("/book/tools?chocolate=dark_64&mass=1000&aim=1.5&lecithin=0.2").text
    assert "of cocoa butter" in page
    assert "of lecithin" in page
    assert "0.0\u00a0g of cocoa butter" in demo.get("/book/tools?chocolate=dark_64&mass=1000&aim=34.5").text
    assert "hot cream" in demo.get("/book/tools?bowl=800&water=30").text
    assert "hours" in demo.get("/book/tools?filling_aw=0.75&filling=6&crisp=1").text
    assert "It stays crisp" in demo.get("/book/tools?filling_aw=0.4&filling=6&crisp=1").text
    assert "too much" in demo.get("/book/tools?salt0=sodium_chloride&at0=20&shown0=0.765").text
    for query in (
        "chocolate=dark_64&mass=0&aim=1.5", "bowl=10&water=30", "filling_aw=2&filling=6&crisp=1", "salt0=&at0=",
        "salt0=sodium_chloride&at0=90&shown0=0.7", "chocolate=dark_85&mass=10&aim=9",
    ):  # fmt: skip
        wrong(demo.get(f"/book/tools?{query}"))


def test_files_in_and_out(demo, house):
    book = demo.get("/book/export.json").text
    assert "27 recipes and 2 ingredients taken" in demo.post("/book/import", data={"text": book}).text
    bad = json.loads(book)
    bad["recipes"][0]["lines"][0]["mass_g"] = -1
    page = demo.post("/book/import", data={"text": json.dumps(bad)})
    assert page.status_code == 422
    assert "Nothing was taken" in page.text
    org = json.loads(demo.get("/book/recipes/cherry_gel/export.jsonld").text) | {"name": "Plum gel"}
    org["recipeIngredient"] += ["a handful of moonlight"]
    laid = demo.post("/book/import", files={"file": ("gel.json", json.dumps(org).encode(), "application/json")}).text
    assert 'action="/book/new"' in laid
    assert "Not known here" in laid
    assert 'value="Plum gel"' in laid
    table = "what;grams\nCream 35 % fat;230\nDark couverture 64 %;450\n"
    asked = demo.post("/book/import", files={"file": ("mine.csv", table.encode(), "text/csv")}).text
    assert "Which column is what?" in asked
    mapped = {"text": table, "filename": "mine.csv", "what": "recipe"}
    mapped |= {"column-name": "what", "column-amount": "grams"}
    assert 'value="mine"' in demo.post("/book/import", data=mapped).text
    foods = 'description,Water,Protein,"Total lipid (fat)","Carbohydrate, by difference",Ash\nOat flakes,9,13,7,69,2\n'
    assert "0 recipes and 1 ingredients" in demo.post("/book/import", data={"text": foods, "what": "foods"}).text
    assert "oat_flakes" in {entry.key for entry in house.book.latest("ingredient")}
    assert demo.post("/book/import", data={"text": "a,b\n1,2", "what": "foods"}).status_code == 422
    for data in ({"text": ""}, {"text": "{ not json"}, {"text": '{"@type":"Thing"}'}):
        wrong(demo.post("/book/import", data=data))
    wrong(demo.post("/book/import", files={"file": ("x.csv", b"\xff\xfe\x00", "text/csv")}))


def test_ounces_come_back_as_they_were(demo, house):
    demo.cookies.set("view", "language=en&temperature=F&mass=oz&contrast=auto")
    page = demo.get("/book/recipes/cherry_gel/edit").text
    assert 'value="17.637"' in page  # 500 g
    form = dict(re.findall(r'name="(\w+)"[^>]*? value="([^"]*)"', page))
    form |= dict(re.findall(r'<textarea name="(step\d+)"[^>]*>([^<]*)', page))
    form |= {"kind": "fruit_gel", "cooking": "water", "step0": "Boil", "warm0": "224.6"}
    assert demo.post("/book/recipes/cherry_gel/edit", data=form).status_code == 303
    assert recipe_named(house.book, "cherry_gel")[0].lines[0].mass_g == pytest.approx(500, abs=0.02)
    assert recipe_named(house.book, "cherry_gel")[0].steps[0].temperature_C == pytest.approx(107)
    assert "oz" in demo.get("/book/recipes/cherry_gel").text


def test_scaled_by_moulds_and_by_the_stock(demo, house):
    page = demo.get("/book/recipes/bonbon_harbour?moulds=3&mould=Hemisphere+30").text
    assert "72 pieces of" in page  # 24 cavities each
    made = demo.post("/book/recipes/bonbon_harbour/batches", data={"pieces": "67.95", "mould": "Hemisphere 30"})
    assert "3 × Hemisphere 30" in demo.get(made.headers["location"]).text
    whole = demo.get("/book/recipes/bar_dark_salt?all=stock").text
    assert "In the stock this ends first" in whole
    assert "stock for" in demo.get("/book?q=salt+buckwheat").text
    assert "Pistachios" in demo.get("/book/recipes/bark_winter?all=stock&grams=").text
    assert demo.get("/book/recipes/bonbon_harbour?moulds=3&mould=moon").status_code == 404
