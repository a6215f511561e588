"""A bowl held in temper for hours while moulds are filled from it: the advised cook after the first `use_it`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from bloomless.kitchens import Hands, World, draw_kitchen
from bloomless.studies.advised import AdvisedCook, Adviser
from bloomless.studies.case import CaseSpec, chances_of

__all__ = ["held_share", "hold_case"]

MASS_kg = (1.2, 3.0)
"""Who pours for hours melts a kilogram and more."""
MOULD_s = (360.0, 660.0)
"""A mould every so often: filling, tapping, weighing."""
MOULD_SHARE = 0.035
"""Taken out for one mould, of the chocolate at the start."""
RUNS_OUT = 0.2
"""Below this share of the start the bowl is empty enough to end."""


def hold_case(spec: CaseSpec, bench: Callable[[CaseSpec, str, int], Adviser], *, hours: float) -> dict[str, Any]:
    """One kitchen, brought into temper by an advised cook and held for so long with chocolate being taken out.

    Returns
    -------
    A JSON object: minutes held, share of them in temper in truth, moulds filled and how many in temper, acts.
    """
    chances = chances_of(spec)
    kitchen = draw_kitchen(chances["kitchen"], spec.kind, mass_kg=float(chances["kitchen"].uniform(*MASS_kg)))
    means = tuple(dict.fromkeys((*kitchen.means, "melt", "warm_bath")))
    kitchen = replace(kitchen, said={**kitchen.said, "means": list(means)})
    hands = Hands(World.begin(kitchen, chances["advised"]))
    cook = AdvisedCook(hands, bench(spec, kitchen.kind, int(chances["filter"].integers(2**31))))
    record: dict[str, Any] = {"number": spec.number, "seed": spec.seed, "kind": kitchen.kind}
    if cook.until_told() != "use_it":
        return record | {"began_in_temper": False, "minutes": 0.0, "in_temper": 0.0, "moulds": 0, "moulds_good": 0}
    world, began_s = hands.world, hands.world.now_s
    record["began_in_temper"] = world.truth().in_temper
    acts, samples, moulds, good = hands.actions, [], 0, 0
    next_mould_s = began_s
    while world.now_s < began_s + 3600.0 * hours and world.mass_kg > RUNS_OUT * kitchen.mass_kg:
        order = cook.next_order()
        if order is not None and order["do"] not in {"use_it", "stop"}:
            cook.obey(order)
        elif world.now_s >= next_mould_s and not world.busy and cook.told() == "use_it":
            good += world.truth().in_temper
            moulds += 1
            cook.say(hands.remove(1000.0 * MOULD_SHARE * kitchen.mass_kg))
            next_mould_s = world.now_s + float(world.chance.uniform(*MOULD_s))
        cook.go_on()
        samples.append((world.truth().in_temper, world.truth().wrong))
    wrong = [reason for ok, reasons in samples if not ok for reason in reasons]
    return record | {
        "minutes": round((world.now_s - began_s) / 60.0, 1),
        "in_temper": round(float(np.mean([ok for ok, _ in samples])), 4),
        "moulds": moulds,
        "moulds_good": good,
        "acts_an_hour": round((hands.actions - acts - moulds) / max((world.now_s - began_s) / 3600.0, 0.1), 2),
        "wrong": sorted(set(wrong)),
    }


def held_share(records: Sequence[dict[str, Any]]) -> dict[str, float]:
    """Share of the time in temper, and of the moulds filled in temper, over the kitchens that began in temper."""
    begun = [record for record in records if record["began_in_temper"]]
    minutes = np.array([record["minutes"] for record in begun])
    share = np.array([record["in_temper"] for record in begun])
    return {
        "kitchens": float(len(begun)),
        "hours_mean": float(minutes.mean() / 60.0),
        "time_in_temper": float((minutes * share).sum() / minutes.sum()),
        "moulds_in_temper": sum(r["moulds_good"] for r in begun) / max(sum(r["moulds"] for r in begun), 1),
        "acts_an_hour": float(np.mean([record["acts_an_hour"] for record in begun])),
    }
