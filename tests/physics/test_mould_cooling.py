"""Cooling of filled moulds: the sheet's model table, laws, own heat, a space that warms, two dimensions, bad input."""

from dataclasses import replace

import numpy as np
import pytest

from bloomless.errors import ImpossibleInput, NumericalFailure
from bloomless.materials.chocolates import chocolate
from bloomless.materials.mould_walls import WALLS
from bloomless.materials.moulds import Cap, Cylinder, Frustum, Hemisphere, Hollow, Mould
from bloomless.physics.mould_axisymmetric import cool_piece
from bloomless.physics.mould_cooling import CoolingSpace, Inert, Layer, Move, Stack, cool, filled
from bloomless.physics.mould_films import Film
from bloomless.physics.mould_melt import Melt, Rates, melt_of

PC = WALLS["polycarbonate"]
BAR = Mould("bar", Frustum(150, 75, 10, 20), 3, PC, 2.0, 450.0)
HALF = Mould("half-shells", Hemisphere(15), 24, PC, 2.5, 500.0)
SHEET = Melt("dark", 0.34, 1.0, 0.0, 31.0, form_v=0.01)
SHEET_RATES = Rates(5e-3, 1e3, 0.0)  # k₀ 5e-3 alone, as the sheet's table was made


def bar_of(mm, melt=SHEET, cells=60):
    wall = Inert(0.20, 1200.0 * 1250.0)
    return Stack((Layer(melt, mm, melt.temperature_C, cells), Layer(wall, 2.0, 24.0, 12)), open_m2=0.03)


def both(h):
    return (Film(0, 0, 0, h), Film(0, 0, 0, h))


def first_minute(run, true):
    return run.time_s[int(np.argmax(true))] / 60


@pytest.mark.parametrize(
    ("mm", "h", "air", "set_min", "cool_min"),
    [
        (3, 15, 12, 6, 10),
        (5, 8, 18, 26, 53),
        (8, 15, 12, 16, 26),
        (8, 30, 12, 9, 15),
        (10, 8, 12, 34, 56),
        (10, 15, 15, 24, 41),
        (12, 15, 12, 24, 39),
    ],
)
def test_model_table_of_the_sheet(mm, h, air, set_min, cool_min):
    # Section 3.4; its own solver, solid-fat table and rounding differ a little.
    run = cool(bar_of(mm), CoolingSpace(air), minutes=70, rates=SHEET_RATES, films=both(h), snapshots=421)
    assert first_minute(run, run.solid.min(axis=1) >= 0.65) == pytest.approx(set_min, rel=0.06, abs=1.0)
    assert first_minute(run, run.temperature_C.max(axis=1) <= 20) == pytest.approx(cool_min, rel=0.06)
    assert run.energy_error < 1e-3


@pytest.mark.parametrize("mm", [5, 8, 12])
def test_latent_heat_doubles_the_time(mm):
    # Check 20: ratio 2.1-2.8 of the time to 20 °C.
    kw = {"minutes": 90, "rates": SHEET_RATES, "films": both(12), "snapshots": 541}
    with_heat = cool(bar_of(mm), CoolingSpace(12), **kw)
    without = cool(bar_of(mm, replace(SHEET, heat_of_melting_J_kg=1e-6)), CoolingSpace(12), **kw)
    times = [first_minute(run, run.temperature_C.max(axis=1) <= 20) for run in (with_heat, without)]
    assert 2.1 <= times[0] / times[1] <= 2.8


def test_it_warms_by_its_own_heat():
    # Check 20: 10 mm in still air of 18 °C rises from 31.0 to 31.98 ± 0.3 with the sheet's constants.
    run = cool(bar_of(10), CoolingSpace(18), minutes=30, rates=SHEET_RATES, films=both(8))
    assert run.temperature_C.max() == pytest.approx(31.98, abs=0.3)


def test_plank():
    # Check 16: both faces, constant setting temperature; the kinetic model is slower than pure latent heat, not wildly.
    plank_s = 1250 * 46_000 / 16 * (0.005 / 15 + 0.005**2 / (2 * 0.26))
    assert plank_s == pytest.approx(1370.7, abs=0.5)
    run = cool(bar_of(10), CoolingSpace(12), minutes=60, rates=SHEET_RATES, films=both(15))
    assert 0.6 < 60 * first_minute(run, run.solid.min(axis=1) >= 0.65) / plank_s < 1.4


