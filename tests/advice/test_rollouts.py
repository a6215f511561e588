"""Rollouts: compiled and Python form agree, every decision is taken where it should be, candidates are lawful."""

from dataclasses import replace

import numpy as np
import pytest

from bloomless.advice import policy
from bloomless.advice import rollout_kernel as kernel
from bloomless.advice.candidates import Scene, candidates, thinning_C
from bloomless.advice.orders import Order
from bloomless.advice.plan import worth_of_answers
from bloomless.advice.policy import Aim
from bloomless.advice.prospects import HORIZON_S, Work, rollout
from bloomless.materials.chocolates import chocolate
from bloomless.materials.vessels import vessel
from bloomless.physics.actions import add_pieces
from bloomless.physics.begin import begin
from bloomless.physics.bowl import Bowl
from bloomless.physics.priors import draw_parameters, priors_for

ALL = frozenset({"seed", "melt", "warm_bath", "cool_bath", "microwave", "hot_air", "table"})


def aim(means=ALL, seed_kg=0.4):
    return Aim((29.3, 33.0), (0.004, 0.06), 0.03, 1 / 3, 34.2, seed_kg, means, 21.0, 20.0, 0.002)


def decide(t, v=0.0, u=0.0, p=0.0, means=ALL, seed_kg=0.4):
    code, amount = policy.decide.py_func(t, v, u, p, 1.0, seed_kg, aim(means).packed())
    assert policy.decide(t, v, u, p, 1.0, seed_kg, aim(means).packed()) == (code, pytest.approx(amount))
    return code, amount


@pytest.mark.parametrize(
    ("lane", "code"),
    [
        ({"t": 31.5, "v": 0.02}, policy.DONE),
        ({"t": 45.0}, policy.COOL),
        ({"t": 37.0}, policy.SEED),
        ({"t": 45.0, "means": frozenset()}, policy.WAIT),
        ({"t": 34.0, "means": frozenset({"cool_bath"})}, policy.COOL),
        ({"t": 28.0}, policy.WARM),
        ({"t": 29.5, "p": 0.05}, policy.WARM),
        ({"t": 32.0, "p": 0.05}, policy.WAIT),
        ({"t": 31.0, "v": 0.01, "p": 0.06}, policy.WARM),
        ({"t": 32.8, "v": 0.04, "p": 0.06}, policy.SIEVE),
        ({"t": 32.8, "v": 0.01, "p": 0.06}, policy.WAIT),
        ({"t": 31.0, "v": 0.08}, policy.THIN),
        ({"t": 31.0, "v": 0.08, "means": frozenset({"warm_bath"})}, policy.WARM),
        ({"t": 31.0, "v": 0.08, "means": frozenset()}, policy.WAIT),
        ({"t": 29.0, "v": 0.02}, policy.WARM),
        ({"t": 31.0, "v": 0.02, "u": 0.02}, policy.WARM),
        ({"t": 34.5, "v": 0.02}, policy.COOL),
        ({"t": 33.2, "v": 0.02}, policy.WAIT),
        ({"t": 31.0, "means": frozenset({"cool_bath"})}, policy.COOL),
        ({"t": 25.6, "v": 0.004, "u": 0.02, "means": frozenset({"cool_bath", "warm_bath"})}, policy.WARM),
        ({"t": 25.6, "v": 0.004, "means": frozenset({"cool_bath", "warm_bath"})}, policy.WAIT),
    ],
)
def test_decisions(lane, code):
    assert decide(**lane)[0] == code


@pytest.fixture(scope="module")
def bowls():
    of = chocolate("dark")
    shared = Bowl(of, vessel("glass", holds_kg=0.8), 0.8)
    return begin(shared, draw_parameters(priors_for(of), 32, seed=5), temperature_C=37.0, vessel_C=35.0)


ORDERS = (
    Order("stir", seconds=60.0),
    Order("add_seed", mass_g=120.0, size_mm=2.0, then_wait_s=60.0),
    Order("add_seed", mass_g=120.0, size_mm=8.0),
    Order("add_melt", mass_g=100.0, temperature_C=38.0),
    Order("warm_bath", bath_C=42.0, seconds=20.0),
    Order("cool_bath", bath_C=18.0, seconds=40.0),
    Order("microwave", watts=350.0, seconds=5.0),
    Order("hot_air", watts=1500.0, seconds=20.0),
    Order("table", share=0.4, seconds=60.0),
    Order("sieve"),
    Order("pour_over", vessel="another"),
)


