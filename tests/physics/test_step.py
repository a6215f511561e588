"""The compiled step against other people's integrators, and its own promises: positive, reproducible, guarded."""

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import sksundae.cvode
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from bloomless.errors import ImpossibleInput, NumericalFailure
from bloomless.materials.chocolates import chocolate
from bloomless.materials.vessels import vessel
from bloomless.physics import block, rows
from bloomless.physics.actions import add_pieces, pour_into
from bloomless.physics.advance import advance
from bloomless.physics.begin import begin
from bloomless.physics.bowl import Bowl
from bloomless.physics.ensemble import Ensemble, Surroundings, gather
from bloomless.physics.priors import draw_parameters, priors_for
from bloomless.physics.rates import bowl_rates
from bloomless.physics.readings import readings

D = rows.DYNAMIC


def bowl_of(kind="dark", *, members=4, seed=5, temperature_C=44.0, state="melted", form_v=0.0):
    of = chocolate(kind)
    bowl = Bowl(of, vessel("steel", holds_kg=1.0), 1.0)
    parameters = draw_parameters(priors_for(of), members, seed=seed)
    return begin(bowl, parameters, state=state, temperature_C=temperature_C, form_v_of_fat=form_v)


def right_side(ensemble, surroundings, member):
    controls = np.ascontiguousarray(surroundings.controls(ensemble.members)[:, member])
    parameters = np.ascontiguousarray(ensemble.parameters[:, member])
    whole = ensemble.state[:, member].copy()

    def rates(y):
        whole[:D] = y
        return bowl_rates(whole, parameters, controls, ensemble.bowl.constants)

    return rates, whole[:D].copy()


def by_lsoda(ensemble, surroundings, seconds, member):
    rates, start = right_side(ensemble, surroundings, member)
    found = solve_ivp(lambda t, y: rates(y), (0.0, seconds), start, method="LSODA", rtol=1e-9, atol=1e-13, max_step=5.0)
    assert found.success
    return found.y[:, -1]


def by_cvode(ensemble, surroundings, seconds, member):
    rates, start = right_side(ensemble, surroundings, member)

    def rhs(t, y, yp):
        yp[:] = rates(np.asarray(y))

    solver = sksundae.cvode.CVODE(rhs, rtol=1e-9, atol=1e-13, method="BDF", max_step=5.0, max_num_steps=100_000)
    found = solver.solve(np.array([0.0, seconds]), start)
    assert found.success
    return found.y[-1]


def by_reference(ensemble, surroundings, seconds, solver):
    state = ensemble.state.copy()
    for member in range(ensemble.members):
        state[:D, member] = solver(ensemble, surroundings, seconds, member)
    return ensemble.with_state(state)


COURSES = {
    # a pour, seed, a cool bath, a pause without stirring, a warm bath, a burst, holding
    "seeded, cooled and warmed": (
        (44.0, "melted", 0.0),
        [
            (Surroundings(), 30),
            ("seed", 0.2, 4.0),
            (Surroundings(), 20),
            (Surroundings(), 60),
            (Surroundings(bath_C=15.0, stir=0.4), 60),
            (Surroundings(stir=0.0), 120),
            (Surroundings(bath_C=45.0), 30),
            (Surroundings(microwave_W=700.0, stir=0.0), 8),
            (Surroundings(), 240),
        ],
    ),
    "coarse seed into a cooler bowl": (
        (36.0, "melted", 0.0),
        [("seed", 0.15, 9.0), (Surroundings(), 15), (Surroundings(stir=1.7), 300)],
    ),
    "grated seed too warm": ((40.0, "melted", 0.0), [("seed", 0.1, 1.0), (Surroundings(), 30), (Surroundings(), 240)]),
    "cooled without seed, warmed again": (
        (33.0, "melted", 0.0),
        [
            (Surroundings(bath_C=12.0), 240),
            (Surroundings(), 120),
            (Surroundings(bath_C=45.0), 60),
            (Surroundings(), 120),
        ],
    ),
    "melting pieces": ((24.0, "pieces", 0.0), [(Surroundings(bath_C=48.0), 600), (Surroundings(hot_air_W=1500.0), 60)]),
    "the direct way": ((29.0, "part_melted", 0.0), [(Surroundings(bath_C=40.0), 120), (Surroundings(), 240)]),
    "holding": ((31.0, "melted", 0.015), [(Surroundings(), 900)]),
}


