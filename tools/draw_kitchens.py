"""Draw the pictures of docs/explanation/simulated-kitchens.md from the simulated kitchens themselves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from numpy.random import Generator, Philox, SeedSequence

from bloomless.kitchens import Hands, Kitchen, World, draw_kitchen
from bloomless.kitchens.layout import CORE, HEAT_C, VESSEL_C, WALL

STYLE: dict[Any, Any] = {
    "font.size": 11,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "svg.hashsalt": "bloomless",
}
BLUE, ORANGE, GREEN, RED = "#0072B2", "#E69F00", "#009E73", "#D55E00"


def _kitchen(number: int) -> tuple[Kitchen, Generator]:
    one, two = (Generator(Philox(SeedSequence([5, number, place]))) for place in (0, 1))
    return draw_kitchen(one, "dark"), two


def one_bowl() -> Figure:
    """Zones, display, crystals and pieces of one bowl that is poured over and seeded twice."""
    kitchen, chance = _kitchen(8)
    hands = Hands(World.begin(kitchen, chance))
    hands.begin()
    rows = []
    steps: dict[int, Callable[[], object]] = {
        60: lambda: hands.pour(),
        150: lambda: hands.seed(1000 * 0.16 * kitchen.mass_kg),
        330: lambda: hands.seed(1000 * 0.06 * kitchen.mass_kg),
        700: lambda: hands.bath("warm_bath", 45.0, 25.0),
    }
    for second in range(0, 1200, 5):
        if second in steps:
            steps[second]()
        hands.wait(5.0)
        bowl, now = hands.world.bowl, hands.world.truth()
        hands.read()
        zones = bowl.zones[:, HEAT_C]
        rows.append(
            (
                hands.world.now_s / 60,
                zones[CORE],
                zones[WALL],
                bowl.bodies[VESSEL_C],
                hands.shown_C,
                now.form_v_pct_of_fat,
                100 * now.seed_left_g / now.batch_g,
            )
        )
    minute, core, wall, vessel, shown, form_v, lumps = np.array(rows).T
    figure = Figure(figsize=(8, 6), layout="constrained")
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    upper.axhspan(*kitchen.window_C, color="0.9", label="working window")
    upper.plot(minute, core, color=BLUE, label="middle of the bowl")
    upper.plot(minute, wall, color=ORANGE, ls="--", label="melt at the wall")
    upper.plot(minute, vessel, color=RED, ls=":", label="vessel")
    upper.plot(minute, shown, ".", color="k", ms=2.5, label="what the thermometer shows")
    upper.set_ylabel("°C")
    upper.legend(frameon=False, fontsize=10)
    lower.plot(minute, form_v, color=GREEN, label="form V, % of the fat")
    lower.plot(minute, lumps, color=ORANGE, ls="--", label="lumps, % of the bowl")
    lower.axhline(3.0, color="0.6", lw=0.8)
    lower.annotate("most lumps that still count as in temper", (minute[-1], 3.1), ha="right", fontsize=9, color="0.35")
    lower.set_ylim(0, 14)
    lower.set_xlabel("minutes")
    lower.legend(frameon=False, fontsize=10)
    return figure


def many_kitchens() -> Figure:
    """The same recipe in forty kitchens: why a rule of thumb fails one time in four."""
    figure = Figure(figsize=(8, 3.8), layout="constrained")
    axes = figure.subplots()
    for number in range(40):
        kitchen, chance = _kitchen(number)
        hands = Hands(World.begin(kitchen, chance))
        hands.begin()
        hands.pour()
        hands.wait(60.0)
        hands.seed(1000 * 0.22 * kitchen.mass_kg)
        curve = []
        for _ in range(80):
            hands.wait(10.0)
            now = hands.world.truth()
            curve.append((now.temperature_C, max(now.form_v_pct_of_fat, 0.01)))
        warm, form_v = np.array(curve).T
        good = now.in_temper
        axes.plot(warm, form_v, color=BLUE if good else RED, lw=0.9, ls="-" if good else "--", alpha=0.7)
        axes.plot(warm[-1], form_v[-1], "o" if good else "x", color=BLUE if good else RED, ms=5)
    axes.axhspan(0.4, 6.0, color="0.92", zorder=0)
    axes.set_yscale("log")
    axes.invert_xaxis()
    axes.set_xlabel("°C, falling")
    axes.set_ylabel("form V, % of the fat")
    axes.set_title("22 % of seed after pouring over, then stirring for 13 minutes: ● in temper, × not", fontsize=11)
    return figure


def main(folder: Path) -> None:
    """Write the pictures."""
    with mpl.rc_context(STYLE):
        for name, figure in {"one-bowl": one_bowl(), "many-kitchens": many_kitchens()}.items():
            figure.savefig(folder / f"simulated-kitchens-{name}.svg", metadata={"Date": None})


if __name__ == "__main__":
    main(Path(__file__).parents[1] / "docs" / "explanation")
