"""Draw the pictures of advice in docs/explanation: one bowl with its orders, chance beside truth, minutes of the cooks.

``python tools/draw_advice.py [RECORDS]``; the last two are drawn from the records of a study (kitchens.jsonl), which is
run first where none is named: 150 plain kitchens of seed 964, some minutes on one core.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from bloomless.kitchens import Hands, World, draw_kitchen
from bloomless.studies import Study, run_study, summarise
from bloomless.studies.advised import AdvisedCook
from bloomless.studies.benched import bench
from bloomless.studies.case import CaseSpec, chances_of
from bloomless.studies.plots import STYLE, calibration_figure, minutes_figure

FOLDER = Path("docs/explanation")
SEED, KITCHENS = 964, 150
BOWL = CaseSpec(102, 11, "milk")
"""Of a tuning seed."""
BLUE, ORANGE, GREEN, RED, GREY = "#0072B2", "#E69F00", "#009E73", "#D55E00", "#57534e"
LANES = {
    "check_thermometer": ("ice check", GREY),
    "add_seed": ("seed", BLUE),
    "cool_bath": ("cool", GREEN),
    "table": ("cool", GREEN),
    "warm_bath": ("warm", RED),
    "microwave": ("warm", RED),
    "hot_air": ("warm", RED),
    "look": ("look", ORANGE),
    "smear": ("smear", ORANGE),
    "sieve": ("sieve", GREY),
    "add_melt": ("add melt", RED),
    "use_it": ("use it", "black"),
}
OTHER = ("another", GREY)


def one_bowl() -> Figure:
    """Temperature with its band, the orders on lanes of their own, and the chance, over the minutes."""
    chances = chances_of(BOWL)
    kitchen = draw_kitchen(chances["kitchen"], BOWL.kind)
    hands = Hands(World.begin(kitchen, chances["advised"]))
    cook = AdvisedCook(hands, bench(BOWL, kitchen.kind, int(chances["filter"].integers(2**31))))
    cook.work()
    minutes = np.array([a.at_s / 60.0 for a in cook.answers])
    figure = Figure(figsize=(8.0, 7.0), layout="constrained")
    heat, lanes, chance = figure.subplots(3, sharex=True, height_ratios=(4, 3, 2))
    low, high = ([a.reply["temperature_C"][p] for a in cook.answers] for p in ("p05", "p95"))
    heat.axhspan(*kitchen.window_C, color=GREEN, alpha=0.12, lw=0, label="working window of this chocolate")
    heat.fill_between(minutes, low, high, color=BLUE, alpha=0.3, lw=0, label="believed, nine chances in ten")
    heat.plot(minutes, [a.truth.temperature_C for a in cook.answers], color="black", lw=1.2, ls="--", label="truth")
    heat.set_ylabel("mixed bowl, °C")
    heat.legend(frameon=False, fontsize=10)
    _lanes(lanes, _given(cook), kitchen.mass_kg)
    chance.plot(
        minutes, [a.reply["chance_in_temper"] for a in cook.answers], color=BLUE, lw=1.8, label="chance, as said"
    )
    true = [float(a.truth.in_temper) for a in cook.answers]
    chance.fill_between(minutes, 0, true, step="mid", color="black", alpha=0.1, lw=0, label="truly in temper")
    chance.set_ylim(0.0, 1.05)
    chance.set_ylabel("in temper")
    chance.set_xlabel("minutes")
    chance.legend(frameon=False, fontsize=10, ncols=2, loc="lower left", bbox_to_anchor=(0.0, 1.0))
    return figure


def _given(cook: AdvisedCook) -> list[tuple[float, Mapping[str, Any]]]:
    """Each order when it was first given; stirring is what goes on between them."""
    seen: dict[str, tuple[float, Mapping[str, Any]]] = {}
    for answer in cook.answers:
        order = answer.reply["next"]
        if order["do"] != "stir":
            seen.setdefault(order["id"], (answer.at_s / 60.0, order))
    return list(seen.values())


def _lanes(axes: Axes, orders: Sequence[tuple[float, Mapping[str, Any]]], mass_kg: float) -> None:
    """A mark for each order, in the lane of its kind, with its amount; the bar behind it is the wait it asks for."""
    used = {LANES.get(order["do"], OTHER)[0] for _, order in orders}
    names = [name for name in dict.fromkeys(name for name, _ in (*LANES.values(), OTHER)) if name in used]
    for minute, order in orders:
        name, colour = LANES.get(order["do"], OTHER)
        lane = names.index(name)
        lasts = ((order.get("seconds") or 0.0) + order.get("then_wait_s", 0.0)) / 60.0
        axes.plot([minute, minute + lasts], [lane, lane], color=colour, lw=5, alpha=0.3, solid_capstyle="butt")
        axes.plot(minute, lane, "o", color=colour, ms=7)
        if order.get("mass_g"):
            axes.annotate(
                f"{order['mass_g']:.0f} g", (minute, lane), (4, 8), textcoords="offset points", fontsize=9, color=colour
            )
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.4, -0.9)
    axes.set_ylabel(f"orders ({1000.0 * mass_kg:.0f} g bowl)")
    axes.grid(axis="x", alpha=0.3)


def _records(path: Path | None) -> list[dict[str, Any]]:
    if path is None:
        return run_study(Study(KITCHENS, seed=SEED), Path("build/draw_advice/kitchens.jsonl"))
    rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [row for row in rows if "cooks" in row]


def main(arguments: Sequence[str]) -> None:
    """Draw all three."""
    records = _records(Path(arguments[0]) if arguments else None)
    with mpl.rc_context(STYLE):
        for figure, name in (
            (one_bowl(), "advice-of-one-bowl"),
            (calibration_figure(summarise(records)["all"]["calibration"]), "chance-beside-truth"),
            (minutes_figure(records), "minutes-of-four-cooks"),
        ):
            figure.savefig(FOLDER / f"{name}.svg", metadata={"Date": None})


if __name__ == "__main__":
    main(sys.argv[1:])
