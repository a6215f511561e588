"""A cooling space learned from one logged mould: from logs of a place that is known, with noise."""

import numpy as np
import pytest

from bloomless.errors import ImpossibleInput
from bloomless.estimation.mould_space import LearnedSpace, LoggedMould, learn_space, usual_space
from bloomless.materials.chocolates import chocolate
from bloomless.materials.mould_library import library
from bloomless.physics.mould_cooling import CoolingSpace, cool, filled
from bloomless.physics.mould_melt import Rates, melt_of

STACK = filled(library()["bar-60"], melt_of(chocolate("dark"), 31.2), mould_C=22.0, cells=24)


def logged(factor, power_W, *, cold=5e-3, seed=3, minutes=60, places=("chocolate", "air")):
    limited = CoolingSpace(6.0, factor=factor, power_W=power_W, moulds=6)
    run = cool(STACK, limited, minutes=minutes, rates=Rates(growth_cold=cold), snapshots=minutes * 2 + 1)
    seen = {
        "chocolate": run.temperature_C[:, 12],
        "back": run.temperature_C[:, 0],
        "mould": run.mould_C,
        "air": run.air_C,
    }
    noise = np.random.default_rng(seed)
    return tuple(
        LoggedMould(place, run.time_s[1:], seen[place][1:] + 0.2 * noise.standard_normal(run.time_s.size - 1))
        for place in places
    )


@pytest.mark.parametrize(("factor", "power_W", "cold"), [(1.5, 60.0, 5e-3), (0.75, 100.0, 4e-3), (1.1, 75.0, 7e-3)])
def test_it_finds_the_place(factor, power_W, cold):
    space = CoolingSpace(6.0, power_W=75.0, moulds=6)
    before = usual_space(0.0)
    after = learn_space(logged(factor, power_W, cold=cold), STACK, space, LearnedSpace(1.0, 1.5, 75.0, 1.5))
    assert after.film_factor == pytest.approx(factor, rel=0.2)
    assert after.film_spread < 1.5
    assert after.power_W == pytest.approx(power_W, rel=0.35)
    assert after.misfit_K < 0.5
    assert after.logs == 1
    assert before.logs == 0
    # What was learned holds the true value within two of its standard deviations.
    assert abs(np.log(after.film_factor / factor)) < 2.5 * np.log(after.film_spread)


def test_what_a_log_cannot_tell_stays():
    still = CoolingSpace(12.0)
    run = cool(STACK, still, minutes=40, snapshots=81)
    log = LoggedMould("mould", run.time_s[1:], run.mould_C[1:])
    after = learn_space((log,), STACK, still, usual_space(0.0))
    assert after.power_W == pytest.approx(usual_space(0.0).power_W, rel=1e-3)
    assert after.power_spread == pytest.approx(usual_space(0.0).power_spread, rel=0.01)
    assert after.applied(still).power_W is None
    assert after.applied(still).factor == after.film_factor
    assert after.applied(CoolingSpace(6.0, power_W=50.0)).power_W == after.power_W
    assert usual_space(1.0).film_factor > 1


def test_a_second_log_narrows_it():
    space = CoolingSpace(6.0, power_W=75.0, moulds=6)
    one = learn_space(logged(1.3, 70.0, places=("back", "air")), STACK, space, LearnedSpace(1.0, 1.4, 75.0, 1.4))
    two = learn_space(logged(1.3, 70.0, seed=4), STACK, space, one)
    assert two.film_spread < one.film_spread
    assert two.logs == 2


@pytest.mark.parametrize(
    ("times", "shown"),
    [
        ([1, 2, 3], [20, 20, 20]),
        ([1, 2, 2, 3, 4], [20] * 5),
        ([1, 2, 3, 4, 5], [20, 20, 90, 20, 20]),
        ([1, 2, 3, 4, 5], [20] * 4),
    ],
)
def test_impossible_logs(times, shown):
    with pytest.raises(ImpossibleInput):
        LoggedMould("air", np.array(times, float), np.array(shown, float))
    with pytest.raises(ImpossibleInput):
        learn_space((), STACK, CoolingSpace(12.0), usual_space(0.0))
