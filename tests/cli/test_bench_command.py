"""``bloomless bench`` and ``bloomless replay`` as a program would use them: pipes, bad lines, a pulled plug."""

import json
import os
import signal
import subprocess
import sys

import pytest
from typer.testing import CliRunner

from bloomless.cli import main as cli

COMMAND = [sys.executable, "-m", "bloomless"]
START = {"at": 0, "what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45}
SESSION = [
    START,
    {"at": 0, "what": "ask"},
    {"at": 60, "what": "reading", "temperature_C": 43.6},
    {"at": 61, "what": "cool_bath", "bath_C": 18, "seconds": 60},
    {"at": 125, "what": "reading", "temperature_C": 38.0},
    {"at": 130, "what": "seed", "mass_g": 130, "size_mm": 3},
    {"at": 190, "what": "reading", "temperature_C": 32.9},
    {"at": 195, "what": "look", "lumps": "few"},
]


def lines(events):
    return "".join(json.dumps(event) + "\n" for event in events)


def run(*arguments, text="", check=0):
    done = subprocess.run([*COMMAND, *arguments], input=text, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == check, done.stderr
    return done


@pytest.fixture(scope="module")
def answers():
    broken = [*SESSION[:4], "{broken", {"at": 100, "what": "reading", "temperature_C": 200}, *SESSION[4:]]
    text = "".join((line if isinstance(line, str) else json.dumps(line)) + "\n" for line in broken)
    return [json.loads(line) for line in run("bench", "--members", "256", text=text).stdout.splitlines()]


def test_one_line_for_each_answerable_event_and_each_refusal(answers):
    assert [answer["line"] for answer in answers] == [2, 3, 5, 6, 7, 9, 10]
    assert [answer["error"]["field"] for answer in answers if "error" in answer] == ["line", "temperature_C"]
    assert "-30 to 130" in answers[3]["error"]["text"]


def test_answers_have_the_published_form(answers):
    wanted = {"line", "at", "chance_in_temper", "temperature_C", "form_v_pct_of_fat", "unstable_pct_of_fat"}
    wanted |= {"seed_left_g", "batch_g", "minutes_to_temper", "working_minutes_left", "next", "plan", "alerts"}
    for answer in answers:
        if "error" not in answer:
            assert wanted <= set(answer)
            assert {"id", "do", "then_wait_s", "chance_after", "minutes_after", "why", "instead"} <= set(answer["next"])
    assert "before" in answers[0]
    assert answers[-1]["seed_left_g"]["p50"] > 0


def test_answers_are_flushed_line_by_line():
    with subprocess.Popen(
        [*COMMAND, "bench", "--members", "64"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as bench:
        for event in SESSION[:3]:
            bench.stdin.write(json.dumps(event) + "\n")
            bench.stdin.flush()
            if event["what"] != "start":
                assert json.loads(bench.stdout.readline())["at"] == event["at"]
        bench.stdin.close()
    assert bench.returncode == 0


def test_a_pulled_plug_loses_nothing(tmp_path):
    log = tmp_path / "bowl.jsonl"
    command = [*COMMAND, "bench", "--members", "64", "--log", str(log)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as bench:
        for event in SESSION[:5]:
            bench.stdin.write(json.dumps(event) + "\n")
            bench.stdin.flush()
        for _ in range(3):
            last = json.loads(bench.stdout.readline())
        os.kill(bench.pid, signal.SIGKILL)
    assert [json.loads(line) for line in log.read_text().splitlines()] == SESSION[:5]
    again = run("bench", "--members", "64", "--log", str(log), text=lines([{"at": 125, "what": "ask"}]))
    resumed = json.loads(again.stdout)
    assert resumed["temperature_C"] == last["temperature_C"]


def test_nothing_and_a_closed_pipe():
    assert "at least one line" in run("bench", check=3).stderr
    done = subprocess.run(
        f"{sys.executable} -m bloomless bench --members 64 | head -n 1",
        input=lines([*SESSION[:2], *[{"at": k, "what": "ask"} for k in range(1, 40)]]),
        shell=True,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert len(done.stdout.splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_replay_tells_the_story_and_draws_it(tmp_path):
    log = tmp_path / "bowl.jsonl"
    log.write_text(lines(SESSION) + "nonsense\n")
    result = CliRunner().invoke(cli.app, ["replay", str(log), "--members", "128", "--json"])
    assert result.exit_code == 0, result.output
    story = json.loads(result.stdout)
    assert len(story["frames"]) == len(SESSION)
    assert "line 9" in result.stderr
    picture = (tmp_path / "bowl.svg").read_text()
    assert picture.startswith("<?xml")
    assert "working" in picture
    assert "seed 130 g" in picture


def test_replay_of_a_table(tmp_path):
    table = tmp_path / "run.csv"
    table.write_text("minutes;temperature_F\n0;113\n1;111,2\n4;107,6\n4,5;\n9;102,2\n")
    picture = tmp_path / "run.png"
    arguments = ["replay", str(table), "--members", "64", "--picture", str(picture), "--chocolate", "milk"]
    result = CliRunner().invoke(cli.app, arguments)
    assert result.exit_code == 0, result.output
    assert "milk 800 g" in result.stdout
    assert picture.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("name", "text", "more", "code"),
    [
        ("gone.csv", None, [], 4),
        ("empty.csv", "", [], 3),
        ("no_unit.csv", "time,temp\n0,45\n", [], 3),
        ("a.csv", "time,temp\n0,45\n", ["--unit", "K"], 3),
        ("b.csv", "time,temp_C\n0,45\n", ["--picture", "picture.bmp"], 3),
        ("c.csv", "time,temp_C\n0,45\n", ["--picture", "/nowhere/at/all.svg"], 4),
        ("d.jsonl", '{"at": 0, "what": "ask"}\n', [], 3),
    ],
)
def test_bad_files_are_one_clear_error(tmp_path, monkeypatch, capsys, name, text, more, code):
    file = tmp_path / name
    if text is not None:
        file.write_text(text)
    monkeypatch.setattr(sys, "argv", ["bloomless", "replay", str(file), "--members", "64", *more])
    with pytest.raises(SystemExit) as caught:
        cli.main()
    assert caught.value.code == code
    assert capsys.readouterr().err.strip().splitlines()[-1].startswith("bloomless: ")
