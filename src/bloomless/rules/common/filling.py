"""The filling target: the least mass to aim at so that the rules of net quantity hold, from the spread of weighings."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from scipy.special import bdtri, chdtri, ndtri

from bloomless.errors import ImpossibleInput
from bloomless.rules.eu.net_quantity import tolerable_negative_error_g
from bloomless.rules.law import Law
from bloomless.rules.us.net_quantity import maximum_allowable_variation_g, sample_correction, sample_size

__all__ = ["FillingTarget", "filling_target"]


@dataclass(frozen=True, slots=True)
class FillingTarget:
    """What to aim at, and what that gives away."""

    target_g: float
    give_away_g: float
    """Mean above the nominal [g a pack]."""
    sd_g: float
    sd_high_g: float
    """Upper end of the standard deviation that the number of weighings leaves open, used for the target."""
    binding: str
    """Which rule asks for it."""
    chance: float
    """Chance that a batch of this size aimed so keeps the rules, if the spread stays."""


def filling_target(
    nominal_g: Decimal, net_g: Sequence[float], law: Law, *, market: str, batch: int, chance: float = 0.95
) -> FillingTarget:
    """The least target that keeps the packer's rules with a chance.

    Two things pull: the mean of the batch must not lie below the nominal (with the allowance the market gives to a
    sample), and hardly a pack may lie below the nominal less the tolerable error (EU, UK: 2.5 % of packs; US: no pack
    short by more than the variation allowed). The spread is taken at its upper 80 % confidence limit (χ²), because ten
    weighings do not know it.

    Parameters
    ----------
    nominal_g
        Labelled net mass [g].
    net_g
        Real weighings of the same filling [g], at least five.
    law
        The law in force.
    market
        ``us``, ``eu`` or ``uk``.
    batch
        Packs in the batch.
    chance
        Wanted chance that the batch keeps the rules.
    """
    n = len(net_g)
    if n < 5:
        raise ImpossibleInput("weighings", n, "at least five weighings of the same filling")
    if market not in {"us", "eu", "uk"}:
        raise ImpossibleInput("market", market, "us, eu or uk")
    if batch < 1:
        raise ImpossibleInput("batch", batch, "at least one pack")
    sd = statistics.stdev(net_g)
    sd_high = sd * math.sqrt((n - 1) / float(chdtri(n - 1, 0.8)))
    mean_needs, tail_needs = _needs(nominal_g, sd_high, law, market, batch, chance)
    qn = float(nominal_g)
    target = max(mean_needs, tail_needs, qn)
    binding = "the mean" if mean_needs >= tail_needs else "the single pack"
    return FillingTarget(target, target - qn, sd, sd_high, binding, chance)


def _needs(nominal_g: Decimal, sd_g: float, law: Law, market: str, batch: int, chance: float) -> tuple[float, float]:
    """Least target for the mean and for the single pack."""
    qn, z = float(nominal_g), float(ndtri(chance))
    if market == "us":
        mav = float(maximum_allowable_variation_g(nominal_g, law))
        # an inspector weighs a sample and allows for it; a lot weighed whole has no such allowance
        sample, _ = sample_size(batch, law)
        allowance = sample_correction(sample, law) if sample < batch else 0.0
        mean = qn + max(0.0, z / math.sqrt(sample) - allowance) * sd_g
        share = 1.0 - chance ** (1.0 / batch)
        return mean, qn - mav - float(ndtri(share)) * sd_g
    tne = float(tolerable_negative_error_g(nominal_g, law))
    # whole batch known: its own mean must not fall short; the sample test's allowance is no licence to underfill
    mean = qn + z * sd_g / math.sqrt(batch)
    allowed = math.floor(batch * float(law.figure("eu.packs_below_share")) / 100.0)
    share = _share_for(batch, allowed, chance)
    return mean, qn - tne - float(ndtri(share)) * sd_g


def _share_for(batch: int, allowed: int, chance: float) -> float:
    """The share of light packs at which at most ``allowed`` of ``batch`` turn up with the chance wanted."""
    return 0.5 if allowed >= batch else float(bdtri(allowed, batch, chance))
