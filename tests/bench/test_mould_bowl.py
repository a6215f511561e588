"""What a bowl brings into a casting: its own temperature, crystals with their bands, chocolate and room."""

import pytest

from bloomless.bench.mould_bowl import casting_of_bowl
from bloomless.bench.mould_inputs import casting_from
from bloomless.bench.ports import MemoryBook
from bloomless.bench.replies import estimate_json
from bloomless.bench.session import Bench
from bloomless.errors import Misuse
from bloomless.estimation import events as ev

BELIEVED = {
    "temperature_C": {"p05": 30.2, "p50": 31.2, "p95": 32.1},
    "form_v_pct_of_fat": {"p05": 1.3, "p50": 2.8, "p95": 5.9},
    "unstable_pct_of_fat": {"p05": 0.0, "p50": 0.0, "p95": 0.1},
}


def told(*events, **start):
    first = {"what": "start", "chocolate": "dark", "mass_g": 800, "room_C": 20.5, **start}
    return [{"id": f"e{n}", "event": event} for n, event in enumerate((first, *events))]


def test_the_bands_of_the_bowl_stand_in_the_casting():
    document = casting_of_bowl(told(), BELIEVED)
    casting = casting_from(MemoryBook(), {"mould": "bar-60", **document})
    assert casting.temperature_C == 31.2
    assert casting.form_v == pytest.approx((0.013, 0.028, 0.059))
    assert casting.unstable == pytest.approx((0.0, 0.0, 0.001))
    assert (casting.chocolate.kind, casting.room_C, casting.room_rh_pct) == ("dark", 20.5, None)


def test_a_chocolate_of_its_own_keeps_its_fats():
    own = {"kind": "milk", "cocoa_butter": 0.24, "milk_fat": 0.08, "liquid_oil": 0.02}
    made = casting_from(MemoryBook(), casting_of_bowl(told(chocolate=own), BELIEVED)).chocolate
    shares = (made.cocoa_butter_share, made.milk_fat_share, made.liquid_oil_share)
    assert (made.kind, *shares) == ("milk", 0.24, 0.08, 0.02)
    colour = casting_of_bowl(told(chocolate={"kind": "cocoa_butter", "colour": 0.06}), BELIEVED)
    assert colour["chocolate"]["cocoa_butter_share"] == 0.94


def test_a_corrected_start_counts_and_humidity_only_if_it_was_told():
    really = {"what": "start", "chocolate": "milk", "mass_g": 800, "room_C": 23, "room_rh_pct": 44}
    document = casting_of_bowl(told({"what": "correct", "of": "e0", "event": really}), BELIEVED)
    assert (document["chocolate"], document["room_C"], document["room_rh_pct"]) == ("milk", 23.0, 44.0)
    assert "room_rh_pct" not in casting_of_bowl(told(), BELIEVED)


def test_what_nobody_believes_yet_is_left_out():
    document = casting_of_bowl(told(), {"temperature_C": None, "form_v_pct_of_fat": None})
    assert set(document) == {"chocolate", "room_C"}
    with pytest.raises(Misuse, match="started"):
        casting_of_bowl([], BELIEVED)


def test_a_bowl_that_was_worked():
    bench = Bench(ev.Start(0.0, ev.Composition("dark"), 800.0, temperature_C=36.0), members=200)
    for event in (ev.Seed(10.0, 120.0), ev.Reading(240.0, 31.6), ev.Reading(420.0, 31.2)):
        bench.take(event)
    believed = estimate_json(bench.estimate())
    casting = casting_from(MemoryBook(), casting_of_bowl(told(), believed))
    assert casting.temperature_C == believed["temperature_C"]["p50"] == pytest.approx(31.2, abs=0.7)
    assert casting.form_v[1] == pytest.approx(believed["form_v_pct_of_fat"]["p50"] / 100)
