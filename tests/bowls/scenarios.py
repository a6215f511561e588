"""Scenarios of the job map as event logs, and variations of them: times ±20 %, amounts ±15 %, temperatures ±0.5 °C."""

from dataclasses import replace

import numpy as np

from bloomless.advice.advise import advise
from bloomless.estimation.begin import begin
from bloomless.estimation.estimate import estimate
from bloomless.estimation.events import (
    Ask,
    Bath,
    Composition,
    Look,
    Microwave,
    ProbeCheck,
    Reading,
    Remove,
    Seed,
    Smear,
    Start,
    Stir,
    VesselSpec,
    Water,
)
from bloomless.estimation.take import take

MIN = 60.0
SPOKEN = (Reading, Look, Smear, Ask)


def R(minute, shown, probe="1"):
    return Reading(minute * MIN, shown, probe)


def L(minute, **seen):
    return Look(minute * MIN, **seen)


def dark(mass_g, warm_C, room_C, **more):
    return Start(0.0, Composition("dark"), mass_g, temperature_C=warm_C, room_C=room_C, **more)


S1 = (
    dark(800.0, 46.2, 20.5),
    [
        Ask(0.0),
        R(4.0, 43.4),
        Bath(4 * MIN, "cool_bath", 18.0, 55.0),
        R(4.9, 37.6),
        Seed(4.95 * MIN, 130.0, size_mm=3.0),
        R(5.9, 32.8),
        L(5.9, lumps="many"),
        R(6.9, 32.5),
        L(6.9, lumps="few"),
        R(7.9, 32.2),
        L(7.9, lumps="few", thickness="flowing"),
        Ask(8 * MIN),
    ],
)
S2 = (
    Start(0.0, Composition("milk"), 1000.0, temperature_C=44.0, room_C=19.0, vessel=VesselSpec("glass")),
    [Stir(0.0), Stir(120.0, "none"), R(6, 34.1), R(7, 31.0), R(8, 29.9), Stir(8.4 * MIN), R(8.5, 33.8), R(8.8, 33.7)],
)
S3 = (
    dark(800.0, 44.5, 20.5),
    [
        R(1.9, 43.2),
        Seed(2 * MIN, 200.0, size_mm=3.0),
        R(3, 34.4),
        R(4, 34.1),
        L(4, lumps="none"),
        R(9, 32.6),
        L(9, lumps="none", thickness="thin"),
        R(12, 31.8),
        Smear(12 * MIN, 12 * MIN, "steel"),
        R(19, 30.0),
        Smear(19 * MIN, 12 * MIN, "steel", not_set_after_s=420.0, finish="dull"),
        Ask(19.1 * MIN),
        ProbeCheck(21 * MIN, "ice", -1.4, 0.0),
        Ask(21.1 * MIN),
    ],
)
S4 = (
    dark(1100.0, 44.0, 28.0, room_rh_pct=65.0),
    [
        Ask(0.0),
        Bath(5.0, "cool_bath", 20.0, 80.0),
        R(1.6, 37.6),
        Seed(1.7 * MIN, 200.0, 27.0, 3.0),
        R(2.3, 33.7),
        R(3.3, 33.6),
        R(4.3, 33.5),
        Seed(4.4 * MIN, 100.0, 27.0, 3.0),
        R(5.4, 32.2),
        R(6.4, 32.1),
        R(7.4, 32.0),
        Smear(7.5 * MIN, 7.5 * MIN, room_C=28.0),
        Smear(13 * MIN, 7.5 * MIN, set_after_s=330.0, finish="glossy", room_C=28.0),
    ],
)
S5 = (
    dark(700.0, 39.5, 20.5),
    [
        Seed(1.0, 160.0, None, 3.0, "bloomed"),
        R(2, 32.5),
        L(2, lumps="few"),
        R(4, 32.0),
        L(4, lumps="none"),
        R(6, 31.5),
        Smear(6 * MIN, 6 * MIN),
        Smear(15 * MIN, 6 * MIN, not_set_after_s=540.0, finish="streaked"),
        Ask(16.5 * MIN),
    ],
)
S6 = (
    dark(600.0, 42.0, 19.5),
    [
        Seed(1.0, 240.0, None, 6.0),
        *[R(k, 31.5 - 0.1 * k) for k in (1, 2, 3, 4, 5)],
        L(5.0, lumps="many", thickness="thick"),
        Ask(6.6 * MIN),
    ],
)
S7_STORY = [Seed(1.0, 140.0, size_mm=3.0), R(3, 31.6), R(5, 31.4), R(16, 29.6)]
S7_DARK = (dark(800.0, 37.0, 20.0), S7_STORY)
S7_MILK = (Start(0.0, Composition("milk"), 800.0, temperature_C=37.0, room_C=20.0), S7_STORY)
S8 = (
    dark(1500.0, 45.0, 18.0),
    [
        Bath(5.0, "cool_bath", 18.0, 90.0),
        R(2.5, 38.0),
        Seed(2.6 * MIN, 210.0, size_mm=3.0),
        R(4, 33.0),
        R(6, 32.4),
        L(6, lumps="few", thickness="flowing"),
        R(8, 32.0),
        L(8, lumps="none", thickness="flowing"),
        R(10, 31.6),
        R(12, 31.4),
        L(12, lumps="none", thickness="flowing"),
        Remove(12.5 * MIN, 300.0),
        R(14, 31.2),
        R(30, 29.1),
        L(30, lumps="none", thickness="thick"),
        Ask(31.3 * MIN),
    ],
)
S9 = (
    Start(0.0, Composition("white"), 500.0, temperature_C=40.0, room_C=20.0),
    [R(0.5, 40.0), Water(60.0, 4.0), Ask(61.0), R(2, 39.6)],
)
S10 = (
    Start(
        0.0,
        Composition("white"),
        300.0,
        state="pieces",
        temperature_C=20.0,
        room_C=20.0,
        vessel=VesselSpec("glass"),
        means=("microwave", "seed"),
    ),
    [Microwave(1.0, 30.0, 900.0), R(0.6, 23.0), R(0.7, 70.0, "ir"), Stir(50.0), R(1.8, 28.3)],
)
S10B = (
    Start(0.0, Composition("white"), 300.0, temperature_C=53.0, room_C=20.0, vessel=VesselSpec("glass")),
    [R(0.5, 53.0), R(1.5, 53.2), R(2.5, 53.1), R(3.0, 53.0)],
)
S12 = (
    dark(2000.0, 38.0, 21.5, vessel=VesselSpec("plastic", 130.0), means=("seed", "melt", "microwave")),
    [
        Seed(1.0, 330.0, size_mm=2.0),
        R(4, 32.4),
        L(4, lumps="few", thickness="flowing"),
        R(8, 31.6),
        L(8, lumps="none", drain="quick"),
        R(18, 30.9),
        L(18, lumps="none", drain="quick"),
        R(28, 30.4),
        L(28, lumps="none", drain="good"),
        Microwave(28.5 * MIN, 9.0, 700.0),
        R(29.2, 31.5),
        R(38, 30.9),
        L(38, lumps="none", drain="good"),
        R(48, 30.5),
        L(48, lumps="none", drain="slow"),
    ],
)
S13 = (
    dark(740.0, 34.5, 20.0),
    [Seed(1.0, 200.0, size_mm=6.0), R(3, 30.2), R(6, 29.6), R(8, 29.2), L(8.0, lumps="many"), Ask(9 * MIN)],
)