def run(course, kind, how):
    (temperature_C, state, form_v), steps = course
    ensemble = bowl_of(kind, members=2, temperature_C=temperature_C, state=state, form_v=form_v)
    ensemble = pour_into(ensemble, vessel("glass", holds_kg=1.0), vessel_C=temperature_C - 15.0)
    seen = []
    for what, *more in steps:
        if what == "seed":
            ensemble = add_pieces(ensemble, more[0], temperature_C=20.0, size_mm=more[1])
        else:
            ensemble = how(ensemble, what, more[0])
            seen.append(readings(ensemble))
    return seen


@pytest.mark.parametrize("solver", [by_lsoda, by_cvode])
@pytest.mark.parametrize("name", COURSES)
@pytest.mark.parametrize("kind", ["dark", "milk"])
def test_agrees_with_lsoda_and_cvode(name, kind, solver):
    mine = run(COURSES[name], kind, advance)
    theirs = run(COURSES[name], kind, lambda e, s, n: by_reference(e, s, n, solver))
    for a, b in zip(mine, theirs, strict=True):
        np.testing.assert_allclose(a.bulk_C, b.bulk_C, rtol=0, atol=0.02)
        np.testing.assert_allclose(a.probe_C, b.probe_C, rtol=0, atol=0.05)
        worst = np.abs(a.form_v_of_fat - b.form_v_of_fat) / np.maximum(0.02 * b.form_v_of_fat, 1e-4)
        assert worst.max() <= 1.0
        np.testing.assert_allclose(a.unstable_of_fat, b.unstable_of_fat, rtol=0.03, atol=2e-4)
        np.testing.assert_allclose(a.pieces_kg, b.pieces_kg, rtol=0.02, atol=2e-3)


def test_half_the_step_is_a_quarter_of_the_error():
    start = add_pieces(bowl_of(members=8, temperature_C=38.0), 0.2, temperature_C=20.0, size_mm=4.0)
    fine = advance(start, Surroundings(), 200.0, dt_s=0.125)
    errors = [
        np.abs(advance(start, Surroundings(), 200.0, dt_s=dt).state[rows.BULK_C] - fine.state[rows.BULK_C]).max()
        for dt in (2.0, 1.0, 0.5)
    ]
    assert errors[1] < 0.02
    assert errors[0] > 2.0 * errors[1] > 4.0 * errors[2]


@settings(max_examples=60)
@given(
    st.integers(0, 10_000),
    st.sampled_from(["dark", "milk", "white", "cocoa_butter"]),
    st.sampled_from(["melted", "pieces", "part_melted"]),
    st.floats(10.0, 60.0),
    st.floats(0.0, 0.15),
    st.floats(0.0, 1.7),
    st.one_of(st.none(), st.floats(0.0, 80.0)),
    st.sampled_from([0.0, 1000.0]),
)
def test_stays_finite_positive_and_within_its_fat(seed, kind, state, at_C, form_v, stir, bath_C, watts):
    bowl = bowl_of(kind, members=64, seed=seed, temperature_C=at_C, state=state, form_v=form_v)
    bowl = add_pieces(bowl, 0.2, temperature_C=18.0, size_mm=2.0)
    bowl = advance(bowl, Surroundings(bath_C=bath_C, microwave_W=watts, stir=stir), 120.0)
    seen = readings(bowl)
    assert np.all(bowl.state[rows.FORM_V_kg : rows.PIECE_C] >= 0.0)
    total = seen.form_v_of_fat + seen.unstable_of_fat + seen.first_crop_of_fat
    assert np.all((total >= 0.0) & (total <= 1.0))
    assert np.all((seen.bulk_C > -5.0) & (seen.bulk_C < 250.0))


