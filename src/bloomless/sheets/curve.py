"""The picture of a bowl: curve with band and working window, what the cook did, crystals, chance."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import Any, Final, Literal

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from bloomless.bench.story import Story, in_words
from bloomless.estimation import events as ev
from bloomless.estimation.answers import Band, Estimate

__all__ = ["draw_story"]

# Blue and orange of the Okabe–Ito set: told apart by every common kind of colour vision, and by grey value.
BLUE: Final = "#0072B2"
ORANGE: Final = "#D55E00"
SKY: Final = "#56B4E9"
INK: Final = "#222222"
QUIET: Final = "#777777"

_SETTINGS: Final[dict[Any, Any]] = {
    "font.size": 9,
    "font.family": "DejaVu Sans",
    "svg.hashsalt": "bloomless",
    "svg.fonttype": "none",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
}
_QUIET_EVENTS: Final = (ev.Start, ev.Reading, ev.Ask, ev.Stir)


def draw_story(story: Story, window_C: tuple[float, float], *, form: Literal["svg", "png"], title: str = "") -> bytes:
    """Draw a bowl.

    Parameters
    ----------
    story
        The bowl, played.
    window_C
        Lower and upper end of the working window of this chocolate.
    form
        File format. The same story gives the same bytes.
    title
        Stands above the picture; the kind and mass if empty.

    Returns
    -------
    bytes
        The file.
    """
    with mpl.rc_context(_SETTINGS):
        figure = Figure(figsize=(9.0, 8.2), layout="constrained")
        axes = figure.subplots(4, 1, sharex=True, height_ratios=(5.0, 2.2, 1.6, 1.6))
        _temperature(axes[0], story, window_C)
        _crystals(axes[1], story)
        _pieces(axes[2], story)
        _chance(axes[3], story)
        axes[3].set_xlabel("minutes since the start")
        figure.align_ylabels(axes)
        figure.suptitle(title or in_words(story.start), x=0.01, ha="left", fontsize=11, color=INK)
        buffer = io.BytesIO()
        metadata: dict[str, Any] = {"Date": None} if form == "svg" else {"Software": None}
        figure.savefig(buffer, format=form, dpi=130, metadata=metadata)
    return buffer.getvalue()


def _band(axes: Axes, story: Story, of: Callable[[Estimate], Band | None], colour: str, label: str, style: str) -> None:
    points = [(frame.at_s / 60.0, band) for frame in story.frames if (band := of(frame.estimate)) is not None]
    if not points:
        return
    minutes = np.array([minute for minute, _ in points])
    low, middle, high = (np.array([getattr(band, name) for _, band in points]) for name in ("p05", "p50", "p95"))
    axes.fill_between(minutes, low, high, color=colour, alpha=0.22, linewidth=0)
    axes.plot(minutes, middle, style, color=colour, linewidth=1.6, label=label)


def _temperature(axes: Axes, story: Story, window_C: tuple[float, float]) -> None:
    axes.axhspan(*window_C, facecolor="#F3E9D2", edgecolor="#C9A227", hatch="//", linewidth=0, alpha=0.6)
    axes.annotate(
        "working window", (0.006, window_C[0]), xycoords=("axes fraction", "data"), fontsize=8, va="bottom", color=INK
    )
    _band(axes, story, lambda estimate: estimate.temperature_C, BLUE, "bowl, believed (90 % band)", "-")
    readings = [(f.at_s / 60, f.event.temperature_C) for f in story.frames if isinstance(f.event, ev.Reading)]
    if readings:
        axes.plot(*zip(*readings, strict=True), ".", color=INK, markersize=3.5, label="thermometer")
    axes.set_ylabel("temperature [°C]")
    _marks(axes, story)
    axes.legend(loc="upper right", frameon=True, framealpha=0.85, edgecolor="none", fontsize=8)


def _marks(axes: Axes, story: Story) -> None:
    """A line and a label for what the cook did, in a strip above the curve; labels that would meet stand in rows."""
    marks = [(f.at_s / 60, in_words(f.event)) for f in story.frames if not isinstance(f.event, _QUIET_EVENTS)]
    whole = max((frame.at_s / 60 for frame in story.frames), default=1.0) or 1.0
    ends: list[float] = []
    for minute, words in marks:
        long = whole * (0.0115 * len(words) + 0.01)
        left = minute + long > 1.04 * whole  # a label at the end stands left of its line
        first = minute - long if left else minute
        row = next((row for row, end in enumerate(ends) if first > end), len(ends))
        ends[row : row + 1] = [first + long]
        axes.axvline(minute, ymax=1.05 + 0.052 * row, clip_on=False, color=ORANGE, linewidth=0.7, alpha=0.6)
        axes.annotate(
            words,
            (minute, 1.02 + 0.052 * row),
            xycoords=("data", "axes fraction"),
            xytext=(-3 if left else 3, 0),
            textcoords="offset points",
            ha="right" if left else "left",
            fontsize=7.5,
            color=ORANGE,
        )


def _crystals(axes: Axes, story: Story) -> None:
    _band(axes, story, lambda estimate: estimate.form_v_pct_of_fat, BLUE, "form V", "-")
    _band(axes, story, lambda estimate: estimate.unstable_pct_of_fat, ORANGE, "unstable forms", "--")
    for edge in (0.4, 6.0):
        axes.axhline(edge, color=QUIET, linewidth=0.7, linestyle=":")
    axes.set_ylim(0, _top([frame.estimate.form_v_pct_of_fat for frame in story.frames], 7.0))
    axes.set_ylabel("crystals\n[% of fat]")
    axes.legend(loc="upper left", frameon=False, fontsize=8, ncols=2)


def _top(bands: Sequence[Band | None], least: float) -> float:
    return min(max([band.p95 for band in bands if band is not None] + [least]), 3 * least)


def _pieces(axes: Axes, story: Story) -> None:
    _band(axes, story, lambda estimate: estimate.seed_left_g, SKY, "seed pieces left", "-")
    axes.set_ylim(bottom=0)
    axes.set_ylabel("seed pieces\nleft [g]")


def _chance(axes: Axes, story: Story) -> None:
    points = [(f.at_s / 60, f.estimate.chance_in_temper) for f in story.frames]
    known = [(minute, chance) for minute, chance in points if chance is not None]
    if known:
        axes.plot(*zip(*known, strict=True), color=BLUE, linewidth=1.8, drawstyle="steps-post")
    axes.set_ylim(0, 1.02)
    axes.set_yticks([0, 0.5, 1], ["0", "½", "1"])
    axes.set_ylabel("chance\nin temper")
