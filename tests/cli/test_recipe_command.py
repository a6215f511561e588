"""The command ``bloomless recipe`` on a book in a temporary folder."""

import json

import pypdfium2
import pytest
from recipe_photo import drawn
from typer.testing import CliRunner

from bloomless.cli.main import command_line
from bloomless.errors import ImpossibleInput, StorageFailure, UnknownName


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    folder = str(tmp_path_factory.mktemp("book"))
    app = command_line("recipe", "schema")

    def call(*words, code=0):
        found = CliRunner().invoke(app, ["recipe", *words, "--data", folder])
        if code is None:
            raise found.exception
        assert found.exit_code == code, found.output
        return found.output

    call("demo")
    return call


def test_find_show_and_print(run, tmp_path):
    rows = json.loads(run("list", "harbour", "--json"))["recipes"]
    assert rows[0]["key"] == "bonbon_harbour"
    assert "bonbon_harbour" in run("list")
    shown = json.loads(run("show", "bonbon_harbour", "--pieces", "100", "--json"))
    assert shown["pieces"] == pytest.approx(100 / 0.94375)  # own rejects
    assert [p["name"] for p in shown["parts"]].count("filling") == 2
    assert shown["keeping_days"]
    assert "no time is proposed" in run("show", "bonbon_cream")
    text = run("show", "salt_caramel", "--grams", "500")
    assert "500 g" in text
    out = tmp_path / "sheet.pdf"
    answer = json.loads(run("sheet", "bar_dark_salt", str(out), "--pieces", "12", "--paper", "us-letter", "--json"))
    assert answer["temper"][0]["seed_g"] > 0
    with pypdfium2.PdfDocument(out) as document:
        assert round(document[0].get_width()) == 612
    assert "sheet.pdf" in run("sheet", "bar_dark_salt", str(out))


def test_rebalance(run):
    found = json.loads(
        run("rebalance", "cream_ganache", "--goal", "water_activity::0.80", "--lock", "dark_64", "--json")
    )
    assert found["met"]
    assert "met" in run("rebalance", "cream_ganache", "--goal", "water_g:10:30")
    assert "not met" in run("rebalance", "cream_ganache", "--goal", "fat_g::2", code=1)


def test_out_and_in_again(run, tmp_path):
    book = tmp_path / "book.json"
    book.write_text(run("export", "all"), encoding="utf-8")
    other = CliRunner().invoke(
        command_line("recipe", "schema"), ["recipe", "import", str(book), "--data", str(tmp_path / "other"), "--json"]
    )
    assert json.loads(other.output)["recipes"] == 27
    assert json.loads(run("export", "cherry_gel", "--as", "schema.org"))["@type"] == "Recipe"
    assert len(json.loads(run("export", "all", "--as", "schema.org"))) == 27
    assert run("export", "cherry_gel", "--as", "csv").startswith("key,name")
    table = tmp_path / "foods.csv"
    table.write_text("description,Water\nx,1\n", encoding="utf-8")
    assert "columns.protein_g" in run("import", str(table), code=3)
    assert (
        json.loads(CliRunner().invoke(command_line("recipe", "schema"), ["recipe", "schema"]).output)["title"]
        == "A recipe book"
    )


@pytest.mark.parametrize(
    ("words", "error"),
    [
        (("show", "no_such"), UnknownName),
        (("sheet", "cherry_gel", "x.pdf", "--paper", "a0"), ImpossibleInput),
        (("sheet", "cherry_gel", "/no/such/folder/x.pdf"), StorageFailure),
        (("rebalance", "cherry_gel", "--goal", "water_g"), ImpossibleInput),
        (("export", "cherry_gel", "--as", "word"), ImpossibleInput),
        (("import", "/no/such/file.json"), StorageFailure),
    ],
)
def test_bad_input(run, words, error):
    with pytest.raises(error):
        run(*words, code=None)


def tool(*words, code=0):
    found = CliRunner().invoke(command_line("recipe", "schema"), ["recipe", *words])
    assert found.exit_code == code, found.output
    return found.output


def test_tools(run):
    found = json.loads(run("wrapper", "milk", "--cocoa", "38", "--fat", "38", "--save", "Shop milk", "--json"))
    low, high = found["per_100g"]["cocoa_butter_g"]["range"]
    assert low < 31.3 < high
    assert json.loads(run("list", "--json"))
    assert "melting shift" in run("wrapper", "dark", "--cocoa", "70")
    assert 40 < json.loads(tool("thin", "1000", "--fat", "34", "--times", "1.5", "--json"))["cocoa_butter_g"] < 90
    assert "lecithin" in tool("thin", "1000", "--fat", "34")
    assert "cream" in tool("seized", "1000", "20")
    assert json.loads(tool("meter", "--reading", "sodium_chloride:20:0.765", "--json"))["offset"] == pytest.approx(
        0.01, abs=0.001
    )
    assert "hours" in tool("crisp", "0.75", "--life-at", "28")
    assert "stays crisp" in tool("crisp", "0.4")


