"""Sums over the kitchens of a study: shares with intervals, calibration, scores, errors and covers."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from bloomless.studies.intervals import wilson
from bloomless.studies.told import faults_told

__all__ = ["calibration", "summarise"]

Record = Mapping[str, Any]
BINS = 10


def calibration(records: Sequence[Record]) -> dict[str, Any]:
    """Calibration of the chance in ten bins, its mean error, Brier score and skill; each kitchen weighs one."""
    chance, true, weight = _weighted(records)
    if len(chance) == 0:
        return {"bins": [], "error": None, "brier": None, "base_rate": None, "skill": None}
    total = weight.sum()
    place = np.minimum((chance * BINS).astype(int), BINS - 1)
    bins, error = [], 0.0
    for b in range(BINS):
        inside = place == b
        mass = weight[inside].sum()
        if mass == 0.0:
            continue
        said = float((weight * chance)[inside].sum() / mass)
        came = float((weight * true)[inside].sum() / mass)
        bins.append({"said": said, "came_true": came, "weight": float(mass / total), "replies": int(inside.sum())})
        error += float(mass / total) * abs(said - came)
    brier = float((weight * (chance - true) ** 2).sum() / total)
    base = float((weight * true).sum() / total)
    spread = base * (1.0 - base)
    skill = None if spread == 0.0 else 1.0 - brier / spread
    return {"bins": bins, "error": error, "brier": brier, "base_rate": base, "skill": skill}


Floats = npt.NDArray[np.float64]


def _weighted(records: Sequence[Record]) -> tuple[Floats, Floats, Floats]:
    chance, true, weight = [], [], []
    for record in records:
        pairs = _advised(record).get("chances") or []
        for said, came in pairs:
            chance.append(said)
            true.append(came)
            weight.append(1.0 / len(pairs))
    return np.array(chance, float), np.array(true, float), np.array(weight, float)


def _advised(record: Record) -> Mapping[str, Any]:
    return record["cooks"].get("advised") or {}


def _cook(records: Sequence[Record], cook: str) -> dict[str, Any] | None:
    ended = [record["cooks"][cook] for record in records if cook in record["cooks"]]
    if not ended:
        return None
    used = [e for e in ended if e["used"]] or ended
    minutes = np.array([e["minutes"] for e in used])
    reasons = Counter(
        ("" if e["used"] else "not used: ") + (", ".join(e["wrong"]) or "in temper") for e in ended if not e["success"]
    )
    return {
        "success": wilson(sum(e["success"] for e in ended), len(ended)),
        "used": len([e for e in ended if e["used"]]),
        "minutes_mean": float(minutes.mean()),
        "minutes_p95": float(np.percentile(minutes, 95)),
        "seed_share_mean": float(np.mean([e["seed_share"] for e in ended])),
        "actions_mean": float(np.mean([e["actions"] for e in ended])),
        "cpu_s_mean": float(np.mean([e["cpu_s"] for e in ended])),
        "failures": dict(reasons.most_common(12)),
    }


def _cooks(records: Sequence[Record]) -> dict[str, Any]:
    names = dict.fromkeys(name for record in records for name in record["cooks"])
    return {name: _cook(records, name) for name in names}


def _estimates(records: Sequence[Record]) -> dict[str, Any]:
    """Root mean square error and cover of each estimated quantity, each kitchen weighing one."""
    graded: dict[str, list[Mapping[str, float]]] = {}
    for record in records:
        for name, grade in (_advised(record).get("estimates") or {}).items():
            if grade is not None:
                graded.setdefault(name, []).append(grade)
    sums: dict[str, Any] = {
        name: {
            "rms_error": math.sqrt(float(np.mean([g["mse"] for g in grades]))),
            "cover_of_90_pct": float(np.mean([g["cover"] for g in grades])),
            "kitchens": len(grades),
        }
        for name, grades in graded.items()
    }
    pairs = [pair for record in records for pair in _advised(record).get("to_temper") or ()]
    sums["minutes_to_temper"] = _banded(pairs)
    sums["minutes_before_the_start"] = _banded(_before(records))
    sums["working_minutes_left"] = _banded(_ends(records, "working_minutes"))
    ahead = np.array([pair for record in records for pair in _advised(record).get("ahead") or ()])
    if len(ahead):
        error, error_now = ahead[:, 1] - ahead[:, 3], ahead[:, 0] - ahead[:, 2]
        # What a thermometer that is off will show is off by as much then as now: the fall alone is what it can check.
        for name, miss in (("temperature", error), ("thermometer", error - error_now)):
            sums[f"{name}_ten_minutes_ahead_C"] = {
                "rms_error": float(np.sqrt(np.mean(miss**2))),
                "mean_error": float(np.mean(miss)),
                "forecasts": len(ahead),
            }
    return sums


def _before(records: Iterable[Record]) -> list[list[float]]:
    """Minutes told before the start, beside those it took, of the bowls that were used."""
    rows = []
    for cook in map(_advised, records):
        told = (cook.get("before") or {}).get("minutes")
        if cook.get("used") and told:
            rows.append([told["p05"], told["p50"], told["p95"], cook["minutes"]])
    return rows


def _ends(records: Iterable[Record], name: str) -> list[list[float]]:
    ends = [_advised(record).get("at_the_end") or {} for record in records if _advised(record).get("used")]
    return [end[name] for end in ends if end.get(name)]


def _banded(rows: Sequence[Sequence[float]]) -> dict[str, Any] | None:
    """Error of the median and cover of the band for rows of p05, p50, p95, truth."""
    if not rows:
        return None
    table = np.array(rows)
    return {
        "median_error": float(np.median(np.abs(table[:, 1] - table[:, 3]))),
        "cover_of_90_pct": float(np.mean((table[:, 0] <= table[:, 3]) & (table[:, 3] <= table[:, 2]))),
        "bands": len(table),
    }


def _form_v_at_use(records: Sequence[Record]) -> dict[str, Any] | None:
    """Share of used bowls in which the median is within a factor of 1.5 of the truth; cover of the band."""
    rows = _ends(records, "form_v")
    if not rows:
        return None
    table = np.maximum(np.array(rows), 0.01)
    near = np.abs(np.log(table[:, 1] / table[:, 3])) <= math.log(1.5)
    held = (table[:, 0] <= table[:, 3]) & (table[:, 3] <= table[:, 2])
    return {"within_factor_1_5": wilson(int(near.sum()), len(near)), "cover_of_90_pct": float(held.mean())}


def _variety(records: Sequence[Record]) -> dict[str, Any] | None:
    """Effective size and ancestors left when the kitchens ended: median and least, as shares of the members."""
    rows = [shares for record in records if (shares := _advised(record).get("variety"))]
    if not rows:
        return None
    columns = zip(("effective_share", "ancestor_share"), np.array(rows).T, strict=True)
    return {
        name: {"median": float(np.median(of)), "least": float(of.min()), "kitchens": len(of)} for name, of in columns
    }


def _group(records: Sequence[Record]) -> dict[str, Any]:
    return {
        "kitchens": len(records),
        "cooks": _cooks(records),
        "calibration": calibration(records),
        "form_v_at_use": _form_v_at_use(records),
        "estimates": _estimates(records),
        "variety": _variety(records),
    }


def summarise(records: Sequence[Record]) -> dict[str, Any]:
    """Everything a study reports, from the records of its kitchens in any order.

    Returns
    -------
    A JSON object: ``all``, ``by_kind`` and ``by_fault``, each with the cooks, the calibration and the estimates;
    ``faults_told`` (`told.faults_told`), empty where no advised cook worked.
    """
    records = sorted(records, key=lambda r: r["number"])
    kinds = sorted({r["kind"] for r in records})
    faults = sorted({r["fault"] for r in records if r["fault"]})
    return {
        "all": _group(records),
        "by_kind": {kind: _group([r for r in records if r["kind"] == kind]) for kind in kinds},
        "by_fault": {fault: _group([r for r in records if r["fault"] == fault]) for fault in faults},
        "faults_told": faults_told(records),
    }
