"""What the planner looks at: the bowl in numbers, what is at hand, how long a bowl that is in temper will stay so."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from bloomless.advice.candidates import CRYSTALS_BELOW_K, HOT_AIR_W, MICROWAVE_W, CRYSTAL_mm
from bloomless.advice.orders import COOLED
from bloomless.advice.plan import Members
from bloomless.advice.policy import Aim
from bloomless.advice.safety import allowed_means
from bloomless.advice.sentences import Numbers
from bloomless.estimation.answers import Alert, Band, Estimate
from bloomless.estimation.belief import EYE_LUMPS, EYE_THICK, SMEAR_PACE, Belief, generator, looks
from bloomless.estimation.chance import member_chances
from bloomless.estimation.estimate import estimate
from bloomless.estimation.events import Seed
from bloomless.estimation.moves import picked
from bloomless.estimation.surroundings import shown
from bloomless.estimation.weights import systematic
from bloomless.physics import rows
from bloomless.physics.advance import advance
from bloomless.physics.block import K_BATH, K_HEAT, K_HOT_AIR, K_INNER, K_MICROWAVE, K_VESSEL
from bloomless.physics.ensemble import Surroundings
from bloomless.physics.readings import in_temper, readings

__all__ = ["SMEAR_SILENT_S", "Outlook", "working_band"]

Array = npt.NDArray[np.float64]

PLAN_MEMBERS = 128
LIVE_C = 34.2
"""Above it form V of dark chocolate is lost in minutes; moved by composition like every melting point."""
CHIPS_mm = 2.0
GRATED_mm = 1.0
GRATED_BELOW_K = 0.5
PLENTY_SHARE = 0.5
CRYSTALS_PLENTY_SHARE = 0.04
"""Seed and cocoa butter crystals at hand if nothing was said, as shares of the melt."""
MORE_SHARE, CRYSTALS_MORE_SHARE = 0.08, 0.015
"""The same once that has gone in: one more dose can always be chopped."""
LEAST_SEED_SHARE = 0.01
"""What is left of the seed and is less of the melt is no dose."""
SEEDED_ABOVE_K, SEEDED_ABOVE_UNCOOLED_K = 4.5, 7.0
"""In a rollout seed goes in up to so far above where it lives: with the means to cool, and without."""
SMEAR_SILENT_S = 720.0
"""A film that has not told so long after it was dipped, or asked for, is given up: what waited for it goes on."""
WORK_HORIZON_MIN = 90.0
WORK_STEP_S = 60.0


def _film_min(belief: Belief) -> float | None:
    """Minutes since the last film was dipped, while it may still tell and has not."""
    since_s = min((belief.at_s - film.taken_at_s for film in belief.waiting_smears), default=math.inf)
    return since_s / 60.0 if since_s <= SMEAR_SILENT_S else None


@dataclass(frozen=True)
class Outlook:
    """A belief seen with a planner's eyes; everything is worked out when asked for."""

    belief: Belief

    @cached_property
    def estimate(self) -> Estimate:
        """Bands and chance."""
        return estimate(self.belief)

    @cached_property
    def form_v_pct(self) -> Array:
        """Form V in every member, % of all fat."""
        return shown(self.belief).form_v_pct

    @cached_property
    def sample(self) -> Belief:
        """Equal-weight members, few enough to roll out."""
        chance = generator(self.belief.seed, self.belief.draws + 7_000_000)
        many = np.resize(systematic(self.belief.weight, float(chance.random())), self.belief.members)
        step = self.belief.members / PLAN_MEMBERS
        places = np.minimum((np.arange(PLAN_MEMBERS) * step).astype(np.intp), self.belief.members - 1)
        return picked(self.belief, many[places])

    @cached_property
    def members(self) -> Members:
        """What a plan works on."""
        sample = self.sample
        seen = shown(sample)
        return Members(
            ensemble=sample.ensemble,
            form_v_pct=seen.form_v_pct,
            unstable_pct=seen.unstable_pct,
            pieces_pct=seen.pieces_pct,
            eye_lumps_ln=sample.cook[EYE_LUMPS],
            eye_thick_ln=sample.cook[EYE_THICK],
            pace_ln=sample.cook[SMEAR_PACE],
            offset_C=sample.ensemble.parameters[rows.PROBE_OFFSET_K],
            chance=member_chances(sample, seen),
            temper=sample.temper,
        )

    @cached_property
    def means(self) -> frozenset[str]:
        """Means that may be asked for."""
        return allowed_means(self.belief.start, self.belief.ensemble.bowl.vessel.material)

    @cached_property
    def seed_used_g(self) -> float:
        """Seed that was logged."""
        return float(sum(event.mass_g for event in self.belief.acts if isinstance(event, Seed)))

    @cached_property
    def aim(self) -> Aim:
        """Where to go, and with what."""
        belief = self.belief
        bowl, temper = belief.ensemble.bowl, belief.temper
        at_hand = belief.start.seed_available_g
        plenty = PLENTY_SHARE * belief.start.mass_g
        # Where nothing was said of it there is enough, however much went in.
        least = MORE_SHARE * belief.start.mass_g if at_hand is None else 0.0
        left_g = max((plenty if at_hand is None else at_hand) - self.seed_used_g, least)
        left_g = left_g if left_g >= LEAST_SEED_SHARE * belief.start.mass_g else 0.0
        cools = bool(self.means & COOLED)
        by_kind = {
            "seed_above_K": SEEDED_ABOVE_K if cools else SEEDED_ABOVE_UNCOOLED_K,
            "size_m": self.size_mm / 1000.0,
        }
        if "seed" not in self.means and "cocoa_butter_crystals" in self.means:
            plenty = CRYSTALS_PLENTY_SHARE * belief.start.mass_g
            left_g = max(plenty - self.seed_used_g, CRYSTALS_MORE_SHARE * belief.start.mass_g)
            by_kind = {"seed_above_K": -CRYSTALS_BELOW_K, "seed_most": 0.012, "size_m": CRYSTAL_mm / 1000.0}
        return Aim(
            window_C=temper.window_C,
            form_v=temper.form_v,
            pieces_most=temper.pieces_most,
            unstable_of_form_v=temper.unstable_of_form_v,
            live_C=LIVE_C + bowl.shift_K,
            seed_kg=left_g / 1000.0,
            means=self.means,
            latent_K=0.62 * bowl.latent_K,
            seed_C=belief.start.room_C,
            **by_kind,
        )

    @property
    def size_mm(self) -> float:
        """How fine to chop: chips while they have heat to melt in, grated once the bowl is nearly where it shall be."""
        high = self.belief.temper.window_C[1]
        return CHIPS_mm if self.numbers.temperature_C > high + GRATED_BELOW_K else GRATED_mm

    @cached_property
    def heat_J_K(self) -> float:
        """Heat capacity of bowl and chocolate [J/K]."""
        k = self.belief.ensemble.bowl.constants
        return float(self.belief.ensemble.bowl.mass_kg * k[K_HEAT] + k[K_VESSEL])

    def _learned(self, factor: int) -> float:
        """What the members have learned of a factor: its geometric mean."""
        return float(np.exp(np.log(self.members.ensemble.parameters[factor]).mean()))

    @cached_property
    def bath_1_s(self) -> float:
        """How fast a bath moves the bowl: K/s for each K between them, by what this bowl has shown."""
        k = self.belief.ensemble.bowl.constants
        factor = self._learned(rows.BATH_FACTOR)
        through = 1.0 / (1.0 / max(float(k[K_BATH] * factor), 1e-6) + 1.0 / max(float(k[K_INNER]), 1e-6))
        return float(through / self.heat_J_K)

    @cached_property
    def oven_K_s(self) -> float:
        """How fast the microwave warms the bowl at the power asked for, ``MICROWAVE_W`` [K/s], by what it has shown."""
        share = self.belief.ensemble.bowl.constants[K_MICROWAVE] * self._learned(rows.MICROWAVE_FACTOR)
        return float(MICROWAVE_W * min(share, 1.0) / self.heat_J_K)

    @cached_property
    def air_K_s(self) -> float:
        """How fast hot air of ``HOT_AIR_W`` warms the bowl [K/s], by what this bowl has shown."""
        share = self.belief.ensemble.bowl.constants[K_HOT_AIR] * self._learned(rows.HOT_AIR_FACTOR)
        return float(HOT_AIR_W * min(share, 1.0) / self.heat_J_K)

    @cached_property
    def numbers(self) -> Numbers:
        """The bowl in numbers."""
        est = self.estimate
        lumps = _middle(est.seed_left_g)
        low, high = self.belief.temper.window_C
        return Numbers(
            temperature_C=_middle(est.temperature_C),
            low_C=low,
            high_C=high,
            form_v_pct=_middle(est.form_v_pct_of_fat),
            pieces_g=lumps,
            pieces_pct=100.0 * lumps / max(self.batch_g, 1.0),
            chance=est.chance_in_temper or 0.0,
            unstable_pct=_middle(est.unstable_pct_of_fat),
            film_min=_film_min(self.belief),
            unseen=not looks(self.belief),
        )

    @cached_property
    def batch_g(self) -> float:
        """The bowl as believed, g."""
        return _middle(self.estimate.batch_g)

    @property
    def alerts(self) -> tuple[Alert, ...]:
        """Of the estimate."""
        return self.estimate.alerts


def _middle(band: Band | None) -> float:
    return 0.0 if band is None else band.p50


def working_band(outlook: Outlook) -> Band | None:
    """Minutes until "in temper" first fails if the bowl is only stirred; ``None`` if it most likely is not in temper.

    Members that are not in temper now tell nothing of how long it lasts and are left out.
    """
    if outlook.numbers.chance < 0.3:
        return None
    sample = outlook.sample
    good = np.flatnonzero(in_temper(readings(sample.ensemble), sample.temper))
    if good.size < 8:
        return None
    ensemble = picked(sample, good[: 2 * (good.size // 2)]).ensemble
    around = Surroundings(room_C=sample.start.room_C, stir=1.0)
    lasted = np.zeros(ensemble.members)
    going = np.ones(ensemble.members, dtype=np.bool_)
    clock = 0.0
    while clock < 60.0 * WORK_HORIZON_MIN and going.any():
        ensemble = advance(ensemble, around, WORK_STEP_S, dt_s=2.0)
        clock += WORK_STEP_S
        going &= in_temper(readings(ensemble), sample.temper)
        lasted[going] = clock
    return Band(*(float(q) / 60.0 for q in np.quantile(lasted, (0.05, 0.5, 0.95))))
