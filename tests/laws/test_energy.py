"""Enthalpy closes: a bowl that exchanges nothing with the room keeps it, whatever is done to it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bloomless.materials.chocolates import KINDS, chocolate
from bloomless.materials.vessels import vessel
from bloomless.physics import rows
from bloomless.physics.actions import (
    add_melt,
    add_pieces,
    add_water,
    batch_kg,
    enthalpy_J,
    piece_masses_kg,
    put_together,
    take_to_table,
)
from bloomless.physics.advance import advance
from bloomless.physics.begin import begin
from bloomless.physics.bowl import Bowl
from bloomless.physics.constants import BOWL
from bloomless.physics.ensemble import Surroundings
from bloomless.physics.priors import draw_parameters, priors_for

MEMBERS = 40


def closed_bowl(kind="dark", temperature_C=44.0, state="melted", members=MEMBERS):
    of = chocolate(kind)
    bowl = Bowl(of, vessel("steel", holds_kg=1.0), 1.0, insulated=True)
    parameters = draw_parameters(priors_for(of), members, seed=11)
    return begin(bowl, parameters, state=state, temperature_C=temperature_C)


def fat_kg(ensemble):
    return ensemble.state[rows.BULK_FAT_kg] + ensemble.bowl.chocolate.fat_share * piece_masses_kg(ensemble).sum(axis=0)


grams = st.floats(1.0, 400.0)
actions = st.lists(
    st.one_of(
        st.tuples(st.just("seed"), grams, st.floats(5.0, 30.0), st.floats(0.3, 20.0)),
        st.tuples(st.just("melt"), grams, st.floats(33.0, 60.0)),
        st.tuples(st.just("water"), st.floats(0.1, 10.0), st.floats(5.0, 60.0)),
        st.tuples(st.just("wait"), st.integers(1, 240), st.floats(0.0, 1.7)),
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=60)
@given(st.sampled_from(KINDS), st.floats(28.0, 55.0), st.sampled_from(["melted", "pieces", "part_melted"]), actions)
def test_a_closed_bowl_keeps_its_enthalpy_mass_and_fat(kind, temperature_C, state, sequence):
    bowl = closed_bowl(kind, temperature_C, state)
    heat, fat_share = bowl.bowl.heat_J_kgK, bowl.bowl.chocolate.fat_share
    expected, mass, fat = enthalpy_J(bowl), batch_kg(bowl), fat_kg(bowl)
    for what, *how in sequence:
        before = enthalpy_J(bowl)
        if what == "seed":
            grams_in, at_C, size_mm = how
            bowl = add_pieces(bowl, grams_in / 1000, temperature_C=at_C, size_mm=size_mm)
            added = enthalpy_J(bowl) - before  # its own enthalpy: at most that of melt, at least fully set
            assert np.all(added <= grams_in / 1000 * heat * at_C + 1e-6)
            assert np.all(added >= grams_in / 1000 * (heat * at_C - fat_share * 150e3))
            expected = expected + added
            mass, fat = mass + grams_in / 1000, fat + fat_share * grams_in / 1000
        elif what == "melt":
            bowl = add_melt(bowl, how[0] / 1000, temperature_C=how[1])
            expected = expected + how[0] / 1000 * heat * how[1]
            mass, fat = mass + how[0] / 1000, fat + fat_share * how[0] / 1000
        elif what == "water":
            bowl = add_water(bowl, how[0] / 1000, temperature_C=how[1])
            expected = expected + how[0] / 1000 * 4180.0 * how[1]
            mass = mass + how[0] / 1000
        else:
            bowl = advance(bowl, Surroundings(stir=how[1]), how[0])
    scale = batch_kg(bowl) * heat * 20.0  # the promise is 0.1 % of warming it by 20 K; arithmetic does far better
    np.testing.assert_array_less(np.abs(enthalpy_J(bowl) - expected) / scale, 1e-6)
    np.testing.assert_allclose(batch_kg(bowl), mass, rtol=1e-9)
    np.testing.assert_allclose(fat_kg(bowl), fat, rtol=1e-9)
    assert np.all(bowl.state[rows.FORM_V_kg : rows.BULK_kg] >= 0.0)
    solids = bowl.state[rows.FORM_V_kg : rows.BULK_kg].sum(axis=0)
    assert np.all(solids <= bowl.state[rows.BULK_FAT_kg] * 1.02)


def test_what_a_burst_brings_is_what_the_member_absorbs():
    bowl = closed_bowl(temperature_C=32.0)
    power = 700.0 * np.minimum(bowl.bowl.constants[16] * bowl.parameters[rows.MICROWAVE_FACTOR], 1.0)
    warmer = advance(bowl, Surroundings(microwave_W=700.0), 10.0)
    np.testing.assert_allclose(enthalpy_J(warmer) - enthalpy_J(bowl), power * 10.0, rtol=1e-6)


@pytest.mark.parametrize("share", [0.0, 0.3, 0.66])
def test_a_part_taken_to_the_table_and_back_changes_nothing(share):
    bowl = add_pieces(closed_bowl(temperature_C=33.0), 0.1, temperature_C=20.0, size_mm=4.0)
    stays, part = take_to_table(bowl, share)
    again = put_together(stays, part)
    np.testing.assert_allclose(enthalpy_J(again), enthalpy_J(bowl), rtol=1e-9)
    np.testing.assert_allclose(again.state[rows.FORM_V_kg], bowl.state[rows.FORM_V_kg], rtol=1e-9)
    np.testing.assert_allclose(piece_masses_kg(again), piece_masses_kg(bowl), rtol=1e-6, atol=1e-12)


def test_one_percent_of_the_fat_set_warms_by_three_tenths_of_a_kelvin():
    # Crystal sheet 5.6 [derived]: ΔT = w_f·ΔH·ΔX/c; 0.309 K for w_f 0.33, ΔH 150e3, c 1600.
    assert pytest.approx(0.309, rel=0.01) == 0.33 * 150e3 * 0.01 / 1600.0
    bowl = closed_bowl("dark", 30.0, members=1)
    bowl.parameters[rows.VESSEL_FACTOR] = 1e-9
    bowl.state[rows.FORM_V_kg] = 0.01 * bowl.state[rows.BULK_FAT_kg]
    later = advance(bowl, Surroundings(), 120.0)
    set_now = sum(later.state[r] - bowl.state[r] for r in (rows.FORM_V_kg, rows.FIRST_CROP_kg))
    latent = 150e3 * set_now + 123e3 * (later.state[rows.UNSTABLE_kg] - bowl.state[rows.UNSTABLE_kg])
    rise = later.state[rows.BULK_C] - bowl.state[rows.BULK_C]
    np.testing.assert_allclose(rise, latent / later.bowl.heat_J_kgK, rtol=1e-6)
    assert set_now[0] > 1e-4
    assert BOWL["form_v_end_C"].value == 33.8