def test_error_falls_faster_than_the_square_of_the_steps():
    # Films that follow temperature, a space that warms, own heat: work against error, as the benchmark shows it.
    def run(tolerance):
        space = CoolingSpace(12, 0.3, power_W=60.0, moulds=3)
        return cool(bar_of(10), space, rates=SHEET_RATES, snapshots=31, tolerance_K=tolerance)

    exact = run(1e-6)
    runs = [run(tolerance) for tolerance in (0.02, 0.002, 0.0002)]
    errors = [np.sqrt(np.mean((r.temperature_C - exact.temperature_C) ** 2)) for r in runs]
    assert errors[0] < 0.1
    assert errors[2] < 1e-3
    assert np.log(errors[0] / errors[2]) / np.log(runs[2].steps / runs[0].steps) > 2


def test_snapshots_between_steps_keep_every_joule():
    run = cool(bar_of(8), CoolingSpace(6, power_W=40.0, moulds=4), minutes=50, snapshots=501, tolerance_K=0.2)
    assert run.steps < 60
    assert run.energy_error < 1e-12
    fine = cool(bar_of(8), CoolingSpace(6, power_W=40.0, moulds=4), minutes=50, snapshots=501, tolerance_K=1e-4)
    assert np.abs(run.air_C - fine.air_C).max() < 0.3
    assert np.abs(fine.temperature_C - run.temperature_C).max() < 2.0


def test_steps_too_short_are_refused():
    with pytest.raises(NumericalFailure, match="too short"):
        cool(bar_of(8), CoolingSpace(12), tolerance_K=1e-300)


def test_converges_in_space():
    ends = [
        cool(bar_of(8, cells=n), CoolingSpace(12), minutes=15, films=both(15)).mean_C[-1] for n in (15, 30, 60, 120)
    ]
    assert abs(ends[2] - ends[3]) < 0.5 * abs(ends[0] - ends[1]) + 0.01


@pytest.mark.parametrize("air", [4.0, 12.0, 18.0])
def test_never_colder_than_the_air_nor_more_than_whole(air):
    run = cool(filled(BAR, melt_of(chocolate("milk"), 30.0), mould_C=22.0), CoolingSpace(air, 1.0), minutes=60)
    assert run.temperature_C.min() >= air - 1e-6
    assert run.solid.min() >= 0
    assert np.all(run.solid <= 1)
    assert run.energy_error < 1e-3


def test_common_practice_of_bars():
    # Common practice, no source: 15-30 min at 10-14 °C in moving air, 30-60 in still air.
    melt = melt_of(chocolate("dark"), 31.2, form_v=0.015)
    for air, speed, low, high in ((12, 1.0, 15, 30), (12, 0.0, 28, 60), (10, 1.0, 15, 30), (14, 1.0, 15, 30)):
        run = cool(filled(BAR, melt, mould_C=22.0), CoolingSpace(air, speed), minutes=70)
        assert low <= first_minute(run, run.solid.min(axis=1) >= melt.set_share) <= high


def test_faster_cooling_sets_colder():
    # Check 19, direction (Tewkesbury 2000).
    melt = melt_of(chocolate("dark"), 31.2)
    temperatures = []
    for air in (18.0, 12.0, 6.0):
        run = cool(filled(BAR, melt, mould_C=22.0), CoolingSpace(air, 1.0), minutes=90)
        half = np.argmax(run.solid >= 0.4, axis=0)
        temperatures.append(run.temperature_C[half, np.arange(half.size)] @ run.weight)
    assert temperatures == sorted(temperatures, reverse=True)


def test_untempered_sets_late_and_in_form_iv():
    run = cool(
        filled(BAR, melt_of(chocolate("dark"), 31.2, form_v=0.0), mould_C=22.0), CoolingSpace(12, 1.0), minutes=60
    )
    assert run.solid[-1].min() < 0.65
    assert run.form_v[-1].max() < 0.01
    assert run.form_iv[-1].mean() > 0.1
    cold = cool(
        filled(BAR, melt_of(chocolate("dark"), 31.2, form_v=0.0), mould_C=22.0), CoolingSpace(-5, 3.0), minutes=20
    )
    assert cold.form_ii[-1].max() > cold.form_iv[-1].mean()


