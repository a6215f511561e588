"""``bloomless probe``: every command, as text and as JSON."""

import json
import math
from concurrent.futures import ThreadPoolExecutor

import pytest
from typer.testing import CliRunner

from bloomless.cli import main as cli
from bloomless.errors import DeviceFailure, ImpossibleInput, UnknownName

RUNNER = CliRunner()
QUICK = ("--set", "interval_s=0.02", "--set", "noise_K=0", "--set", "points=[[0, 31.0]]")


@pytest.fixture
def probe(tmp_path):
    def run(*arguments, data=False, ok=True, **kwargs):
        extra = ("--data", str(tmp_path)) if data else ()
        # In a thread of its own: a browser of another test may keep a loop running in this one.
        with ThreadPoolExecutor(1) as pool:
            result = pool.submit(RUNNER.invoke, cli.app, ["probe", *arguments, *extra], **kwargs).result()
        if ok and result.exception is not None:
            raise result.exception
        return result

    return run


def test_kinds(probe):
    assert "mqtt: " in probe("kinds").output
    known = json.loads(probe("kinds", "--json").output)
    assert {s["name"] for s in known["mqtt"]["settings"]} >= {"host", "topic", "path", "unit", "sensor"}


def test_try(probe):
    body = json.loads(probe("try", "simulated", *QUICK, "--json").stdout)
    assert [r["value"] for r in body["readings"]] == [31.0] * 5
    assert "31.00 °C" in probe("try", "simulated", *QUICK).output


def test_try_says_what_is_wrong(probe):
    with pytest.raises(DeviceFailure, match="cannot be opened"):
        probe("try", "serial", "--set", "port=/nowhere/at/all")  # ends by itself once it has said so
    with pytest.raises(DeviceFailure, match="Nothing came"):
        probe("try", "typed", "--seconds", "0.2")
    with pytest.raises(ImpossibleInput):
        probe("try", "serial", "--set", "port")
    with pytest.raises(UnknownName):
        probe("try", "telepathy")


def test_save_list_forget(probe):
    assert "Check it soon" in probe("add", "blue needle", "simulated", *QUICK, data=True).output
    assert "surface only" in probe("add", "gun", "typed", "--sort", "infrared", data=True).output
    rows = json.loads(probe("list", "--json", data=True).output)
    assert [row["name"] for row in rows] == ["blue needle", "gun"]
    assert rows[0]["next check"] == "due now"
    probe("forget", "gun", data=True)
    assert "gun" not in probe("list", data=True).output


def test_a_wrong_setting_is_not_saved(probe):
    with pytest.raises(UnknownName):
        probe("add", "x", "simulated", "--set", "colour=red", data=True)
    with pytest.raises(ImpossibleInput):
        probe("add", "x", "serial", "--set", "port=a", "--set", "baud=quick", data=True)
    assert json.loads(probe("list", "--json", data=True).output) == []


def test_watch_until_the_time_is_up(probe):
    probe("add", "a", "simulated", *QUICK, data=True)
    lines = [json.loads(line) for line in probe("watch", "--seconds", "2", "--json", data=True).stdout.splitlines()]
    assert {"probe": "a", "condition": "live"} in lines
    readings = [line["temperature_C"] for line in lines if "temperature_C" in line]
    assert len(readings) >= 5
    assert set(readings) == {31.0}
    said = probe("watch", "--kind", "typed", input="31,4\nhot\n").stdout
    assert "typed: 31.40 °C" in said
    assert "refused: message: 'hot'" in said
    assert "a: live" in probe("watch", "a", "--seconds", "1", data=True).output


def test_watch_typed_lines_and_a_replay(probe, tmp_path):
    typed = probe("watch", "--kind", "typed", "--json", input="31,4\nhot\n88 F\n").stdout.splitlines()
    values = [json.loads(line).get("temperature_C") for line in typed]
    assert [v for v in values if v] == [31.4, 31.111]
    log = tmp_path / "old.jsonl"
    log.write_text('{"what":"start","at":0}\n{"what":"reading","at":1,"temperature_C":31.2}\n')
    out = probe("watch", "--kind", "replay", "--set", f"path={log}", "--set", "speed=0", "--json").stdout
    assert '"temperature_C": 31.2' in out


def test_watch_as_bench_events(probe):
    lines = probe("watch", "--kind", "typed", "--events", input="31,4\n").stdout.splitlines()
    event = json.loads(lines[0])
    assert (event["what"], event["temperature_C"], event["probe"], len(lines)) == ("reading", 31.4, "1", 1)


