"""Practice bowls at work: simulated chocolate whose time runs while somebody watches."""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import Any, Final

import numpy as np

from bloomless.assembly.bowl import Bowl
from bloomless.assembly.craft import CraftMaker, Json
from bloomless.assembly.workers import Workers
from bloomless.bench.ports import MemoryEventLog
from bloomless.errors import ImpossibleInput, Misuse, UnknownName
from bloomless.lessons import PLAYS, PracticeBowl, debrief, open_bowl, score

__all__ = ["SPEEDS", "PracticeRoom", "PracticeTable"]

SPEEDS: Final = (1, 2, 4, 10, 20)
TICK_S: Final = 0.2
MOST_TABLES: Final = 40


class _NoSnapshots:
    """A practice bowl is not kept."""

    def save(self, session: str, number: int, state: object, *, form: str) -> None:
        """Keep nothing."""

    def load(self, session: str, *, form: str, before: int | None = None) -> tuple[int, Any] | None:  # noqa: ARG002
        """Nothing was kept."""
        return None

    def keep_newest(self, session: str) -> None:
        """Nothing to let go."""


@dataclass(frozen=True)
class _PracticeHome:
    """A house whose log is in memory."""

    clock: Callable[[], datetime]
    log: MemoryEventLog = field(default_factory=MemoryEventLog)
    snapshots: _NoSnapshots = field(default_factory=_NoSnapshots)


class _SimulatedTime(Bowl):
    """A bowl whose time is that of the simulation."""

    practice: PracticeBowl

    def now_s(self) -> float:
        return float(self.practice.hands.world.now_s)


class PracticeTable:
    """One practice bowl with the bench that watches it."""

    def __init__(
        self, practice: PracticeBowl, maker: CraftMaker, workers: Workers, clock: Callable[[], datetime], *, hints: bool
    ) -> None:
        self.name = secrets.token_hex(6)
        self.practice, self.hints = practice, hints
        self.live = _SimulatedTime(_PracticeHome(clock), maker, workers, self.name)
        self.live.practice = practice
        self.speed = 4
        self.touched_at = time.monotonic()
        self._told = 0
        self._acts: set[str] = set()
        self._lock = threading.Lock()
        with self._lock:
            self._pass_on()

    def act(self, act: Mapping[str, Any], act_id: str) -> None:
        """Do something in the simulated kitchen; the same id once only. Named errors say what cannot be done."""
        with self._lock:
            self.touched_at = time.monotonic()
            if act_id in self._acts:
                return
            what = str(act.get("what"))
            # A screen may send more than a simulated kitchen asks for, such as what the seed is.
            known = PLAYS[what].usual if what in PLAYS else {}
            self.practice.act(what, **{key: value for key, value in act.items() if key in known and value is not None})
            self._acts.add(act_id)
            self._pass_on()

    def advance(self, seconds: float) -> None:
        """Let simulated time pass."""
        with self._lock:
            if not self.practice.over:
                self.practice.advance(seconds)
                self._pass_on()

    def set_speed(self, speed: int) -> None:
        """How many simulated seconds pass in a real one."""
        if speed not in SPEEDS:
            raise ImpossibleInput("speed", speed, ", ".join(str(one) for one in SPEEDS))
        self.speed = speed
        self.live.announce("speed", {"speed": speed})

    def verdict(self) -> Json:
        """Score, story and truth of a finished bowl; raises ``Misuse`` before its end."""
        with self._lock:
            result = asdict(score(self.practice))
            story = [asdict(moment) for moment in debrief(self.practice)]
            truth = [
                [
                    round(glimpse.at_s, 1),
                    round(glimpse.truth.temperature_C, 2),
                    round(glimpse.truth.form_v_pct_of_fat, 3),
                    round(glimpse.truth.seed_left_g, 1),
                ]
                for glimpse in self.practice.truth()
            ]
        return {"score": result, "story": story, "truth": truth, "level": self.practice.level}

    def _pass_on(self) -> None:
        """What the simulated kitchen wrote into its log goes to the bench that watches."""
        lines = self.practice.log
        futures = []
        for index in range(self._told, len(lines)):
            line = dict(lines[index])
            futures.append(self.live.tell(line, str(line.get("id") or f"p{index}")))
        self._told = len(lines)
        for future in futures:
            future.result(60)


class PracticeRoom:
    """All practice bowls of this process, and the thread that lets their time pass."""

    def __init__(self, maker: CraftMaker, workers: Workers, clock: Callable[[], datetime]) -> None:
        self.maker, self.workers, self.clock = maker, workers, clock
        self._tables: dict[str, PracticeTable] = {}
        self._over = threading.Event()
        self._thread: threading.Thread | None = None

    def open(
        self, *, kind: str = "dark", level: str = "calm", hints: bool = True, seed: int | None = None
    ) -> PracticeTable:
        """Open a practice bowl; the same ``seed`` gives the same kitchen."""
        chance = np.random.default_rng(secrets.randbits(64) if seed is None else seed)
        practice = open_bowl(chance, kind=kind, level=level)
        table = PracticeTable(practice, self.maker, self.workers, self.clock, hints=hints)
        if len(self._tables) >= MOST_TABLES:
            oldest = min(self._tables.values(), key=lambda one: one.touched_at)
            del self._tables[oldest.name]
        self._tables[table.name] = table
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="practice", daemon=True)
            self._thread.start()
        return table

    def get(self, name: str) -> PracticeTable:
        """A practice bowl by its name; raises ``UnknownName``: they are not kept for ever."""
        if name not in self._tables:
            raise UnknownName("practice_bowl", name, self._tables)
        return self._tables[name]

    def _run(self) -> None:
        last = time.monotonic()
        while not self._over.wait(TICK_S):
            now = time.monotonic()
            passed_s, last = min(now - last, 1.0), now
            for table in list(self._tables.values()):
                if table.live.watched and not table.practice.over:
                    try:
                        table.advance(passed_s * table.speed)
                    except Misuse:
                        continue  # it was finished between the look and the step

    def close(self) -> None:
        """Stop the time."""
        self._over.set()
        if self._thread is not None:
            self._thread.join(10)
