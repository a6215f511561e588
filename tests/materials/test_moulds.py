"""Mould geometry: closed forms of the moulding sheet, section 6.1, properties, bad input."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bloomless.errors import ImpossibleInput
from bloomless.materials.mould_walls import WALLS
from bloomless.materials.moulds import (
    Cap,
    Cone,
    Cylinder,
    FreeVolume,
    Frustum,
    Hemisphere,
    Hollow,
    Mould,
    by_piece_mass,
    by_water,
)

CAVITIES = [
    Frustum(150, 75, 8, 20),
    Hemisphere(15),
    Cap(15, 12),
    Cone(14, 20, 5),
    Cylinder(12, 14),
    Hollow(240, 260, 30, 60),
    FreeVolume(8, 14, 7.5),
]


@pytest.mark.parametrize(
    ("cavity", "ml"),
    [  # sheet 6.1; the first and the hemisphere are its check 43
        (Frustum(150, 75, 8, 20), 84.849),
        (Frustum(150, 75, 10, 20), 104.487),
        (Frustum(120, 60, 8, 15), 54.562),
        (Frustum(118, 50, 8, 15), 44.368),
        (Frustum(25, 25, 15, 10), 7.531),
        (Frustum(38, 18, 14, 12), 7.408),
        (Hemisphere(12.5), 4.091),
        (Hemisphere(15), 7.069),
        (Hemisphere(16), 8.579),
        (Cap(15, 12), 5.146),
        (Cap(14, 17), 7.806),
    ],
)
def test_volumes(cavity, ml):
    assert cavity.volume_ml == pytest.approx(ml, abs=0.001)


@pytest.mark.parametrize(
    ("radius", "wall", "cap", "filling"),
    [
        (12.5, 1.5, 1.5, 2.221),
        (14, 1.5, 1.5, 3.358), (15, 1.0, 1.5, 4.827), (15, 2.0, 2.0, 3.548),
        (15, 2.5, 2.5, 2.880), (16, 1.5, 1.5, 5.398)],
)  # fmt: skip
def test_filled_hemispheres(radius, wall, cap, filling):
    assert Hemisphere(radius).hollow_ml(wall, cap) == pytest.approx(filling, abs=0.001)


def test_sheet_of_24():
    # Check 44: 24 × R15 full 212.06 g, a wall of 1.5 mm keeps 57.47 g.
    mould = Mould("half-shells", Hemisphere(15), 24, WALLS["polycarbonate"], 2.5, 500.0)
    assert mould.volume_ml * 1.25 == pytest.approx(212.06, abs=0.01)
    assert 24 * mould.shell_g(1250.0, 1.5) == pytest.approx(57.47, abs=0.01)


@pytest.mark.parametrize("cavity", CAVITIES, ids=lambda c: type(c).__name__)
@given(wall=st.floats(0.1, 12.0), cap=st.floats(0.0, 6.0), more=st.floats(0.01, 3.0))
def test_a_thicker_wall_never_holds_more(cavity, wall, cap, more):
    held = cavity.hollow_ml(wall, cap)
    assert 0 <= held < cavity.volume_ml
    assert cavity.hollow_ml(wall + more, cap) <= held + 1e-12
    assert cavity.hollow_ml(wall, cap + more) <= held + 1e-12


@pytest.mark.parametrize("cavity", CAVITIES, ids=lambda c: type(c).__name__)
def test_a_thin_shell_is_area_times_thickness(cavity):
    thin = 1e-4
    shell_ml = cavity.volume_ml - cavity.hollow_ml(thin, 0.0)
    # Score lines and a measured volume do not change the area, the flat picture of an odd cavity does a little.
    assert shell_ml / (thin / 10) == pytest.approx(cavity.wall_cm2, rel=0.01)


def test_areas():
    assert Hemisphere(15).wall_cm2 == pytest.approx(14.137, abs=0.001)
    assert Cylinder(10, 20).wall_cm2 == pytest.approx(math.pi * (100 + 400) / 100)
    assert Cone(10, 0.001, 0).wall_cm2 == pytest.approx(Cone(10, 0.001, 0).opening_cm2, rel=1e-3)
    assert Frustum(100, 50, 10, 0).wall_cm2 == pytest.approx((5000 + 2 * 10 * 150) / 100)
    assert all(c.opening_cm2 > 0 and c.half_width_mm > 0 for c in CAVITIES)
    assert [c.draft_deg for c in CAVITIES[:2]] == [20, 45]
    assert Cap(14, 17).draft_deg < 0 < Cap(15, 12).draft_deg
    assert Cone(14, 20, 5).draft_deg == pytest.approx(math.degrees(math.atan(9 / 20)))


def test_measured_by_water():
    drawn = Mould("tablet", Frustum(150, 75, 8, 20), 3, WALLS["polycarbonate"], 2.0, 450.0)
    mould = by_water(drawn, 81.0 * 3, cavities_filled=3)
    assert mould.cavity.volume_ml == pytest.approx(81.0 / 0.99574, rel=1e-4)
    assert mould.measured == "by water"
    assert mould.volume_spread_share < drawn.volume_spread_share
    assert mould.cavity.breaks_share == pytest.approx(0.041, abs=0.002)
    deeper = by_water(drawn, 90.0)
    assert isinstance(deeper.cavity, FreeVolume)
    assert deeper.cavity.volume_ml == pytest.approx(90.39, abs=0.01)
    figure = by_water(Mould("boat", CAVITIES[5], 1, WALLS["polycarbonate"], 2, 300), 250.0)
    assert figure.cavity.volume_ml == pytest.approx(251.07, abs=0.01)


def test_measured_by_a_piece():
    drawn = Mould("odd", FreeVolume(8, 14, 7.5), 24, WALLS["silicone"], 2.0, 150.0)
    assert by_piece_mass(drawn, 9.0, 1277.0).cavity.volume_ml == pytest.approx(9000 / 1277)
    with pytest.raises(ImpossibleInput):
        by_piece_mass(drawn, 60.0, 1277.0)


def test_deeper_than_wide():
    assert Mould("stick", Cylinder(5, 30), 12, WALLS["thermoformed"], 0.6, 60).deeper_than_wide
    assert not Mould("bar", Frustum(150, 75, 8), 3, WALLS["polycarbonate"], 2, 450).deeper_than_wide


@pytest.mark.parametrize(
    "make",
    [
        lambda: Frustum(0, 10, 5),
        lambda: Frustum(10, 10, 20, 30),
        lambda: Frustum(10, 10, 2, 70),
        lambda: Frustum(10, 10, 2, 10, 0.5),
        lambda: Hemisphere(-1),
        lambda: Hemisphere(float("nan")),
        lambda: Cone(10, 10, 12),
        lambda: Hollow(240, 100, 30, 60),
        lambda: FreeVolume(100, 10, 5),
        lambda: Mould("x", Hemisphere(15), 0, WALLS["silicone"], 2, 100),
        lambda: Mould("x", Hemisphere(15), 1, WALLS["silicone"], 2, 100).shell_g(1250, 0),
        lambda: by_water(Mould("x", Hemisphere(15), 1, WALLS["silicone"], 2, 100), -1),
    ],
)
def test_impossible_moulds(make):
    with pytest.raises(ImpossibleInput):
        make()


def test_walls():
    # Sheet 3.3: effusivity √(kρc) of polycarbonate 547.7 W s½/(m² K).
    wall = WALLS["polycarbonate"]
    assert (wall.conductivity_W_mK.value * wall.volumetric_J_m3K) ** 0.5 == pytest.approx(547.7, abs=0.1)
