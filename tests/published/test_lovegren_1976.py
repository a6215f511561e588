"""Liquid fat lowers the end of melting: Lovegren, Gray & Feuge 1976, abstract (seen)."""

import pytest

from bloomless.errors import OutsideValidity
from bloomless.materials.chocolates import chocolate, melting_shift_K
from bloomless.materials.fats import dilution_C, end_of_melting_C

CBF = {20.0: -3.5, 30.0: -5.0}
"""High-melting cocoa butter fraction with olive oil: change of the end of melting [K] by % of oil."""


def test_ten_percent_of_oil():
    most, least = end_of_melting_C(35.0, 10.0)
    assert 35.0 - most == pytest.approx(3.5)  # cocoa butter with 10 % olive oil: 35 → 31.5 °C
    assert 35.0 - least == pytest.approx(0.64, abs=0.01)  # ideal dilution
    assert most <= 31.5 + 1e-9


@pytest.mark.parametrize("oil_pct", CBF)
def test_the_fraction_lies_between_the_bounds(oil_pct):
    most, least = end_of_melting_C(38.0, oil_pct)
    assert most - 1.5 <= 38.0 + CBF[oil_pct] <= least + 1.5
    shift = melting_shift_K(chocolate("cocoa_butter", liquid_oil_share=oil_pct / 100.0))
    assert shift == pytest.approx(CBF[oil_pct], abs=1.5)


def test_ideal_dilution():
    assert dilution_C(35.0, 0.9) == pytest.approx(34.36, abs=0.02)
    assert dilution_C(35.0, 1.0) == pytest.approx(35.0)


def test_ranges():
    with pytest.raises(OutsideValidity):
        dilution_C(35.0, 0.5)
    with pytest.raises(OutsideValidity):
        end_of_melting_C(35.0, 60.0)
