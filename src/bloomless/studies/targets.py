"""What a study is held against: the figures the project set itself for the advised cook."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

__all__ = ["against_targets"]


def _at_least(limit: float) -> Callable[[float], bool]:
    return lambda value: value >= limit


def _at_most(limit: float) -> Callable[[float], bool]:
    return lambda value: value <= limit


def _row(name: str, value: float | None, shown: str, target: str, met: Callable[[float], bool]) -> dict[str, Any]:
    ok = value is not None and met(value)
    return {
        "name": name,
        "value": value,
        "shown": shown.format(value) if value is not None else "–",
        "target": target,
        "met": ok,
    }


def against_targets(
    summary: Mapping[str, Any], *, faults: bool = False, wrong_constants: bool = False
) -> list[dict[str, Any]]:
    """The figures of the advised cook beside their targets; empty where no advised cook worked."""
    everything = summary["all"]
    cook = everything["cooks"].get("advised")
    if cook is None:
        return []
    if faults:
        return _fault_rows(summary, cook)
    least = 0.95 if wrong_constants else 0.97
    name = "in temper when used"
    success = _row(name, cook["success"]["share"], "{:.1%}", f"≥ {least:.0%}", _at_least(least))
    return [success] if wrong_constants else [success, *_kind_rows(summary), *_other_rows(everything, cook)]


def _kind_rows(summary: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [
        _row(f"the same, {kind}", group["cooks"]["advised"]["success"]["share"], "{:.1%}", "≥ 96%", _at_least(0.96))
        for kind, group in summary["by_kind"].items()
        if kind != "cocoa_butter"
    ]


def _other_rows(everything: Mapping[str, Any], cook: Mapping[str, Any]) -> list[dict[str, Any]]:
    calibration, at_use = everything["calibration"], everything["form_v_at_use"] or {}
    near = (at_use.get("within_factor_1_5") or {}).get("share")
    ahead = everything["estimates"].get("temperature_ten_minutes_ahead_C") or {}
    shown = everything["estimates"].get("thermometer_ten_minutes_ahead_C") or {}
    cover = at_use.get("cover_of_90_pct")
    return [
        _row("minutes to use, mean", cook["minutes_mean"], "{:.1f}", "≤ 12", _at_most(12.0)),
        _row("minutes to use, 95th percentile", cook["minutes_p95"], "{:.1f}", "≤ 22", _at_most(22.0)),
        _row("seed, share of the melt, mean", cook["seed_share_mean"], "{:.1%}", "≤ 30%", _at_most(0.30)),
        _row("actions asked, mean", cook["actions_mean"], "{:.2f}", "≤ 6", _at_most(6.0)),
        _row("calibration error", calibration["error"], "{:.3f}", "≤ 0.05", _at_most(0.05)),
        _row("Brier skill", calibration["skill"], "{:.3f}", "≥ 0.65", _at_least(0.65)),
        _row("form V at use within a factor of 1.5", near, "{:.1%}", "≥ 90%", _at_least(0.90)),
        _row("truth inside the 90 % band of form V at use", cover, "{:.1%}", "85–95%", lambda v: 0.85 <= v <= 0.95),
        _row("temperature ten minutes ahead, rms error, K", ahead.get("rms_error"), "{:.2f}", "≤ 0.5", _at_most(0.5)),
        _row("the same as this thermometer will show it, K", shown.get("rms_error"), "{:.2f}", "≤ 0.5", _at_most(0.5)),
    ]


def _fault_rows(summary: Mapping[str, Any], cook: Mapping[str, Any]) -> list[dict[str, Any]]:
    share = cook["success"]["share"]
    rows = [_row("in temper when used, one fault in each kitchen", share, "{:.1%}", "≥ 93%", _at_least(0.93))]
    for fault, group in summary["by_fault"].items():
        rule = group["cooks"].get("taught_rule")
        if rule is not None:
            floor = rule["success"]["share"]
            value = group["cooks"]["advised"]["success"]["share"]
            name = f"{fault.replace('_', ' ')}: no worse than the taught rule"
            rows.append(_row(name, value, "{:.1%}", f"≥ {floor:.1%}", _at_least(floor)))
    return rows
