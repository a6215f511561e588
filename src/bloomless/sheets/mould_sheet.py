"""Paper and pictures of moulds: the cooling sheet as PDF, curves and the what-if table as SVG."""

from __future__ import annotations

import io
from collections.abc import Mapping
from textwrap import fill
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from bloomless.sheets.paper import pdf, pictures, template

__all__ = ["cooling_picture", "cooling_sheet", "cooling_sheet_pictures", "what_if_picture"]

# Okabe and Ito's colours, told apart by the colour-blind; every line has its own dashes as well.
_BLUE, _ORANGE, _GREEN, _RED, _GREY = "#0072B2", "#E69F00", "#009E73", "#D55E00", "#666666"


def _svg(figure: Figure) -> str:
    out = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": "bloomless", "svg.fonttype": "path", "font.family": "DejaVu Sans"}):
        FigureCanvasSVG(figure).print_svg(out, metadata={"Date": None, "Creator": None})  # type: ignore[no-untyped-call]
    return out.getvalue()


def cooling_picture(told: Mapping[str, Any]) -> str:
    """Temperatures and solid fat of the middle run, with the bands of setting and turning out, as SVG."""
    curves = told["curves"]
    minutes = np.array(curves["minutes"])
    figure = Figure(figsize=(7.2, 3.7), layout="constrained")
    top = figure.add_subplot()
    for name, words, colour, dash in (
        ("open_side_C", "open side", _BLUE, "--"), ("middle_C", "middle", _RED, "-"),
        ("mould_side_C", "mould side", _GREEN, "-."), ("air_C", "air", _GREY, ":"),
    ):  # fmt: skip
        top.plot(minutes, curves[name], color=colour, linestyle=dash, label=words, linewidth=1.8)
    top.set_xlabel("minutes in the cooling space")
    top.set_ylabel("°C")
    ends = [band["p95"] for band in (told["set_min"], told["out_min"]) if band is not None]
    top.set_xlim(0, min(minutes[-1], max(30.0, 1.7 * max(ends, default=minutes[-1]))))
    low, high = top.get_ylim()
    top.set_ylim(low - 0.2 * (high - low), high)
    solid = top.twinx()
    solid.plot(minutes, curves["solid_pct_of_fat"], color=_ORANGE, linewidth=2.2, label="solid fat")
    solid.set_ylabel("solid fat, % of the fat", color="#8a5f00")
    solid.set_ylim(0, 100)
    low, high = top.get_ylim()
    for band, words, place in ((told["set_min"], "set", 0.04), (told["out_min"], "out", 0.12)):
        if band is None:
            continue
        y = low + place * (high - low)
        top.plot([band["p05"], band["p95"]], [y, y], color="black", linewidth=4, alpha=0.55)
        top.plot([band["p50"]], [y], marker="|", color="black", markersize=11, markeredgewidth=2)
        top.annotate(words, (band["p95"], y), xytext=(5, 0), textcoords="offset points", va="center", fontsize=9)
    lines = [*top.get_lines()[:4], solid.get_lines()[0]]
    top.legend(
        lines,
        [str(line.get_label()) for line in lines],
        loc="lower center",
        bbox_to_anchor=(0.5, 1.0),
        ncols=5,
        fontsize=9,
    )
    return _svg(figure)


def what_if_picture(told: Mapping[str, Any]) -> str:
    """Minutes until out over air temperature and speed, trouble crossed out, the recommended point ringed, as SVG."""
    air, speed = told["air_C"], told["air_speed_m_s"]
    grid = np.full((len(speed), len(air)), np.nan)
    for point in told["grid"]:
        if point["out_min"] is not None:
            grid[speed.index(point["air_speed_m_s"]), air.index(point["air_C"])] = point["out_min"]
    figure = Figure(figsize=(7.2, 3.9), layout="constrained")
    axes = figure.add_subplot()
    shown = axes.imshow(grid, cmap="cividis_r", aspect="auto", origin="lower")
    for point in told["grid"]:
        x, y = air.index(point["air_C"]), speed.index(point["air_speed_m_s"])
        value = grid[y, x]
        dark = np.isfinite(value) and value > np.nanmean(grid)
        ink = "white" if dark else "black"
        text = "never" if not np.isfinite(value) else f"{value:.0f} min"
        if point["trouble"]:
            text += "\n" + fill(point["trouble"][0], 12)
        axes.text(x, y, text, ha="center", va="center", color=ink if np.isfinite(value) else "black", fontsize=8)
    best = told["recommended"]
    if best is not None:
        x, y = air.index(best["air_C"]), speed.index(best["air_speed_m_s"])
        axes.add_patch(Rectangle((x - 0.48, y - 0.46), 0.96, 0.92, fill=False, edgecolor=_RED, linewidth=3.5))
    axes.set_xticks(range(len(air)), [f"{t:g} °C" for t in air])
    axes.set_yticks(range(len(speed)), [f"{s:g} m/s" if s else "still" for s in speed])
    axes.set_xlabel("air of the cooling space")
    axes.set_ylabel("air along the moulds")
    figure.colorbar(shown, ax=axes, label="minutes until out")
    return _svg(figure)


def _data(told: Mapping[str, Any]) -> dict[str, Any]:
    return {"title": f"Cooling: {told['mould']['name']}", "told": dict(told), "picture": cooling_picture(told)}


def cooling_sheet(told: Mapping[str, Any]) -> bytes:
    """The sheet of one casting as PDF: times with bands, picture, findings, what to do if it sticks."""
    return pdf(template("mould.typ"), _data(told))


def cooling_sheet_pictures(told: Mapping[str, Any]) -> tuple[bytes, ...]:
    """The pages of the sheet as PNG."""
    return pictures(template("mould.typ"), _data(told))
