"""Chocolates and vessels: what is usual, what is said otherwise, and what cannot be."""

import math

import numpy as np
import pytest

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.materials.chocolates import KINDS, USUAL, Chocolate, chocolate
from bloomless.materials.vessels import MATERIALS, vessel
from bloomless.physics import rows
from bloomless.physics.actions import add_pieces
from bloomless.physics.begin import begin
from bloomless.physics.bowl import Bowl
from bloomless.physics.constants import BOWL, PIECES
from bloomless.physics.priors import LIMITS, draw_parameters, priors_for
from bloomless.physics.priors import USUAL as USUAL_PRIORS
from bloomless.sources import bibliography, sourced_values


@pytest.mark.parametrize("kind", KINDS)
def test_usual_recipes_add_up(kind):
    usual = USUAL[kind]
    assert usual.fat_share == pytest.approx(usual.cocoa_butter_share + usual.milk_fat_share)
    assert usual.cocoa_butter_of_fat + usual.milk_fat_of_fat + usual.liquid_oil_of_fat == pytest.approx(1.0)
    again = chocolate(kind)
    assert again.fat_share == pytest.approx(usual.fat_share)
    assert again.sugar_share == pytest.approx(usual.sugar_share)


def test_said_shares_replace_usual_ones():
    rich = chocolate("milk", fat_share=0.40)
    assert rich.fat_share == pytest.approx(0.40)
    assert rich.milk_fat_of_fat == pytest.approx(USUAL["milk"].milk_fat_of_fat)
    named = chocolate("dark", cocoa_butter_share=0.30, liquid_oil_share=0.03)
    assert named.fat_share == pytest.approx(0.33)
    assert chocolate("dark", fat_share=0.33, cocoa_butter_share=0.30, liquid_oil_share=0.03) == named


def test_a_wrapper_rounds():
    assert chocolate("milk", fat_share=0.365, cocoa_butter_share=0.28, milk_fat_share=0.086).fat_share == pytest.approx(
        0.366
    )
    whole_per_cents = chocolate("milk", fat_share=0.33, cocoa_butter_share=0.26, milk_fat_share=0.08)
    assert whole_per_cents.fat_share == pytest.approx(0.34)


def test_what_is_not_cocoa_butter_is_milk_fat_where_there_is_milk():
    named = chocolate("white", fat_share=0.33, cocoa_butter_share=0.26)
    assert (named.fat_share, named.milk_fat_share) == (pytest.approx(0.33), pytest.approx(0.07))
    nutty = chocolate("milk", fat_share=0.40, cocoa_butter_share=0.26, liquid_oil_share=0.08)
    assert nutty.milk_fat_share == pytest.approx(0.06)


@pytest.mark.parametrize(
    "shares",
    [
        {"kind": "ruby"},
        {"kind": "dark", "fat_share": 0.40, "cocoa_butter_share": 0.30},
        {"kind": "dark", "fat_share": 1.4},
        {"kind": "dark", "fat_share": 0.05},
        {"kind": "dark", "liquid_oil_share": -0.1},
    ],
)
def test_what_cannot_be(shares):
    with pytest.raises((ImpossibleInput, UnknownName)):
        chocolate(**shares)


