"""The register of thermometers: documents, checks with age and falls, due dates, what the estimation is told."""

from datetime import UTC, datetime, timedelta

import pytest

from bloomless.bench import probe_register as register
from bloomless.bench.ports import MemoryBook
from bloomless.bench.probe_register import Registration
from bloomless.bench.thermometers import Condition, Facts, ProbeReading, Value, Watch, reading_event
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.estimation.events import ProbeSpec
from bloomless.physics.calibration import Check, CheckMethod
from bloomless.physics.sensors import infrared_true_C

NOW = datetime(2031, 5, 1, 12, tzinfo=UTC)
NEEDLE = Registration("blue needle", "serial", {"port": "/dev/ttyUSB0"})


@pytest.fixture
def book():
    book = MemoryBook()
    register.save_probe(book, NEEDLE, at=NOW)
    return book


def ice(shown_C, **kwargs):
    reference, doubt = register.reference_for(CheckMethod.ICE)
    return Check(CheckMethod.ICE, shown_C, reference, doubt, **kwargs)


def test_there_and_back(book):
    assert register.probe_of(book, "blue needle") == NEEDLE
    assert register.probes_of(book) == [NEEDLE]
    book.withdraw("probe", "blue needle", at=NOW)
    assert register.probes_of(book) == []
    with pytest.raises(UnknownName):
        register.probe_of(book, "blue needle")


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": ""},
        {"name": "a/b"},
        {"name": " a"},
        {"sort": "laser"},
        {"place": "roof"},
        {"lag_s": 0.0},
        {"check_every_d": 0.0},
        {"resolution_K": 9.0},
    ],
)
def test_what_cannot_be(wrong):
    with pytest.raises(ImpossibleInput) as caught:
        Registration(**{"name": "x", "kind": "typed", **wrong})
    assert caught.value.field == next(iter(wrong))


def test_unchecked_it_is_the_prior_and_a_check_narrows_it(book):
    assert register.spec_of(book, NEEDLE, NOW) == ProbeSpec("needle", 0.0, 0.7, 5.0, slope=0.0, slope_sd=0.004)
    assert register.due(book, NEEDLE, NOW).overdue
    assert register.take_check(book, NEEDLE, ice(0.4), at=NOW) == ()
    spec = register.spec_of(book, NEEDLE, NOW)
    assert spec.offset_C == pytest.approx(0.4, abs=0.05)
    assert spec.offset_sd_C < 0.2
    assert register.start_probe(book, NEEDLE, NOW)["kind"] == "needle"
    due = register.due(book, NEEDLE, NOW)
    assert not due.overdue
    assert due.next == NOW + timedelta(days=30)
    assert register.due(book, NEEDLE, NOW + timedelta(days=31)).overdue


def test_age_and_a_fall_widen_the_doubt(book):
    register.take_check(book, NEEDLE, ice(0.4), at=NOW)
    fresh = register.spec_of(book, NEEDLE, NOW).offset_sd_C
    later = register.spec_of(book, NEEDLE, NOW + timedelta(days=365)).offset_sd_C
    fallen = Registration(NEEDLE.name, NEEDLE.kind, NEEDLE.settings, fell_at=(NOW + timedelta(hours=1)).isoformat())
    register.save_probe(book, fallen, at=NOW)
    dropped = register.spec_of(book, fallen, NOW).offset_sd_C
    assert fresh < later
    assert fresh < dropped
    assert register.due(book, fallen, NOW).overdue


def test_a_void_check_stays_in_the_record_and_does_not_count(book):
    register.take_check(book, NEEDLE, ice(2.5), at=NOW, who="M.", note="no ice left")
    register.void_check(book, NEEDLE.name, 1, at=NOW, note="melted")
    record = register.checks_of(book, NEEDLE.name)
    assert [(one.number, one.void, one.who) for one in record] == [(1, True, "M.")]
    assert register.spec_of(book, NEEDLE, NOW).offset_C == 0.0
    with pytest.raises(UnknownName):
        register.void_check(book, NEEDLE.name, 7, at=NOW)


def test_findings():
    assert register.findings_of(ice(0.9)) == ()
    assert len(register.findings_of(ice(-1.4))) == 1
    assert len(register.findings_of(ice(5.0))) == 2


def test_references():
    assert register.reference_for(CheckMethod.BOILING, pressure_hPa=1013.25)[0] == pytest.approx(99.974, abs=1e-3)
    by_height, wide = register.reference_for(CheckMethod.BOILING, altitude_m=500.0)
    assert by_height == pytest.approx(98.31, abs=0.01)
    assert wide > register.reference_for(CheckMethod.BOILING, pressure_hPa=950.0)[1]
    assert register.reference_for(CheckMethod.SECOND_PROBE, reference_C=31.2, other_sd_K=0.2)[0] == 31.2
    for method in (CheckMethod.BOILING, CheckMethod.SKIN_WARM):
        with pytest.raises(ImpossibleInput):
            register.reference_for(method)


