"""Net quantity in the US: dual units, type height, panel area, and the lot check of Handbook 133."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from scipy.special import stdtrit

from bloomless.errors import ImpossibleInput
from bloomless.rules.common.bands import band
from bloomless.rules.decimals import HUNDRED, ONE, floor_to, plain
from bloomless.rules.law import Law
from bloomless.rules.rule import Finding

__all__ = [
    "LotCheck", "check_lot", "maximum_allowable_variation_g", "net_height_in", "net_words",
    "sample_correction", "sample_size",
]  # fmt: skip

_CENT: Final = Decimal("0.01")
_OUNCES_IN_POUND: Final = 16


def net_words(net_g: Decimal, law: Law) -> str:
    """The declaration in both units, ounces first and never above the truth: ``Net Wt 3.52 oz (100 g)``.

    From one pound to below four, total ounces come first and pounds stand in parentheses with the metric figure; from
    four pounds on, pounds first (21 CFR 101.7(j)).
    """
    ounces = floor_to(net_g * law.figure("us.oz_per_g"), _CENT)
    grams = f"{plain(floor_to(net_g, ONE if net_g >= 10 else Decimal('0.1')))} g"
    if net_g >= 1000:
        grams = f"{plain(floor_to(net_g / 1000, _CENT))} kg"
    if ounces < _OUNCES_IN_POUND:
        return f"Net Wt {plain(ounces)} oz ({grams})"
    pounds, rest = divmod(ounces, _OUNCES_IN_POUND)
    in_pounds = f"{plain(pounds)} lb" + (f" {plain(rest)} oz" if rest else "")
    if pounds < 4:
        return f"Net Wt {plain(ounces)} oz ({in_pounds}; {grams})"
    return f"Net Wt {in_pounds} ({grams})"


def net_height_in(panel_in2: Decimal, law: Law, *, blown: bool = False) -> Decimal:
    """Least height of the net quantity [in] by the area of the principal display panel, 101.7(i)."""
    row: Any = band("us.net_height", panel_in2, law)
    height: Decimal = row["height_in"]
    return height + law.figure("us.blown_extra_in") if blown else height


def maximum_allowable_variation_g(label_g: Decimal, law: Law) -> Decimal:
    """How much short one package may be [g], Handbook 133 table 2-5 (from memory)."""
    row: Any = band("us.mav", label_g, law)
    allowed: Decimal = row["absolute_g"] + label_g * row["percent"] / HUNDRED
    return allowed


def sample_size(lot: int, law: Law) -> tuple[int, int]:
    """Packages to weigh of a lot and how many of them may exceed the variation, table 2-1 (from memory)."""
    row: Any = band("us.hb133_sample", Decimal(lot), law)
    return int(row["sample"]) or lot, int(row["exceedances"])


def sample_correction(n: int, law: Law) -> float:
    """The factor t(0.975, n − 1)/√n that multiplies the standard deviation."""
    if n < 2:
        raise ImpossibleInput("weighings", n, "at least two packages")
    return float(stdtrit(n - 1, float(law.figure("us.hb133_confidence")))) / math.sqrt(n)


@dataclass(frozen=True, slots=True)
class LotCheck:
    """What a series of weighings says."""

    n: int
    mean_g: float
    sd_g: float
    facts: dict[str, Any]
    findings: tuple[Finding, ...]

    @property
    def passes(self) -> bool:
        """Whether nothing was found against the lot."""
        return not self.findings


def check_lot(
    label_g: Decimal, law: Law, *, net_g: Sequence[float] = (), lot: int | None = None,
    summary: tuple[int, float, float] | None = None,
) -> LotCheck:  # fmt: skip
    """Both tests of Handbook 133 on weighings.

    Parameters
    ----------
    label_g
        Labelled net mass [g].
    law
        The law in force.
    net_g
        Net masses weighed [g].
    lot
        Packages in the lot; the number weighed unless given.
    summary
        Instead of weighings: their number, mean error [g] and standard deviation [g]; the test of single packages is
        then left out.
    """
    mav = maximum_allowable_variation_g(label_g, law)
    if summary is not None:
        n, error, sd = summary
        short = 0
    else:
        n = len(net_g)
        if n < 2:
            raise ImpossibleInput("weighings", n, "at least two packages")
        error, sd = statistics.fmean(net_g) - float(label_g), statistics.stdev(net_g)
        short = sum(1 for g in net_g if float(label_g) - g > float(mav) + 1e-9)
    # every package of the lot was weighed: then the mean is known and needs no allowance for sampling
    limit = 0.0 if lot is not None and n >= lot else sample_correction(n, law) * sd
    allowed = sample_size(lot or n, law)[1]
    facts = {
        "mean_error_g": error, "limit_g": limit, "mean_error_plus_limit_g": error + limit, "short_by_mav": short,
        "allowed_short": allowed, "mav_g": mav,
    }  # fmt: skip
    return LotCheck(n, float(label_g) + error, sd, facts, law.judge("us", "net_quantity", facts))
