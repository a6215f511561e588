"""Filling plans, colours and inclusions: the moulding sheet's worked numbers, what must be said, bad input."""

from dataclasses import replace

import pytest

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.mould_library import library
from bloomless.materials.mould_walls import WALLS
from bloomless.materials.moulds import Hemisphere, Mould
from bloomless.recipes.colours import ColourLayer, colour_amount, colour_state
from bloomless.recipes.filling import Layering, plan_filling
from bloomless.recipes.inclusions import held_by_yield, inclusions, mixed_C, plan_inclusions

HALF = Mould("half-shells", Hemisphere(15), 24, WALLS["polycarbonate"], 2.5, 500.0)
BAR = library()["bar-60"]


def codes(findings):
    return {finding.code for finding in findings}


def test_bars():
    plan = plan_filling(BAR, 4)
    assert plan.pieces == 12
    assert plan.piece_g == pytest.approx(60, abs=2)
    chocolate = plan.parts[0]
    assert chocolate.take_g == pytest.approx(1.12 * chocolate.in_pieces_g)
    assert plan.returns_g == 0
    assert 0.02 <= plan.waste_g / chocolate.in_pieces_g <= 0.05


def test_shells_of_the_sheet():
    # Check 44: 24 × R15 at 1.5 mm: full 212.06 g, wall 57.47 g, 154.6 g go back; bowl a full sheet and 20 %.
    plan = plan_filling(HALF, 1, "shell", wall_mm=1.5, cap_mm=1.5)
    shells = plan.parts[0]
    assert shells.in_pieces_g == pytest.approx(57.47, abs=0.01)
    assert shells.take_g == pytest.approx(1.2 * 212.06, abs=0.05)
    assert plan.returns_g == pytest.approx(154.6 + 0.2 * 212.06, abs=0.1)
    # Filled hemisphere table: R15, 1.5 and 1.5 mm: shell and cap 3.46 g, filling 4.298 ml.
    assert plan.shell_g + plan.cap_g == pytest.approx(3.46, abs=0.01)
    assert plan.filling_ml == pytest.approx(4.298, abs=0.001)
    assert "moist_filling" in codes(plan.findings)
    assert any("come back" in step for step in plan.steps)


def test_what_is_said_of_shells():
    plan = plan_filling(HALF, 2, "shell", wall_mm=2.0, cap_mm=1.0, filling="praline", filling_C=31.0)
    assert codes(plan.findings) == {"thin_cap", "filling_warm"}
    assert "no_room" in codes(plan_filling(HALF, 1, "shell", wall_mm=9.0, cap_mm=7.0).findings)
    assert "scratched" in codes(plan_filling(replace(HALF, scratched=True), 1).findings)


def test_layers_and_figures():
    plan = plan_filling(BAR, 1, "layers", layers=(Layering("white", 0.3), Layering("dark", 0.7)))
    assert [p.name for p in plan.parts] == ["white", "dark"]
    assert plan.parts[1].in_pieces_g == pytest.approx(0.7 * plan.piece_g * 3)
    boat = plan_filling(library()["hollow-boat"], 3, "hollow", wall_mm=3.0)
    assert boat.filling_g == 0
    assert 80 <= boat.piece_g <= 110
    assert boat.returns_g > 0
    with pytest.raises(ImpossibleInput):
        plan_filling(BAR, 1, "layers", layers=(Layering("white", 0.3),))
    with pytest.raises(ImpossibleInput):
        plan_filling(BAR, 1, "hollow")


def test_colour_of_the_sheet():
    # Check 45: 14.137 cm² × 30 µm × 930 kg/m³ = 0.0394 g; 24 of them 0.95 g, with half overspray 1.9 g.
    amount = colour_amount(HALF, 1, ColourLayer("ochre", "spray"))
    assert amount.on_piece_g == pytest.approx(0.0394, abs=1e-4)
    assert amount.take_g == pytest.approx(1.9, abs=0.02)
    assert amount.take_range_g[0] < amount.take_g < amount.take_range_g[1]
    assert colour_amount(HALF, 1, ColourLayer("green", "splatter", 0.1)).take_g < 1
    assert len(plan_filling(HALF, 1, "shell", colours=(ColourLayer("ochre"),)).colours) == 1
    for wrong in (
        lambda: ColourLayer("x", "pour"),
        lambda: ColourLayer("x", "spray", 2.0),
        lambda: colour_amount(HALF, 0, ColourLayer("x")),
    ):
        with pytest.raises(ImpossibleInput):
            wrong()


