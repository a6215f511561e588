"""Bloom and keeping against published observations (checks 33-40, 42 of the moulding sheet) and Crank's series."""

import pytest

from bloomless.errors import ImpossibleInput
from bloomless.physics.bloom import (
    Climate,
    breakthrough_days,
    fat_bloom_rate_per_d,
    fat_bloom_risk,
    oil_bloom_risk,
    oil_diffusivity_m2_s,
    sugar_bloom_risk,
)


def test_under_tempered_dark_at_18():
    # Afoakwa 2009: starts within 24 h, plateau by 96 h.
    early, middle, _ = fat_bloom_risk(Climate(18, 0), "gross").days
    assert 1 <= middle <= 4
    assert early < 1


def test_well_tempered_at_18_keeps_a_year():
    # Consistent with Cebula & Ziegleder 1993.
    early, middle, _ = fat_bloom_risk(Climate(18, 0)).days
    assert middle > 3 * 365
    assert early > 180


def test_cycling_between_20_and_33():
    # Food Structure study: first sign at cycle 3 ± 1 of cocoa butter chocolate.
    days = fat_bloom_risk(Climate(26.5, 13)).days[1]
    assert 2 <= days <= 4
    assert fat_bloom_risk(Climate(18, 0, warm_times=3)).days[1] < 0.15 * fat_bloom_risk(Climate(18, 0)).days[1]


def test_filled_dark_at_30_and_18():
    # Ali 2001: week 3 at 30 °C, none in 8 weeks at 18 °C.
    assert 10 <= fat_bloom_risk(Climate(30, 0)).days[1] <= 28
    assert fat_bloom_risk(Climate(18, 0)).days[0] > 56


def test_order_of_keeping():
    # Machálková 2015: 6 ≈ 12 > 20 ≫ 30 °C.
    six, twelve, twenty, thirty = (fat_bloom_risk(Climate(t, 0)).days[1] for t in (6, 12, 20, 30))
    assert six == pytest.approx(twelve)
    assert twelve > 2 * twenty > 20 * thirty
    assert float(fat_bloom_rate_per_d(32.0)) > float(fat_bloom_rate_per_d(30.0))


def test_oil_from_peanut():
    # MRI study: D 1.8-3.2e-11 at 30 °C; 2 mm crossed in 5.7-10.2 h; less than 1 mm in 17 d at 20 °C.
    assert 1.8e-11 <= float(oil_diffusivity_m2_s(30.0)) <= 3.2e-11
    assert 5.7 <= 24 * breakthrough_days(2.0, 30.0) <= 10.2
    assert breakthrough_days(1.0, 20.0) > 17
    assert float(oil_diffusivity_m2_s(30.0) / oil_diffusivity_m2_s(20.0)) >= 100
    assert breakthrough_days(3.0, 20.0) == pytest.approx(4 * breakthrough_days(1.5, 20.0))
    with pytest.raises(ImpossibleInput):
        breakthrough_days(0.0, 20.0)


def test_oil_bloom():
    plain = oil_bloom_risk(1.5, Climate(18, 0))
    assert plain.days[1] == pytest.approx(43 * 3, rel=0.05)
    assert oil_bloom_risk(1.5, Climate(18, 0), seeded_filling=True).days[1] == pytest.approx(2 * plain.days[1])
    assert "hours" in oil_bloom_risk(1.0, Climate(30, 0)).reason


def test_sugar_bloom():
    assert sugar_bloom_risk(Climate(17, 2, 45), 85.0) is None
    moist = sugar_bloom_risk(Climate(17, 6, 75), 78.0)
    assert moist.cause == "humidity"
    assert moist.days[1] == 2.0
    slow = sugar_bloom_risk(Climate(17, 2, 65), 85.0)
    assert 5 < slow.days[1] < 60
    assert sugar_bloom_risk(Climate(17, 2, None), 85.0).cause == "humidity_unknown"
    assert sugar_bloom_risk(Climate(17), 85.0, dew_g_m2=6.0).cause == "condensation"
    assert "Without dew" in sugar_bloom_risk(Climate(17), 85.0, sticky=True).reason


def test_nonsense():
    for wrong in ({"temperature_C": 99}, {"rh_pct": 0}, {"swing_K": -1}):
        with pytest.raises(ImpossibleInput):
            Climate(**wrong)
    with pytest.raises(ImpossibleInput):
        fat_bloom_risk(Climate(), "odd")
