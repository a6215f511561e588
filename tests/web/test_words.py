"""German is complete: every text of the shell and the bench, every alert, every reason of the advice."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from bloomless.advice.orders import Order
from bloomless.advice.sentences import Numbers, why
from bloomless.web.words import script_words, translations

ROOT = Path(__file__).resolve().parents[2]
NUMBER = re.compile(r"(?<![\w.])[-−]?\d+(?:[.,]\d+)?")


OURS = ["base", "bench", "benches", "compare", "forms", "home", "past", "practice", "problem", "settings", "sign_in"]
OURS += ["start", "story", "welcome", "bench_page", "past_pages", "practice_page", "settings_page"]
OURS += ["thermometers", "thermometer", "thermometer_kinds", "thermometer_new", "probe-page", "probe-find"]
OURS += ["own-device", "bench-probe", "probes_page", "probes_api"]
OURS += ["chart", "crystals", "deeds", "orders", "outbox", "sound", "words"]


def test_german_is_complete():
    done = subprocess.run(
        [sys.executable, ROOT / "tools" / "words.py", "de", *OURS], capture_output=True, text=True, check=True
    )
    assert re.findall(r'^msgid "(.+)"', done.stdout, re.MULTILINE) == []


@pytest.mark.parametrize("pieces_pct", [1.0, 9.0])
@pytest.mark.parametrize("temperature_C", [29.4, 31.0, 40.0])
def test_every_reason_is_said_in_german(pieces_pct, temperature_C):
    numbers = Numbers(temperature_C, 29.3, 33.0, 1.2, 40.0, pieces_pct, 0.62, 0.1)
    words = script_words("de")
    for do in ORDERS:
        for sentence in NUMBER.sub("{}", why(Order(do), numbers)).split(". Probe"):
            assert f'"{sentence.rstrip(".")}' in words, sentence


ORDERS = (
    "heat_on", "pour_over", "add_seed", "add_melt", "warm_bath", "cool_bath", "hot_air", "table", "stir", "look",
    "smear", "sieve", "check_thermometer", "use_it", "melt_again", "stop",
)  # fmt: skip


def test_no_translation_loses_a_place_for_a_number():
    known = translations("de")
    for text, said in known._catalog.items():
        if isinstance(text, str) and text:
            pattern = re.compile(r"%\(\w+\)s|\{\w*\}")
            assert sorted(pattern.findall(text)) == sorted(pattern.findall(said)), text