def test_a_full_fridge_warms():
    # Sheet 3.1: six sheets of 212 g, 50-100 W: 20-40 min to swallow, air up by 3-8 K.
    melt = melt_of(chocolate("dark"), 31.2)
    load = {"power_W": 75.0, "set_C": 6.0, "moulds": 6}
    full = cool(filled(HALF, melt, mould_C=22.0), CoolingSpace(6.0, **load), minutes=90)
    one = cool(filled(HALF, melt, mould_C=22.0), CoolingSpace(6.0, **{**load, "moulds": 1}), minutes=90)
    assert 2.0 <= full.air_C.max() - 6.0 <= 9.0
    assert one.air_C.max() < full.air_C.max() - 1.5
    assert full.air_C[-1] < full.air_C.max() - 0.5
    assert one.air_C[0] == 6.0


def test_inclusions_carry_less_fat_to_set():
    melt = melt_of(chocolate("dark"), 31.2)
    nuts = Inert(0.2, 1000 * 2000.0)
    plain = cool(filled(BAR, melt, mould_C=22.0), CoolingSpace(12, 1.0))
    mixed = cool(filled(BAR, melt, mould_C=22.0, inclusion=(nuts, 0.3)), CoolingSpace(12, 1.0))
    at = [first_minute(run, run.solid.min(axis=1) >= 0.65) for run in (plain, mixed)]
    assert at[1] < at[0]
    with pytest.raises(ImpossibleInput):
        filled(BAR, melt, mould_C=22.0, inclusion=(nuts, 0.9))


def test_shells_and_figures_are_skins():
    melt = melt_of(chocolate("dark"), 31.2)
    shell = filled(HALF, melt, mould_C=22.0, shell_mm=1.5)
    assert shell.layers[0].thickness_mm == 1.5
    figure = Mould("boat", Hollow(240, 260, 30, 60), 2, PC, 2.0, 300.0)
    assert filled(figure, melt, mould_C=22.0).layers[0].thickness_mm == 3.0
    flat = filled(HALF, melt, mould_C=22.0)
    volume = flat.layers[0].thickness_mm / 10 * HALF.cavity.opening_cm2 * (1 + flat.wall_area) / 2
    assert volume == pytest.approx(HALF.cavity.volume_ml)


def test_hemisphere_and_cylinder_in_two_dimensions():
    melt = melt_of(chocolate("dark"), 31.2)
    for cavity in (Hemisphere(15), Cylinder(12, 14)):
        mould = replace(HALF, cavity=cavity)
        space = CoolingSpace(12, 1.0)
        piece = cool_piece(mould, melt, space, mould_C=22.0, minutes=40, cells=12)
        assert piece.energy_error < 1e-3
        assert (piece.weight.sum(), piece.weight[~piece.chocolate].sum()) == (pytest.approx(1.0), 0.0)
        flat = cool(filled(mould, melt, mould_C=22.0), space, minutes=40)
        assert piece.mean_C[-1] == pytest.approx(flat.mean_C[-1], abs=2.0)
        assert piece.solid[-1][piece.chocolate].min() > 0.65
        finer = cool_piece(mould, melt, space, mould_C=22.0, minutes=40, cells=20, longest_s=1.0)
        assert piece.mean_C[20] == pytest.approx(finer.mean_C[20], abs=0.1)


