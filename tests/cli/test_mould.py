"""``bloomless mould``: every command, in words and as JSON, with the sheet as PDF."""

import json

import pytest
from typer.testing import CliRunner

from bloomless.cli.main import command_line
from bloomless.errors import ImpossibleInput

app = command_line("mould")
run = CliRunner()


@pytest.fixture
def data(tmp_path):
    return ["--data", str(tmp_path / "book")]


def told(*arguments):
    done = run.invoke(app, ["mould", *arguments], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


def read(*arguments):
    return json.loads(told(*arguments, "--json"))


def test_moulds_of_ones_own(data):
    assert "bar-60" in told("list", *data)
    added = read("add", "sail", "--document", '{"shape":"hemisphere","radius_mm":14,"cavities":20}', *data)
    assert added["volume_ml"] == pytest.approx(5.747, abs=0.001)
    assert "version 1" in told("add", "boat", "--document", '{"shape":"hemisphere","radius_mm":12}', *data)
    measured = read("measure", "sail", "--water-g", "56", "--cavities", "10", *data)
    assert measured["known"] == "by water"
    assert "by a weighed piece" in told("measure", "sail", "--piece-g", "7.2", *data)
    assert read("list", *data)[0]["own"]
    for wrong in ("{", "[1]"):
        with pytest.raises(ImpossibleInput):
            told("add", "x", "--document", wrong, *data)


def test_cooling_with_its_sheet(data, tmp_path):
    sheet = tmp_path / "sheet.pdf"
    text = told(
        "cool",
        "bar-60",
        "--room-c",
        "22",
        "--rh",
        "60",
        "--form-v",
        "1.4",
        "--mould-c",
        "6",
        "--pdf",
        str(sheet),
        *data,
    )
    assert "turn out" in text
    assert "wet within seconds" in " ".join(text.split())
    assert sheet.read_bytes().startswith(b"%PDF")
    assert read("cool", "bar-60", "--minutes", "40", *data)["set_min"]["p50"] > 5


def test_filling(data):
    text = told(
        "fill", "hemisphere-30", "--kind", "shell", "--moulds", "4", "--layer", "ochre:spray", "--inclusion",
        "nut_pieces:0.05:back", *data,
    )  # fmt: skip
    assert "96 pieces" in text
    assert "wall to expect" in text
    assert read("fill", "bar-60", "--inclusion", "buckwheat:0.08", *data)["pieces"] == 3
    with pytest.raises(ImpossibleInput):
        told("fill", "bar-60", "--inclusion", "buckwheat", *data)


def test_room_leaving_and_keeping():
    assert "not today" in told("room", "28", "--rh", "65")
    assert read("room", "20")["products"]
    assert "do not open" in told("leave", "12", "22", "--rh", "60")
    assert read("leave", "12", "22", "--rh", "60")["wetness"] == "dew"
    assert "fat bloom" in told("keep", "--temper", "gross", "--store-rh", "50")
    assert read("keep", "--nut-shell-mm", "1.5")["risks"]


def test_what_if(data):
    assert "Recommended" in told("what-if", "bar-60", "--form-v", "1.5", *data)
    assert "temper first" in told("what-if", "hemisphere-30", "--form-v", "0", *data)


def test_learning(data, tmp_path):
    log = tmp_path / "log.jsonl"
    rows = [{"at_s": 60 * m, "temperature_C": 12 + 16 * 0.93**m, "place": "mould"} for m in range(1, 40)]
    log.write_text("\n".join(json.dumps(row) for row in rows) + "\n\n")
    assert "films" in told(
        "learn", "loft", "--mould", "bar-60", "--log", str(log), "--air-c", "12", "--mould-c", "22", *data
    )
    assert read("learn", "loft", "--mould", "bar-60", "--log", str(log), "--mould-c", "22", *data)["after"]["logs"] == 2
    log.write_text("not json\n")
    with pytest.raises(ImpossibleInput):
        told("learn", "loft", "--mould", "bar-60", "--log", str(log), *data)


def test_pieces_of_every_form(data):
    text = told("cool", "hemisphere-30", "--form", "capped", "--filling", "praline", "--form-v", "1.5", *data)
    assert "turn out" in text
    shell = told("cool", "hemisphere-30", "--shell-mm", "1.5", *data)
    assert "fill from" in shell
    layers = read("cool", "bar-60", "--pour", "dark:0.6", "--pour", "white:0.4", *data)
    assert layers["piece"]["form"] == "layers"
    nuts = read("cool", "bar-60", "--inclusion", "nut_pieces:0.1:back", *data)
    assert nuts["piece"]["inclusions"][0]["where"] == "back"
    assert "Recommended" in told("what-if", "hemisphere-30", "--form", "capped", "--form-v", "1.5", *data)
    for wrong in (["--pour", "dark"], ["--inclusion", "nut_pieces:many"]):
        with pytest.raises(ImpossibleInput):
            told("cool", "bar-60", *wrong, *data)


def test_ready_or_not(data):
    # Scenario S11 at the command line.
    text = " ".join(
        told(
            "ready", "6", "--room-c", "24", "--rh", "60", "--colour", "ochre:27.5:thick", "--colour", "green:35.2"
        ).split()
    )
    for words in ("Not yet", "below the room's dew point of 15.8", "“ochre”: warm to 30-31", "“green”: cool to 31-32"):
        assert words in text
    assert "test cavity" in told("ready", "6", "--room-c", "24", "--rh", "60", "--brushed", "--moulds", "16")
    assert read("ready", "22", "--colour", "ochre:30.5")["may_go_on"]
    assert "Go on" in told("ready", "22", "--room-c", "20", "--rh", "50")
    with pytest.raises(ImpossibleInput):
        told("ready", "22", "--colour", "ochre", *[])


def test_a_place(data):
    assert "still air" in told("place", "fridge", *data)
    assert "moving" in told("place", "cabinet", *data)
    assert read("place", "fridge", *data)["learned_logs"] == 0


def test_two_places_and_a_weak_one(data):
    text = told(
        "cool",
        "bar-60",
        "--space",
        "fridge",
        "--power-w",
        "30",
        "--then",
        "15:cool_room:15:0.5",
        "--moulds",
        "8",
        *data,
    )
    assert "carried on after 15 min, to 15 °C" in text
    assert "its air warms by" in text
    then = read("cool", "bar-60", "--then", "15:cool_room:15:0.5", "--then", "40:room", *data)["space"]["then"]
    assert [move["air_speed_m_s"] for move in then] == [0.5, 0.0]
    for wrong in ("15", "15:room:warm", "15:room:1:2:3"):
        with pytest.raises(ImpossibleInput):
            told("cool", "bar-60", "--then", wrong, *data)
