"""Own losses: a normal law with unknown mean and spread, checked against its textbook form and against chance."""

import numpy as np
import pytest
from scipy import stats

from bloomless.errors import ImpossibleInput
from bloomless.recipes.own_losses import PRIOR_BATCHES, PRIOR_SD, learned, left_behind_share


def test_without_weighings_the_recipe_stands():
    assert learned(0.04, []) == learned(0.04, ())
    assert learned(0.04, []).share == 0.04
    assert learned(0.04, []).batches == 0


def test_the_posterior_of_the_textbook():
    """Gelman et al., Bayesian Data Analysis, section 3.3: the predictive law is a t with k + n degrees of freedom."""
    seen, k = [0.06, 0.08, 0.05], PRIOR_BATCHES.value
    n, mean = 3, np.mean(seen)
    centre = (k * 0.04 + n * mean) / (k + n)
    scale2 = (k * PRIOR_SD.value**2 + n * np.var(seen) + k * n / (k + n) * (mean - 0.04) ** 2) / (k + n)
    low, high = stats.t.interval(0.9, k + n, loc=centre, scale=np.sqrt(scale2 * (1 + 1 / (k + n))))
    found = learned(0.04, seen)
    assert (found.share, found.low, found.high) == pytest.approx((centre, low, high))


def test_many_weighings_outvote_the_recipe_and_the_range_covers_the_next():
    chance = np.random.Generator(np.random.PCG64(7))
    inside = 0
    for _ in range(400):
        true = chance.normal(0.05, 0.02)
        batches = chance.normal(true, 0.02, 6)
        found = learned(0.05, list(batches[:5]), within=(-1.0, 1.0))
        inside += found.low <= batches[5] <= found.high
    assert 0.86 < inside / 400 < 0.96
    assert learned(0.0, [0.08] * 40).share == pytest.approx(0.08, abs=0.005)
    assert learned(0.02, [0.6]).share < 0.25  # one odd day never rules
    assert learned(0.0, [-0.05]).share == 0.0


def test_a_weighing_that_is_of_another_batch():
    assert left_behind_share(1000, 950) == pytest.approx(0.05)
    for weighed in (50, 1500):
        with pytest.raises(ImpossibleInput):
            left_behind_share(1000, weighed)
