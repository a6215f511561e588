"""Keeping: ranges and refusals; moisture between parts; flow."""

import math

import pytest
from worked_recipes import CARAMEL, A, C, D, G, H, made

from bloomless.errors import ImpossibleInput, OutsideValidity
from bloomless.recipes import Cooking, Measured
from bloomless.recipes.fluidity import (
    cocoa_butter_for_thinner_g,
    cocoa_butter_to_add_g,
    lecithin_to_add_g,
    relative_viscosity,
    seized_rescue,
)
from bloomless.recipes.keeping import growth_limits, keeping, keeping_of_a_piece, life_at_C
from bloomless.recipes.moisture import MoistPart, equilibrium_aw, hours_until
from bloomless.recipes.sorption import isotherms
from bloomless.recipes.water_activity import water_activity


def codes(found):
    return {f.code for f in found.findings}


def test_no_time_from_085_on():
    for recipe in (A, C):
        found = keeping(made(**recipe))
        assert found.range_d is None
        assert "laboratory" in codes(found)
        assert any(limit.danger for limit in found.may_grow)
        assert found.tests


def test_a_measured_value_lets_a_time_be_proposed():
    dry = made(**C)
    found = keeping(dry, water_activity(dry, measured=Measured(water_activity=0.70, water_activity_sd=0.01)))
    assert found.range_d == (60, 120)
    predicted = keeping(made(**G))
    assert "predicted" in predicted.limits[0].why
    assert predicted.range_d[0] < 60


@pytest.mark.parametrize("risky", [{"egg_yolk": 20}, {"cured_pork_cooked": 20}])
def test_risky_ingredients_get_no_time(risky):
    found = keeping(made(**{**G, **risky}))
    assert found.range_d is None
    assert "risky_ingredient" in codes(found)


def test_praline_is_limited_by_rancidity():
    found = keeping(made("praline", praline_hazelnut_50=90, walnut=10))
    assert (found.limits[0].by, found.limits[0].of[:6]) == ("rancidity", "walnut")
    assert found.range_d == (30, 90)
    assert found.tests == ()
    assert not [limit for limit in keeping(made("praline", cocoa_butter=99, walnut=1)).limits if "Walnut" in limit.by]


def test_cautions():
    assert "alcohol_escapes" in codes(keeping(made(**{**H, "sorbitol_powder": 80})))
    assert "rises_when_grained" in codes(keeping(made("caramel", Cooking(final_water_share=0.1), **CARAMEL)))
    crisp = keeping(made(**{**G, "crisp_wafer_flakes": 60}))
    assert "goes_soft" in codes(crisp)


def test_hurdles():
    from dataclasses import replace

    boozy = made(dark_64=300, spirit_60=60, cream_35=60, potassium_sorbate=0.3)
    measured = replace(boozy, recipe=replace(boozy.recipe, measured=Measured(ph=4.2)))
    text = " ".join(keeping(measured).hurdles)
    assert "pH 4.2: below" in text
    assert "alcohol" in text
    assert "sorbate" in text
    assert keeping(made(**D)).hurdles == ()


def test_the_worst_part_decides():
    dry, moist = keeping(made("praline", praline_hazelnut_50=100)), keeping(made(**A))
    assert keeping_of_a_piece([("shell", dry), ("filling", moist)]).range_d is None
    butter = keeping(made(**G))
    piece = keeping_of_a_piece([("shell", dry), ("filling", butter)])
    assert piece.range_d == butter.range_d
    medium = made(**{**D, "sorbitol_powder": 90})
    found = keeping(medium, water_activity(medium, measured=Measured(water_activity=0.78, water_activity_sd=0.005)))
    assert "water_to_shell" in codes(keeping_of_a_piece([("filling", found)]))


def test_growth_limits_fall():
    values = [limit.water_activity for limit in growth_limits()]
    assert values == sorted(values, reverse=True)


def test_q10():
    assert life_at_C(100, 18, 28, 2.5) == pytest.approx(40, abs=0.1)
    with pytest.raises(OutsideValidity):
        life_at_C(100, 18, 60)


def parts(filling_aw=0.75, crisp_aw=0.2, crisp_g=1.0):
    return (
        MoistPart(10, isotherms()["dried_fruit"], filling_aw),
        MoistPart(crisp_g, isotherms()["cereal"], crisp_aw),
    )


def test_equilibrium_conserves_water():
    moist, crisp = parts()
    end = equilibrium_aw(moist, crisp)
    held = moist.water_g(0.75) + crisp.water_g(0.2)
    assert moist.water_g(end) + crisp.water_g(end) == pytest.approx(held)
    assert 0.2 < end < 0.75
    assert equilibrium_aw(*parts(0.3, 0.3)) == 0.3


def test_crispness_ends():
    low, high = hours_until(*parts())
    assert 0 < low < high
    assert hours_until(*parts(0.9))[1] < high
    assert hours_until(*parts(0.4)) == (math.inf, math.inf)
    assert hours_until(*parts(0.8, 0.5)) == (0, 0)
    for wrong in (lambda: MoistPart(0, isotherms()["cereal"], 0.5), lambda: MoistPart(1, isotherms()["cereal"], 1.5)):
        with pytest.raises(ImpossibleInput):
            wrong()


def test_flow():
    assert cocoa_butter_to_add_g(1000, 34, 37) == pytest.approx(47.6, abs=0.1)
    assert relative_viscosity(36) / relative_viscosity(34) == pytest.approx(0.79, abs=0.02)
    added = cocoa_butter_for_thinner_g(1000, 34, 1.27)
    assert added == pytest.approx(cocoa_butter_to_add_g(1000, 34, 36), rel=0.1)
    assert lecithin_to_add_g(1000, 0.3) == pytest.approx(2.0, abs=0.05)
    assert lecithin_to_add_g(1000, 0.6) == 0
    ganache, drink = seized_rescue(1000, 20)
    share = (20 + 0.59 * ganache.add_g) / (1020 + ganache.add_g)
    assert share == pytest.approx(0.18)
    assert drink.of == "milk"
    assert seized_rescue(1000, 2)[0].what == "chocolate"


@pytest.mark.parametrize(
    ("make", "error"),
    [
        (lambda: cocoa_butter_to_add_g(1, 36, 34), ImpossibleInput),
        (lambda: relative_viscosity(10), OutsideValidity),
        (lambda: cocoa_butter_for_thinner_g(1, 34, 9), ImpossibleInput),
        (lambda: cocoa_butter_for_thinner_g(1, 55, 5), OutsideValidity),
        (lambda: lecithin_to_add_g(1, -1), ImpossibleInput),
        (lambda: seized_rescue(1, 2), ImpossibleInput),
    ],
)
def test_flow_outside(make, error):
    with pytest.raises(error):
        make()
