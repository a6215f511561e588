"""What is in the bowl, and what it is in: model error changes no weight, and a pour no vessel that nobody named."""

import numpy as np
import pytest

from bloomless.estimation.begin import begin
from bloomless.estimation.estimate import estimate
from bloomless.estimation.events import Composition, Microwave, Pour, Sieve, Start, VesselSpec
from bloomless.estimation.passing import passed
from bloomless.estimation.take import take
from bloomless.physics.actions import batch_kg, piece_masses_kg


@pytest.mark.parametrize("state", ["pieces", "part_melted", "melted"])
def test_an_hour_changes_no_weight(state):
    start = Start(0.0, Composition("dark"), 400.0, state=state, temperature_C=30.0)
    belief = begin(start, seed=1, members=200)
    later = passed(belief, 3600.0)
    assert np.allclose(batch_kg(later.ensemble), batch_kg(belief.ensemble), rtol=1e-6)
    band = estimate(later).batch_g
    assert band.p95 - band.p05 < 60.0


@pytest.mark.parametrize(
    ("started", "pours", "material"),
    [
        ("glass", (None,), "glass"),
        ("glass", (VesselSpec("steel"),), "steel"),
        ("glass", (VesselSpec("steel"), None), "steel"),
        ("steel", (VesselSpec("plastic"), None), "plastic"),
        ("steel", (None,), "steel"),
    ],
)
def test_what_is_poured_over_goes_into_another_bowl_like_it(started, pours, material):
    start = Start(0.0, Composition("dark"), 800.0, temperature_C=44.0, vessel=VesselSpec(started))
    belief = begin(start, seed=1, members=60)
    for number, spec in enumerate(pours):
        belief = take(belief, Pour(10.0 * (number + 1), spec))
    assert belief.ensemble.bowl.vessel.material == material
    burst = take(belief, Microwave(60.0, 5.0))
    metal = "metal_in_microwave" in {said.code for said in estimate(burst).alerts}
    assert metal == (material == "steel")


def test_a_sieve_leaves_some_lumps_whatever_came_out():
    start = Start(0.0, Composition("dark"), 800.0, state="part_melted", temperature_C=31.0)
    belief = begin(start, seed=1, members=300)
    had_kg, weighed_kg = piece_masses_kg(belief.ensemble).sum(axis=0), batch_kg(belief.ensemble)
    out = take(belief, Sieve(0.0, 600.0)).ensemble
    left = piece_masses_kg(out).sum(axis=0) / had_kg
    assert np.quantile(left, [0.02, 0.5, 0.98]) == pytest.approx([0.05, 0.22, 0.42], abs=0.06)
    assert np.median(weighed_kg - batch_kg(out)) == pytest.approx(0.6, rel=0.02)
