"""Fit the size of the model error to recorded benches and draw how sharply they tell of it.

``python tools/fit_model_error.py --seed 104 --kitchens 40`` first records so many simulated kitchens of a tuning seed;
``--logs a.jsonl b.jsonl`` reads benches of real kitchens instead, one session a file.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from numpy.random import Generator, Philox, SeedSequence

from bloomless.bench.contract import line_from_text, no_chocolates
from bloomless.estimation.events import Ask, Correct, Finish, Start
from bloomless.estimation.fitting import Fit, Recorded, fit
from bloomless.kitchens import Hands, World, draw_kitchen
from bloomless.studies.advised import AdvisedCook
from bloomless.studies.benched import bench
from bloomless.studies.case import CaseSpec

STYLE: dict[Any, Any] = {
    "font.size": 11,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "svg.hashsalt": "bloomless",
}
NAMES = {
    "noise_temperature": ("temperature", "#D55E00"),
    "noise_crystals": ("crystals", "#0072B2"),
    "noise_pieces": ("pieces", "#009E73"),
    "noise_loss": ("heat loss and room", "#E69F00"),
}


class _Recorder:
    """An adviser that keeps what it was told."""

    def __init__(self, spec: CaseSpec, kind: str) -> None:
        self.inner, self.told = bench(spec, kind, spec.number), [""][:0]

    def take(self, line: dict[str, Any]) -> Any:
        self.told.append(json.dumps(line))
        return self.inner.take(line)


def recorded(lines: list[str]) -> Recorded:
    """One session from its lines; corrections and questions tell nothing of how well it was foreseen."""
    events = [
        line_from_text(text, session_start=None, chocolates=no_chocolates).event for text in lines if text.strip()
    ]
    start = events[0]
    assert isinstance(start, Start)
    told = [event for event in events[1:] if not isinstance(event, Ask | Correct | Finish)]
    return Recorded(start, tuple(sorted(told, key=lambda event: event.at_s)))  # type: ignore[arg-type]


def simulated(seed: int, kitchens: int) -> list[Recorded]:
    """Benches of an advised cook in simulated kitchens."""
    found = []
    for number in range(kitchens):
        one, two = (Generator(Philox(SeedSequence([seed, number, place]))) for place in (0, 1))
        kitchen = draw_kitchen(one)
        recorder = _Recorder(CaseSpec(seed, number), kitchen.kind)
        AdvisedCook(Hands(World.begin(kitchen, two)), recorder).work()
        found.append(recorded(recorder.told))
    return found


def picture(fits: tuple[Fit, ...], benches: int) -> Figure:
    """Evidence against the factor on each kind of model error."""
    figure = Figure(figsize=(7.2, 4.0), layout="constrained")
    axes = figure.subplots()
    for one in fits:
        name, colour = NAMES[one.source]
        ln = np.log(one.factors)
        bend = np.polyfit(ln, np.array(one.log_evidence) - one.log_evidence[1], 2)
        fine = np.linspace(ln[0], ln[-1], 80)
        axes.plot(np.exp(fine), np.polyval(bend, fine), color=colour, label=f"{name}: best at {one.best:.2f}")
        axes.plot(one.factors, np.array(one.log_evidence) - one.log_evidence[1], "o", color=colour)
    axes.set_xscale("log")
    axes.set_xticks([1 / 3, 1, 3], ["a third", "as it is", "three times"])
    axes.minorticks_off()
    axes.set_xlabel("size of the model error")
    axes.set_ylabel("ln evidence, over that as it is")
    axes.set_title(f"How well {benches} benches had been foreseen", loc="left")
    axes.legend(frameon=False)
    return figure


def main() -> None:
    """Fit, print, draw."""
    wish = argparse.ArgumentParser(description=__doc__)
    wish.add_argument("--seed", type=int, default=104)
    wish.add_argument("--kitchens", type=int, default=40)
    wish.add_argument("--members", type=int, default=2000)
    wish.add_argument("--logs", type=Path, nargs="*", default=[])
    wish.add_argument("--picture", type=Path, default=Path("docs/explanation/model-error-fit.svg"))
    wishes = wish.parse_args()
    benches = [recorded(path.read_text(encoding="utf-8").splitlines()) for path in wishes.logs]
    benches = benches or simulated(wishes.seed, wishes.kitchens)
    fits = fit(benches, members=wishes.members)
    for one in fits:
        told = ", ".join(f"x{f:.2f} {e:.1f}" for f, e in zip(one.factors, one.log_evidence, strict=True))
        print(f"{one.source}: best factor {one.best:.2f}   ln evidence {told}")
    with mpl.rc_context(STYLE):
        picture(fits, len(benches)).savefig(wishes.picture, metadata={"Date": None})


if __name__ == "__main__":
    main()
