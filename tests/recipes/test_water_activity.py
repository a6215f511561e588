"""Water activity of whole recipes: the sheet's worked examples, laws, refusals, measured values."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from worked_recipes import CARAMEL, A, B, C, D, E, F, G, H, made

from bloomless.errors import ImpossibleInput, OutsideValidity, UnknownName
from bloomless.recipes import Cooking, Measured
from bloomless.recipes.salts import check_meter, salt_names, salt_water_activity
from bloomless.recipes.solubility import dissolved_and_crystals
from bloomless.recipes.solutes import solute_table
from bloomless.recipes.sorption import isotherms, sorbing_solids_g
from bloomless.recipes.water_activity import water_activity
from bloomless.recipes.water_models import norrish_mixture

KINDS = {key: solute.kind for key, solute in solute_table().items()}


@pytest.mark.parametrize(
    ("recipe", "norrish", "root", "sorption"),
    [
        (A, 0.953, 0.954, 0.947),
        (B, 0.903, 0.903, 0.883),
        (C, 0.910, 0.911, 0.897),
        (D, 0.816, 0.821, 0.794),
        (E, 0.849, 0.854, 0.837),
        (F, 0.866, 0.869, 0.861),
        (G, 0.728, 0.734, 0.708),
        (H, 0.853, 0.857, 0.836),
    ],
)
def test_worked_examples(recipe, norrish, root, sorption):
    found = water_activity(made(**recipe))
    assert found.models["norrish"] == pytest.approx(norrish, abs=0.002)
    assert found.models["square_root"] == pytest.approx(root, abs=0.002)
    assert found.models["norrish_with_sorption"] == pytest.approx(sorption, abs=0.003)
    assert found.low <= found.value <= found.high
    assert found.high - found.low >= 0.0399


def test_marzipan_needs_the_saturation_cap():
    found = water_activity(made(marzipan_50=100))
    assert found.models["norrish"] == pytest.approx(0.834, abs=0.01)
    assert found.crystals_g["sucrose"] > 40
    assert found.all_dissolved is None


@pytest.mark.parametrize(
    ("share", "dissolved", "grained"), [(0.08, 0.37, 0.70), (0.10, 0.48, 0.73), (0.12, 0.56, 0.75), (0.14, 0.63, 0.76)]
)
def test_caramel_shows_both_ends(share, dissolved, grained):
    found = water_activity(made("caramel", Cooking(final_water_share=share), **CARAMEL))
    assert found.all_dissolved == pytest.approx(dissolved, abs=0.01)
    assert found.grained == pytest.approx(grained, abs=0.015)
    assert found.low <= found.all_dissolved < found.grained <= found.high


def test_praline_is_refused():
    found = water_activity(made("praline", praline_hazelnut_50=100))
    assert found.value is None
    assert found.basis == "sorption only"
    assert (found.low, found.high) == (0.3, 0.5)


def test_one_laboratory_value():
    # 450 g chocolate of unstated kind and 160 g cream: 0.847, reported by one laboratory on a cake makers' forum
    for kind in ("dark_55", "dark_60", "dark_64"):
        found = water_activity(made(**{kind: 450, "cream_35": 160}))
        assert found.low <= 0.83 + 0.012
        assert found.low < 0.847 < found.high


def test_alcohol_escapes():
    found = water_activity(made(**H))
    assert found.without_alcohol > found.value
    assert found.high > found.without_alcohol
    strong = water_activity(made(dark_64=100, spirit_60=40))
    assert "escapes" in strong.why


def test_measured_overrides():
    found = water_activity(made(**C), measured=Measured(water_activity=0.86, water_activity_sd=0.01, on="2025-03-02"))
    assert (found.value, found.low, found.high) == pytest.approx((0.86, 0.84, 0.88))
    assert found.basis == "measured"
    assert water_activity(made(**C), measured=Measured(ph=5)).basis == "predicted"


def value(**grams):
    return water_activity(made(**grams)).models["norrish"]


@given(st.floats(0.01, 1000))
def test_size_changes_nothing(factor):
    assert value(**{k: g * factor for k, g in D.items()}) == pytest.approx(value(**D), abs=1e-9)


@given(st.floats(1, 60))
def test_sorbitol_lowers_fat_does_nothing(grams):
    assert value(**{**C, "sorbitol_powder": grams}) < value(**C)
    assert value(**{**C, "cocoa_butter": grams}) == pytest.approx(value(**C), abs=1e-9)


@given(st.floats(0, 500))
def test_sugar_beyond_saturation_changes_nothing(grams):
    def saturated(sucrose_g):
        dissolved, crystals = dissolved_and_crystals({"sucrose": sucrose_g, "glucose": 20}, KINDS, 100)
        assert dissolved["sucrose"] + crystals["sucrose"] == pytest.approx(sucrose_g)
        return norrish_mixture(dissolved, 100)

    assert saturated(300 + grams) == pytest.approx(saturated(300), abs=1e-12)
    # White sugar of the library brings a trace of water and salt.
    assert value(sucrose=300 + grams, water=100) == pytest.approx(value(sucrose=300, water=100), abs=1e-3)


@given(sugar=st.floats(60, 150), invert=st.floats(0, 40), syrup=st.floats(0, 40), cream=st.floats(50, 90))
def test_models_agree_where_they_should(sugar, invert, syrup, cream):
    found = water_activity(made(sucrose=sugar, invert_paste=invert, glucose_syrup_de60=syrup, water=cream))
    models = found.models
    if 0.75 < models["norrish"] < 0.93 and not found.crystals_g:
        assert abs(models["norrish"] - models["square_root"]) <= 0.01
        if "grover" in models:
            assert abs(models["norrish"] - models["grover"]) <= 0.03


def test_isotherms():
    for isotherm in isotherms().values():
        for aw in (0.1, 0.5, 0.8):
            assert isotherm.water_activity(isotherm.moisture_pct(aw)) == pytest.approx(aw, abs=1e-6)
        assert isotherm.water_activity(1e3) == 0.97
        with pytest.raises(OutsideValidity):
            isotherm.moisture_pct(0.99)
        with pytest.raises(ImpossibleInput):
            isotherm.water_activity(-1)


def test_sorbing_solids_open_pastes():
    # half a praline is sugar, which does not sorb; the nuts in it do
    per_100 = sorbing_solids_g(made("praline", praline_hazelnut_50=100).leaves)
    nuts = sorbing_solids_g(made("praline", hazelnut_roasted=50).leaves)
    assert per_100 == pytest.approx(nuts)
    assert sorbing_solids_g(made("marzipan", almond_paste=100).leaves) > 10


def test_meter_on_slurries():
    true = salt_water_activity("sodium_chloride", 22)
    check = check_meter([("sodium_chloride", 22, true + 0.012), ("magnesium_chloride", 22, 0.34)])
    assert check.offset == pytest.approx(0.5 * (0.012 + 0.34 - salt_water_activity("magnesium_chloride", 22)))
    assert check.sd >= 0.005
    assert check_meter([("sodium_chloride", 22, true)]).sd == 0.02
    assert "potassium_chloride" in salt_names()
    for wrong in ([], [("sodium_chloride", 22, 1.4)]):
        with pytest.raises(ImpossibleInput):
            check_meter(wrong)
    with pytest.raises(UnknownName):
        salt_water_activity("sugar", 20)
