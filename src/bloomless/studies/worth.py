"""What each kind of evidence is worth: how much it narrows the belief, and how much nearer the truth it brings it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from bloomless.bench.log import BenchLog
from bloomless.estimation.answers import Band, Estimate
from bloomless.estimation.estimate import estimate
from bloomless.estimation.passing import passed
from bloomless.kitchens import Hands, Line, Truth, World, draw_kitchen
from bloomless.studies.advised import AdvisedCook
from bloomless.studies.benched import MEMBERS, BenchAdviser
from bloomless.studies.case import CaseSpec, chances_of

__all__ = ["EVIDENCE", "Told", "worth_case", "worth_rows"]

EVIDENCE: Final = {
    "reading": "a reading",
    "look": "a look",
    "smear": "a smear that has set, or has not",
    "probe_check": "a check of the thermometer in ice",
}
"""Kinds of evidence, in words."""
LEAST_FORM_V_PCT: Final = 0.02


@dataclass(frozen=True, slots=True)
class Told:
    """One piece of evidence: what was believed right before it and right after, and what was true."""

    what: str
    before: Estimate
    after: Estimate
    truth: Truth


@dataclass(slots=True)
class _Watched:
    """An adviser that writes down what each piece of evidence did to the belief."""

    inner: BenchAdviser
    log: BenchLog
    truth: Callable[[], Truth]
    told: list[Told] = field(default_factory=list)

    def take(self, line: Line) -> dict[str, Any] | None:
        """Take a line, as a bench does."""
        bench = self.log.bench
        speaks = line["what"] in EVIDENCE and not (line["what"] == "smear" and not _verdict(line))
        if bench is None or not speaks:
            return self.inner.take(line)
        before = estimate(passed(bench.belief, float(line["at"])))
        reply = self.inner.take(line)
        self.told.append(Told(line["what"], before, bench.estimate(), self.truth()))
        return reply


def _verdict(line: Line) -> bool:
    return "set_after_s" in line or "not_set_after_s" in line


def worth_case(spec: CaseSpec) -> list[Told]:
    """Every piece of evidence that an advised cook told in one kitchen."""
    chances = chances_of(spec)
    kitchen = draw_kitchen(chances["kitchen"], spec.kind, spec.fault)
    hands = Hands(World.begin(kitchen, chances["advised"]))
    log = BenchLog(seed=int(chances["filter"].integers(2**31)), members=spec.members or MEMBERS)
    watched = _Watched(BenchAdviser(log), log, hands.world.truth)
    AdvisedCook(hands, watched).work()
    return watched.told


def _width(band: Band | None) -> float | None:
    return None if band is None else band.p95 - band.p05


def _log_width(band: Band | None) -> float | None:
    if band is None or band.p05 < LEAST_FORM_V_PCT:
        return None
    return math.log(band.p95 / band.p05)


def _median_ratio(pairs: Sequence[tuple[float | None, float | None]]) -> float | None:
    ratios = [after / before for before, after in pairs if before is not None and after is not None and before > 1e-9]
    return float(np.median(ratios)) if ratios else None


def worth_rows(told: Sequence[Told]) -> Iterator[dict[str, Any]]:
    """For each kind of evidence: what is left of the width of the 90 % bands, and the Brier score of the chance.

    Returns
    -------
    Objects with ``what``, ``count``, the medians ``temperature``, ``form_v`` (in ln, where there are crystals) and
    ``pieces`` of width after ÷ width before, and
    ``brier_before`` and ``brier_after``: the mean square of chance less truth; lower is better.
    """
    for what in EVIDENCE:
        mine = [one for one in told if one.what == what]
        if not mine:
            continue
        yield {
            "what": what,
            "count": len(mine),
            "temperature": _median_ratio(
                [(_width(t.before.temperature_C), _width(t.after.temperature_C)) for t in mine]
            ),
            "form_v": _median_ratio(
                [(_log_width(t.before.form_v_pct_of_fat), _log_width(t.after.form_v_pct_of_fat)) for t in mine]
            ),
            "pieces": _median_ratio([(_width(t.before.seed_left_g), _width(t.after.seed_left_g)) for t in mine]),
            "brier_before": _brier([(t.before.chance_in_temper, t.truth.in_temper) for t in mine]),
            "brier_after": _brier([(t.after.chance_in_temper, t.truth.in_temper) for t in mine]),
        }


def _brier(pairs: Sequence[tuple[float | None, bool]]) -> float:
    return float(np.mean([((chance or 0.0) - true) ** 2 for chance, true in pairs]))