def test_infrared_is_doubted_more(book):
    gun = Registration("gun", "typed", sort="infrared")
    register.save_probe(book, gun, at=NOW)
    spec = register.spec_of(book, gun, NOW)
    assert (spec.kind, spec.offset_sd_C > 0.8) == ("infrared", True)
    assert register.spec_of(book, Registration("s", "typed", sort="stick"), NOW).kind == "needle"


def test_a_wrongly_set_emissivity_is_reckoned_in(book):
    """Set to 1.0 it takes a bowl at 45 °C in a room of 21 °C for cooler than it is; ice water for warmer."""
    gun = Registration("gun", "typed", sort="infrared", emissivity=1.0)
    register.save_probe(book, gun, at=NOW)
    calibration = register.calibration_of(book, gun, NOW)
    for shown in (25.0, 31.0, 44.0):
        assert calibration.true_C(shown)[0] == pytest.approx(infrared_true_C(shown, 21.0, set_emissivity=1.0), abs=0.05)
    assert register.spec_of(book, gun, NOW).offset_C == pytest.approx(-0.477, abs=0.01)  # T⁴ by hand
    before = calibration.offset_C
    shown_in_ice = 0.0 + calibration.error_at(0.0)[0]
    register.take_check(book, gun, ice(round(shown_in_ice, 3)), at=NOW)
    checked = register.calibration_of(book, gun, NOW)
    assert checked.offset_C == pytest.approx(before, abs=0.01), "what the setting explains is not explained twice"
    assert checked.offset_sd_C < calibration.offset_sd_C
    needle = Registration("n", "typed", emissivity=1.0)
    assert needle.known_error == (0.0, 0.0)


def test_numbers_in_a_bowl():
    one = Registration("a", "typed", bowl="b1", as_probe="1")
    two = Registration("b", "typed", bowl="b1", as_probe="2")
    assert register.free_number([one, two], "b1", "c") == "3"
    assert register.free_number([one, two], "b1", "a") == "1"


# ---------------------------------------------------------------- live or lost


def reading(at_s, value=31.0, quantity="temperature"):
    return ProbeReading("p", quantity, value, f"{value} C", NOW, at_s)


def test_a_watch_from_waiting_to_lost_and_back():
    watch = Watch(interval_s=2.0)
    assert watch.condition(0.0) is Condition.WAITING
    assert watch.why(0.0) == "Nothing heard yet."
    assert Watch().lose("No port.").condition(0.0) is Condition.LOST
    watch = watch.heard(reading(10.0))
    assert watch.condition(15.9) is Condition.LIVE
    assert watch.condition(16.1) is Condition.LOST
    assert watch.why(20.0) == "Silent for 10 s."
    assert watch.shown(16.1) is None
    watch = watch.lose("Unplugged.")
    assert (watch.shown(10.5), watch.why(10.5), watch.losses) == (None, "Unplugged.", 1)
    watch = watch.heard(reading(30.0, 29.0))
    assert watch.shown(30.0).value == 29.0
    assert watch.why(30.0) == ""


def test_its_own_pace_is_learned_and_a_burst_does_not_fool_it():
    watch = Watch(interval_s=10.0)
    for at in range(0, 300, 30):
        watch = watch.heard(reading(float(at)))
    assert watch.usual_interval_s == 30.0
    for hurry in range(5):
        watch = watch.heard(reading(270.0 + hurry * 0.01))
    assert watch.condition(270.0 + 80.0) is Condition.LIVE


def test_humidity_does_not_keep_a_temperature_alive():
    watch = Watch(interval_s=2.0).heard(reading(0.0)).heard(reading(5.0, 45.0, "humidity"))
    assert watch.shown(6.5) is None
    assert watch.shown(6.5, "humidity").value == 45.0
    assert watch.refuse("bad").refused == 1


def test_events_and_values():
    event = reading_event(reading(1.0, 31.25), probe="2")
    assert event == {
        "what": "reading",
        "when": "2031-05-01T12:00:00.000+00:00",
        "temperature_C": 31.25,
        "probe": "2",
    }
    assert reading_event(ProbeReading("p", "temperature", 31.0, "", NOW, 0.0, "x7"), probe="1")["id"] == "x7"
    with pytest.raises(ImpossibleInput):
        Value("humidity", 100.5, "100.5 %")
    assert Facts().battery_pct is None
