"""The keeper and its small parts: waits, the sparse log, repeats, clocks, the hub, kinds, finding."""

import asyncio
import contextlib
import json
import logging
import random
from datetime import UTC, datetime, timedelta

import aiomqtt
import pytest
from probe_worlds import Broker, one_wire_file
from probe_worlds import run as in_loop

from bloomless.bench.thermometers import Condition, Facts
from bloomless.errors import DeviceFailure, ImpossibleInput, Misuse, UnknownName
from bloomless.probes import extras, finding
from bloomless.probes.board import Board, board_sensors
from bloomless.probes.files import Followed, Replayed, file_value
from bloomless.probes.hub import Hub
from bloomless.probes.inbox import Posted, Typed
from bloomless.probes.keeping import Backoff, Keeper, SparseLog
from bloomless.probes.kinds import KINDS, settings_from_text, thermometer_from
from bloomless.probes.modbus import Modbus
from bloomless.probes.mqtt import Mqtt
from bloomless.probes.serial_line import LineJoiner, SerialLine
from bloomless.probes.simulated import Fault, Simulated, curve_C
from bloomless.probes.wiring import Wiring

pytestmark = pytest.mark.xdist_group("thermometers")
NOW = datetime(2031, 5, 1, 12, tzinfo=UTC)


class Clock:
    def __init__(self):
        self.s = 100.0

    def now(self):
        return NOW + timedelta(seconds=self.s)

    def monotonic_s(self):
        return self.s


def test_waits_double_with_jitter_up_to_half_a_minute():
    backoff = Backoff(chance=random.Random(1))
    waits = [backoff.next_s() for _ in range(12)]
    whole = [min(0.2 * 2**n, 30.0) for n in range(12)]
    assert all(0.5 * w <= got <= w for got, w in zip(waits, whole, strict=True))
    assert len({round(got / w, 6) for got, w in zip(waits, whole, strict=True)}) == 12
    backoff.reset()
    assert backoff.next_s() <= 0.2


def test_the_log_is_not_flooded_and_says_what_it_left_out(caplog):
    log = SparseLog("p")
    with caplog.at_level(logging.INFO, "bloomless.probes"):
        for second in range(24 * 3600):
            log.say(float(second), "lost: x")
    assert 100 < len(caplog.records) < 160  # six at once, then one in ten minutes
    assert "599 lines left out" in caplog.records[-1].message


def keeper_of(thermometer, clock=None):
    taken = []
    return Keeper("p", thermometer, taken.append, clock=clock or Clock()), taken


def test_repeats_are_dropped_and_old_messages_refused():
    keeper, taken = keeper_of(Posted())

    def post(**body):
        return keeper.hear(json.dumps(body).encode())

    assert len(post(temperature_C=31, id="a")) == 1
    assert post(temperature_C=31, id="a") == ()
    at = (NOW + timedelta(seconds=90)).isoformat()
    assert len(post(temperature_C=30.5, when=at)) == 1
    assert post(temperature_C=30.5, when=at) == ()
    assert taken[-1].at.isoformat() == at
    for off in (timedelta(hours=-1), timedelta(minutes=10)):
        with pytest.raises(ImpossibleInput, match="clock"):
            post(temperature_C=31, when=(NOW + off).isoformat())
    assert keeper.watch.refused == 2
    assert len(taken) == 2


def test_a_time_a_little_ahead_is_now():
    keeper, taken = keeper_of(Posted())
    keeper.hear(json.dumps({"temperature_C": 31, "when": (NOW + timedelta(seconds=102)).isoformat()}).encode())
    assert taken[0].at == NOW + timedelta(seconds=100)


class Silent:
    kind = "bluetooth"
    facts = Facts()
    opened = 0

    async def frames(self):
        self.opened += 1
        await asyncio.sleep(60)
        yield b""

    def values(self, frame):
        return ()


def test_a_link_that_died_unnoticed_is_opened_again():
    async def run():
        silent = Silent()
        keeper = Keeper("p", silent, print, reopen_after_s=0.02, backoff=Backoff(0.001, 0.001))
        task = asyncio.create_task(keeper.run())
        await asyncio.sleep(0.3)
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        return silent.opened, keeper.watch.trouble

    opened, trouble = in_loop(run())
    assert opened > 2
    assert "Silent for" in trouble


# ---------------------------------------------------------------- lines


def test_a_port_opened_in_the_middle_of_a_line_gives_no_half_reading():
    assert LineJoiner(0.0).feed(b"1.25\n31.50\n", 0.01) == [b"31.50"]
    assert LineJoiner(0.0).feed(b"31.25\n", 0.2) == [b"31.25"]


