"""Net quantity by Directive 76/211/EEC and SI 2006/659: tolerable errors, packer's rules, reference tests, figures."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from scipy.special import stdtrit

from bloomless.errors import ImpossibleInput
from bloomless.rules.common.bands import band
from bloomless.rules.decimals import HUNDRED, ceil_to
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding

__all__ = [
    "Batch",
    "DoublePlan",
    "check_batch",
    "double_plan",
    "figure_height_mm",
    "mean_limit_g",
    "reference_mean_test",
    "tolerable_negative_error_g",
]  # fmt: skip


def tolerable_negative_error_g(nominal_g: Decimal, law: Law) -> Decimal:
    """Tolerable negative error [g]; percentages are rounded up to 0.1 g.

    Raises
    ------
    ImpossibleInput
        Outside 5 g to 10 kg, which the directive covers.
    """
    least, most = law.figure("eu.smallest_net_g"), law.figure("eu.largest_net_g")
    if not least <= nominal_g <= most:
        raise ImpossibleInput("nominal_g", nominal_g, f"{least} to {most} g, the range of the directive")
    row: Any = band("eu.tne", nominal_g, law)
    if row["percent"]:
        return ceil_to(nominal_g * row["percent"] / HUNDRED, law.figure("eu.tne_step_g"))
    absolute: Decimal = row["absolute_g"]
    return absolute


def figure_height_mm(nominal_g: Decimal, law: Law) -> Decimal:
    """Least height of the figures of the net quantity [mm]."""
    row: Any = band("eu.figure_height", nominal_g, law)
    height: Decimal = row["height_mm"]
    return height


def mean_limit_g(nominal_g: float, sd_g: float, n: int, law: Law) -> float:
    """Least mean [g] that the test for the mean accepts: Qn − t(0.995, n − 1)·s/√n."""
    t = float(stdtrit(n - 1, float(law.figure("eu.mean_confidence"))))
    return nominal_g - t * sd_g / math.sqrt(n)


def reference_mean_test(
    nominal_g: Decimal, law: Law, *, batch: int, mean_g: float, sd_g: float = 0.0, n: int | None = None
) -> tuple[Finding, ...]:
    """The test for the mean; batches below 100 packs are weighed whole, and then the mean itself decides."""
    if batch < law.figure("eu.all_packs_below"):
        limit = float(nominal_g)
    else:
        row: Any = band("eu.mean_test", Decimal(batch), law)
        limit = mean_limit_g(float(nominal_g), sd_g, n or int(row["sample"]), law)
    return law.judge("eu", "reference_test", {"mean_g": mean_g, "mean_limit_g": limit})


@dataclass(frozen=True, slots=True)
class DoublePlan:
    """Decision of the double sampling plan on packs below Qn − TNE."""

    first: int
    second: int
    decision: str
    """``accept``, ``reject`` or ``second`` (take the second sample)."""


def double_plan(batch: int, defective_first: int, law: Law, defective_second: int | None = None) -> DoublePlan:
    """The non-destructive plan of Annex II 2.2.1.

    Parameters
    ----------
    batch
        Packs in the batch, at least 100.
    defective_first, defective_second
        Packs below Qn − TNE in the first and in the second sample.
    """
    if batch < law.figure("eu.all_packs_below"):
        raise ImpossibleInput("batch", batch, "at least 100 packs; smaller batches are weighed whole")
    row: Any = band("eu.double_plan", Decimal(batch), law)
    first, second = int(row["first"]), int(row["second"])
    if defective_first <= row["accept_first"]:
        return DoublePlan(first, second, "accept")
    if defective_first >= row["reject_first"]:
        return DoublePlan(first, second, "reject")
    if defective_second is None:
        return DoublePlan(first, second, "second")
    both = defective_first + defective_second
    # accept and reject numbers leave no gap in the table; reject decides if a mutated table should
    return DoublePlan(first, second, "accept" if both <= row["accept_both"] and both < row["reject_both"] else "reject")


@dataclass(frozen=True, slots=True)
class Batch:
    """What a series of weighings says about the three packer's rules."""

    n: int
    mean_g: float
    sd_g: float
    tne_g: Decimal
    below_tne: int
    below_two_tne: int
    findings: tuple[Finding, ...]

    @property
    def passes(self) -> bool:
        """Whether nothing was found against the batch."""
        return not self.findings


def check_batch(nominal_g: Decimal, net_g: Sequence[float], law: Law, *, jurisdiction: str = "eu") -> Batch:
    """The three packer's rules on the packs weighed."""
    if not net_g:
        raise ImpossibleInput("weighings", 0, "at least one pack")
    tne = tolerable_negative_error_g(nominal_g, law)
    qn = float(nominal_g)
    below = sum(1 for g in net_g if g < qn - float(tne) - 1e-9)
    far = sum(1 for g in net_g if g < qn - 2 * float(tne) - 1e-9)
    mean = statistics.fmean(net_g)
    facts = {
        "mean_g": mean,
        "nominal_g": qn,
        "below_tne_pct": 100.0 * below / len(net_g),
        "below_two_tne": far,
    }
    sd = statistics.stdev(net_g) if len(net_g) > 1 else 0.0
    return Batch(len(net_g), mean, sd, tne, below, far, law.judge(jurisdiction, "net_quantity", facts))
