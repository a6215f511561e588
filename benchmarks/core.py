"""Speed, memory and first answer of the core: the ensemble step against LSODA, a bench of 4,000 members.

The step and LSODA run the same thirty minutes (a pour, seed, a cool bath, two bursts of heat, holding) on the same
members with the same compiled right side. Each has its error measured against LSODA at rtol 1e-10. LSODA runs at 21
tolerances, and its speed at the very error of the step is read off the line through the best of them. Times inside one
process are processor time of one core, so that a busy machine blurs them less; the first answer of the command is told
by the clock on the wall as well.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import time
from collections.abc import Iterator

os.environ.setdefault("NUMBA_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
from scipy.integrate import odeint, solve_ivp

from report import Figure, at_least, at_most, main

MEMBERS = 4000


def bowl(members):
    """Bowls just poured, drawn from the priors."""
    from bloomless.materials.chocolates import chocolate
    from bloomless.materials.vessels import vessel
    from bloomless.physics.actions import pour_into
    from bloomless.physics.begin import begin
    from bloomless.physics.bowl import Bowl
    from bloomless.physics.priors import draw_parameters, priors_for

    of = chocolate("dark")
    shared = Bowl(of, vessel("steel", holds_kg=1.0), 1.0)
    start = begin(shared, draw_parameters(priors_for(of), members, seed=5), temperature_C=44.0)
    return pour_into(start, vessel("steel", holds_kg=1.0), vessel_C=21.0)


def course():
    """What is done in thirty minutes: surroundings and seconds, or seed."""
    from bloomless.physics.ensemble import Surroundings

    room = Surroundings()
    return [
        (room, 60),
        ("seed", 0.15),
        (room, 120),
        (Surroundings(bath_C=15.0), 45),
        (room, 300),
        (Surroundings(microwave_W=700.0, stir=0.3), 6),
        (room, 400),
        (Surroundings(bath_C=42.0), 20),
        (room, 849),
    ]


def run(ensemble, how):
    """Temperatures after each part of the course, shape (parts, members); seconds of computing."""
    from bloomless.physics import rows
    from bloomless.physics.actions import add_pieces

    seen, spent = [], 0.0
    for what, amount in course():
        if what == "seed":
            ensemble = add_pieces(ensemble, amount, temperature_C=20.0, size_mm=4.0)
            continue
        begun = time.process_time()
        ensemble = how(ensemble, what, amount)
        spent += time.process_time() - begun
        seen.append(ensemble.state[rows.BULK_C].copy())
    return np.array(seen), spent


def tolerances(rtol):
    """Absolute tolerances by row: kelvin, kilograms, metres and shares differ by orders of magnitude."""
    from bloomless.physics import rows

    atol = np.full(rows.DYNAMIC, rtol * 1e-3)
    atol[[rows.BULK_C, rows.VESSEL_C, rows.PROBE_C, rows.SPLIT_K]] = rtol * 10.0
    atol[rows.PIECE_C : rows.PIECE_SOLID] = rtol * 10.0
    atol[rows.PIECE_m : rows.PIECE_C] = rtol * 1e-5
    return atol


def by_lsoda(rtol, solver="odeint"):
    """One member after the other by SciPy's LSODA, its right side compiled; ``odeint`` has the least overhead."""
    from bloomless.physics import rows
    from bloomless.physics.rates import bowl_rates

    atol = tolerances(rtol)

    def go(ensemble, surroundings, seconds):
        controls, k = surroundings.controls(ensemble.members), ensemble.bowl.constants
        state = ensemble.state.copy()
        for member in range(ensemble.members):
            whole = np.ascontiguousarray(state[:, member])
            p, c = np.ascontiguousarray(ensemble.parameters[:, member]), np.ascontiguousarray(controls[:, member])
            start = whole[: rows.DYNAMIC].copy()

            def rates(y, t, whole=whole, p=p, c=c):
                whole[: rows.DYNAMIC] = y
                return bowl_rates(whole, p, c, k)

            if solver == "odeint":
                found = odeint(rates, start, [0.0, seconds], rtol=rtol, atol=atol, mxstep=100_000)[-1]
            else:
                span = (0.0, float(seconds))
                found = solve_ivp(lambda t, y: rates(y, t), span, start, method="LSODA", rtol=rtol, atol=atol).y[:, -1]
            state[: rows.DYNAMIC, member] = found
        return ensemble.with_state(state)

    return go


def seconds_of_course() -> int:
    """How long the course lasts."""
    return sum(amount for what, amount in course() if what != "seed")


def fastest(few, truth, solver):
    """LSODA's errors, rising, and its member-seconds a second: the tolerances that no other beats in both."""
    found = []
    for rtol in np.geomspace(1e-2, 1e-5, 21):
        tried = [run(few, by_lsoda(rtol, solver)) for _ in range(3)]
        error = np.abs(tried[0][0] - truth).max()
        found.append((error, few.members * seconds_of_course() / min(spent for _, spent in tried)))
    best = [(error, rate) for error, rate in sorted(found) if all(rate > r for e, r in found if e < error)]
    return np.array(best).T


