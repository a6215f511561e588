"""Balance, and changing a recipe towards a target with the fewest changes."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp
from worked_recipes import CARAMEL, PANTRY, A, B, C, D, E, F, G, H, made

from bloomless.errors import ImpossibleInput, OutsideValidity, UnknownName
from bloomless.materials.ingredients import ingredient_library
from bloomless.recipes import Cooking, Line, Pantry, Recipe
from bloomless.recipes.balance import balance, style_of, usual_targets
from bloomless.recipes.fewest_moves import FewestMoves
from bloomless.recipes.firmness import firmness_index, solid_fat_pct
from bloomless.recipes.rebalance import Goal, rebalance


def codes(**grams):
    return {f.code for f in balance(made(**grams)).findings}


def recipe(grams):
    return Recipe("r", "R", "ganache", tuple(Line(of, g) for of, g in grams.items()))


def test_worked_volumes():
    assert balance(made(**C)).oil_volume_share == pytest.approx(0.50, abs=0.01)
    assert balance(made(**G)).oil_volume_share == pytest.approx(0.61, abs=0.01)
    assert balance(made(**B)).fat_to_water == pytest.approx(1.88, abs=0.01)


def test_findings():
    assert "splits" in codes(dark_85=500, butter_unsalted=250, cocoa_butter=150, cream_35=120)
    assert "may_split" in codes(dark_64=400, butter_unsalted=260, cream_35=150)
    assert "lactose_sandy" in codes(**E)
    assert "sucrose_grains" in codes(**G)
    assert "dextrose_grains" in codes(dextrose_mono=60, water=30)
    assert "alcohol" in codes(**H)
    assert "water_g_above" in codes(**A)
    assert "sweet_g_above" in codes(**D)
    assert balance(made("praline", praline_hazelnut_50=100)).findings == ()
    caramel = balance(made("caramel", Cooking(final_water_share=0.1), **CARAMEL))
    assert [f.severity for f in caramel.findings if f.code == "sucrose_grains"] == ["care"]
    sandy = balance(made(lactose_mono=30, water=50))
    assert [f.severity for f in sandy.findings if f.code == "lactose_sandy"] == ["care"]
    strong = balance(made(dark_64=300, spirit_60=60, cream_35=100))
    assert [f.severity for f in strong.findings if f.code == "alcohol"] == ["care"]


def test_style():
    assert [style_of(made(**r)) for r in (A, E, F)] == ["dark", "milk", "white"]
    assert style_of(made(cocoa_mass=100)) == "dark"
    assert style_of(made(cream_35=100)) == "white"
    assert {t.quantity for t in usual_targets("milk")} >= {"water_g", "fat_to_water"}


def test_firmness():
    library = ingredient_library()
    cocoa_butter = library["cocoa_butter"].composition
    assert solid_fat_pct(cocoa_butter, 20) == pytest.approx(75.5)
    assert solid_fat_pct(library["water"].composition, 20) == 0
    solids = balance(made(**B)).solid_fat_g
    assert solids[18] > solids[20] > solids[22]
    assert firmness_index(made(**B).per_100g) > firmness_index(made(**C).per_100g)
    softened = made(**{**B, "hazelnut_oil": 20}).per_100g
    assert solid_fat_pct(softened, 20) < solid_fat_pct(made(**B).per_100g, 20)
    with pytest.raises(OutsideValidity):
        solid_fat_pct(cocoa_butter, 40)


def test_rebalanced_meets_its_goals_with_few_changes():
    goals = [Goal("water_g", 15, 22), Goal("water_activity", high=0.85)]
    found = rebalance(recipe(C), PANTRY, goals)
    assert found.met
    assert len(found.changes) == 2
    assert found.recipe.put_in_g == pytest.approx(910)
    assert found.after["water_activity"] <= 0.8502
    assert 15 <= found.after["water_g"] <= 22
    assert "water activity" in " ".join(c.why for c in found.changes)


def test_what_meets_its_goals_stays():
    found = rebalance(recipe(H), PANTRY, [Goal("water_g", 10, 30)])
    assert found.met
    assert found.changes == ()
    assert found.recipe == recipe(H)


def test_locked_lines_stay_and_the_impossible_is_said():
    found = rebalance(recipe(A), PANTRY, [Goal("water_activity", high=0.8)], locked=["dark_60"])
    assert found.met
    assert next(line.mass_g for line in found.recipe.lines if line.of == "dark_60") == 100
    never = rebalance(recipe(A), PANTRY, [Goal("water_activity", high=0.5), Goal("water_g", 25, 30)])
    assert not never.met
    assert never.missed
    alone = rebalance(recipe(A), PANTRY, [Goal("fat_g", high=5)], helpers=())
    assert not alone.met


def test_sub_recipes_can_be_changed_as_a_line():
    filling = recipe(C)
    bar = Recipe("bar", "Bar", "bar", (Line("r", 100, is_recipe=True), Line("hazelnut_roasted", 20)))
    found = rebalance(bar, Pantry(PANTRY.ingredients, {"r": filling}), [Goal("fat_g", low=45)], helpers=())
    assert found.met
    assert {c.name for c in found.changes} == {"R", "Hazelnuts, dry roasted"}


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 10_000))
def test_fewest_moves_against_scipys_mixed_integer_program(seed):
    rng = np.random.default_rng(seed)
    n, goals = 6, 2
    slope = rng.normal(size=(goals, n))
    least, most = -rng.uniform(0, 0.3, n), rng.uniform(0, 0.3, n)
    low = rng.uniform(0, 0.15, goals)
    problem = FewestMoves(slope, low, np.full(goals, np.inf), least, most, np.zeros(n, dtype=bool))
    support, moves = problem.fewest()
    identity, none = np.eye(n), np.zeros((n, n))
    cost = np.concatenate([np.full(2 * n, 1e-3), np.ones(n)])
    reference = milp(
        cost,
        constraints=[
            LinearConstraint(np.hstack([np.ones(n), -np.ones(n), np.zeros(n)])[None, :], 0, 0),
            LinearConstraint(np.hstack([slope, -slope, np.zeros((goals, n))]), low, np.inf),
            LinearConstraint(np.hstack([identity, none, -np.diag(most)]), -np.inf, 0),
            LinearConstraint(np.hstack([none, identity, np.diag(least)]), -np.inf, 0),
        ],
        bounds=Bounds(0, np.concatenate([most, -least, np.ones(n)])),
        integrality=np.concatenate([np.zeros(2 * n), np.ones(n)]),
    )
    if reference.x is None:
        assert problem.fewest_moves_in(tuple(range(n))) is None
        return
    assert moves.sum() == pytest.approx(0, abs=1e-9)
    assert np.all(slope @ moves >= low - 1e-6)
    fewest = round(reference.x[2 * n :].sum())
    if fewest <= 3:
        assert np.count_nonzero(np.abs(moves) > 1e-9) == fewest
        for smaller in combinations(range(n), max(0, fewest - 1)):
            assert problem.fewest_moves_in(smaller) is None or not any(low > 1e-7)
    else:
        assert len(support) <= n


@pytest.mark.parametrize(
    ("make", "error"),
    [
        (lambda: Goal("colour"), UnknownName),
        (lambda: Goal("fat_g", 10, 5), ImpossibleInput),
        (lambda: rebalance(recipe(C), PANTRY, []), ImpossibleInput),
    ],
)
def test_bad_goals(make, error):
    with pytest.raises(error):
        make()