def test_shares_must_add_up():
    with pytest.raises(ImpossibleInput, match="add up"):
        Chocolate("dark", 0.38, 0.0, 0.0, 0.2, 0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("material", MATERIALS)
def test_usual_bowls_weigh_what_bowls_weigh(material):
    usual = vessel(material, holds_kg=1.0)
    assert 0.1 < usual.mass_kg < 1.3
    assert usual.diameter_m == pytest.approx(0.2)
    assert 100.0 < usual.heat_J_K < 1100.0
    assert vessel(material, holds_kg=1.0, mass_g=350.0).mass_kg == 0.35
    assert vessel(material, holds_kg=8.0).diameter_m == pytest.approx(0.4)


@pytest.mark.parametrize(
    "said",
    [
        {"material": "wood", "holds_kg": 1.0},
        {"holds_kg": 0.0},
        {"holds_kg": 1.0, "mass_g": 1.0},
        {"holds_kg": 1.0, "diameter_mm": 5.0},
    ],
)
def test_no_such_bowl(said):
    with pytest.raises((ImpossibleInput, UnknownName)):
        vessel(**said)


def test_infrared_sees_the_surface_and_insulation_keeps_heat():
    of, steel = chocolate("dark"), vessel("steel", holds_kg=1.0)
    assert Bowl(of, steel, 1.0, probe="infrared").constants[18] == -1.0
    closed, opened = Bowl(of, steel, 1.0, insulated=True).constants, Bowl(of, steel, 1.0).constants
    assert closed[7] == closed[8] == 0.0
    assert opened[7] > 0.2
    assert opened[8] > 0.1
    assert Bowl(of, steel, 1.0).latent_K == pytest.approx(0.38 * 150e3 / 1660, rel=0.01)


def test_an_open_bowl_loses_as_much_as_the_sheet_brackets():
    # Crystal sheet 5.4: UA 0.55–0.8 W/K for 1 kg in steel of 20 cm, the whole wall counted or the wetted one.
    opened = Bowl(chocolate("dark"), vessel("steel", holds_kg=1.0, diameter_mm=200.0), 1.0).constants
    assert 0.55 <= opened[7] + opened[8] <= 0.85


def test_every_number_of_the_bowl_names_a_source():
    known = bibliography()
    numbers = dict(sourced_values({"bowl": BOWL, "pieces": PIECES, "priors": USUAL_PRIORS, "materials": MATERIALS}))
    assert len(numbers) > 90
    assert not {value.source for value in numbers.values()} - set(known)


def test_parameters_are_drawn_from_their_priors():
    assert tuple(f for f in USUAL_PRIORS.__dataclass_fields__) == rows.PARAMETER_ROWS
    assert len(rows.STATE_ROWS) == rows.STATES
    assert len(rows.CONTROL_ROWS) == rows.CONTROLS
    drawn = draw_parameters(priors_for(chocolate("white")), 20_000, seed=3)
    for row, name in enumerate(rows.PARAMETER_ROWS):
        prior = getattr(USUAL_PRIORS, name)
        low, high = LIMITS.get(name, (-np.inf, np.inf))
        assert drawn[row].min() >= low
        assert drawn[row].max() <= high
        if name in LIMITS or name == "melting_shift_K":
            continue
        if prior.spread_is == "factor":
            assert np.median(drawn[row]) == pytest.approx(prior.value, rel=0.05)
            assert np.log(drawn[row]).std() == pytest.approx(math.log(prior.spread), rel=0.03)
        else:
            assert drawn[row].std() == pytest.approx(prior.spread, rel=0.03)
    assert drawn[rows.MELTING_SHIFT_K].std() == pytest.approx(0.7, rel=0.03)
    few = draw_parameters(priors_for(chocolate("white")), 10, seed=3)
    assert np.array_equal(few, drawn[:, :10])
    other = draw_parameters(priors_for(chocolate("white")), 10, seed=4)
    assert not np.array_equal(few, other)


def test_beginnings_that_cannot_be():
    of = chocolate("dark")
    shared = Bowl(of, vessel("steel", holds_kg=1.0), 1.0)
    parameters = draw_parameters(priors_for(of), 4, seed=1)
    with pytest.raises(ImpossibleInput):
        begin(shared, parameters, temperature_C=300.0)
    with pytest.raises(ImpossibleInput):
        begin(shared, parameters, temperature_C=30.0, form_v_of_fat=1.5)
    good = begin(shared, parameters, temperature_C=30.0)
    with pytest.raises(ImpossibleInput):
        add_pieces(good, 0.1, temperature_C=20.0, size_mm=900.0)
    with pytest.raises(ImpossibleInput):
        add_pieces(good, -0.1, temperature_C=20.0)