def step_against_lsoda(quick: bool) -> Iterator[Figure]:
    """Member-seconds a second of both at equal measured error, by the length of the step; 1 and 2 s are judged."""
    from bloomless.physics.advance import advance

    few, many = bowl(8 if quick else 24), bowl(MEMBERS)
    run(few, advance)
    truth, _ = run(few, by_lsoda(1e-10))
    theirs = {solver: fastest(few, truth, solver) for solver in ("solve_ivp", "odeint")}
    for dt_s in (0.5, 1.0, 1.5, 2.0):

        def step(ensemble, surroundings, amount, dt_s=dt_s):
            return advance(ensemble, surroundings, amount, dt_s=dt_s)

        error = np.abs(run(few, step)[0] - truth).max()
        rate = MEMBERS * seconds_of_course() / min(run(many, step)[1] for _ in range(3 if quick else 8))
        of = f"step of {dt_s:g} s"
        yield Figure(f"{of}, one core", 1e9 * dt_s / rate, "ns a member-step", "–", None)
        yield at_most(f"{of}: largest error of temperature in 30 min", 1000.0 * error, "mK", 20.0)
        for solver, (errors, rates) in theirs.items():
            equal = float(np.exp(np.interp(np.log(error), np.log(errors), np.log(rates))))
            yield Figure(f"{of}: LSODA by {solver} at that error", equal, "member-s/s", "–", None)
            name = f"{of} over LSODA by {solver} at equal error"
            judged = dt_s in (1.0, 2.0)
            yield at_least(name, rate / equal, "×", 200.0) if judged else Figure(name, rate / equal, "×", "–", None)


MEMORY = """
import resource, sys
import numpy as np
from bloomless.advice.advise import advise
from bloomless.estimation import events as e
from bloomless.estimation.begin import begin
from bloomless.estimation.estimate import estimate
from bloomless.estimation.take import take

def session(members):
    start = e.Start(at_s=0.0, chocolate=e.Composition("dark"), mass_g=800.0, temperature_C=45.0)
    belief = begin(start, seed=1, members=members)
    shown = [e.Reading(at_s=75.0 + 15.0 * i, temperature_C=34.0 - 0.1 * i) for i in range(20)]
    for event in (e.Pour(at_s=20.0), e.Seed(at_s=60.0, mass_g=120.0), *shown):
        belief = take(belief, event)
        estimate(belief)
    advise(belief, None)
    return belief

def resident():
    with open("/proc/self/statm") as file:
        return int(file.read().split()[1]) * resource.getpagesize() / 1e6

session(64)
before = resident()
top_before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
kept = session(int(sys.argv[1]))
print(resident() - before, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3 - top_before)
"""

READING = """
import sys, time
from bloomless.estimation import events as e
from bloomless.estimation.begin import begin
from bloomless.estimation.estimate import estimate
from bloomless.estimation.take import take

start = e.Start(at_s=0.0, chocolate=e.Composition("dark"), mass_g=800.0, temperature_C=45.0)
belief = begin(start, seed=1, members=int(sys.argv[1]))
for event in (e.Pour(at_s=20.0), e.Seed(at_s=60.0, mass_g=120.0)):
    belief = take(belief, event)
taken, answered = [], []
for i in range(60):
    event = e.Reading(at_s=75.0 + 15.0 * i, temperature_C=33.5 - 0.03 * i)
    begun = time.process_time()
    belief = take(belief, event)
    middle = time.process_time()
    estimate(belief)
    taken.append(middle - begun)
    answered.append(time.process_time() - middle)
taken.sort(); answered.sort()
print(1e3 * taken[30], 1e3 * taken[57], 1e3 * answered[30])
"""


def python(code: str, *arguments: str) -> list[float]:
    """Numbers that a fresh interpreter prints."""
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], check=True, capture_output=True, text=True, env=dict(os.environ)
    )
    return [float(word) for word in done.stdout.split()]


def first_answer(quick: bool) -> Iterator[Figure]:
    """Time from starting the command to its first reply, kernels on disk."""
    lines = [
        {"at": 0, "what": "start", "chocolate": "dark", "state": "melted", "mass_g": 800, "temperature_C": 45},
        {"at": 5, "what": "reading", "temperature_C": 45.1},
        {"at": 6, "what": "ask"},
    ]
    text = "".join(json.dumps(line) + "\n" for line in lines)
    readings, asks, work = [], [], []
    for _ in range(3 if quick else 6):
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        begun = time.perf_counter()
        with subprocess.Popen(
            [sys.executable, "-m", "bloomless", "bench"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        ) as process:
            assert process.stdin is not None
            assert process.stdout is not None
            process.stdin.write(text)
            process.stdin.flush()
            process.stdout.readline()
            readings.append(time.perf_counter() - begun)
            process.stdout.readline()
            asks.append(time.perf_counter() - begun)
            process.stdin.close()
            process.wait()
        now = resource.getrusage(resource.RUSAGE_CHILDREN)
        work.append(now.ru_utime + now.ru_stime - used.ru_utime - used.ru_stime)
    yield at_most("cold `bloomless bench`: first reply (to a reading)", float(np.median(readings)), "s", 3.0)
    yield at_most("cold `bloomless bench`: first reply with a plan (to ask)", float(np.median(asks)), "s", 3.0)
    yield at_most("cold `bloomless bench`: processor time of the whole session", float(np.median(work)), "s", 3.0)
    yield Figure("programs that wanted one of the cores meanwhile", os.getloadavg()[0], "1", "–", None)


def measure(quick: bool) -> Iterator[Figure]:
    """All figures."""
    yield from step_against_lsoda(quick)
    python(READING, "500")  # compile, if this is the first time
    kept, most = python(MEMORY, str(MEMBERS))
    yield at_most("memory of a bench of 4,000 members, kept", kept, "MB", 50.0)
    yield at_most("memory of a bench of 4,000 members, at its most", most, "MB", 50.0)
    taken, late, answered = python(READING, str(MEMBERS))
    yield at_most("a reading 15 s after the last, 4,000 members, one core", taken, "ms", 5.0)
    yield Figure("the same, 95th of a hundred", late, "ms", "–", None)
    yield Figure("bands and chance after it", answered, "ms", "–", None)
    yield from first_answer(quick)
    yield Figure(
        "this benchmark's own memory", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3, "MB", "–", None
    )


if __name__ == "__main__":
    main(measure, __doc__)
