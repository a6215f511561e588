"""Paper and pictures of moulds: the cooling sheet as PDF; curves, profile and the what-if table as SVG.

Every text goes through ``say``, which a screen gives in its language and units; alone, paper speaks English and °C.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from textwrap import fill
from typing import Any, Final, TypeAlias

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from bloomless.sheets.paper import pdf, template

__all__ = ["WORDS", "cooling_picture", "cooling_sheet", "profile_picture", "what_if_picture"]

Say: TypeAlias = Callable[[str], str]

# Okabe and Ito's colours, told apart by the colour-blind; every line has its own dashes as well.
_BLUE, _ORANGE, _GREEN, _RED, _GREY = "#0072B2", "#E69F00", "#009E73", "#D55E00", "#666666"


def _svg(figure: Figure) -> str:
    out = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": "bloomless", "svg.fonttype": "path", "font.family": "DejaVu Sans"}):
        FigureCanvasSVG(figure).print_svg(out, metadata={"Date": None, "Creator": None})  # type: ignore[no-untyped-call]
    return out.getvalue()


def _shown(values: Any, fahrenheit: bool) -> NDArray[np.float64]:
    array = np.asarray(values, dtype=float)
    return array * 1.8 + 32 if fahrenheit else array


def _end_min(told: Mapping[str, Any], last: float) -> float:
    """Minutes that a picture shows: somewhat beyond the last band."""
    ends = [band["p95"] for band in (told["set_min"], told["out_min"]) if band is not None]
    return min(last, max(30.0, 1.4 * max(ends, default=last)))


def cooling_picture(told: Mapping[str, Any], say: Say = str, fahrenheit: bool = False, narrow: bool = False) -> str:
    """Temperatures and solid fat of the middle run, with the bands of setting and turning out, as SVG.

    Parameters
    ----------
    told
        As ``bench.moulds.predict`` gives it.
    say
        A text in the language of the reader.
    fahrenheit
        Temperatures in °F.
    narrow
        For a phone held upright: the same letters on half the width.
    """
    curves = told["curves"]
    minutes = np.array(curves["minutes"])
    figure = Figure(figsize=(3.6, 4.2) if narrow else (7.2, 3.7), layout="constrained")
    top = figure.add_subplot()
    for name, words, colour, dash in (
        ("open_side_C", "open side", _BLUE, "--"), ("middle_C", "middle", _RED, "-"),
        ("mould_side_C", "mould side", _GREEN, "-."), ("air_C", "air", _GREY, ":"),
    ):  # fmt: skip
        shown = _shown(curves[name], fahrenheit)
        top.plot(minutes, shown, color=colour, linestyle=dash, label=say(words), linewidth=1.8)
    top.set_xlabel(say("minutes in the cooling space"))
    top.set_ylabel("°F" if fahrenheit else "°C")
    top.set_xlim(0, _end_min(told, minutes[-1]))
    low, high = top.get_ylim()
    top.set_ylim(low - 0.2 * (high - low), high)
    solid = top.twinx()
    solid.plot(minutes, curves["solid_pct_of_fat"], color=_ORANGE, linewidth=2.2, label=say("solid fat"))
    solid.set_ylabel(say("solid fat, % of the fat"), color="#8a5f00")
    solid.set_ylim(0, 100)
    _bands(top, told, say)
    lines = [*top.get_lines()[:4], solid.get_lines()[0]]
    names = [str(line.get_label()) for line in lines]
    top.legend(lines, names, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2 if narrow else 5, fontsize=9)
    return _svg(figure)


def _bands(axes: Axes, told: Mapping[str, Any], say: Say) -> None:
    low, high = axes.get_ylim()
    for band, words, place in ((told["set_min"], "set", 0.04), (told["out_min"], "out", 0.12)):
        if band is None:
            continue
        y = low + place * (high - low)
        axes.plot([band["p05"], band["p95"]], [y, y], color="black", linewidth=4, alpha=0.55)
        axes.plot([band["p50"]], [y], marker="|", color="black", markersize=11, markeredgewidth=2)
        axes.annotate(say(words), (band["p95"], y), xytext=(5, 0), textcoords="offset points", va="center", fontsize=9)


def profile_picture(told: Mapping[str, Any], say: Say = str, fahrenheit: bool = False, narrow: bool = False) -> str:
    """Temperature and solid fat of the middle run over minutes and depth, as SVG; parameters as ``cooling_picture``.

    The open side is above; a black line stands where a layer has set; a filling shows as a white band.
    """
    profile = told["profile"]
    minutes, depth = np.array(profile["minutes"]), np.array(profile["depth_mm"])
    heat, solid = _shown(profile["temperature_C"], fahrenheit), np.array(profile["solid_pct_of_fat"])
    gaps = np.diff(depth)
    breaks = np.flatnonzero(gaps > 2.5 * np.median(gaps))  # a filling lies between
    half = 0.5 * float(np.median(gaps))
    figure = Figure(figsize=(3.6, 5.0) if narrow else (7.2, 4.6), layout="constrained")
    both = figure.subplots(2, 1, sharex=True)
    for axes, values, colours, words in (
        (both[0], heat, "cividis", "temperature, °F" if fahrenheit else "temperature, °C"),
        (both[1], solid, "YlOrBr", "solid fat, % of the fat"),
    ):
        limits = (0.0, 100.0) if axes is both[1] else (float(heat.min()), float(heat.max()))
        for part in np.split(np.arange(depth.size), breaks + 1):
            edges = (0.0, float(minutes[-1]), float(depth[part][-1] + half), float(depth[part][0] - half))
            mesh = axes.imshow(
                values[part], cmap=colours, vmin=limits[0], vmax=limits[1], extent=edges, aspect="auto",
                interpolation="bilinear",
            )  # fmt: skip
        figure.colorbar(mesh, ax=axes, label=say(words))
        axes.set_ylim(float(depth[-1] + half), float(depth[0] - half))
        axes.set_ylabel(say("depth, mm"))
    limit = told["set_pct_of_fat"]
    for part in np.split(np.arange(depth.size), breaks + 1):
        if part.size > 1 and solid[part].min() < limit < solid[part].max():
            both[1].contour(minutes, depth[part], solid[part], levels=[limit], colors="black", linewidths=1.8)
    both[1].set_xlim(0, _end_min(told, minutes[-1]))
    both[1].set_xlabel(say("minutes in the cooling space"))
    both[0].set_title(say("open side above, mould below"), fontsize=9)
    return _svg(figure)


def what_if_picture(told: Mapping[str, Any], say: Say = str, narrow: bool = False) -> str:
    """Minutes until out over air temperature and speed, trouble named, the recommended point ringed, as SVG.

    Parameters
    ----------
    told
        As ``bench.mould_whatif.what_if`` gives it.
    say, narrow
        As for ``cooling_picture``; a narrow one marks trouble by a sign and leaves its words to the table.
    """
    air, speed = told["air_C"], told["air_speed_m_s"]
    grid = np.full((len(speed), len(air)), np.nan)
    for point in told["grid"]:
        if point["out_min"] is not None:
            grid[speed.index(point["air_speed_m_s"]), air.index(point["air_C"])] = point["out_min"]
    figure = Figure(figsize=(3.6, 3.9) if narrow else (7.2, 3.9), layout="constrained")
    axes = figure.add_subplot()
    shown = axes.imshow(grid, cmap="cividis_r", aspect="auto", origin="lower")
    for point in told["grid"]:
        x, y = air.index(point["air_C"]), speed.index(point["air_speed_m_s"])
        value = grid[y, x]
        dark = np.isfinite(value) and value > np.nanmean(grid)
        text = say("never") if not np.isfinite(value) else f"{value:.0f}" if narrow else f"{value:.0f} min"
        if point["trouble"] and narrow:
            text += "\n!"
        elif point["trouble"]:
            text += "\n" + fill(say(point["trouble"][0]), 13)
        axes.text(x, y, text, ha="center", va="center", color="white" if dark else "black", fontsize=8)
    best = told["recommended"]
    if best is not None:
        x, y = air.index(best["air_C"]), speed.index(best["air_speed_m_s"])
        axes.add_patch(Rectangle((x - 0.48, y - 0.46), 0.96, 0.92, fill=False, edgecolor=_RED, linewidth=3.5))
    axes.set_xticks(range(len(air)), [say(f"{t:g} °C") for t in air], rotation=60 if narrow else 0)
    axes.set_yticks(range(len(speed)), [f"{s:g} m/s" if s else say("still") for s in speed])
    axes.set_xlabel(say("air of the cooling space"))
    axes.set_ylabel(say("air along the moulds"))
    figure.colorbar(shown, ax=axes, label=say("minutes until out"), location="bottom" if narrow else "right")
    return _svg(figure)


WORDS: Final = (
    "Cooling sheet", "mould", "a piece", "chocolate poured at", "moulds at", "Place",
    "air", "moving at", "still", "after", "carried to",
    "Not yet learned from a log.", "Learned from logged moulds:", "Set through",
    "Look for lifting from", "Turn out", "Fill from", "Clean release", "above", "of", "not in the time looked at",
    "Mind", "If it does not let go", "Assumed", "Written by hand", "in at", "out at", "clean", "place", "lot", "min",
    "Moulds",
    "Temperatures and solid fat over the minutes of cooling",
    "Numbers are estimates with their bands; the eye through the mould decides.",
    "Check moulds for cracks and rests, keep glass away from the bench; allergens stay in moulds that are not washed.",
)  # fmt: skip
"""Words of the sheet."""


def _data(told: Mapping[str, Any], say: Say, fahrenheit: bool) -> dict[str, Any]:
    said = dict(told)
    said["findings"] = [
        {"severity": say({"stop": "Stop.", "care": "Care.", "note": "Note."}[f["severity"]]), "text": say(f["text"])}
        for f in told["findings"]
    ]
    for name in ("if_stuck", "assumed"):
        said[name] = [say(text) for text in told[name]]
    said["rests_on"] = say(told["rests_on"])
    mould = told["mould"]
    said["mould"] = {**mould, "words": say(mould["words"] or mould["name"]), "care": say(mould["care"])}
    named = {
        "chocolate": say(told["chocolate"]), "space": say(told["space"]["name"].replace("_", " ")),
        "standing": say(told["space"]["standing"]), "form": say(told["piece"]["form"]),
    }  # fmt: skip
    degrees = {
        "poured": say(f"{told['poured_C']:g} °C"), "mould": say(f"{told['mould_C']:g} °C"),
        "air": say(f"{told['space']['air_C']:g} °C"), "piece": say(f"{told['mould']['piece_g']:.1f} g"),
        "unit": "°F" if fahrenheit else "°C", "later": [say(f"{m['air_C']:g} °C") for m in told["space"]["then"]],
    }  # fmt: skip
    return {
        "title": f"{say('Cooling sheet')}: {told['mould']['name']}", "told": said, "named": named, "degrees": degrees,
        "clean": say(f"{told['clean_cavities']['expected']:.1f}"),
        "w": {text: say(text) for text in WORDS}, "picture": cooling_picture(told, say, fahrenheit),
    }  # fmt: skip


def cooling_sheet(told: Mapping[str, Any], say: Say = str, fahrenheit: bool = False) -> bytes:
    """The sheet of one casting as PDF: times with bands, picture, findings, what to do if it sticks."""
    return pdf(template("mould.typ"), _data(told, say, fahrenheit))
