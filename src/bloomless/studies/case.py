"""One kitchen of a study: drawn, worked by every cook, and written down as one JSON object."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from time import process_time
from typing import Any

import numpy as np
from numpy.random import Generator, Philox, SeedSequence

from bloomless.kitchens import Hands, Outcome, Truth, World, draw_kitchen, full_knowledge, practised_hand
from bloomless.kitchens import taught_rule as taught
from bloomless.studies.advised import AdvisedCook, Answer, BelievingAdviser
from bloomless.studies.told import first_told, raised

__all__ = ["COOKS", "ESTIMATED", "CaseSpec", "chances_of", "run_case"]

RULE_COOKS: dict[str, Callable[[Hands], Outcome]] = {
    "taught_rule": taught,
    "practised_hand": practised_hand,
    "full_knowledge": full_knowledge,
}
COOKS = ("advised", *RULE_COOKS)
"""Cooks of a study, by name."""
STREAMS = ("kitchen", *COOKS, "filter")

ESTIMATED = {
    "temperature_C": "temperature_C",
    "form_v_pct_of_fat": "form_v_pct_of_fat",
    "unstable_pct_of_fat": "unstable_pct_of_fat",
    "seed_left_g": "seed_left_g",
    "batch_g": "batch_g",
}
"""Estimated quantity in a reply → field of the truth."""

TINY = {"form_v_pct_of_fat": 0.02, "unstable_pct_of_fat": 0.02, "seed_left_g": 0.5}
"""Half-widths below which a band that misses is not counted as a miss: both say "none"."""


@dataclass(frozen=True, slots=True)
class CaseSpec:
    """What one kitchen of a study is: enough to run it again anywhere and get the same."""

    seed: int
    number: int
    kind: str | None = None
    fault: str | None = None
    cooks: tuple[str, ...] = COOKS
    wrong_constants: bool = False
    members: int | None = None


def chances_of(spec: CaseSpec) -> dict[str, Generator]:
    """A stream for the kitchen and one for each cook: leaving a cook out changes nothing for the others."""
    return {
        name: Generator(Philox(SeedSequence([spec.seed, spec.number, place]))) for place, name in enumerate(STREAMS)
    }


def run_case(spec: CaseSpec, bench: Callable[[CaseSpec, str, int], BelievingAdviser]) -> dict[str, Any]:
    """Run one kitchen.

    Parameters
    ----------
    spec
        Which one.
    bench
        Makes an adviser for a case, its kind of chocolate and a seed.

    Returns
    -------
    A JSON object: the kitchen in short, and what became of each cook.
    """
    chances = chances_of(spec)
    kitchen = draw_kitchen(chances["kitchen"], spec.kind, spec.fault)
    record: dict[str, Any] = {
        "number": spec.number,
        "seed": spec.seed,
        "kind": kitchen.kind,
        "fault": spec.fault,
        "mass_kg": round(kitchen.mass_kg, 3),
        "probe_offset_K": round(kitchen.probe.offset_K, 2),
        "room_error_K": round(kitchen.room_C - kitchen.said["room_C"], 2),
        "cooks": {},
    }
    for cook in spec.cooks:
        hands = Hands(World.begin(kitchen, chances[cook]))
        began = process_time()
        if cook == "advised":
            adviser = bench(spec, kitchen.kind, int(chances["filter"].integers(2**31)))
            record["cooks"][cook] = _advised(hands, adviser)
        else:
            record["cooks"][cook] = _ended(RULE_COOKS[cook](hands))
        record["cooks"][cook]["cpu_s"] = round(process_time() - began, 3)
    return record


def _ended(outcome: Outcome) -> dict[str, Any]:
    return {
        "success": outcome.success,
        "used": outcome.used,
        "wrong": list(outcome.wrong),
        "minutes": round(outcome.minutes, 3),
        "seed_share": round(outcome.seed_share, 4),
        "actions": outcome.actions,
        "truth": {name: _short(value) for name, value in asdict(outcome.truth).items() if name != "wrong"},
    }


def _short(value: Any) -> Any:
    return round(value, 4) if isinstance(value, float) else value


def _advised(hands: Hands, adviser: BelievingAdviser) -> dict[str, Any]:
    cook = AdvisedCook(hands, adviser, foresee_C=adviser.temperature_ahead_C)
    ended = cook.work()
    record = _ended(ended)
    since = [a for a in cook.answers if hands.seeded_g > 0.0 and a.at_s >= _first_seed_s(hands)]
    record["chances"] = [[round(a.reply["chance_in_temper"], 3), int(a.truth.in_temper)] for a in since]
    record["estimates"] = {name: _graded(name, cook.answers) for name in ESTIMATED}
    record["orders"] = [[round(at_s), do] for at_s, do in cook.obeyed]
    alerts = raised([(a.at_s, a.reply) for a in cook.answers])
    record["alerts"] = [[round(at_s, 1), code] for at_s, code in alerts]
    record["fault"] = first_told(hands, alerts)
    record["watched_s"] = round(hands.world.now_s, 1)
    record["ahead"] = [[round(value, 2) for value in row] for row in cook.ahead]
    record["to_temper"] = _minutes_to_temper(cook.answers)
    record["before"] = next((a.reply["before"] for a in cook.answers if a.reply.get("before")), None)
    if cook.answers:
        record["at_the_end"] = _at_the_end(hands, cook.answers[-1])
    record["variety"] = [round(share, 4) for share in adviser.variety()]
    return record


def _first_seed_s(hands: Hands) -> float:
    return float(next((line["at"] for line in hands.log if line["what"] == "seed"), math.inf))


def _band(reply: Mapping[str, Any], name: str) -> tuple[float, float, float] | None:
    band = reply.get(name)
    if not isinstance(band, Mapping) or band.get("p50") is None:
        return None
    return float(band["p05"]), float(band["p50"]), float(band["p95"])


def _true(truth: Truth, name: str) -> float:
    return float(getattr(truth, ESTIMATED[name]))


def _graded(name: str, answers: Sequence[Answer]) -> dict[str, float] | None:
    """Mean square error of the median and share of replies whose 90 % band holds the truth, of one kitchen."""
    errors, held = [], []
    for answer in answers:
        band = _band(answer.reply, name)
        if band is None:
            continue
        true = _true(answer.truth, name)
        tiny = TINY.get(name, 0.0)
        errors.append((band[1] - true) ** 2)
        held.append(band[0] - tiny <= true <= band[2] + tiny)
    if not errors:
        return None
    return {"mse": round(float(np.mean(errors)), 5), "cover": round(float(np.mean(held)), 4), "replies": len(errors)}


def _minutes_to_temper(answers: Sequence[Answer]) -> list[list[float]]:
    """Bands of the minutes to temper beside the minutes it took: only where the bowl came into temper later."""
    first_s = next((a.at_s for a in answers if a.truth.in_temper), None)
    if first_s is None:
        return []
    pairs = []
    for answer in answers[::4]:
        band = _band(answer.reply, "minutes_to_temper")
        if band is not None and answer.at_s < first_s:
            pairs.append([round(v, 2) for v in (*band, (first_s - answer.at_s) / 60.0)])
    return pairs


def _at_the_end(hands: Hands, last: Answer) -> dict[str, Any]:
    """What the last reply said of form V and of the working minutes, beside the truth."""
    form_v, minutes = _band(last.reply, "form_v_pct_of_fat"), _band(last.reply, "working_minutes_left")
    chance = last.reply.get("chance_in_temper")
    return {
        "chance": None if chance is None else round(chance, 3),
        "form_v": form_v and [round(v, 3) for v in (*form_v, last.truth.form_v_pct_of_fat)],
        "working_minutes": minutes and [round(v, 1) for v in (*minutes, hands.world.working_minutes_left())],
    }
