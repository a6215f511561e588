"""The terminal screen of a practice bowl: one keyboard, one bowl, time that runs faster."""

from __future__ import annotations

import json
import os
import select
import sys
import termios
import time
import tty
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from rich.console import Console, Group, RenderableType
from rich.layout import Layout
from rich.live import Live
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from bloomless.cli.practice_draw import big_number, clock, curve, order_words
from bloomless.errors import BloomlessError
from bloomless.lessons import PracticeBowl, debrief, score

__all__ = ["Screen", "farewell"]

VIGOURS = ("none", "gentle", "steady", "brisk")
SPEEDS = (1.0, 2.0, 4.0, 6.0, 10.0, 15.0, 20.0)
FRAME_s = 0.12

# key → (what, word at the bottom, question, unit, field)
KEYS: dict[str, tuple[str, str, str, str, str]] = {
    "s": ("seed", "seed", "How much seed?", "g", "mass_g"),
    "p": ("pour", "pour over", "", "", ""),
    "c": ("cool_bath", "cool bath", "How long in the cool bath of 18 °C?", "s", "seconds"),
    "w": ("warm_bath", "warm bath", "How long over the warm bath of 45 °C?", "s", "seconds"),
    "h": ("hot_air", "hot air", "How long with hot air?", "s", "seconds"),
    "o": ("microwave", "microwave", "How long a burst at 700 W?", "s", "seconds"),
    "a": ("add", "add melt", "How much melt at 40 °C?", "g", "mass_g"),
    "l": ("look", "look", "", "", ""),
    "t": ("smear", "smear", "", "", ""),
    "f": ("sieve", "fish out", "", "", ""),
    "i": ("probe_check", "ice check", "", "", ""),
}


@contextmanager
def _single_keys() -> Iterator[None]:
    """Each key arrives at once and is not echoed; the terminal is put back whatever happens."""
    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)
    try:
        tty.setcbreak(handle)
        yield
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)


def _keys_pressed(seconds: float) -> str:
    """Keys that came within a time; nothing if none."""
    ready, _, _ = select.select([sys.stdin], [], [], seconds)
    return os.read(sys.stdin.fileno(), 64).decode(errors="ignore") if ready else ""


