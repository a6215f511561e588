"""Liquid fat lowers the end of melting: Lovegren, Gray & Feuge 1976, abstract (seen)."""

import math

import pytest

from bloomless.materials.chocolates import chocolate, melting_shift_K

OLIVE_OIL = {10.0: -3.5, 20.0: -3.5, 30.0: -5.0}
"""Change of the end of melting [K] by % of olive oil: cocoa butter at 10 %, its high-melting fraction above."""


def ideal_dilution_K(share, pure_C=35.0):
    """Ideal solution, the least depression: 1/T = 1/T₀ − (R/ΔH) ln x, with 150 J/g × 860 g/mol."""
    pure_K = pure_C + 273.15
    return 1.0 / (1.0 / pure_K - 8.314 / (150.0 * 860.0) * math.log(share)) - pure_K


def test_ideal_dilution_of_the_sheet():
    assert 35.0 + ideal_dilution_K(0.9) == pytest.approx(34.36, abs=0.02)  # crystal sheet, check 18


@pytest.mark.parametrize("oil_pct", OLIVE_OIL)
def test_oil_moves_melting_as_measured_and_by_more_than_ideal_dilution(oil_pct):
    shift = melting_shift_K(chocolate("cocoa_butter", liquid_oil_share=oil_pct / 100.0))
    assert shift == pytest.approx(OLIVE_OIL[oil_pct], abs=1.6)
    assert shift < ideal_dilution_K(1.0 - oil_pct / 100.0)
