"""Pieces of seed: the surface of one that warms through, against the exact series for a sphere."""

import math

import pytest
from scipy.optimize import brentq

from bloomless.physics.constants import PIECES
from bloomless.physics.laws import piece_rates, solid_share

FIRM, PIECE_C, MELT_C = 0.9, 27.0, 31.5


def shed_m_s(diameter_m, piece_C, melt_C, diffusivity_m2_s):
    """Diameter that a piece as soft as its mean loses, m/s."""
    solid = solid_share(piece_C)
    rates = piece_rates(
        diameter_m, piece_C, solid, melt_C, 0.0, 1.0, 1.0, 1.0, 1.0 / FIRM, diffusivity_m2_s, 0.0, 0.0, 0.0
    )
    return -rates[0] * (diameter_m + PIECES["fines_m"].value) / diameter_m


def surface_C(diameter_m, diffusivity_m2_s):
    """The temperature at which a piece that is even throughout would wear as fast."""
    solid, weak = solid_share(PIECE_C), PIECES["fall_apart_solid"].value
    apart = PIECES["fall_apart_m_s"].value * (weak / (weak + solid)) ** 4
    worn = (shed_m_s(diameter_m, PIECE_C, MELT_C, diffusivity_m2_s) - apart) / PIECES["shed_m_s"].value
    return brentq(lambda at_C: 1.0 - solid_share(at_C) / FIRM - math.sqrt(worn), 15.0, 35.0)


@pytest.mark.parametrize("biot", [1.5, 2.0, 3.0, 5.0, 8.0])
def test_the_surface_of_a_warming_piece_is_where_the_exact_series_puts_it(biot):
    # First term of the series for a sphere, mean and surface over the melt: 1 − ζ²/(3 Bi) with 1 − ζ cot ζ = Bi
    # (any textbook of heat transfer; Incropera & DeWitt, table 5.1 has ζ, from memory). Bi is half the outer Nusselt
    # number, 1 + (1 + Pe)^(1/3).
    zeta = brentq(lambda z: 1.0 - z / math.tan(z) - biot, 1e-3, math.pi - 1e-6)
    exact = 1.0 - zeta * zeta / (3.0 * biot)
    peclet, diffusivity_m2_s = (2.0 * biot - 1.0) ** 3 - 1.0, 5e-7
    diameter_m = peclet * diffusivity_m2_s / PIECES["slip_m_s"].value
    share = (surface_C(diameter_m, diffusivity_m2_s) - PIECE_C) / (MELT_C - PIECE_C)
    assert share == pytest.approx(exact, abs=0.07)


def test_a_piece_as_warm_as_the_melt_or_warmer_wears_by_its_mean():
    even = shed_m_s(4e-3, PIECE_C, PIECE_C, 1.2e-7)
    assert shed_m_s(4e-3, PIECE_C, PIECE_C - 3.0, 1.2e-7) == pytest.approx(even, rel=1e-12)
    assert shed_m_s(4e-3, PIECE_C, PIECE_C + 3.0, 1.2e-7) > 1.1 * even