class Screen:
    """One game.

    Parameters
    ----------
    bowl
        The bowl to play.
    speed
        How much faster than a real bowl.
    hints
        Whether to show what Bloomless would do.
    number
        Of the bowl, shown so that it can be played again.
    """

    def __init__(self, bowl: PracticeBowl, *, speed: float, hints: bool, number: int) -> None:
        self.bowl, self.speed, self.number = bowl, speed, number
        self.message = "Melted, and being stirred. Bring it into temper, then use it with u."
        self.paused = False
        self.asking: str | None = None
        self.typed = ""
        self.adviser = _Adviser() if hints else None

    def play(self) -> None:
        """Run until the bowl is used or given up."""
        console = Console()
        with _single_keys(), Live(self._draw(), console=console, screen=True, auto_refresh=False) as live:
            last = time.monotonic()
            while not self.bowl.over:
                for key in _keys_pressed(FRAME_s):
                    self._press(key)
                now = time.monotonic()
                if not self.paused and self.asking is None and not self.bowl.over:
                    # A machine that slept does not make the bowl jump.
                    self._note(self.bowl.advance(min(now - last, 0.5) * self.speed))
                last = now
                if self.adviser is not None:
                    self.adviser.listen(self.bowl)
                live.update(self._draw(), refresh=True)

    def _note(self, lines: list[dict[str, Any]]) -> None:
        for line in lines:
            if line["what"] == "smear" and "set_after_s" in line:
                self.message = f"The film set after {clock(line['set_after_s'])}: {line['finish']}."
            elif line["what"] == "smear" and "not_set_after_s" in line:
                self.message = f"The film has not set after {clock(line['not_set_after_s'])}."

    # ------------------------------------------------------------------ keys
    def _press(self, key: str) -> None:
        if self.bowl.over:
            return
        if self.asking is not None:
            self._type(key)
        elif key in KEYS:
            self._begin(key)
        elif key == "v":
            place = (VIGOURS.index(self.bowl.see().vigour) + 1) % len(VIGOURS)
            self._do("stir", vigour=VIGOURS[place])
        elif key == " ":
            self.paused = not self.paused
        elif key in "+-":
            self._change_speed(1 if key == "+" else -1)
        elif key == "u":
            self._do("finish", used=True)
        elif key == "q":
            self._do("finish", used=False)

    def _change_speed(self, step: int) -> None:
        nearest = min(range(len(SPEEDS)), key=lambda i: abs(SPEEDS[i] - self.speed))
        self.speed = SPEEDS[min(max(nearest + step, 0), len(SPEEDS) - 1)]

    def _begin(self, key: str) -> None:
        what, _, question, _, _ = KEYS[key]
        if question:
            self.asking, self.typed = key, ""
        else:
            self._do(what)

    def _type(self, key: str) -> None:
        assert self.asking is not None
        what, word, _, _, name = KEYS[self.asking]
        if key in "\r\n":
            self.asking = None
            try:
                amount = float(self.typed) if self.typed else self._usual(what)
            except ValueError:
                self.message = f"{self.typed} is no number; {word} was not done."
                return
            self._do(what, **{name: amount})
        elif key in "\x7f\b":
            self.typed = self.typed[:-1]
        elif key == "\x1b":
            self.asking = None
        elif key in "0123456789." and len(self.typed) < 6:
            self.typed += key

    def _usual(self, what: str) -> float:
        """An amount that is neither much nor little, offered with Enter."""
        share = {"seed": 0.05, "add": 0.07}.get(what)
        if share is not None:
            return max(5.0, round(self.bowl.see().mass_g * share / 5.0) * 5.0)
        return 5.0 if what == "microwave" else 20.0

    def _do(self, what: str, **fields: Any) -> None:
        try:
            lines = self.bowl.act(what, **fields)
        except BloomlessError as error:
            self.message = str(error)
            return
        said = lines[-1]
        self.message = _said(said)

    # ------------------------------------------------------------------ drawing
    def _draw(self) -> RenderableType:
        seen, kitchen = self.bowl.see(), self.bowl.kitchen
        said = kitchen.said
        pace = "paused" if self.paused or self.asking else f"×{self.speed:g}"
        head = Text.assemble(
            ("Practice bowl ", "bold"),
            f"{kitchen.kind.replace('_', ' ')} · {said['mass_g']:.0f} g melted · {said['vessel']['material']} bowl · "
            f"room {said['room_C']:.1f} °C · {self.bowl.level} · number {self.number}",
        )
        layout = Layout()
        layout.split_column(
            Layout(Panel(head, title=f"{clock(seen.at_s)}  {pace}", title_align="right"), size=3),
            Layout(name="middle"),
            Layout(self._foot(), size=7 if self.adviser is not None else 6),
        )
        left = Group(big_number(seen.shown_C), Text(""), self._known())
        middle = layout["middle"]
        middle.split_row(
            Layout(Panel(left, title="thermometer °C", title_align="left"), size=36),
            Layout(Panel(curve(self.bowl), title="what the thermometer showed", title_align="left")),
        )
        return layout

    def _known(self) -> RenderableType:
        seen = self.bowl.see()
        table = Table.grid(padding=(0, 1))
        table.add_column(style="dim")
        table.add_column()
        table.add_row("stirring", seen.vigour)
        if seen.going:
            table.add_row(
                "at work", f"{seen.going[-1].replace('_', ' ')}, {clock(seen.going_until_s - seen.at_s)} left"
            )
        if seen.look is not None:
            words = ", ".join(str(seen.look[k]) for k in ("thickness", "drain") if k in seen.look)
            table.add_row("lumps", f"{seen.look['lumps']} ({clock(seen.at_s - seen.look['at'])} ago)")
            table.add_row("melt", words + (", streaks" if seen.look.get("streaks") else ""))
        if seen.smear_since_s is not None:
            table.add_row("smear", f"waiting {clock(seen.at_s - seen.smear_since_s)}")
        elif seen.smear is not None:
            table.add_row("smear", _said(dict(seen.smear)))
        share = seen.seed_used_g / self.bowl.kitchen.said["mass_g"]
        table.add_row("seed", f"{seen.seed_used_g:.0f} g ({share:.0%})")
        table.add_row("steps", str(seen.steps))
        return table

    def _foot(self) -> RenderableType:
        if self.asking is not None:
            what, _, question, unit, _ = KEYS[self.asking]
            usual = f"{self._usual(what):g}"
            line = Text.assemble(
                (f"{question} ", "bold"), (self.typed or usual, "bold reverse" if self.typed else "dim"), f" {unit}   "
            )
            line.append("Enter: do it   Esc: leave it", "dim")
            return Panel(line)
        keys = Text()
        means = {*self.bowl.kitchen.means, "pour", "look", "smear", "sieve", "probe_check"}
        for key, (what, word, *_) in KEYS.items():
            if what in means or (what == "add" and "melt" in means):
                keys.append(f" {key} ", "reverse")
                keys.append(f" {word}  ")
        for key, word in (("v", "vigour"), ("space", "pause"), ("+ −", "speed"), ("u", "use it"), ("q", "give up")):
            keys.append(f" {key} ", "reverse")
            keys.append(f" {word}  ")
        message = Text(self.message, "bold")
        if self.adviser is not None and self.adviser.words:
            message.append(f"\nBloomless: {self.adviser.words}", "italic")
        return Panel(Group(message, keys))


