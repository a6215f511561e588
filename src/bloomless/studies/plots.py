"""Plots of a study, as SVG text that stands inside its report."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping, Sequence
from textwrap import fill
from types import MappingProxyType
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure

__all__ = ["calibration_figure", "calibration_svg", "minutes_figure", "minutes_svg", "success_svg"]

# Okabe and Ito's palette: told apart with every common form of colour blindness; shapes differ as well.
COLOURS = {"advised": "#0072B2", "practised_hand": "#E69F00", "taught_rule": "#D55E00", "full_knowledge": "#009E73"}
MARKS = {"advised": "o", "practised_hand": "s", "taught_rule": "^", "full_knowledge": "D"}
WORDS = {
    "advised": "advised cook",
    "practised_hand": "practised hand",
    "taught_rule": "taught rule",
    "full_knowledge": "full knowledge",
}
WIDE = 5.4
"""Inches: on a telephone its letters are still as large as those of the text."""
STYLE: dict[Any, Any] = {
    "font.size": 11,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "svg.hashsalt": "bloomless",
}


def _svg(figure: Figure) -> str:
    text = io.StringIO()
    figure.savefig(text, format="svg", metadata={"Date": None})
    svg = text.getvalue()
    # Inside an HTML page the picture takes the width it is given.
    return re.sub(r'(<svg[^>]*?) width="[^"]*"', r"\1", svg[svg.index("<svg") :], count=1).replace(
        'height="', 'data-height="', 1
    )


def _axes(width: float, height: float) -> tuple[Figure, Axes]:
    figure = Figure(figsize=(width, height), layout="constrained")
    return figure, figure.subplots()


def success_svg(groups: Mapping[str, Mapping[str, Any]], words: Mapping[str, str] = MappingProxyType({})) -> str:
    """Success of every cook in every group, with 95 % intervals, one row a group; ``words`` name the groups."""
    names = list(groups)
    with mpl.rc_context(STYLE):
        figure, axes = _axes(WIDE, 1.2 + 0.5 * len(names))
        cooks = [cook for cook in COLOURS if any(cook in group["cooks"] for group in groups.values())]
        for place, cook in enumerate(cooks):
            for row, name in enumerate(names):
                ended = groups[name]["cooks"].get(cook)
                if ended is None:
                    continue
                share = ended["success"]
                height = row + 0.16 * (place - (len(cooks) - 1) / 2)
                label = WORDS[cook] if row == 0 else None
                axes.plot([100 * share["low"], 100 * share["high"]], [height, height], color=COLOURS[cook], lw=2)
                axes.plot(100 * share["share"], height, MARKS[cook], color=COLOURS[cook], ms=6, label=label)
        said = [fill(words.get(name, name.replace("_", " ")), 24) for name in names]
        axes.set_yticks(range(len(names)), [f"{s} ({groups[n]['kitchens']})" for s, n in zip(said, names, strict=True)])
        axes.set_ylim(len(names) - 0.5, -0.5)
        axes.set_xlim(min(50.0, axes.get_xlim()[0]), 101)
        axes.set_xlabel("in temper when used, % of kitchens")
        axes.grid(axis="x", alpha=0.3)
        figure.legend(loc="outside upper center", ncols=2, frameon=False, fontsize=10)
        return _svg(figure)


def calibration_svg(calibration: Mapping[str, Any]) -> str:
    """`calibration_figure` as SVG text."""
    with mpl.rc_context(STYLE):
        return _svg(calibration_figure(calibration))


def calibration_figure(calibration: Mapping[str, Any]) -> Figure:
    """What came true against the chance that was said; areas show how often it was said."""
    figure, axes = _axes(WIDE, WIDE)
    axes.plot([0, 1], [0, 1], color="0.6", lw=1, ls="--", label="an honest chance")
    bins = calibration["bins"]
    said, came = [b["said"] for b in bins], [b["came_true"] for b in bins]
    sizes = [20 + 900 * b["weight"] for b in bins]
    axes.plot(said, came, color=COLOURS["advised"], lw=1.2)
    axes.scatter(said, came, s=sizes, color=COLOURS["advised"], alpha=0.55, lw=0)
    axes.plot([], [], "o", color=COLOURS["advised"], alpha=0.55, ms=8, label="answers; area: how many")
    axes.set_xlim(-0.06, 1.06)
    axes.set_ylim(-0.06, 1.06)
    axes.set_aspect("equal")
    axes.set_xlabel("chance that was said")
    axes.set_ylabel("share of those truly in temper")
    axes.legend(frameon=False, loc="upper left", fontsize=10)
    axes.grid(alpha=0.3)
    return figure


def minutes_svg(records: Sequence[Mapping[str, Any]]) -> str:
    """`minutes_figure` as SVG text."""
    with mpl.rc_context(STYLE):
        return _svg(minutes_figure(records))


def minutes_figure(records: Sequence[Mapping[str, Any]]) -> Figure:
    """Share of kitchens that were used in temper within so many minutes."""
    figure, axes = _axes(WIDE, 3.8)
    for cook, colour in COLOURS.items():
        ended = [r["cooks"][cook] for r in records if cook in r["cooks"]]
        if not ended:
            continue
        minutes = sorted(e["minutes"] for e in ended if e["success"])
        steps = [100.0 * (i + 1) / len(ended) for i in range(len(minutes))]
        axes.step([0.0, *minutes, 60.0], [0.0, *steps, steps[-1] if steps else 0.0], where="post", color=colour, lw=2)
        at = len(minutes) // 2
        middle = (minutes[at], steps[at]) if minutes else (60.0, 0.0)
        axes.plot(*middle, MARKS[cook], color=colour, ms=7, label=WORDS[cook])
    axes.set_xlim(0, 60)
    axes.set_ylim(0, 103)
    axes.set_xlabel("minutes from the first pour, seed or cold bath")
    axes.set_ylabel("used in temper by then, %")
    axes.legend(frameon=False, loc="lower right", fontsize=10)
    axes.grid(alpha=0.3)
    return figure
