"""The report of a study: JSON for programs, one HTML page with plots for people."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from bloomless import __version__
from bloomless.kitchens import FAULTS
from bloomless.studies.plots import WORDS, calibration_svg, minutes_svg, success_svg
from bloomless.studies.targets import against_targets

__all__ = ["write_report"]

QUANTITIES = {
    "temperature_C": ("temperature", "°C"),
    "form_v_pct_of_fat": ("form V", "% of fat"),
    "unstable_pct_of_fat": ("unstable forms", "% of fat"),
    "seed_left_g": ("pieces left", "g"),
    "batch_g": ("weight of the bowl", "g"),
    "minutes_before_the_start": ("minutes to use, told before the start", "min"),
    "minutes_to_temper": ("minutes to temper", "min"),
    "working_minutes_left": ("working minutes left", "min"),
    "temperature_ten_minutes_ahead_C": ("temperature ten minutes ahead", "°C"),
    "thermometer_ten_minutes_ahead_C": ("the same as this thermometer will show it", "°C"),
}


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    error: str
    cover: str
    count: str


def _pct(share: float) -> str:
    return f"{100 * share:.1f} %"


def _number(value: float | None, digits: int = 1) -> str:
    return "–" if value is None else f"{value:.{digits}f}"


def _rows(estimates: Mapping[str, Any]) -> list[_Row]:
    rows = []
    for key, (name, unit) in QUANTITIES.items():
        grade = estimates.get(key)
        if not grade:
            continue
        rms, cover = grade.get("rms_error"), grade.get("cover_of_90_pct")
        error = f"{rms:.2f} {unit}" if rms is not None else f"{grade['median_error']:.1f} {unit}"
        of = next(f"{grade[k]} {k}" for k in ("kitchens", "bands", "forecasts") if k in grade)
        rows.append(_Row(name, error, "" if cover is None else _pct(cover), of))
    return rows


def _headline(cooks: Mapping[str, Any]) -> str:
    said = [
        f"{WORDS[name]} {_pct(cook['success']['share'])} in {cook['minutes_mean']:.0f} minutes"
        for name, cook in cooks.items()
    ]
    return "In temper when used: " + "; ".join(said) + "."


def write_report(
    out: Path, setting: Mapping[str, Any], summary: Mapping[str, Any], records: Sequence[Mapping[str, Any]]
) -> tuple[Path, Path]:
    """Write `study.json` and `study.html` and return their paths."""
    targets = against_targets(summary, faults=bool(setting["faults"]), wrong_constants=bool(setting["wrong_constants"]))
    as_json = out / "study.json"
    payload = {"study": dict(setting), "program": __version__, "summary": summary, "targets": targets}
    as_json.write_text(json.dumps(payload, indent=1) + "\n", encoding="utf-8")
    environment = Environment(
        loader=PackageLoader("bloomless.studies", "."), autoescape=True, undefined=StrictUndefined
    )
    environment.globals.update(pct=_pct, number=_number, words=WORDS, what_happens=FAULTS)
    everything = summary["all"]
    page = environment.get_template("report.html.j2").render(
        all=everything,
        setting=setting,
        version=__version__,
        headline=_headline(everything["cooks"]),
        rows=_rows(everything["estimates"]),
        targets=targets,
        faults_told=summary["faults_told"],
        minutes_svg=Markup(minutes_svg(records)),
        kind_svg=Markup(success_svg({"all": everything, **summary["by_kind"]})),
        fault_svg=Markup(success_svg(summary["by_fault"], FAULTS)) if summary["by_fault"] else "",
        calibration_svg=Markup(calibration_svg(everything["calibration"])),
    )
    as_html = out / "study.html"
    as_html.write_text(page, encoding="utf-8")
    return as_json, as_html