@pytest.mark.parametrize(
    ("temperature", "thick", "code"),
    [
        (27.5, True, "colour_too_set"),
        (29.0, True, "colour_too_set"),
        (29.0, False, "colour_off_window"),
        (30.5, False, "colour_ready"),
        (33.0, False, "colour_off_window"),
        (35.2, False, "colour_temper_lost"),
    ],
)
def test_state_of_a_colour(temperature, thick, code):
    assert colour_state("ochre", temperature, thick=thick).code == code


def test_mixing_nuts_in():
    # Job map, check 5: 20 % nuts (c 2.0) at 18 °C into 31.5 °C: 28.3 °C.
    assert mixed_C(31.5, 18.0, 0.2) == pytest.approx(28.3, abs=0.1)
    plan = plan_inclusions(BAR, 4, "nut_pieces", share_by_mass=0.2, inclusion_C=18.0)
    assert {"inclusion_cold", "mixture_cold", "allergen"} <= codes(plan.findings)
    assert plan.mixture_C == pytest.approx(28.3, abs=0.1)
    warm = plan_inclusions(BAR, 4, "buckwheat", share_by_mass=0.08, inclusion_C=27.0)
    assert codes(warm.findings) == {"allergen"}
    bars = plan_filling(BAR, 4, inclusions=(warm,))
    assert bars.piece_g == pytest.approx(60, abs=2)
    assert bars.chocolate_share == pytest.approx(0.92, abs=0.005)


def test_what_fits_and_what_moves():
    whole = plan_inclusions(BAR, 1, "hazelnut", share_by_mass=0.3, where="back", inclusion_C=24.0)
    assert "choking" in codes(whole.findings)
    assert whole.mixture_C is None
    assert "inclusion_too_large" in codes(
        plan_inclusions(BAR, 1, "hazelnut", share_by_mass=0.2, inclusion_C=24.0).findings
    )
    assert "too_much_inclusion" in codes(
        plan_inclusions(BAR, 1, "puffed_rice", share_by_mass=0.2, inclusion_C=24.0).findings
    )
    assert "moist_inclusion" in codes(plan_inclusions(BAR, 1, "raisins", share_by_mass=0.1, inclusion_C=24.0).findings)
    assert held_by_yield(20.0, inclusions()["hazelnut"])
    thin = plan_inclusions(BAR, 1, "hazelnut", share_by_mass=0.1, where="back", yield_Pa=0.5)
    assert thin.moves == "floats"
    assert "inclusion_moves" in codes(thin.findings)
    assert plan_inclusions(BAR, 1, "sea_salt", share_by_mass=0.01, where="back", yield_Pa=0.1).moves == "sinks"
    assert "Pieces on the back" in " ".join(plan_filling(BAR, 1, inclusions=(whole,)).steps)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: plan_filling(BAR, 0),
        lambda: plan_filling(BAR, 1, "sideways"),
        lambda: plan_filling(HALF, 1, "shell", wall_mm=20.0),
        lambda: plan_filling(HALF, 1, "shell", cap_mm=20.0),
        lambda: plan_inclusions(BAR, 1, "hazelnut", share_by_mass=0.9),
        lambda: plan_inclusions(BAR, 1, "hazelnut", share_by_mass=0.1, where="under"),
        lambda: mixed_C(31.0, 20.0, 1.0),
        lambda: colour_state("ochre", 200.0),
    ],
)
def test_impossible(wrong):
    with pytest.raises(ImpossibleInput):
        wrong()
    with pytest.raises(UnknownName):
        plan_inclusions(BAR, 1, "gravel", share_by_mass=0.1)