def _said(line: dict[str, Any]) -> str:
    """A line of the log in a few words."""
    what = line["what"]
    if what == "look":
        rest = ", ".join(str(line[k]) for k in ("thickness", "drain") if k in line)
        return f"Lumps: {line['lumps']}; {rest}{', streaks' if line.get('streaks') else ''}."
    if what == "smear":
        if "set_after_s" in line:
            return f"set after {clock(line['set_after_s'])}, {line['finish']}"
        if "not_set_after_s" in line:
            return f"not set after {clock(line['not_set_after_s'])}"
        return "The knife was dipped; the film waits on the bench."
    if what == "probe_check":
        return f"In ice the thermometer shows {line['shown_C']:g} °C."
    amounts = {"mass_g": "g", "seconds": "s"}
    shown = " ".join(f"{line[k]:g} {unit}" for k, unit in amounts.items() if k in line)
    return f"{what.replace('_', ' ').capitalize()} {shown or line.get('vigour', '')}".strip() + "."


class _Adviser:
    """The bench, listening to the practice bowl as it would to a real one."""

    def __init__(self) -> None:
        from bloomless.bench.log import BenchLog  # heavy: only with hints

        self._log = BenchLog()
        self._heard = 0
        self.words = ""

    def listen(self, bowl: PracticeBowl) -> None:
        for line in bowl.log[self._heard :]:
            answer = self._log.feed(json.dumps(line))
            if answer is not None and "error" not in answer:
                self.words = order_words(answer)
        self._heard = len(bowl.log)


def farewell(console: Console, bowl: PracticeBowl, number: int) -> None:
    """Print score, story and truth of a finished bowl."""
    points = score(bowl)
    verdict = "In temper." if points.used and points.in_temper else "Not in temper." if points.used else "Not used."
    console.print()
    console.print(Text(f"{verdict} {points.total} of 100 points", "bold"))
    table = Table("", "reached", "points", box=None, padding=(0, 2))
    table.add_row("temper", "yes" if points.in_temper else ", ".join(points.wrong), f"{points.temper} of 60")
    table.add_row("minutes", f"{points.minutes_taken:.1f}", f"{points.minutes} of 15")
    table.add_row("seed", f"{points.seed_share:.0%} of the melt", f"{points.seed} of 10")
    table.add_row("steps", str(points.steps_taken), f"{points.steps} of 15")
    console.print(table)
    console.print(Panel(curve(bowl, truth=True), title="what was true", title_align="left"))
    for moment in debrief(bowl):
        console.print(Text.assemble((f"{clock(moment.at_s):>6}  ", "dim"), moment.text), soft_wrap=False)
    console.print(
        f"\nThe same bowl again: bloomless practice --kind {bowl.kitchen.kind} --level {bowl.level} --seed {number}"
        f" --mass-g {bowl.kitchen.said['mass_g']:.0f}",
        style="dim",
        highlight=False,
        soft_wrap=True,
    )
