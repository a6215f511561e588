"""Capped pieces, layers, shells and pieces on the back: heat, volume, two dimensions against one, bad input."""

from dataclasses import replace

import numpy as np
import pytest

from bloomless.errors import ImpossibleInput
from bloomless.materials.chocolates import chocolate
from bloomless.materials.mould_library import library
from bloomless.materials.moulds import Cylinder
from bloomless.physics.mould_axisymmetric import cool_piece
from bloomless.physics.mould_cooling import CoolingSpace, Inert, Layer, cool, filled
from bloomless.physics.mould_forecast import Doubt, forecast
from bloomless.physics.mould_melt import Melt, melt_of
from bloomless.physics.mould_stacks import FILLINGS, Core, capped, layered, set_before, with_back
from bloomless.physics.release import CAPPED_REST_MIN, Surface, release

DARK = melt_of(chocolate("dark"), 31.2)
HALF, BAR, FIGURE = (library()[name] for name in ("hemisphere-30", "bar-60", "hollow-egg"))
CORE = Core(1.5, 1.5, FILLINGS["ganache"], 22.0)
FAN = CoolingSpace(12.0, 1.0)


def set_min(run):
    return run.time_s[int(np.argmax(run.is_set))] / 60


def test_capped_keeps_the_volume_of_the_cavity():
    stack = capped(HALF, DARK, CORE, mould_C=22.0)
    cap, core, shell, wall = stack.layers
    assert (cap.thickness_mm, shell.thickness_mm, core.temperature_C) == (1.5, 1.5, 22.0)
    depth = cap.thickness_mm + core.thickness_mm + shell.thickness_mm
    assert depth == pytest.approx(filled(HALF, DARK, mould_C=22.0).layers[0].thickness_mm)
    assert shell.solid == set_before(DARK, 22.0)
    assert isinstance(wall.matter, Inert)


def test_capped_sets_soon_and_rests_as_the_trade_does():
    # Common practice, no source: capped pieces 20-60 min; check 18, a maker's page: two hours at 14-16 °C suffice.
    run = cool(capped(HALF, DARK, CORE, mould_C=22.0), CoolingSpace(15.0), minutes=120)
    assert 3 < set_min(run) < 15
    assert run.energy_error < 1e-6
    told = release(run, HALF, Surface(), least_s=60 * CAPPED_REST_MIN.value)
    assert told.out_s / 60 == pytest.approx(CAPPED_REST_MIN.value, abs=1)
    doubt = Doubt((0.008, 0.015, 0.03))
    band = forecast(HALF, DARK, CoolingSpace(15.0), Surface(), doubt, np.random.default_rng(1), core=CORE, members=40)
    assert 15 < band.out_min[0] < 35 < band.out_min[2] < 120


@pytest.mark.parametrize("name", ["hemisphere-30", "cylinder-28"])
def test_two_dimensions_agree_with_one_for_capped_pieces(name):
    # Why one dimension is enough for them: a thin cap sets through its own face.
    mould = library()[name]
    flat = cool(capped(mould, DARK, CORE, mould_C=22.0), FAN, minutes=30, snapshots=361)
    piece = cool_piece(mould, DARK, FAN, mould_C=22.0, minutes=30, snapshots=181, core=CORE, cells=20)
    assert piece.energy_error < 1e-6
    solid = np.where(piece.chocolate, piece.solid, 1.0).min(axis=(1, 2))
    round_min = piece.time_s[int(np.argmax(solid >= DARK.set_share))] / 60
    assert round_min / set_min(flat) == pytest.approx(1.1, abs=0.15)
    assert abs(piece.mean_C[60] - np.interp(600, flat.time_s, flat.mean_C)) < 2.0


@pytest.mark.parametrize(("radius", "depth"), [(28.0, 8.0), (22.0, 8.0)])
def test_the_middle_of_a_wide_piece_is_a_flat_layer(radius, depth):
    # Half width over depth of 2.5 and more: 2-D discs set within a tenth of the flat layer of their full depth.
    disc = replace(HALF, cavity=Cylinder(radius, depth))
    flat = cool(filled(disc, DARK, mould_C=22.0), FAN, minutes=60, snapshots=721)
    piece = cool_piece(disc, DARK, FAN, mould_C=22.0, minutes=60, snapshots=361, cells=16)
    solid = np.where(piece.chocolate, piece.solid, 1.0).min(axis=(1, 2))
    round_min = piece.time_s[int(np.argmax(solid >= DARK.set_share))] / 60
    assert round_min / set_min(flat) == pytest.approx(0.97, abs=0.08)
    assert filled(disc, DARK, mould_C=22.0).layers[0].thickness_mm == depth


