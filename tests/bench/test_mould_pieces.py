"""How cavities are filled, as a document says it: capped, layers, pieces in and on the chocolate; what cannot be."""

from datetime import UTC, datetime

import pytest

from bloomless.bench.mould_filling import fill
from bloomless.bench.mould_inputs import casting_from
from bloomless.bench.moulds import learn_place, predict
from bloomless.bench.ports import MemoryBook
from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.mould_library import library

BASE = {
    "mould": "bar-60",
    "temperature_C": 31.2,
    "form_v_pct_of_fat": 1.5,
    "mould_C": 22,
    "room_C": 21,
    "room_rh_pct": 50,
}
AT = datetime(2026, 3, 14, tzinfo=UTC)
NUTS = {"name": "nut_pieces", "share_by_mass": 0.2, "temperature_C": 26}


@pytest.fixture
def book():
    return MemoryBook()


def told(book, **more):
    return predict(book, {**BASE, **more}, members=20)


def codes(document):
    return {finding["code"] for finding in document["findings"]}


def test_a_capped_piece(book):
    capped = told(book, mould="hemisphere-30", form="capped", filling_C=30)
    assert {"filling_warm", "moist_filling", "capped_practice"} <= codes(capped)
    assert capped["set_min"]["p50"] < 12 < 20 <= capped["out_min"]["p50"]
    assert any("1.5 mm" in text for text in capped["assumed"])
    assert any("filling not said" in text for text in casting_from(book, {**BASE, "form": "capped"}).assumed)
    praline = told(book, mould="hemisphere-30", form="capped", filling="praline", shell_mm=2, filling_C=22)
    assert "moist_filling" not in codes(praline)
    assert praline["shell_mm"] == 2


def test_an_empty_shell_and_a_figure(book):
    shell = told(book, mould="hemisphere-30", shell_mm=1.5)
    assert shell["piece"]["form"] == "shell"
    assert shell["out_min"]["p50"] <= 20  # 5-15 min for shells: common practice, no source
    assert fill(book, {**BASE, "mould": "hollow-egg", "form": "shell"})["kind"] == "hollow"
    assert fill(book, {**BASE, "mould": "hemisphere-30", "form": "capped"})["kind"] == "shell"


def test_layers(book):
    layers = [{"chocolate": "dark", "share": 0.6}, {"chocolate": "white", "share": 0.4}]
    bar = told(book, form="layers", layers=layers)
    assert bar["out_min"] is not None
    plan = fill(book, {**BASE, "form": "layers", "layers": layers})
    assert [part["name"] for part in plan["parts"]] == ["dark", "white"]


def test_pieces_inside_and_on_the_back(book):
    plain = told(book)
    inside = told(book, inclusions=[{**NUTS, "temperature_C": 18}])
    assert inside["poured_C"] < 29.0  # 20 % of nuts at 18 °C take three kelvin (job map, check 5)
    assert {"mixture_cold", "inclusion_cold", "allergen"} <= codes(inside)
    assert inside["set_min"]["p50"] < plain["set_min"]["p50"]
    back = told(book, inclusions=[{**NUTS, "where": "back"}], space={"name": "cabinet", "air_speed_m_s": 0})
    bare = told(book, space={"name": "cabinet", "air_speed_m_s": 0})
    assert back["set_min"]["p50"] > bare["set_min"]["p50"]
    both = told(book, inclusions=[NUTS, {**NUTS, "name": "sea_salt", "share_by_mass": 0.01}])
    assert both["poured_C"] < plain["poured_C"]


def test_a_place_is_learned_from_any_piece(book):
    log = [{"at_s": 30 * m, "temperature_C": 12 + 12 * 0.93**m, "place": "mould"} for m in range(1, 30)]
    for name, more in (("a", {"form": "capped"}), ("b", {"inclusions": [NUTS]}), ("c", {"shell_mm": 1.5})):
        after = learn_place(book, name, {**BASE, "mould": "hemisphere-30", **more}, log, at=AT)
        assert after["after"]["logs"] == 1


@pytest.mark.parametrize(
    ("wrong", "error"),
    [
        ({"form": "cube"}, UnknownName),
        ({"form": "capped", "filling": "gravel"}, UnknownName),
        ({"form": "capped", "mould": "hollow-egg"}, ImpossibleInput),
        ({"form": "capped", "cap_mm": 8}, ImpossibleInput),
        ({"inclusions": [{"name": "nut_pieces"}]}, ImpossibleInput),
        ({"inclusions": [{**NUTS, "where": "beside"}]}, ImpossibleInput),
        ({"inclusions": [{**NUTS, "name": "pebbles"}]}, UnknownName),
        ({"inclusions": [{**NUTS, "share_by_mass": 0.5}] * 2}, ImpossibleInput),
        ({"inclusions": [{**NUTS, "temperature_C": -18, "share_by_mass": 0.3}]}, ImpossibleInput),
        ({"form": "layers", "layers": []}, ImpossibleInput),
        ({"form": "layers", "layers": [{"chocolate": "dark"}]}, ImpossibleInput),
        ({"form": "layers", "layers": [{"chocolate": "blue", "share": 1}]}, UnknownName),
        ({"shell_mm": "thin"}, ImpossibleInput),
    ],
)
def test_what_cannot_be(book, wrong, error):
    with pytest.raises(error):
        told(book, **wrong)


def test_every_mould_takes_every_filling_that_fits(book):
    for name, mould in library().items():
        forms = ["solid", "shell"] if name.startswith("hollow") else ["solid", "shell", "capped"]
        for form in forms:
            done = predict(book, {**BASE, "mould": name, "form": form}, members=20, minutes=120)
            assert done["set_min"] is not None, (name, form)
            assert done["energy_error"] < 1e-6
            assert 0 < done["mould"]["volume_ml"] == pytest.approx(mould.cavity.volume_ml, abs=1e-3)


@pytest.mark.parametrize(
    ("more", "cause", "reason"),
    [
        ({}, "storage", "Set cleanly"),
        ({"form_v_pct_of_fat": 0.1}, "temper", "out of temper"),
        ({"mould_C": 6, "room_C": 12}, "temper", "cooled fast"),
        ({"space": {"name": "room", "standing": "stacked"}, "mould": "bar-thick-130"}, "temper", "did not set through"),
        ({"space": {"name": "cabinet", "standing": "stacked"}, "mould": "snack-bar-40"}, "temper", "set slowly"),
        ({"form_v_pct_of_fat": 1, "unstable_pct_of_fat": 6}, "temper", "not form V"),
    ],
)
def test_fat_bloom_by_its_cause(book, more, cause, reason):
    done = predict(book, {**BASE, "room_rh_pct": None, **more}, members=20, minutes=120)
    risk = next(risk for risk in done["bloom"] if risk["kind"] == "fat bloom")
    assert risk["cause"] == cause
    assert reason in risk["reason"]
    assert risk["days"][0] < risk["days"][1] < risk["days"][2]


def test_oil_and_water_bloom_too(book):
    nuts = told(book, mould="hemisphere-30", form="capped", filling="praline", room_C=24, room_rh_pct=65)
    causes = [risk["cause"] for risk in nuts["bloom"]]
    assert causes == ["condensation", "oil_migration", "storage"]
    # Sugar bloom without dew: milk at 12 °C in a room of 22 °C and 47 %, above its 45 % and below the dew's 53 %.
    sticky = told(book, chocolate="milk", room_C=22, room_rh_pct=47)
    assert "Without dew" in sticky["bloom"][0]["reason"]
    assert "condensation" not in [risk["cause"] for risk in told(book, room_C=20, room_rh_pct=35)["bloom"]]