def test_watch_needs_something_to_watch(probe):
    with pytest.raises(ImpossibleInput):
        probe("watch", data=True)


def test_calibrate(probe, tmp_path):
    probe("add", "a", "simulated", *QUICK, data=True)
    probe("add", "ref", "typed", data=True)
    done = probe("calibrate", "a", "ice", "--shown", "1.6", "--who", "M.", data=True)
    assert "Crushed ice" in done.output
    assert "off by more than 1 K" in done.output
    steam = probe("calibrate", "a", "boiling", "--shown", "99.9", "--altitude-m", "250", data=True)
    assert "Steam burns" in steam.output
    never = probe("calibrate", "ref", "skin_warm", "--shown", "36.4", "--reference", "36.5", data=True)
    assert "Never put a kitchen probe into a mouth" in never.output
    probe("calibrate", "a", "second_probe", "--reference", "30.5", "--other", "ref", data=True)  # reads it by itself
    body = json.loads(probe("calibrate", "a", "--json", data=True).stdout)
    assert [one["method"] for one in body["record"]] == ["ice", "boiling", "second_probe"]
    assert body["record"][2]["shown_C"] == 31.0
    assert 0.4 < body["offset_C"] < 1.2
    assert body["offset_sd_C"] < 0.2
    assert not body["overdue"]
    probe("calibrate", "a", "void", "--number", "1", "--note", "no ice left", data=True)
    assert "(void)" in probe("calibrate", "a", data=True).output
    probe("calibrate", "a", "fell", data=True)
    assert json.loads(probe("calibrate", "a", "--json", data=True).stdout)["overdue"]


def test_calibrate_refuses(probe):
    probe("add", "a", "typed", data=True)
    for arguments in (("ice",), ("mouth", "--shown", "37"), ("boiling", "--shown", "99"), ("lag",)):
        with pytest.raises((ImpossibleInput, DeviceFailure)):
            probe("calibrate", "a", *arguments, data=True)


def test_lag_from_a_file(probe, tmp_path):
    file = tmp_path / "dip.csv"
    shown = [22.0] * 5 + [round(45 - 23 * math.exp(-t / 6), 1) for t in range(50)]
    file.write_text("\n".join(f"{t};{c}" for t, c in enumerate(shown)))
    probe("add", "a", "typed", data=True)
    body = json.loads(probe("calibrate", "a", "lag", "--readings", str(file), "--json", data=True).stdout)
    assert body["lag_s"] == pytest.approx(6.0, rel=0.08)
    assert body["settles_s"] == pytest.approx(body["lag_s"] * math.log(100), abs=0.6)  # 10 K down to 0.1 K
    assert f"after {body['settles_s']} s" in probe("calibrate", "a", data=True).output
    file.write_text(file.read_text().replace(".", ","))
    again = json.loads(probe("calibrate", "a", "lag", "--readings", str(file), "--json", data=True).stdout)
    assert again["lag_s"] == body["lag_s"]
    file.write_text("hot\n")
    with pytest.raises(ImpossibleInput):
        probe("calibrate", "a", "lag", "--readings", str(file), data=True)


def test_lag_watched(probe):
    dip = ("--set", "points=[[0, 22], [0.8, 22], [0.801, 45]]", "--set", "lag_s=0.5", "--set", "interval_s=0.02")
    probe("add", "a", "simulated", *dip, "--set", "noise_K=0", data=True)
    body = json.loads(probe("calibrate", "a", "lag", "--seconds", "3", "--json", data=True).stdout)
    assert body["lag_s"] == pytest.approx(0.5, rel=0.15)


def test_find_goes_on_when_one_way_is_missing(probe, monkeypatch):
    from bloomless.probes import finding

    async def no_radio(*_, **__):
        raise DeviceFailure("Bluetooth of this machine does not work.")

    monkeypatch.setattr(finding, "find_bluetooth", no_radio)
    monkeypatch.setattr(finding, "find_board", lambda: [finding.Found("board", "28-1", {"bus": "1-wire"}, "x")])
    found = probe("find", "--json", "--seconds", "0.1")
    assert json.loads(found.stdout)[0]["name"] == "28-1"
    assert "Bluetooth" in found.stderr
    assert "28-1" in probe("find", "--seconds", "0.1").stdout
    nobody = probe("find", "--broker", "127.0.0.1:1", "--seconds", "0.1", "--json")
    assert "broker" in nobody.stderr