def test_every_candidate_has_a_fate(bowls):
    outcome = rollout(bowls, ORDERS, Work(aim(), 20.0, 0.004))
    assert outcome.minutes.shape == (len(ORDERS), 32)
    assert np.all((outcome.done == 0.0) | (outcome.done == 1.0))
    assert np.all(outcome.minutes <= HORIZON_S / 60.0)
    assert np.all(outcome.seed_kg[1] >= 0.12)
    assert outcome.done[1].mean() > 0.5
    idle = rollout(bowls, ORDERS, Work(aim(), 20.0, 0.004, idle_waits=True))
    assert idle.done[0].mean() == 0.0
    assert np.all(idle.done[1:] == outcome.done[1:])


def test_cocoa_butter_is_seeded_with_crystals():
    of = chocolate("cocoa_butter")
    shared = Bowl(of, vessel("steel", holds_kg=0.3), 0.3)
    bowls = begin(shared, draw_parameters(priors_for(of), 32, seed=5), temperature_C=33.5)
    outcome = rollout(
        bowls,
        (Order("add_seed", mass_g=3.0, size_mm=0.4, form="cocoa_butter_crystals"),),
        Work(aim(), 20.0, 0.004),
    )
    assert outcome.first[0].form_v_pct.mean() > 0.1


def test_python_form_of_the_kernel_agrees(bowls, monkeypatch):
    work = Work(aim(seed_kg=0.3), 20.0, 0.004)
    orders = (
        Order("stir", seconds=15.0),
        Order("add_seed", mass_g=150.0, size_mm=2.0),
        Order("add_seed", mass_g=150.0, size_mm=8.0),
    )
    compiled = rollout(bowls, orders, work)
    thick = replace(bowls, state=bowls.state.copy())
    thick.state[4] = 0.08 * thick.state[8]
    thick.state[0] = 31.0
    two = rollout(thick, orders[:1], work)
    lumpy = add_pieces(replace(thick, state=thick.state * 1.0), 0.08, temperature_C=31.0, size_mm=8.0)
    lumpy.state[4] = 0.048 * lumpy.state[8]
    lumpy.state[0] = 32.8
    three = rollout(lumpy, orders[:1], work)
    good = replace(thick, state=thick.state * 1.0)
    good.state[4] = 0.02 * good.state[8]
    four = rollout(good, orders[:1], work)
    assert four.done.min() == 1.0
    for name in ("_add_pieces", "_add_melt", "_shown", "_controls", "_act", "_one_block", "march_lanes"):
        monkeypatch.setattr(kernel, name, getattr(kernel, name).py_func)
    monkeypatch.setattr(policy, "decide", policy.decide.py_func)
    plain = rollout(bowls, orders, work)
    assert plain.minutes == pytest.approx(compiled.minutes)
    assert plain.seed_kg == pytest.approx(compiled.seed_kg)
    assert rollout(thick, orders[:1], work).acts == pytest.approx(two.acts)
    assert rollout(lumpy, orders[:1], work).acts == pytest.approx(three.acts)
    assert rollout(good, orders[:1], work).minutes == pytest.approx(four.minutes)


def scene(**changes):
    usual = Scene(
        31.0, 0.5, 1.0, 900.0, ALL, aim(), 2.0, 0.004, 0.05, 0.05, True, False, False, False, True, 300.0, True
    )
    return replace(usual, **changes)


def kinds(**changes):
    return {order.do for order in candidates(scene(**changes))}


