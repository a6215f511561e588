"""A cook who does what the advice says, at a practice bowl: for the demonstration and for tests of the whole way."""

from __future__ import annotations

from typing import Final

from bloomless.assembly.craft import Json
from bloomless.assembly.practice import PracticeTable
from bloomless.bench.obeyed import line_of
from bloomless.errors import BloomlessError

__all__ = ["AdvisedCook"]

STEP_S: Final = 5.0


class AdvisedCook:
    """Carries out each order once."""

    def __init__(self, table: PracticeTable) -> None:
        self.table = table
        self._done: set[str] = set()

    def obey(self) -> Json | None:
        """Carry out the order that stands, if it is a new one; gives what was done."""
        order = self.table.live.ensured_advice()["next"]
        name = str(order.get("id", ""))
        if self.table.practice.over or name in self._done or order["do"] in {"stir", "stop"}:
            return None
        act = line_of(order)
        try:
            self.table.act(act, f"advised {name}")
        except BloomlessError:
            return None  # hands are full, or the film is still setting: the order stands
        self._done.add(name)
        return act

    def work(self, until_s: float, *, stop_after: str | None = None) -> None:
        """Work until a session time, the end, or 90 s after the first act of a kind."""
        while not self.table.practice.over and self.table.live.now_s() < until_s:
            done = self.obey()
            if stop_after is not None and done is not None and done["what"] == stop_after:
                until_s, stop_after = min(until_s, self.table.live.now_s() + 90.0), None
            self.table.advance(STEP_S)
            self.table.live.advise_now()