def test_a_line_broken_off_is_not_joined_to_the_next_one():
    joiner = LineJoiner(0.0)
    assert joiner.feed(b"3", 1.0) == []
    assert joiner.feed(b"1.25\r\n", 9.0) == []
    assert joiner.feed(b"30.5\r\n", 10.0) == [b"30.5"]


def test_a_careless_joiner_would_make_a_reading_of_a_half():
    """Sabotage: without the rule above, ``1.25`` out of ``31.25`` is a fine temperature."""
    careless = LineJoiner(0.0)
    careless._first, careless._whole = False, True
    assert careless.feed(b"1.25\n", 0.01) == [b"1.25"]


def test_endless_bytes_without_a_line_end_are_dropped():
    joiner = LineJoiner(0.0)
    assert joiner.feed(b"x" * 500, 1.0) == []
    assert joiner.feed(b"31.2\n30.1\n", 1.1) == [b"30.1"]


# ---------------------------------------------------------------- kinds and settings


@pytest.mark.parametrize(
    ("kind", "settings", "field"),
    [
        ("serial", {}, "port"),
        ("serial", {"port": "a", "baud": 1}, "baud"),
        ("serial", {"port": "a", "baud": "9600"}, "baud"),
        ("serial", {"port": "a", "unit": "ohm"}, "sensor"),
        ("mqtt", {"host": "h", "topic": "a/#"}, "topic"),
        ("mqtt", {"host": "h", "topic": "t", "port": 0}, "port"),
        ("mqtt", {"host": "h", "topic": "t", "tls": 1}, "tls"),
        ("modbus", {}, "host"),
        ("modbus", {"host": "h", "device": 300}, "device"),
        ("modbus", {"host": "h", "number": "int8"}, "number"),
        ("board", {"bus": "can", "sensor": "x"}, "bus"),
        ("board", {"bus": "1-wire", "sensor": "../../etc"}, "sensor"),
        ("board", {"bus": "hwmon", "sensor": "hwmon0", "quantity": "humidity"}, "quantity"),
        ("board", {"bus": "iio", "sensor": "iio:device0", "interval_s": 0.0}, "interval_s"),
        ("file", {"path": "x", "poll_s": 0.0}, "poll_s"),
        ("file", {"path": "x", "separator": "pipe"}, "separator"),
        ("replay", {"path": "x", "speed": -1.0}, "speed"),
        ("simulated", {"points": []}, "points"),
        ("simulated", {"interval_s": 0.0}, "interval_s"),
        ("simulated", {"faults": [[0, 1, "fire"]]}, "faults"),
        ("typed", {"colour": "red"}, "setting"),
        ("telepathy", {}, "kind"),
    ],
)
def test_settings_that_cannot_be_name_their_field(kind, settings, field):
    with pytest.raises(ImpossibleInput) as caught:
        thermometer_from(kind, settings)
    assert caught.value.field == field


def test_settings_as_text():
    typed = settings_from_text(
        "mqtt",
        {"host": "h", "topic": "t", "port": "1884", "tls": "yes", "scale": "0,1", "points": "[[0,1]]", "path": ""},
    )
    assert typed == {"host": "h", "topic": "t", "port": 1884, "tls": True, "scale": 0.1, "points": [[0, 1]]}
    for name, text in (("port", "x"), ("tls", "maybe"), ("scale", "much"), ("points", "[")):
        with pytest.raises(ImpossibleInput) as caught:
            settings_from_text("mqtt", {name: text})
        assert caught.value.field == name
    with pytest.raises(UnknownName):
        settings_from_text("mqtt", {"colour": "red"})


def test_every_kind_says_what_it_takes():
    for kind in KINDS.values():
        assert kind.says.endswith(".")
        assert kind.settings() or kind.name == "http"


@pytest.mark.parametrize("kind", [k for k in KINDS.values() if k.library], ids=lambda k: k.name)
def test_a_missing_library_is_missed_in_one_sentence(kind, monkeypatch):
    def missing(name):
        raise ImportError(name)

    monkeypatch.setattr(extras, "import_module", missing)
    settings = {
        "bluetooth": {"address": "AA"},
        "serial": {"port": "p"},
        "mqtt": {"host": "h", "topic": "t"},
        "modbus": {"host": "h"},
    }[kind.name]

    async def run():
        await anext(thermometer_from(kind.name, settings).frames())

    with pytest.raises(DeviceFailure, match=r"pip install 'bloomless\[probes\]'") as caught:
        in_loop(run())
    assert caught.value.code == "extra_missing"


def test_makers_of_ways_are_what_the_kinds_name():
    made = (Typed(), Posted(), Followed("x"), Replayed("x"), Simulated(), SerialLine("p"), Mqtt("h", "t"), Modbus("h"))
    assert {one.kind for one in made} <= set(KINDS)


