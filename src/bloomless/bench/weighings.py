"""Weighings of packs: what the market's rules of net quantity say, and the mass to aim at."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bloomless.errors import ImpossibleInput, UnknownName
from bloomless.rules.common.filling import FillingTarget, filling_target
from bloomless.rules.eu.net_quantity import (
    check_batch,
    double_plan,
    reference_mean_test,
    tolerable_negative_error_g,
)
from bloomless.rules.law import law_of
from bloomless.rules.rule import Finding
from bloomless.rules.us.net_quantity import check_lot, maximum_allowable_variation_g

__all__ = ["WeighedBatch", "weighed"]


@dataclass(frozen=True, slots=True)
class WeighedBatch:
    """What a series of weighings says."""

    market: str
    n: int
    mean_g: float
    sd_g: float
    tolerable_g: Decimal
    """Tolerable negative error (Union, UK) or maximum allowable variation (US) [g]."""
    findings: tuple[Finding, ...]
    plan: str
    """What the inspector's sampling plan would say, in words; empty where it does not apply."""
    target: FillingTarget | None
    """None with fewer than five weighings."""

    @property
    def passes(self) -> bool:
        """Whether nothing was found against the batch."""
        return not self.findings


def weighed(nominal_g: Decimal, net_g: Sequence[float], market: str, day: date, *, batch: int) -> WeighedBatch:
    """Judge weighings by the market's rules as of a day.

    Parameters
    ----------
    nominal_g
        Labelled net mass [g].
    net_g
        Net masses of packs, tare taken off [g].
    market
        ``us``, ``eu``, ``uk`` or ``ni``.
    day
        Day whose law binds.
    batch
        Packs in the whole batch; not fewer than were weighed.
    """
    if market not in {"us", "eu", "uk", "ni"}:
        raise UnknownName("market", market, ("us", "eu", "uk", "ni"))
    if not net_g:
        raise ImpossibleInput("net_g", 0, "at least one weighing")
    if batch < len(net_g):
        raise ImpossibleInput("batch", batch, f"at least the {len(net_g)} packs weighed")
    if any(not 0 < g < 10 * float(nominal_g) for g in net_g):
        raise ImpossibleInput("net_g", list(net_g), "net masses in grams, above 0 and near the nominal")
    law = law_of(day)
    jurisdiction = {"ni": "uk"}.get(market, market)
    target = filling_target(nominal_g, net_g, law, market=jurisdiction, batch=batch) if len(net_g) >= 5 else None
    if jurisdiction == "us":
        lot = check_lot(nominal_g, law, net_g=net_g, lot=batch)
        mav = maximum_allowable_variation_g(nominal_g, law)
        return WeighedBatch(market, lot.n, lot.mean_g, lot.sd_g, mav, lot.findings, "", target)
    found = check_batch(nominal_g, net_g, law, jurisdiction=jurisdiction)
    findings, plan = list(found.findings), ""
    whole = batch < law.figure("eu.all_packs_below") or len(net_g) == batch
    if whole and len(net_g) == batch:
        findings += reference_mean_test(nominal_g, law, batch=min(batch, 99), mean_g=found.mean_g)
    elif not whole and len(net_g) > 1:
        sd = statistics.stdev(net_g)
        findings = [finding for finding in findings if not finding.rule.endswith("rule_1")]
        findings += reference_mean_test(nominal_g, law, batch=batch, mean_g=found.mean_g, sd_g=sd, n=len(net_g))
        first = double_plan(batch, found.below_tne, law)
        words = {"accept": "accepted", "reject": "rejected", "second": f"a second sample of {first.second} decides"}
        plan = f"An inspector's first sample is {first.first} packs; {found.below_tne} light: {words[first.decision]}."
    else:
        plan = "Below 100 packs every pack is weighed; weigh the rest."
    tne = tolerable_negative_error_g(nominal_g, law)
    return WeighedBatch(market, found.n, found.mean_g, found.sd_g, tne, tuple(findings), plan, target)
