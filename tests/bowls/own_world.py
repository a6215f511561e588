"""A bowl of the filter's own world as truth: what calibration can be checked against exactly."""

import numpy as np

from bloomless.estimation.begin import begin
from bloomless.estimation.events import Reading, Start
from bloomless.estimation.moves import picked
from bloomless.estimation.passing import passed
from bloomless.estimation.priors import prior
from bloomless.estimation.surroundings import shown
from bloomless.estimation.take import take
from bloomless.physics import rows


class World:
    """One member drawn from the prior, carried through the acts of a session; it reads its own thermometer."""

    def __init__(self, start: Start, seed: int) -> None:
        self.chance = np.random.default_rng(seed)
        pool = begin(start, seed=seed, members=16)
        one = np.array([int(self.chance.integers(16))])
        self.belief = picked(pool, one)
        self.place_C, self.at_s = 0.0, start.at_s

    def act(self, event) -> None:
        self.belief = take(self.belief, event)

    def reading(self, at_s: float, *, fault: float = 0.0) -> Reading:
        self.belief = passed(self.belief, at_s)
        keep = float(np.exp(-(at_s - self.at_s) / prior("placement_s")))
        sd = prior("placement_stirred_C") * np.sqrt(1.0 - keep * keep)
        self.place_C, self.at_s = keep * self.place_C + sd * self.chance.standard_normal(), at_s
        state, parameters = self.belief.ensemble.state, self.belief.ensemble.parameters
        true = float(state[rows.PROBE_C, 0] + parameters[rows.PROBE_OFFSET_K, 0])
        noise = prior("probe_noise_C") * self.chance.standard_normal()
        return Reading(at_s, round(true + self.place_C + noise + fault, 1))

    @property
    def truth(self):
        return shown(self.belief)