@pytest.mark.parametrize("name", ["bar-60", "hollow-egg", "snack-bar-40", "square-25", "cone-28", "dome-30"])
def test_what_is_no_bar_is_scaled_by_a_round_piece(name):
    doubt = Doubt((0.008, 0.015, 0.03))
    told = forecast(library()[name], DARK, FAN, Surface(), doubt, np.random.default_rng(1), members=20, minutes=60)
    flat = name in ("bar-60", "hollow-egg")
    assert (told.shape_factor == 1.0) == flat
    assert 1.0 <= told.shape_factor < 1.5


def test_a_shell_has_two_faces_of_its_own_size():
    # 1.5 mm in a hemisphere of 15 mm: inner over outer face (13.5/15)², checks the area the layer is given.
    stack = filled(HALF, DARK, mould_C=22.0, shell_mm=1.5)
    assert stack.wall_area == pytest.approx((15 / 13.5) ** 2, rel=0.01)
    assert stack.open_m2 == pytest.approx(24 * 2 * np.pi * 0.0135**2, rel=0.01)
    assert filled(FIGURE, DARK, mould_C=22.0).wall_area > 1.0
    thick = replace(HALF, cavity=replace(HALF.cavity, radius_mm=4.0))
    assert filled(thick, DARK, mould_C=22.0, shell_mm=3.8).wall_area == pytest.approx(3.0)


def test_layers_set_each_by_its_own_curve():
    white = melt_of(chocolate("white"), 29.0)
    bar = layered(BAR, [(DARK, 0.6), (white, 0.4)], mould_C=22.0)
    assert [layer.matter for layer in bar.layers[:2]] == [white, DARK]
    run = cool(bar, FAN, minutes=40)
    assert run.melts == (white, DARK)
    assert run.melt is white
    assert set(run.set_share) == {white.set_share, DARK.set_share}
    assert run.is_set[-1]
    held = run.could_be_solid()[-1]
    assert np.all(run.solid[-1] <= held + 0.02)
    assert held[run.which == 1].min() > held[run.which == 0].max()  # dark butter can be more solid than white's


def test_nuts_on_the_back_slow_the_open_face():
    plain = filled(BAR, DARK, mould_C=22.0)
    nuts = with_back(plain, Inert(0.11, 1.1e6), 4.0, 22.0)
    a, b = (cool(stack, CoolingSpace(12.0), minutes=60) for stack in (plain, nuts))
    assert a.temperature_C.shape == b.temperature_C.shape
    assert set_min(b) > set_min(a)
    assert b.mould_C[0] == 22.0


def test_pieces_inside_leave_less_to_set_and_to_contract():
    nuts = filled(BAR, DARK, mould_C=22.0, inclusion=(Inert(0.2, 2e6), 0.3))
    mixed = nuts.layers[0].matter
    assert isinstance(mixed, Melt)
    latent = mixed.kelvin * mixed.volumetric_J_m3K
    assert latent == pytest.approx(0.7 * DARK.kelvin * DARK.volumetric_J_m3K)
    assert mixed.fat_volume_share == pytest.approx(0.7 * DARK.fat_volume_share)


@pytest.mark.parametrize(
    "job",
    [
        lambda: capped(FIGURE, DARK, CORE, mould_C=22.0),
        lambda: capped(HALF, DARK, replace(CORE, shell_mm=0.1), mould_C=22.0),
        lambda: capped(HALF, DARK, replace(CORE, cap_mm=14.0), mould_C=22.0),
        lambda: capped(HALF, DARK, CORE, mould_C=32.0),
        lambda: cool_piece(HALF, DARK, FAN, mould_C=22.0, core=replace(CORE, cap_mm=14.0)),
        lambda: layered(BAR, [(DARK, 0.5), (DARK, 0.4)], mould_C=22.0),
        lambda: layered(BAR, [], mould_C=22.0),
        lambda: with_back(filled(BAR, DARK, mould_C=22.0), Inert(0.1, 1e6), 0.0, 22.0),
        lambda: filled(BAR, DARK, mould_C=22.0, inclusion=(Inert(0.2, 2e6), 0.6)),
        lambda: cool(replace(filled(BAR, DARK, mould_C=22.0), layers=(Layer(Inert(0.2, 1e6), 2.0, 20.0, 4),)), FAN),
    ],
)
def test_what_cannot_be(job):
    with pytest.raises(ImpossibleInput):
        job()
