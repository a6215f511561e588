"""Draw the picture of docs/explanation/estimation-and-advice.md: one bowl as it was believed and as it truly was."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from numpy.random import Generator, Philox, SeedSequence

from bloomless.kitchens import Hands, World, draw_kitchen
from bloomless.studies.advised import AdvisedCook, Answer
from bloomless.studies.benched import bench
from bloomless.studies.case import CaseSpec

STYLE: dict[Any, Any] = {
    "font.size": 11,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "svg.hashsalt": "bloomless",
}
BLUE, ORANGE, GREEN, RED = "#0072B2", "#E69F00", "#009E73", "#D55E00"
SEED, NUMBER = 103, 8


def one_bowl() -> tuple[list[Answer], list[dict[str, Any]]]:
    """An advised cook in one simulated kitchen of a tuning seed: replies beside the truth, and what was told."""
    one, two = (Generator(Philox(SeedSequence([SEED, NUMBER, place]))) for place in (0, 1))
    kitchen = draw_kitchen(one, "dark")
    hands = Hands(World.begin(kitchen, two))
    cook = AdvisedCook(hands, bench(CaseSpec(SEED, NUMBER), kitchen.kind, 7))
    cook.work()
    return cook.answers, json.loads(json.dumps(hands.log))


def picture() -> Figure:
    """Temperature, form V and chance over the minutes."""
    answers, log = one_bowl()
    minutes = np.array([a.at_s / 60.0 for a in answers])
    figure = Figure(figsize=(7.6, 7.4), layout="constrained")
    heat, crystals, chance = figure.subplots(3, sharex=True, height_ratios=(3, 3, 2))
    for axes, name, truth, colour in (
        (heat, "temperature_C", [a.truth.temperature_C for a in answers], RED),
        (crystals, "form_v_pct_of_fat", [a.truth.form_v_pct_of_fat for a in answers], BLUE),
    ):
        low, middle, high = ([a.reply[name][p] for a in answers] for p in ("p05", "p50", "p95"))
        axes.fill_between(minutes, low, high, color=colour, alpha=0.2, lw=0, label="believed, 90 %")
        axes.plot(minutes, middle, color=colour, lw=1.6, label="believed, middle")
        axes.plot(minutes, truth, color="black", lw=1.2, ls="--", label="truth")
    shown = [(line["at"] / 60.0, line["temperature_C"]) for line in log if line["what"] == "reading"]
    heat.plot(*zip(*shown, strict=True), ".", color=ORANGE, ms=4, label="shown")
    heat.set_ylabel("mixed bowl, °C")
    heat.set_title("What was believed of one bowl, and what it truly was", loc="left")
    heat.legend(frameon=False, ncols=2)
    crystals.set_ylabel("form V, % of fat")
    crystals.axhspan(0.4, 6.0, color=GREEN, alpha=0.08, lw=0)
    crystals.set_ylim(0.0, 6.5)
    crystals.text(minutes[-1], 6.05, "in temper: 0.4 to 6 %", color=GREEN, ha="right", va="bottom", fontsize=9)
    chance.plot(minutes, [a.reply["chance_in_temper"] for a in answers], color=GREEN, lw=1.8)
    chance.fill_between(
        minutes, 0, [float(a.truth.in_temper) for a in answers], step="mid", color="black", alpha=0.08, lw=0
    )
    chance.set_ylabel("chance")
    chance.set_xlabel("minutes (grey below: truly in temper)")
    chance.set_ylim(0.0, 1.05)
    names = {
        "seed": "seed",
        "look": "look",
        "smear": "smear",
        "probe_check": "ice check",
        "warm_bath": "warm",
        "pour": "pour",
    }
    names |= {"cool_bath": "cool", "sieve": "sieve", "add": "melt", "table": "table", "microwave": "burst"}
    last = -9.0
    for line in log:
        if line["what"] in names and line["at"] / 60.0 - last > 0.35:
            last = line["at"] / 60.0
            for axes in (heat, crystals, chance):
                axes.axvline(last, color="grey", lw=0.6, alpha=0.5)
            chance.text(last, 1.02, names[line["what"]], rotation=90, fontsize=8, ha="right", va="top", color="dimgrey")
    return figure


def main() -> None:
    """Draw it."""
    with mpl.rc_context(STYLE):
        picture().savefig(Path("docs/explanation/belief-of-one-bowl.svg"), metadata={"Date": None})


if __name__ == "__main__":
    main()