def test_threads_and_company_do_not_change_a_bit():
    bowl = add_pieces(bowl_of(members=300, temperature_C=36.0), 0.1, temperature_C=20.0, size_mm=4.0)
    alone = advance(bowl, Surroundings(), 90.0)
    assert np.array_equal(alone.state, advance(bowl, Surroundings(), 90.0, parallel=True).state)
    again = advance(bowl, Surroundings(), 90.0)
    assert np.array_equal(alone.state, again.state)
    first = gather(bowl, np.arange(block.LANES))
    assert np.array_equal(alone.state[:, : block.LANES], advance(first, Surroundings(), 90.0).state)


def test_a_jump_is_taken_in_smaller_steps():
    # 0.45 kg of grated seed at −10 °C into 50 °C melt: several kelvin in the first second.
    bowl = add_pieces(bowl_of(members=3, temperature_C=50.0), 0.45, temperature_C=-10.0, size_mm=0.5)
    coarse = readings(advance(bowl, Surroundings(), 40.0, dt_s=2.0)).bulk_C
    fine = readings(advance(bowl, Surroundings(), 40.0, dt_s=0.125)).bulk_C
    np.testing.assert_allclose(coarse, fine, atol=0.1)


@pytest.mark.parametrize(("seconds", "dt_s"), [(-1.0, 1.0), (1e6, 1.0), (float("nan"), 1.0), (1.0, 0.0), (1.0, 3.0)])
def test_advance_refuses(seconds, dt_s):
    with pytest.raises(ImpossibleInput):
        advance(bowl_of(), Surroundings(), seconds, dt_s=dt_s)


def test_no_time_changes_nothing_and_nonsense_is_said():
    bowl = bowl_of()
    assert advance(bowl, Surroundings(), 0.0) is bowl
    broken = bowl.state.copy()
    broken[rows.BULK_C] = np.nan
    with pytest.raises(NumericalFailure):
        advance(bowl.with_state(broken), Surroundings(), 5.0)
    with pytest.raises(ImpossibleInput):
        Ensemble(bowl.state[:5], bowl.parameters, bowl.bowl)
    with pytest.raises(ImpossibleInput):
        bowl.with_parameters(bowl.parameters[:3])


PYTHON_FORM = """
import sys
import numpy as np
sys.path.insert(0, sys.argv[1])
from test_step import Surroundings, add_pieces, advance, bowl_of, bowl_rates
from bloomless.numerics import noise
with np.errstate(over="ignore"):
    bowl = bowl_of(members=3, temperature_C=44.0)
    for size_mm in (0.6, 3.0, 9.0):
        bowl = add_pieces(bowl, 0.1, temperature_C=20.0, size_mm=size_mm)
    crowded = add_pieces(bowl_of(members=2, temperature_C=40.0), 1.5, temperature_C=20.0, size_mm=3.0)
    drawn = noise.normals(3, 4, 6)
    parallel = advance(bowl, Surroundings(microwave_W=500.0), 3.0, parallel=True).state
one = [np.ascontiguousarray(a[:, 0]) for a in (bowl.state, bowl.parameters, Surroundings().controls(3))]
np.savez(
    sys.argv[2],
    parallel=parallel,
    serial=advance(bowl, Surroundings(microwave_W=500.0), 3.0).state,
    quiet=advance(bowl_of(members=2, temperature_C=32.0), Surroundings(), 20.0).state,
    crowded=advance(crowded, Surroundings(stir=0.0), 1.0).state,
    rates=bowl_rates(*one, bowl.bowl.constants),
    drawn=drawn,
)
"""


def test_the_compiled_form_is_the_python_form(tmp_path):
    # The same script twice, once without compilation: what a reader sees is what runs, and coverage can see it too.
    found = []
    for jit in ("0", "1"):
        out = tmp_path / f"{jit}.npz"
        command = [sys.executable, "-c", PYTHON_FORM, str(Path(__file__).parent), str(out)]
        subprocess.run(command, check=True, env={**os.environ, "NUMBA_DISABLE_JIT": jit}, timeout=120)
        with np.load(out) as arrays:
            found.append(dict(arrays))
    for name, compiled in found[0].items():
        np.testing.assert_allclose(found[1][name], compiled, rtol=1e-9, atol=1e-12, err_msg=name)
    assert np.array_equal(found[0]["parallel"], found[0]["serial"])
