"""``bloomless serve`` and ``bloomless demo`` as a person starts them."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request

import pytest

from services.web import post_json

COMMAND = [sys.executable, "-m", "bloomless"]


def start(*arguments, **variables):
    environment = {k: v for k, v in os.environ.items() if k not in {"BLOOMLESS_DATABASE_URL", "DISPLAY"}} | variables
    return subprocess.Popen(
        [*COMMAND, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True,
        env=environment,
    )  # fmt: skip


def address_of(process):
    for line in process.stdout:
        if " at http" in line:
            return line.split(" at ")[1].strip()
    pytest.fail(process.stderr.read())


def end(process):
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=30)


def test_serve_keeps_a_bowl_over_a_kill(tmp_path):
    arguments = ("serve", "--port", "0", "--data", str(tmp_path))
    first = start(*arguments)
    url = address_of(first)
    event = {"what": "start", "chocolate": "dark", "mass_g": 500, "temperature_C": 45, "id": "s"}
    bench = post_json(f"{url}api/v1/benches", event)["bench"]
    for i in range(20):
        post_json(
            f"{url}api/v1/benches/{bench}/events", {"what": "reading", "temperature_C": 44, "at": i, "id": f"r{i}"}
        )
    first.kill()
    first.communicate()
    second = start(*arguments)
    url = address_of(second)
    with urllib.request.urlopen(f"{url}api/v1/benches/{bench}/events") as answer:
        assert [one["id"] for one in json.load(answer)] == ["s", *[f"r{i}" for i in range(20)]]
    end(second)


def test_serve_to_others_needs_a_pass_phrase(tmp_path):
    arguments = ("serve", "--host", "0.0.0.0", "--port", "0", "--data", str(tmp_path))
    refused = start(*arguments)
    _, said = refused.communicate(timeout=60)
    assert refused.returncode == 3
    assert "BLOOMLESS_PASS_PHRASE" in said
    allowed = start(*arguments, BLOOMLESS_PASS_PHRASE="tide under the boathouse")
    url = address_of(allowed)
    port = url.rstrip("/").rsplit(":", 1)[1]
    with pytest.raises(urllib.error.HTTPError) as answer:
        urllib.request.urlopen(f"http://127.0.0.1:{port}/api/v1/benches")
    assert answer.value.code == 401
    answer.value.close()
    end(allowed)


def test_serve_says_what_is_wrong(tmp_path):
    (tmp_path / "bloomless.sqlite").write_text("a shopping list, long enough to be read as a header" * 20)
    process = start("serve", "--port", "0", "--data", str(tmp_path))
    _, said = process.communicate(timeout=60)
    assert process.returncode == 4
    assert "not a book of Bloomless" in " ".join(said.split())
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        process = start("serve", "--port", str(taken.getsockname()[1]), "--data", str(tmp_path / "other"))
        _, said = process.communicate(timeout=60)
    assert process.returncode == 4
    assert "--port" in said


def test_the_demonstration_on_a_machine_without_a_screen():
    process = start("demo", "--json")
    said, wrong = process.communicate(timeout=300)
    assert process.returncode == 0, wrong
    told = json.loads(said)
    assert told["finished"]
    assert 0 <= told["chance_in_temper"] <= 1
    process = start("demo", "--text", "--seconds", "1")
    said, wrong = process.communicate(timeout=300)
    assert process.returncode == 0, wrong
    assert "in temper" in said
    assert re.search(r"seed \d+ g", said)  # what went before is told
    assert re.search(r"next: \w+.*\. [A-Z].*\.", said)  # and why


def test_the_screen_of_the_demonstration_stays_open_without_a_browser_here():
    process = start("demo")
    url = next(line for line in process.stdout if "stays open" in line).split(" at ")[1].split(";")[0]
    with urllib.request.urlopen(url) as page:
        assert "<main" in page.read().decode()
    process.send_signal(signal.SIGINT)
    _, wrong = process.communicate(timeout=60)
    assert "Traceback" not in wrong