# ---------------------------------------------------------------- hub


def test_the_hub_keeps_delivers_and_drops():
    async def run():
        taken = []
        hub = Hub(taken.append)
        hub.add("tablet", "http", {})
        hub.add("sim", "simulated", {"interval_s": 0.01})
        with pytest.raises(Misuse):
            hub.add("tablet", "http", {})
        assert [r.value for r in hub.deliver("tablet", b'{"temperature_C": 31.5}')] == [31.5]
        with pytest.raises(ImpossibleInput):
            hub.deliver("tablet", b"hot")
        with pytest.raises(Misuse):
            hub.deliver("sim", b"{}")
        with pytest.raises(UnknownName):
            hub.deliver("nobody", b"{}")
        await asyncio.sleep(0.1)
        watches = hub.watches()
        assert watches["sim"].condition(hub.clock.monotonic_s()) is Condition.LIVE
        assert watches["tablet"].refused == 1
        await hub.drop("sim")
        await hub.drop("sim")
        assert hub.ended("sim")
        await hub.close()
        assert hub.watches() == {}

    in_loop(run())


def test_an_inbox_that_nobody_empties_says_so():
    async def run():
        box = Typed()
        for _ in range(10_000):
            box.deliver(b"31")
        assert box.waiting == 10_000
        with pytest.raises(DeviceFailure):
            box.deliver(b"31")

    in_loop(run())


# ---------------------------------------------------------------- files, boards, simulated


def test_rows_of_a_file():
    assert file_value(b"9:00,x,31.5", Wiring(), "comma").value == 31.5
    assert file_value(b"31,5", Wiring()).value == 31.5
    assert file_value(b"31.5\t40", Wiring(), "tab", 0).value == 31.5
    for line in (b'{"x": 1}', b"{"):
        with pytest.raises(ImpossibleInput):
            file_value(line, Wiring())
    with pytest.raises(ImpossibleInput, match="column"):
        file_value(b"1;2", Wiring(), "semicolon", 5)


def test_the_rest_of_a_line_being_written_is_not_a_reading(tmp_path):
    path = tmp_path / "log.txt"
    path.write_bytes(b"30.00\n3")

    async def run():
        frames = Followed(str(path), poll_s=0.005).frames()
        first = asyncio.ensure_future(anext(frames))
        await asyncio.sleep(0.05)
        with path.open("ab") as file:
            file.write(b"1.25\n31.50\n")
        got = await asyncio.wait_for(first, 2)
        second = asyncio.ensure_future(anext(frames))
        await asyncio.sleep(0.05)
        path.write_bytes(b"29.00\n")  # begun anew
        return got, await asyncio.wait_for(second, 2)

    assert in_loop(run()) == (b"31.50", b"29.00")


def test_replay_keeps_its_pace_and_its_probe(tmp_path):
    path = tmp_path / "log.jsonl"
    rows = [
        {"what": "start", "at": 0},
        {"what": "reading", "at": 1, "temperature_C": 31.0, "probe": "2"},
        {"what": "reading", "at": 2, "temperature_C": 40.0},
        {"what": "reading", "when": "2031-05-01T12:00:00Z", "temperature_C": 30.0, "probe": "2"},
        {"what": "reading", "when": "soon", "temperature_C": 29.0, "probe": "2"},
    ]
    path.write_text("\n".join(json.dumps(row) for row in rows))

    async def run(**settings):
        probe = Replayed(str(path), **settings)
        return [probe.values(frame)[0].value async for frame in probe.frames()]

    assert in_loop(run(speed=0.0)) == [31.0, 30.0, 29.0]
    assert in_loop(run(speed=1e6, probe="1")) == [40.0]
    keeper, taken = keeper_of(Replayed(str(path), speed=0.0))
    in_loop(keeper.run())
    assert len(taken) == 3
    assert keeper.watch.trouble == "It has ended."


