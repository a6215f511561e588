"""The recipe book's pages without a browser."""

import io
import json

import pypdfium2
import pytest


@pytest.fixture
def demo(client):
    client.cookies.set("view", "language=en&temperature=C&mass=g&contrast=auto")
    assert client.post("/book/example", data={"do": "load"}).status_code == 303
    return client


def test_empty_then_the_example_then_empty_again(client):
    assert "Open the example" in client.get("/book").text
    client.post("/book/example", data={"do": "load"})
    page = client.get("/book").text
    assert "nothing in it is real" in page
    assert "27 recipes" in page
    assert client.get("/book?q=harbour").text.count("data-own>Harbour light") == 1
    rows = client.get("/book/find?q=harbour").text
    assert "Harbour light" in rows
    assert "<html" not in rows
    assert client.get("/book?can=now").text.count("stock for") > 5
    assert "Harbour light" not in client.get("/book?tag=bar").text
    client.post("/book/example", data={"do": "remove"})
    assert "Open the example" in client.get("/book").text


def test_every_recipe_and_batch_has_its_pages(demo, house):
    for entry in house.book.latest("recipe"):
        page = demo.get(f"/book/recipes/{entry.key}")
        assert page.status_code == 200, entry.key
        assert "free from" not in page.text
    for entry in house.book.latest("batch"):
        assert demo.get(f"/book/batches/{entry.key}").status_code == 200
    assert "Grey next morning" in demo.get("/book/batches/LOFT-5").text
    assert "No time is proposed" in demo.get("/book/recipes/bonbon_cream").text


def test_scale_and_print(demo):
    page = demo.get("/book/recipes/bonbon_harbour?pieces=95").text
    assert "101 pieces of" in page  # own rejects, learned from two batches
    assert demo.get("/book/recipes/salt_caramel?grams=500").status_code == 200
    assert demo.get("/book/recipes/salt_caramel?grams=lots").status_code >= 400
    made = demo.post("/book/recipes/bonbon_harbour/batches", data={"pieces": "95"})
    code = made.headers["location"].rsplit("/", 1)[1]
    with pypdfium2.PdfDocument(io.BytesIO(demo.get(f"/book/batches/{code}/sheet.pdf").content)) as document:
        text = document[0].get_textpage().get_text_range()
    assert code in text
    assert "101 pieces" in text
    again = demo.post("/book/recipes/salt_caramel/batches", data={"grams": "500"}).headers["location"]
    assert again != made.headers["location"]
    assert demo.get(again).status_code == 200


def test_edit_makes_a_version(demo):
    edit = demo.get("/book/recipes/cherry_gel/edit").text
    assert "Sour cherry puree" in edit
    form = {"name": "Sour cherry gel", "kind": "fruit_gel", "of0": "Sour cherry puree", "g0": "520", "part0": ""}
    form |= {
        "of1": "sucrose",
        "g1": "430",
        "step0": "Boil",
        "warm0": "107",
        "hands0": "20",
        "left": "5",
        "tags": "fruit, filling",
    }
    assert demo.post("/book/recipes/cherry_gel/edit", data=form).headers["location"] == "/book/recipes/cherry_gel"
    changes = demo.get("/book/recipes/cherry_gel/versions").text
    assert "520 g" in changes
    bad = demo.post("/book/recipes/cherry_gel/edit", data=form | {"of0": "moonlight", "g1": "-4"})
    assert bad.status_code == 422
    assert bad.text.count('class="wrong"') >= 2
    assert "moonlight" in bad.text
    bad = demo.post("/book/recipes/cherry_gel/edit", data=form | {"warm0": "hot"})
    assert bad.status_code == 422
    assert "A number from −40 to 250." in bad.text
    assert 'name="warm0" value="hot"' in bad.text
    kept = demo.get("/book/recipes/cherry_gel/edit").text
    assert 'name="hands0" value="20"' in kept
    bad = demo.post("/book/recipes/cherry_gel/edit", data=form | {"wait4": "5"})
    assert "What is done? Please fill this in." in bad.text
    assert demo.post("/book/new", data={"name": "X", "kind": "bar"}).status_code == 422
    new = demo.post("/book/new", data=form | {"name": "Plum gel"})
    assert new.headers["location"] == "/book/recipes/plum_gel"
    assert demo.post("/book/new", data=form | {"name": "Plum gel"}).status_code == 422


def test_variant_export_and_change(demo):
    made = demo.post("/book/recipes/cherry_gel/variant", data={"variant": "Damson gel"})
    assert made.headers["location"] == "/book/recipes/damson_gel/edit"
    assert "variant of" in demo.get("/book/recipes/damson_gel").text
    assert json.loads(demo.get("/book/recipes/cherry_gel/export.jsonld").text)["@type"] == "Recipe"
    assert demo.get("/book/recipes/cherry_gel/export.csv").text.startswith("key,")
    assert demo.get("/book/recipes/cherry_gel/export.doc").status_code >= 400
    page = demo.get("/book/recipes/cream_ganache/change?quantity=water_activity&high=0.80").text
    assert "This reaches it" in page
    assert "→" in page
    assert "nearest" in demo.get("/book/recipes/cream_ganache/change?quantity=fat_g&high=2").text
    crossed = demo.get("/book/recipes/cream_ganache/change?quantity=fat_g&low=30&high=2")
    assert "is not accepted" in crossed.text
    assert demo.get("/book/recipes/cream_ganache/change").status_code == 200


def test_bars_from_a_few_questions(demo):
    form = {"name": "Dark, salt and buckwheat", "chocolate": "dark_64", "bars": "12", "piece_g": "60", "mould": ""}
    form |= {"with1": "Buckwheat groats, roasted", "share1": "8", "with2": "Sea salt flakes", "share2": "0,5"}
    assert demo.get("/book/new-bar").status_code == 200
    made = demo.post("/book/new-bar", data=form)
    page = demo.get(made.headers["location"]).text
    for part in ("chop as seed", "12 pieces of 60", "buckwheat", "quarter more"):
        assert part in page
    cast = demo.post("/book/new-bar", data=form | {"name": "Cast", "mould": "bar-60", "piece_g": ""})
    assert "4 × " in demo.get(cast.headers["location"]).text
    for wrong in (
        {"bars": "none"},
        {"with1": "moonlight"},
        {"share1": "80"},
        {"name": ""},
        {"share1": "40", "share2": "20"},
    ):
        assert demo.post("/book/new-bar", data=form | wrong).status_code == 422