def test_candidates_use_only_what_is_at_hand():
    assert kinds(means=frozenset()) == {"stir"}
    assert "microwave" not in kinds(means=ALL - {"microwave"})
    hot = kinds(temperature_C=38.0, form_v_pct=0.0)
    assert {"cool_bath", "add_seed", "table"} <= hot
    assert "pour_over" in kinds(temperature_C=42.0)
    assert "pour_over" not in kinds(temperature_C=42.0, poured=True)
    assert "add_melt" in kinds(form_v_pct=5.0)
    assert "add_melt" not in kinds(form_v_pct=5.0, melt_room_g=0.0)
    thinning = [o for o in candidates(scene(form_v_pct=5.0)) if o.do == "add_melt"]
    # Melt that thins is hardly warmer than where crystals die; what is to warm a cold bowl is warmer.
    assert {o.temperature_C for o in thinning} == {thinning_C(aim())}
    assert aim().live_C <= thinning_C(aim()) <= aim().live_C + 1.0
    cold = [o for o in candidates(scene(form_v_pct=5.0, temperature_C=28.0)) if o.do == "add_melt"]
    assert min(o.temperature_C for o in cold) > thinning_C(aim())
    assert max(o.mass_g for o in thinning) == pytest.approx(0.3 * 900.0)
    lumpy = {o.do for o in candidates(scene(form_v_pct=5.0, pieces_pct=15.0))}
    assert "add_melt" not in lumpy
    assert lumpy & {"warm_bath", "sieve"}
    assert "add_seed" not in kinds(aim=aim(seed_kg=0.0))
    assert "add_seed" not in kinds(pieces_pct=10.0)
    assert "sieve" in kinds(pieces_pct=10.0)
    assert "sieve" not in kinds(pieces_pct=10.0, can_sieve=False)
    assert "sieve" not in kinds(pieces_pct=10.0, form_v_pct=0.2)
    assert {"microwave", "hot_air"} <= kinds(temperature_C=32.0, form_v_pct=5.0)
    warmest = max(o.seconds for o in candidates(scene(form_v_pct=5.0)) if o.do == "warm_bath")
    assert warmest > max(o.seconds for o in candidates(scene(form_v_pct=5.0, may_clear=False)) if o.do == "warm_bath")
    hot = [o.mass_g for o in candidates(scene(temperature_C=38.0, aim=aim(seed_kg=0.3))) if o.do == "add_seed"]
    assert max(hot) <= 195.0
    assert not any(o.do == "add_seed" for o in candidates(scene(temperature_C=34.0, aim=aim(seed_kg=0.013))))
    # Without seed crystals have to come of themselves, below the window or on the stone.
    assert "cool_bath" in kinds(temperature_C=31.0, form_v_pct=0.0, means=frozenset({"cool_bath"}))
    assert "cool_bath" not in kinds(temperature_C=31.0, form_v_pct=0.0)
    assert "table" in kinds(temperature_C=31.0, form_v_pct=0.0, means=frozenset({"table"}))


def test_amounts_are_those_a_person_can_do():
    for order in candidates(scene(temperature_C=35.0)) + candidates(scene(temperature_C=30.0, warmed_before=False)):
        if order.do == "add_seed":
            assert order.mass_g % 5.0 == 0.0
        if order.do in {"warm_bath", "cool_bath"}:
            assert order.seconds % 5.0 == 0.0
            assert order.bath_C <= 50.0
    fine = candidates(scene(temperature_C=33.5, means=frozenset({"cocoa_butter_crystals"})))
    assert [o.mass_g for o in fine if o.form == "cocoa_butter_crystals"] == [6.0, 9.0, 14.0]
    assert not any(
        o.do == "add_seed" for o in candidates(scene(temperature_C=34.2, means=frozenset({"cocoa_butter_crystals"})))
    )


def test_answers_that_tell_nothing_are_worth_nothing():
    chance = np.random.default_rng(1)
    costs = chance.normal(5.0, 2.0, (20, 128))
    nothing = np.full((6, 128), 1.0 / 6.0)
    assert worth_of_answers(nothing, costs) == pytest.approx(costs.mean(axis=1).min())
    scattered = chance.dirichlet(np.ones(6), 128).T
    assert worth_of_answers(scattered, costs) > costs.mean(axis=1).min() - 0.35
    good = np.repeat([1.0, 0.0], 64)
    telling = np.array([good, 1.0 - good])
    clear = np.array([np.where(good > 0.0, 0.0, 50.0), np.full(128, 10.0)])
    assert worth_of_answers(telling, clear) < 8.0