def test_boards(tmp_path):
    w1 = tmp_path / "bus/w1/devices/28-00000abcdef0"
    w1.mkdir(parents=True)
    (w1 / "w1_slave").write_bytes(one_wire_file(31.25))
    (tmp_path / "bus/w1/devices/w1_bus_master1").mkdir()
    iio = tmp_path / "bus/iio/devices/iio:device0"
    iio.mkdir(parents=True)
    for name, text in {
        "name": "air",
        "in_temp_raw": "100",
        "in_temp_offset": "525",
        "in_temp_scale": "50",
        "in_humidityrelative_input": "45500",
    }.items():
        (iio / name).write_text(text + "\n")
    hwmon = tmp_path / "class/hwmon/hwmon1"
    hwmon.mkdir(parents=True)
    (hwmon / "temp1_input").write_text("30500\n")
    sensors = board_sensors(str(tmp_path))
    assert [(s["bus"], s["quantity"]) for s in sensors] == [
        ("1-wire", "temperature"),
        ("iio", "temperature"),
        ("iio", "humidity"),
        ("hwmon", "temperature"),
    ]
    found = finding.find_board(str(tmp_path))
    assert found[1].note == "iio: air"

    async def first(board):
        return board.values(await anext(board.frames()))[0].value

    shown = [in_loop(first(thermometer_from("board", dict(one.settings)))) for one in found]
    assert shown == [31.25, 31.25, 45.5, 30.5]
    (iio / "in_temp_input").write_text("29000\n")
    assert in_loop(first(Board("iio", "iio:device0", sysfs=str(tmp_path)))) == 29.0
    (iio / "in_temp_input").unlink()
    (iio / "in_temp_scale").write_text("much\n")
    with pytest.raises(DeviceFailure, match="no number"):
        in_loop(first(Board("iio", "iio:device0", sysfs=str(tmp_path))))


def test_simulated_bowl_and_faults():
    assert [curve_C([(0, 45), (10, 35)], t) for t in (-1, 0, 5, 10, 99)] == [45, 45, 40, 35, 35]

    async def run():
        probe = Simulated(
            [(0, 45.0)], 0.005, offset_C=0.5, faults=(Fault(0.0, 0.02, "half"), Fault(0.03, 9.0, "unplugged"))
        )
        frames = []
        source = probe.frames()
        with contextlib.suppress(DeviceFailure):
            while True:
                frames.append(await anext(source))
        return probe, frames

    probe, frames = in_loop(run())
    with pytest.raises(ImpossibleInput):
        probe.values(frames[0])
    assert probe.values(frames[-1])[0].value == pytest.approx(45.5, abs=0.2)


# ---------------------------------------------------------------- MQTT


def test_mqtt_finds_numbers_and_keeps_to_their_time(tmp_path):
    """Topics are found with their paths, retained values dropped; with a sender's time nothing is lost while away."""

    async def run():
        broker = Broker(tmp_path)
        await broker.start()
        taken, watched = [], []
        settings = {"host": "127.0.0.1", "port": broker.port, "topic": "k/1", "path": "t", "time_path": "at"}
        async with aiomqtt.Client("127.0.0.1", broker.port) as sender:

            async def send(number, topic="k/1", retain=False):
                body = json.dumps({"t": number, "at": datetime.now(UTC).isoformat(), "id": "x"})
                await sender.publish(topic, body, qos=1, retain=retain)

            async def until(happened, *, meanwhile=None):
                async with asyncio.timeout(15):
                    while not happened():
                        if meanwhile is not None:
                            await send(meanwhile)
                        await asyncio.sleep(0.05)

            looking = asyncio.create_task(finding.find_mqtt("127.0.0.1", broker.port, 1.2))
            await asyncio.sleep(0.8)
            await send(31.5)
            await sender.publish("k/plain", "29.5")
            await sender.publish("k/noise", "hello")
            found = await looking
            await send(40.0, retain=True)
            hub, passing = Hub(taken.append, lasting=True), Hub(watched.append)
            hub.add("one", "mqtt", settings)
            passing.add("one", "mqtt", settings)  # a command that watches beside a server
            await until(lambda: taken and watched, meanwhile=20.0)
            await send(31.0)
            await until(lambda: taken[-1].value == watched[-1].value == 31.0)
            assert hub.watches()["one"].losses == passing.watches()["one"].losses == 0, "neither throws the other out"
            await passing.close()
            await hub.close()
            await send(30.0)  # while nobody listens
            hub = Hub(taken.append, lasting=True)
            hub.add("one", "mqtt", settings)
            await until(lambda: taken[-1].value == 30.0)
            await hub.close()
        await broker.kill()
        return found, [r.value for r in taken]

    found, values = in_loop(run())
    assert [(one.name, one.settings.get("path", "")) for one in found] == [("k/1", "t"), ("k/plain", "")]
    assert [value for value in values if value != 20.0] == [31.0, 30.0]


def test_numbers_in_a_document():
    document = {"a": [1, {"b": True, "c": 2.5}], "d.e": 3, "f": "x"}
    assert list(finding.numbers_in(document)) == [("a[0]", 1.0), ("a[1].c", 2.5)]


def test_a_broker_that_is_not_there():
    with pytest.raises(DeviceFailure, match="does not answer"):
        in_loop(finding.find_mqtt("127.0.0.1", 1, 0.2))


def test_serial_ports_are_listed():
    assert all(one.kind == "serial" for one in finding.find_serial())
