"""How large the model's own error is: fitted to recorded benches by how well they had been foreseen.

Every reading, look and smear has a chance beforehand; their product is the evidence of a session, which the particle
filter estimates as it goes (``Belief.log_evidence``). Too small a model error makes the filter sure and then surprised,
too large a one makes everything a little unexpected; between lies a maximum. Nothing hidden is needed for it, so that
benches of real kitchens serve as well as simulated ones (marginal likelihood, also called type-II maximum likelihood).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bloomless.errors import ImpossibleInput
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import Settings
from bloomless.estimation.events import BowlEvent, Start
from bloomless.estimation.take import take

__all__ = ["SOURCES", "Fit", "Recorded", "fit", "log_evidence"]

SOURCES = ("noise_temperature", "noise_crystals", "noise_pieces", "noise_loss")
"""Kinds of model error: fields of ``Settings``."""
FACTORS = (1.0 / 3.0, 1.0, 3.0)


@dataclass(frozen=True, slots=True)
class Recorded:
    """One bench as it was told."""

    start: Start
    events: tuple[BowlEvent, ...]


@dataclass(frozen=True, slots=True)
class Fit:
    """What the recorded benches say of one kind of model error."""

    source: str
    factors: tuple[float, ...]
    """What its size was multiplied by."""
    log_evidence: tuple[float, ...]
    """Summed over the benches, for each factor."""
    best: float
    """Where a parabola through them in the logarithm of the factor has its top, within the factors tried."""


def log_evidence(recorded: Recorded, settings: Settings, *, members: int, seed: int) -> float:
    """Ln of the chance that everything told in a bench had beforehand."""
    belief = begin(recorded.start, seed=seed, members=members, settings=settings)
    for event in recorded.events:
        belief = take(belief, event)
    return belief.log_evidence


def _with(source: str, factor: float) -> Settings:
    """Settings with one kind of model error that much larger."""
    return replace(Settings(), **{source: factor})  # type: ignore[arg-type]  # SOURCES are the float fields


def fit(benches: Sequence[Recorded], *, members: int = 2000, seed: int = 1) -> tuple[Fit, ...]:
    """Fit the size of each kind of model error, the others left as they are.

    Parameters
    ----------
    benches
        Recorded sessions, not those on which success is reported.
    members, seed
        Of the filter; the same chance serves every factor, so that differences are of the factor.

    Raises
    ------
    ImpossibleInput
        Without a bench.
    """
    if not benches:
        raise ImpossibleInput("benches", 0, "at least one recorded bench")

    def total(settings: Settings) -> float:
        return sum(log_evidence(told, settings, members=members, seed=seed + n) for n, told in enumerate(benches))

    usual = total(Settings())
    found = []
    for source in SOURCES:
        told = [usual if f == 1.0 else total(_with(source, f)) for f in FACTORS]
        found.append(Fit(source, FACTORS, tuple(told), _top(told)))
    return tuple(found)


def _top(told: Sequence[float]) -> float:
    """Factor at the top of a parabola through three evidences; the best end where there is no top between."""
    ln = np.log(FACTORS)
    bend, slope, _ = np.polyfit(ln, told, 2)
    if bend >= 0.0:
        return FACTORS[int(np.argmax(told))]
    # Clipped once more: the exponential of a logarithm may miss its number by a rounding.
    return float(np.clip(np.exp(np.clip(-0.5 * slope / bend, ln[0], ln[-1])), FACTORS[0], FACTORS[-1]))
