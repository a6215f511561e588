"""The advised cook's adviser: a bench log, fed the same text as the command `bloomless bench` reads."""

from __future__ import annotations

import json
import math
from dataclasses import fields, replace
from typing import Any

from numpy.random import Generator, Philox, SeedSequence

from bloomless.bench.log import BenchLog
from bloomless.bench.session import Bench
from bloomless.errors import Misuse
from bloomless.estimation.begin import usual_priors
from bloomless.estimation.events import Composition
from bloomless.estimation.moves import variety
from bloomless.kitchens import Line
from bloomless.materials.chocolates import chocolate
from bloomless.physics.priors import BowlPriors, priors_for
from bloomless.sources import Sourced
from bloomless.studies.case import CaseSpec

__all__ = ["BenchAdviser", "bench", "wrong_priors"]

MEMBERS = 3000
WRONG_BY = 2.0
"""Deliberately wrong constants are drawn from so many times their prior spread, each kitchen with its own draw."""


class BenchAdviser:
    """Advice over the bench log.

    Parameters
    ----------
    log
        The session.
    """

    def __init__(self, log: BenchLog) -> None:
        self._log = log

    def take(self, line: Line) -> dict[str, Any] | None:
        """Take a line; the reply where its kind is answered."""
        return self._log.feed(json.dumps(line))

    @property
    def _bench(self) -> Bench:
        if self._log.bench is None:
            raise Misuse("A bench that was not started believes nothing.", code="not_started")
        return self._log.bench

    def temperature_ahead_C(self, minutes: float) -> tuple[float, float] | None:
        """Median temperature now and then, with stirring only."""
        now, *_, then = (e.temperature_C for e in self._bench.forecast([], minutes, every_s=60.0 * minutes))
        return None if now is None or then is None else (now.p50, then.p50)

    def variety(self) -> tuple[float, float]:
        """Effective size and ancestors left of the ensemble, as shares of its members."""
        return variety(self._bench.belief)


def wrong_priors(chance: Generator, kind: str) -> BowlPriors:
    """Priors of a chocolate whose centres are wrong, each off by a draw from twice the spread its source gives.

    The spread that counts is that of the physics; where a belief begins with a wider one, that is its own margin for
    such errors and stays what it is. What the start says of the thermometer replaces two of them again.
    """
    priors = usual_priors(Composition(kind=kind))  # type: ignore[arg-type]
    known = priors_for(chocolate(kind))  # type: ignore[arg-type]
    names = [field.name for field in fields(priors)]
    return replace(priors, **{name: _moved(chance, getattr(priors, name), getattr(known, name)) for name in names})


def _moved(chance: Generator, prior: Sourced, known: Sourced) -> Sourced:
    error = WRONG_BY * chance.standard_normal()
    if prior.spread_is == "factor":
        return replace(prior, value=prior.value * math.exp(math.log(known.spread) * error))
    value = prior.value + known.spread * error
    # A share stays a share.
    return replace(prior, value=min(max(value, 0.05), 1.0) if prior.unit == "1" else value)


def bench(spec: CaseSpec, kind: str, seed: int) -> BenchAdviser:
    """Make the adviser of a case from a seed."""
    priors = None
    if spec.wrong_constants:
        priors = wrong_priors(Generator(Philox(SeedSequence([seed, 1]))), kind)
    return BenchAdviser(BenchLog(seed=seed, members=spec.members or MEMBERS, priors=priors))
