"""``bloomless practice``: by JSON lines, and with real keys in a real terminal."""

import json
import sys

import pexpect
import pytest
from typer.testing import CliRunner

from bloomless.cli.main import app
from bloomless.cli.practice_draw import big_number, clock, order_words
from bloomless.errors import ImpossibleInput

PLAY = [
    {"what": "pour"},
    {"what": "wait", "seconds": 60},
    {"what": "seed", "mass_g": 100},
    {"what": "wait", "seconds": 120},
    {"what": "look"},
    {"what": "finish"},
]


def run(lines, *options):
    done = CliRunner().invoke(
        app, ["practice", "--json", "--seed", "4", "--mass-g", "600", *options], input="\n".join(lines) + "\n"
    )
    assert done.exit_code == 0, done.output
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_each_act_is_answered_and_the_truth_comes_last(tmp_path):
    log = tmp_path / "bowl.jsonl"
    answers = run([json.dumps(act) for act in PLAY], "--log", str(log))
    assert len(answers) == len(PLAY) + 2
    assert answers[-1]["score"]["used"]
    assert answers[-1]["truth"][-1]["batch_g"] == pytest.approx(690, abs=15)
    assert not any("truth" in answer for answer in answers[:-1])
    kept = [json.loads(line) for line in log.read_text().splitlines()]
    assert kept == [line for answer in answers[:-1] for line in answer["lines"]]


def test_the_recording_can_be_replayed(tmp_path):
    log = tmp_path / "bowl.jsonl"
    run([json.dumps(act) for act in PLAY], "--log", str(log))
    done = CliRunner().invoke(app, ["replay", str(log), "--members", "64", "--json"])
    assert done.exit_code == 0, done.output


def test_bad_lines_are_answered_and_change_nothing():
    good = run([json.dumps(act) for act in PLAY])
    bad = [
        "nonsense",
        "[]",
        '{"what": "dance"}',
        '{"what": "wait", "seconds": "long"}',
        '{"what": "seed", "mass_g": -1}',
        "",
    ]
    mixed = run(bad + [json.dumps(act) for act in PLAY])
    assert [answer["error"]["code"] for answer in mixed[1:6]] == [
        "broken_json",
        "impossible_input",
        "unknown_name",
        "impossible_input",
        "impossible_input",
    ]
    assert mixed[-1] == good[-1]


def test_the_end_of_input_gives_the_bowl_up():
    assert run(['{"what": "wait"}'])[-1]["score"]["total"] == 0


def test_without_a_terminal_it_says_how_to_play():
    done = CliRunner().invoke(app, ["practice"])
    assert isinstance(done.exception, ImpossibleInput)


def test_played_with_keys_in_a_terminal(tmp_path):
    log = tmp_path / "bowl.jsonl"
    arguments = ["-m", "bloomless", "practice", "--seed", "4", "--mass-g", "600", "--speed", "20", "--log", str(log)]
    game = pexpect.spawn(sys.executable, arguments, dimensions=(30, 100), timeout=40, encoding="utf-8")
    game.expect("Practice bowl")
    game.send("p")
    game.expect("Pour")
    game.send("s")
    game.expect("How much seed")
    game.send("9\x7f80\r")
    game.expect("Seed 80 g")
    game.send("m")  # no such key: nothing happens
    game.send("c\x1b")  # asked, and left
    game.send("v")
    game.expect("brisk")
    game.send("l")
    game.expect("Lumps:")
    game.send("tt")
    game.expect("still setting")
    game.send("+-- ")
    game.expect("paused")
    game.send(" u")
    game.expect("of 100 points")
    game.expect("The same bowl again")
    game.expect(pexpect.EOF)
    whats = [json.loads(line)["what"] for line in log.read_text().splitlines()]
    assert [what for what in whats if what not in {"reading", "start"}] == [
        "stir",
        "pour",
        "seed",
        "stir",
        "look",
        "smear",
        "finish",
    ]


def test_small_drawings():
    assert clock(61) == "1:01"
    assert str(big_number(31.4)).count("\n") == 2
    words = order_words({"next": {"do": "add_seed", "mass_g": 45.0, "why": "It is warm."}, "chance_in_temper": 0.25})
    assert words == "add seed (45 g). It is warm. Chance in temper now 25%."
    assert order_words({"next": {"do": "stir", "share": 0.4, "seconds": 70.0}}) == "work it on the stone (70 s). "