def test_sphere_of_the_books():
    # Check 46: sphere, Bi 1, Fo 0.5, centre 0.370777. A hemisphere with an insulated flat face is half of it.
    melt = replace(SHEET, heat_of_melting_J_kg=1e-6)
    radius, h = 0.015, 0.26 / 0.015
    thin = replace(HALF, wall_mm=0.01, wall=replace(PC, conductivity_W_mK=replace(PC.conductivity_W_mK, value=1e3)))
    fo_s = 0.5 * radius**2 * 1250 * 1600 / 0.26
    piece = cool_piece(
        thin, melt, CoolingSpace(12), mould_C=30.999, minutes=fo_s / 60, films=(Film(0, 0, 0, 0), Film(0, 0, 0, h)),
        cells=30, change_K=0.05, longest_s=1.0,
    )  # fmt: skip
    centre = (piece.temperature_C[-1, 0].mean() - 12) / 19
    assert centre == pytest.approx(0.370777, abs=0.004)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: filled(BAR, melt_of(chocolate("dark"), 31.0), mould_C=31.0),
        lambda: filled(BAR, melt_of(chocolate("dark"), 31.0), mould_C=22.0, fill_share=0.0),
        lambda: filled(HALF, melt_of(chocolate("dark"), 31.0), mould_C=22.0, shell_mm=20.0),
        lambda: melt_of(chocolate("dark"), 80.0),
        lambda: melt_of(chocolate("dark"), 31.0, form_v=0.9),
        lambda: Melt("dark", 0.05, 1.0, 0.0, 31.0),
        lambda: CoolingSpace(80.0),
        lambda: CoolingSpace(12.0, moulds=0),
        lambda: CoolingSpace(12.0, power_W=-1.0),
        lambda: CoolingSpace(12.0, factor=0.0),
        lambda: cool(bar_of(5), CoolingSpace(12.0), minutes=0.0),
        lambda: cool(Stack((Layer(Inert(0.2, 1e6), 5.0, 20.0, 5),)), CoolingSpace(12.0)),
        lambda: CoolingSpace(6.0, then=(Move(0.0, CoolingSpace(15.0)),)),
        lambda: CoolingSpace(6.0, then=(Move(20.0, CoolingSpace(15.0)), Move(20.0, CoolingSpace(18.0)))),
        lambda: CoolingSpace(6.0, then=(Move(20.0, CoolingSpace(15.0, then=(Move(9.0, CoolingSpace(12.0)),))),)),
        lambda: cool_piece(BAR, SHEET, CoolingSpace(12.0), mould_C=22.0),
        lambda: cool_piece(HALF, SHEET, CoolingSpace(12.0), mould_C=32.0),
    ],
)
def test_impossible(wrong):
    with pytest.raises(ImpossibleInput):
        wrong()


def test_a_deep_cavity_is_said():
    stick = Mould("stick", Cylinder(5, 30), 12, WALLS["thermoformed"], 0.6, 60.0)
    assert "deeper than it is wide" in filled(stick, SHEET, mould_C=22.0).cautions[0]
    assert filled(replace(stick, cavity=Cap(15, 12)), SHEET, mould_C=22.0).cautions == ()


def test_only_chocolate_in_a_row():
    run = cool(Stack((Layer(SHEET, 5.0, 31.0, 10),)), CoolingSpace(12.0), minutes=5, snapshots=3)
    assert run.mould_C == pytest.approx(run.temperature_C[:, -1])


def test_carried_from_the_cold_to_a_milder_place():
    cold, mild = CoolingSpace(5.0, 1.0), CoolingSpace(15.0)
    bar = filled(BAR, SHEET, mould_C=22.0)
    stays = cool(bar, cold, minutes=120)
    # To the same place, between two snapshots: nothing changes but the steps.
    same = cool(bar, replace(cold, then=(Move(15.1, cold),)), minutes=120)
    assert same.time_s == pytest.approx(stays.time_s)
    assert np.abs(same.temperature_C - stays.temperature_C).max() < 0.1
    moved = cool(bar, replace(cold, then=(Move(15.0, mild), Move(500.0, cold))), minutes=120)
    before = moved.time_s <= 900
    assert moved.temperature_C[before] == pytest.approx(stays.temperature_C[before], abs=0.1)
    assert moved.air_C[~before] == pytest.approx(15.0)
    assert moved.mean_C[-1] == pytest.approx(15.0, abs=1.0)
    assert moved.energy_error < 1e-3
    assert replace(cold, then=(Move(15.0, mild),)).at(14.9).air_C == 5.0


def test_each_place_warms_by_its_own_load():
    weak = CoolingSpace(6.0, moulds=20, power_W=30.0)
    bar = filled(BAR, SHEET, mould_C=22.0)
    moved = cool(bar, replace(weak, then=(Move(15.0, CoolingSpace(15.0)),)), minutes=60)
    assert moved.air_rise_K == pytest.approx(cool(bar, weak, minutes=15).air_rise_K, abs=0.1)
    assert moved.air_rise_K > 1.0
    assert moved.energy_error < 1e-3