def test_a_recipe_from_a_table_or_a_page(run, tmp_path):
    table = tmp_path / "mine.csv"
    table.write_text("what;grams\nCream 35 % fat;230\nDark couverture 64 %;450\n", encoding="utf-8")
    words = ("--column", "name=what", "--column", "amount=grams", "--kind", "ganache")
    assert json.loads(run("draft", str(table), *words, "--name", "Mine", "--json"))["key"] == "mine"
    assert "columns.amount" in run("draft", str(table), "--column", "name=what", code=3)
    page = tmp_path / "page.json"
    page.write_text(
        run("export", "cherry_gel", "--as", "schema.org").replace("Sour cherry gel", "Gel two"), encoding="utf-8"
    )
    assert "taken as gel_two" in run("draft", str(page))


def test_not_text(run, tmp_path):
    file = tmp_path / "x.json"
    file.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ImpossibleInput):
        run("import", str(file), code=None)


def told(run, *words):
    return json.loads(run(*words, "--json"))


def test_stock_terms_and_cost(run, tmp_path):
    before = told(run, "receive", "cream_35", "2000", "--cost", "9.60", "--lot", "M77", "--best-before", "2026-05-01")
    assert told(run, "count", "cream_35", "M77", "1500")["there_g"] == before["there_g"] - 500
    assert any(row["lot"] == "M77" and row["per_kg"] == "4.80 EUR" for row in told(run, "stock")["lots"])
    assert "M77" in run("stock")
    words = ("terms", "--wage", "19.00", "--channel", "Market:50:18:7", "--channel", "Shops:40")
    assert [c["name"] for c in told(run, *words)["channels"]] == ["Market", "Shops"]
    assert "22.80 EUR an hour" in run("terms")
    marked = told(run, "terms", "--wage", "19.00", "--channel", "Market:+150:20", "--channel", "Shops:40")["channels"]
    assert [(c["margin"], c["mark_up"]) for c in marked] == [("0.48", "1.5"), ("0.4", "0.666667")]
    assert told(run, "terms", "--wage", "20.00")["channels"] == marked  # kept, and still led by the mark-up
    assert told(run, "pack", "bar_dark_salt", "--item", "Foil:0.24", "--item", "Box:1.20:10")["items"] == 2
    picture = tmp_path / "cost.svg"
    found = told(run, "cost", "bonbon_harbour", "--picture", str(picture))
    widths = [float(s["more"]) - float(s["less"]) for s in found["swings"]]
    assert widths == sorted(widths, reverse=True)
    assert found["sizes"]["4"] < found["sizes"]["1"] < found["sizes"]["0.5"]
    assert picture.read_text().startswith("<svg")
    assert "cocoa butter +30 %" in run("cost", "salt_caramel")


def test_own_ingredient_and_making(run, tmp_path):
    sheet = ("--fat", "65", "--carbohydrate", "6", "--fibre", "9", "--protein", "15", "--allergen", "hazelnut")
    assert told(run, "ingredient", "Our nut paste", *sheet)["key"] == "our_nut_paste"
    noted = told(run, "batch", "salt_caramel", "--grams", "800")
    grams = 0.97 * noted["to_weigh_g"]["salt_caramel"]
    closed = told(run, "close", noted["batch"], "good", "--weighed", f"salt_caramel={grams}", "--minutes", "40")
    assert closed["shares"]["salt_caramel"]["left"] > 0.05
    assert told(run, "losses")["salt_caramel"]["left_behind"]["batches"] == 4
    assert "salt_caramel: left behind" in run("losses")
    version = told(run, "measured", "hazelnut_praline", "--aw", "0.41", "--instrument", "laboratory")["version"]
    assert told(run, "measured", "hazelnut_praline")["version"] == version + 1
    assert told(run, "cook", "salt_caramel", "--water", "8")["water_lost_g"] > 100
    told(run, "cook", "salt_caramel", "--to-C", "118")
    assert run("versions", "salt_caramel").startswith("cooking")
    assert told(run, "variant", "cherry_gel", "Quince gel")["key"] == "quince_gel"
    with pytest.raises(ImpossibleInput):
        run("versions", "quince_gel", code=None)
    file = tmp_path / "photo.png"
    file.write_bytes(drawn("PNG"))
    assert len(told(run, "photo", "cherry_gel", str(file))["photo"]) == 24
    assert "no photo" in run("photo", "cherry_gel")
    assert "bonbon_spirit" in {row["key"] for row in told(run, "stock-allows")["recipes"]}


@pytest.mark.parametrize(
    "words",
    [
        ("receive", "gold", "1"), ("pack", "gold"), ("pack", "cherry_gel", "--item", "box"), ("cost", "gold"),
        ("terms", "--wage", "1", "--channel", "x:y"), ("terms", "--wage", "1", "--channel", "x:+y"),
        ("close", "nothing", "good"),
        ("cook", "cherry_gel", "--to-C", "60"),
        ("ingredient", "X", "--fat", "80", "--carbohydrate", "80", "--protein", "1"),
    ],
)  # fmt: skip
def test_bad_input_of_goods_and_making(run, words):
    with pytest.raises(ImpossibleInput):
        run(*words, code=None)


def test_the_example_goes_in_one_step(run):
    assert json.loads(run("demo", "--remove", "--json"))["removed"] > 70
    left = {row["key"] for row in json.loads(run("list", "--json"))["recipes"]}
    assert left.isdisjoint({"bonbon_harbour", "cream_ganache"})  # a person's own stay
    run("demo")
