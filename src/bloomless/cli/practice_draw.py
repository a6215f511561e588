"""Small drawings for the terminal: large digits, a curve of dots, an order in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.console import Console, ConsoleOptions, RenderResult
from rich.text import Text

from bloomless.lessons import PracticeBowl

__all__ = ["big_number", "clock", "curve", "order_words"]

_DIGITS = {
    "0": ("█▀█", "█ █", "▀▀▀"),
    "1": (" ▄█", "  █", "  ▀"),
    "2": ("▀▀█", "█▀▀", "▀▀▀"),
    "3": ("▀▀█", " ▀█", "▀▀▀"),
    "4": ("█ █", "▀▀█", "  ▀"),
    "5": ("█▀▀", "▀▀█", "▀▀▀"),
    "6": ("█▀▀", "█▀█", "▀▀▀"),
    "7": ("▀▀█", "  █", "  ▀"),
    "8": ("█▀█", "█▀█", "▀▀▀"),
    "9": ("█▀█", "▀▀█", "▀▀▀"),
    ".": (" ", " ", "▄"),
    "-": ("  ", "▀▀", "  "),
}


def clock(seconds: float) -> str:
    """Minutes and seconds."""
    whole = round(max(seconds, 0.0))
    return f"{whole // 60}:{whole % 60:02d}"


def big_number(value: float) -> Text:
    """A number with one decimal in digits three lines high, readable from a step away."""
    rows = [" ".join(_DIGITS[sign][row] for sign in f"{value:.1f}") for row in range(3)]
    return Text("\n".join(rows), "bold")


class curve:  # noqa: N801  # used like a function by the screen
    """A curve of dots that fills the space it is given: temperature over time, the working window as a band.

    Parameters
    ----------
    bowl
        What to draw.
    truth
        Whether to draw what was hidden as well: the true temperature and form V.
    """

    def __init__(self, bowl: PracticeBowl, *, truth: bool = False) -> None:
        self.bowl, self.truth = bowl, truth

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Draw into the room there is."""
        width = max(options.max_width - 7, 10)
        height = max(min(options.height or 16, 24) - 2, 6)
        yield from self._rows(width, height)

    def _rows(self, width: int, height: int) -> list[Text]:
        shown = [
            (line["at"], line["temperature_C"])
            for line in self.bowl.log
            if line["what"] in {"reading", "start"} and line["temperature_C"] < 80.0
        ]
        true = [(g.at_s, g.truth.temperature_C) for g in self.bowl.truth()] if self.truth else []
        window_low, window_high = self.bowl.kitchen.window_C
        values = [t for _, t in shown + true]
        low, high = min(*values, window_low) - 0.5, max(*values, window_high) + 0.5
        end_s = max(shown[-1][0], true[-1][0] if true else 0.0, 300.0)
        grid = [[(" ", "")] * width for _ in range(height)]

        def row_of(temperature_C: float) -> int:
            return int(min(max(round((high - temperature_C) / (high - low) * (height - 1)), 0), height - 1))

        def put(points: list[tuple[float, float]], sign: str, style: str) -> None:
            for at_s, temperature_C in points:
                grid[row_of(temperature_C)][min(int(at_s / end_s * (width - 1)), width - 1)] = (sign, style)

        for row in range(row_of(window_high), row_of(window_low) + 1):
            grid[row] = [("·", "dim")] * width
        put(shown, "•", "bold" if not self.truth else "dim")
        put(true, "◆", "bold")
        self._mark_acts(grid, end_s, width)
        rows = []
        for number, cells in enumerate(grid):
            scale = high - (high - low) * number / (height - 1)
            text = Text(f"{scale:5.1f} ", "dim")
            for sign, style in cells:
                text.append(sign, style)
            rows.append(text)
        legend = "• shown  ◆ true  · working window" if self.truth else "• shown  · working window"
        rows.append(Text(f"{'':6}0:00{legend:^{max(width - 9, 0)}}{clock(end_s):>5}", "dim"))
        return rows

    def _mark_acts(self, grid: list[list[tuple[str, str]]], end_s: float, width: int) -> None:
        """One letter for each step, along the bottom."""
        letters = {
            "seed": "s",
            "pour": "p",
            "warm_bath": "w",
            "cool_bath": "c",
            "hot_air": "h",
            "add": "a",
            "smear": "t",
        }
        for line in self.bowl.log:
            if line["what"] in letters:
                grid[-1][min(int(line["at"] / end_s * (width - 1)), width - 1)] = (letters[line["what"]], "reverse")


def order_words(answer: Mapping[str, Any]) -> str:
    """The next order of a reply in words, with its reason and the chance now."""
    order = answer["next"]
    units = {"mass_g": "g", "bath_C": "°C", "seconds": "s", "watts": "W", "to_C": "°C"}
    amounts = ", ".join(f"{order[k]:g} {unit}" for k, unit in units.items() if order.get(k) is not None)
    chance = answer.get("chance_in_temper")
    now = "" if chance is None else f" Chance in temper now {chance:.0%}."
    do = "work it on the stone" if order["do"] == "stir" and order.get("share") else order["do"].replace("_", " ")
    return f"{do}{f' ({amounts})' if amounts else ''}. {order.get('why') or ''}{now}"
