"""What is in the bowl weighs as much after an hour as before: model error makes pieces larger, not the batch."""

import numpy as np
import pytest

from bloomless.estimation.begin import begin
from bloomless.estimation.estimate import estimate
from bloomless.estimation.events import Composition, Start
from bloomless.estimation.passing import passed
from bloomless.physics.actions import batch_kg


@pytest.mark.parametrize("state", ["pieces", "part_melted", "melted"])
def test_an_hour_changes_no_weight(state):
    start = Start(0.0, Composition("dark"), 400.0, state=state, temperature_C=30.0)
    belief = begin(start, seed=1, members=200)
    later = passed(belief, 3600.0)
    assert np.allclose(batch_kg(later.ensemble), batch_kg(belief.ensemble), rtol=1e-6)
    band = estimate(later).batch_g
    assert band.p95 - band.p05 < 60.0
