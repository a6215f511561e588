"""Pieces of seed: the surface of one that warms through, against the exact series for a sphere; how long one lasts.

The numbers of checks are those of the crystal sheet.
"""

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


DIFFUSIVITY_m2_s = 0.26 / (1270.0 * 1600.0)


def warming_1_s(diameter_m, *, stir=0.0):
    """Rate at which a piece comes to the temperature of the melt, ``6αNu/d²``."""
    return piece_rates(diameter_m, 20.0, 0.7, 45.0, 0.0, 1.0, stir, 1.0, 1.0, DIFFUSIVITY_m2_s, 0.0, 0.0, 0.0)[6]


@pytest.mark.parametrize(("peclet", "sheet"), [(156.0, 6.4), (782.0, 10.2), (1563.0, 12.6)])
def test_15_nusselt_number_of_a_piece_in_slow_melt(peclet, sheet):
    # 1 + (1 + Pe)^(1/3) [Clift, Grace & Weber 1978]; the conduction inside, 6.58, is in series with it.
    diameter_m = peclet * DIFFUSIVITY_m2_s / PIECES["slip_m_s"].value
    both = warming_1_s(diameter_m, stir=1.0) * (diameter_m**2 + 1e-9) / (6.0 * DIFFUSIVITY_m2_s)
    outside = 1.0 / (1.0 / both - 1.0 / 6.58)
    assert outside == pytest.approx(1.0 + (1.0 + peclet) ** (1.0 / 3.0), rel=0.04)
    assert outside == pytest.approx(sheet, abs=0.1 if peclet == 782.0 else 0.4)


def left_of(diameter_m, melt_C, seconds):
    """Diameter [m], temperature, solid share of a piece of 20 °C at rest in much melt, until half its diameter is gone.

    46 kJ/kg melt it.
    """
    solid, step_s = solid_share(20.0), 0.25
    now = [diameter_m, 20.0, solid]

    def slopes(size, warm, hard):
        rates = piece_rates(
            size, warm, hard, melt_C, 0.0, 1.0, 0.0, 1.0, 1.0 / FIRM, DIFFUSIVITY_m2_s, 46_000.0 / 1600.0 / solid,
            0.0, 0.0,
        )  # fmt: skip
        return rates[0], rates[4], rates[2]

    for _ in range(round(seconds / step_s)):
        middle = [x + 0.5 * step_s * dx for x, dx in zip(now, slopes(*now), strict=True)]
        now = [x + step_s * dx for x, dx in zip(now, slopes(*middle), strict=True)]
        if now[0] <= 0.5 * diameter_m:
            break
    return now


@pytest.mark.parametrize(("melt_C", "sheet_s", "early", "late"), [(45.0, 85.0, 0.8, 1.2), (34.5, 680.0, 0.5, 1.2)])
def test_14_a_piece_at_rest_melts_as_long_as_a_sphere_does(melt_C, sheet_s, early, late):
    # ρ Λ d²/(4 Nu k ΔT), Nu 2, of one melting point, 33 °C; real pieces melt from 29 °C on and fall apart at the last.
    assert left_of(5e-3, melt_C, early * sheet_s)[0] > 2.5e-3
    assert left_of(5e-3, melt_C, late * sheet_s)[0] <= 2.5e-3


def test_14_twice_the_size_takes_four_times_as_long():
    assert warming_1_s(5e-3) / warming_1_s(1e-2) == pytest.approx(4.0, rel=1e-3)
    assert warming_1_s(5e-3, stir=1.0) / warming_1_s(1e-2, stir=1.0) < 3.8  # stirred, the outer Nu grows with size


@pytest.mark.parametrize("melt_C", [25.0, 28.0, 31.0])
def test_14_no_piece_melts_through_where_its_crystals_live(melt_C):
    diameter_m, warm_C, solid = left_of(5e-3, melt_C, 3000.0)
    assert diameter_m > 0.97 * 5e-3
    assert warm_C == pytest.approx(melt_C, abs=0.01)
    assert solid == pytest.approx(solid_share(melt_C), abs=0.01)
