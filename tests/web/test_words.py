"""German is complete: every text of the shell and the bench, every alert, every reason of the advice."""

import ast
import re
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bloomless.advice.orders import Order
from bloomless.advice.sentences import Numbers, why
from bloomless.bench.batch_sheet import batch_sheet
from bloomless.bench.demo_book import load_demo
from bloomless.bench.ports import MemoryBook
from bloomless.bench.recipes import pantry_of, weigh_up
from bloomless.materials.ingredients import ingredient_library
from bloomless.web.sentences import say
from bloomless.web.view import View
from bloomless.web.words import script_words, translations

ROOT = Path(__file__).resolve().parents[2]
WEB = ROOT / "src" / "bloomless" / "web"
NUMBER = re.compile(r"(?<![\w.])[-−]?\d+(?:[.,]\d+)?")


def test_german_is_complete():
    files = [file.stem for suffix in ("html", "js", "py") for file in WEB.rglob(f"*.{suffix}")]
    done = subprocess.run(
        [sys.executable, ROOT / "tools" / "words.py", "de", *files], capture_output=True, text=True, check=True
    )
    assert re.findall(r'^msgid "(.+)"', done.stdout, re.MULTILINE) == []


def test_a_sentence_of_the_centre_is_said_in_the_devices_words_and_units():
    text = "The bowl is at 31.2 °C, inside its window (29.3–33.0 °C), but only 40 % likely in temper."
    assert "31,2\u00a0°C" in say(text, View("de"))
    assert say("It loses 0.5 °C/min and 2.0 K.", View(temperature="F")) == "It loses 0.9\u00a0°F/min and 3.6\u00a0°F."
    assert say("Add 100 g at 45 °C.", View(mass="oz", temperature="F")) == "Add 3.5\u00a0oz at 113\u00a0°F."


@pytest.mark.parametrize("film_min", [None, 0.4, 3.0])
@pytest.mark.parametrize("pieces_pct", [1.0, 9.0])
@pytest.mark.parametrize("temperature_C", [29.4, 31.0, 40.0])
def test_every_reason_is_said_in_german(film_min, pieces_pct, temperature_C):
    numbers = Numbers(temperature_C, 29.3, 33.0, 1.2, 40.0, pieces_pct, 0.62, 0.1, film_min)
    words = script_words("de")
    molten, few = replace(numbers, pieces_pct=0.5), replace(numbers, form_v_pct=4.0)
    bare = replace(molten, form_v_pct=0.0, unseen=True)
    past = Order("warm_bath", to_C=33.4)
    for order in (*map(Order, ORDERS), Order("stir", share=0.4), Order("heat_on", by="microwave"), past):
        for n in (numbers, molten, few, bare, replace(numbers, form_v_pct=9.0)):
            for sentence in re.split(r"(?<=\.) (?=Probe|In short)", NUMBER.sub("{}", why(order, n))):
                assert f'"{sentence}"' in words, sentence


ORDERS = (
    "heat_on", "pour_over", "add_seed", "add_melt", "warm_bath", "cool_bath", "microwave", "hot_air", "table", "stir",
    "look", "smear", "sieve", "check_thermometer", "use_it", "melt_again", "stop",
)  # fmt: skip


@pytest.mark.parametrize("do", [do for do in ORDERS if do not in {"stir", "stop"}])
def test_what_was_asked_and_not_told_is_said_in_german(do):
    assert say(f"The order was: {do.replace('_', ' ')}.", View("de")).startswith("Gefragt war: ")


def test_names_stand_in_the_quotation_marks_of_the_language():
    text = "“/dev/ttyUSB7” cannot be opened: “No such file or directory”."
    assert say(text, View()) == text
    assert say(text, View("de")).startswith("„/dev/ttyUSB7“ kann nicht geöffnet werden")


def troubles():
    """What the ways to thermometers say when they fail, a name in quotation marks for each part that varies."""
    for file in sorted((ROOT / "src/bloomless/probes").glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "DeviceFailure":
                text = node.args[0]
                parts = text.values if isinstance(text, ast.JoinedStr) else [text]
                varies = ["1" if isinstance(part, ast.FormattedValue) else part.value for part in parts]
                yield f"{file.stem}:{node.lineno}", re.sub(r"“(1)”", "“name”", "".join(varies))


@pytest.mark.parametrize("text", [text for _, text in troubles()], ids=[where for where, _ in troubles()])
def test_every_trouble_of_a_thermometer_is_said_in_german(text):
    if text.startswith("1 needs"):  # what needs it: a few fixed words
        text = text.replace("1 needs", "MQTT needs")
    if "answer1." in text:  # with the library's reason, or "in time"
        text = text.replace("answer1.", "answer in time.")
    assert say(text, View("de")) not in (text, NUMBER.sub("{}", text))


def test_no_translation_loses_a_place_for_a_number():
    known = translations("de")
    for text, said in known._catalog.items():
        if isinstance(text, str) and text:
            pattern = re.compile(r"%\(\w+\)s|\{\w*\}")
            assert sorted(pattern.findall(text)) == sorted(pattern.findall(said)), text


def test_what_the_recipe_book_finds_is_said_in_german():
    book = MemoryBook()
    load_demo(book, at=datetime(2026, 3, 21, tzinfo=UTC))
    pantry, known = pantry_of(book), translations("de").gettext
    texts = {one.name for one in ingredient_library().values()}
    for recipe in pantry.recipes.values():
        found = weigh_up(recipe, pantry)
        sheet = batch_sheet(recipe, pantry, batch="L", on="2026-03-21")
        whole = found.keeping
        texts |= {whole.note, whole.store, sheet.keeping, *sheet.cautions, *whole.hurdles, *whole.tests}
        texts |= {one.text for part in found.parts for one in (*part.balance.findings, *part.keeping.findings)}
        texts |= {one.text for one in (*whole.findings, *sheet.findings)} | {one.by for one in whole.limits}
        texts |= {one.why for one in sheet.temper} | {note.substance for note in found.made.allergens}
    same = {"Isomalt", "Vanillin", "pH"}
    unsaid = {t for t in texts - same if known(NUMBER.sub("{}", t)) == NUMBER.sub("{}", t) and known(t) == t}
    assert unsaid == set()