def varied(scenario, seed):
    """The same story told a little differently; the first variation is the story itself."""
    start, events = scenario
    if seed == 0:
        return scenario
    chance = np.random.default_rng(seed)
    pace, shift = 1.0 + 0.2 * chance.uniform(-1, 1), 0.5 * chance.uniform(-1, 1)
    told = []
    for event in events:
        changes = {"at_s": event.at_s * pace}
        if isinstance(event, Reading):
            changes["temperature_C"] = round(event.temperature_C + shift, 1)
        if isinstance(event, Smear):
            changes["taken_at_s"] = event.taken_at_s * pace
        if isinstance(event, Seed | Water):
            changes["mass_g"] = event.mass_g * (1.0 + 0.15 * chance.uniform(-1, 1))
        told.append(replace(event, **changes))
    first = start.temperature_C + shift if start.temperature_C is not None else None
    return replace(start, temperature_C=first), told


def play(scenario, seed=0, members=800):
    """Answers of a scenario: (event, estimate, advice) for every event that is answered."""
    start, events = varied(scenario, seed)
    belief, standing, answers = begin(start, seed=100 + seed, members=members), None, []
    for event in events:
        belief = take(belief, event)
        if isinstance(event, SPOKEN):
            advice, standing = advise(belief, standing)
            answers.append((event, estimate(belief), advice))
    return answers


def codes(answers):
    return {said.code for _, _, advice in answers for said in advice.alerts}


def orders(answers):
    return [advice.next.do for _, _, advice in answers]
