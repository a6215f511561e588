"""The advised cook: reads the thermometer, obeys the next order, says only what a cook can see."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from bloomless.bench.obeyed import PORTIONS, line_of
from bloomless.kitchens import Hands, LIMIT_s, Line, Outcome, Truth, carry_out, outcome
from bloomless.studies.told import curing

__all__ = ["AdvisedCook", "Adviser", "Answer", "BelievingAdviser"]

Reply = Mapping[str, Any]


class Adviser(Protocol):
    """A bench: takes lines of the bench log, answers some of them (design section 3)."""

    def take(self, line: Line) -> Reply | None:
        """Take a line; the reply where its kind is answered."""


class BelievingAdviser(Adviser, Protocol):
    """An adviser whose belief a study can look into, past what it tells the cook."""

    def temperature_ahead_C(self, minutes: float) -> tuple[float, float] | None:
        """Median of the bowl's temperature now and so much later with stirring only; ``None`` while it is unknown."""

    def variety(self) -> tuple[float, float]:
        """Effective size and ancestors left of the ensemble, as shares of its members."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One reply beside the truth at that moment."""

    at_s: float
    reply: Reply
    truth: Truth


@dataclass(slots=True)
class AdvisedCook:
    """A cook at a bench.

    Parameters
    ----------
    hands
        The cook's hands in the true kitchen.
    adviser
        What tells the next step.
    """

    hands: Hands
    adviser: Adviser
    foresee_C: Callable[[float], tuple[float, float] | None] | None = None
    """Where a study grades it: ``BelievingAdviser.temperature_ahead_C``."""
    limit_s: float = LIMIT_s
    """Who has not used the bowl by then has failed."""
    answers: list[Answer] = field(default_factory=list)
    obeyed: list[tuple[float, str]] = field(default_factory=list)
    """Orders carried out: when and what."""
    done: set[str] = field(default_factory=set)
    """Names of orders carried out."""
    order_of: dict[str, str] = field(default_factory=dict)
    """Which order a line tells of, by their names."""
    latest: Reply | None = None
    ahead: list[tuple[float, float, float, float]] = field(default_factory=list)
    """Temperature now and ten minutes ahead with stirring only: believed both, then true both."""

    def work(self) -> Outcome:
        """From the start to the first `use_it`, `stop`, or an hour."""
        last = self.until_told()
        return outcome(self.hands, used=last == "use_it")

    def begin(self) -> None:
        """Say what stands in front of the cook, stir, and ask."""
        self.say(self.hands.begin())
        self.say(self.hands.stir("steady"))
        self.say({"at": round(self.hands.world.now_s, 1), "what": "ask"})

    def until_told(self, until: Callable[[], bool] | None = None) -> str | None:
        """Work until told to use the bowl or to stop, or until the limit; what was told.

        Parameters
        ----------
        until
            Ends the work as well; then nothing was told.
        """
        world = self.hands.world
        if not self.hands.log:
            self.begin()
        next_ahead_s = max(240.0, world.now_s)
        while world.now_s < self.limit_s and not (until is not None and until()):
            order = self.next_order()
            if order is not None:
                if order["do"] in {"use_it", "stop"}:
                    self.obeyed.append((world.now_s, str(order["do"])))
                    self._look_ahead()
                    return str(order["do"])
                self.obey(order)
            self.go_on()
            if world.now_s >= next_ahead_s and not world.busy:
                self._look_ahead()
                next_ahead_s += 300.0
        return None

    def go_on(self) -> None:
        """A quarter of a minute passes, and the thermometer is read."""
        self.wait(float(self.hands.world.chance.uniform(10.0, 15.0)))
        self.read()
        self._notice()

    # ------------------------------------------------------------------ saying and reading
    def say(self, line: Line | None) -> None:
        """A line for the bench; nothing where there is none."""
        if line is None:
            return
        reply = self.adviser.take(line)
        if reply is not None:
            if "error" in reply:
                raise RuntimeError(f"the bench refused {line}: {reply['error']}")
            self.latest = reply
            self.answers.append(Answer(self.hands.world.now_s, reply, self.hands.world.truth()))

    def wait(self, seconds: float) -> None:
        """Time passes; a film that has set is told."""
        for line in self.hands.wait(seconds):
            self.say(line)

    def read(self) -> None:
        """Read the thermometer, where there is power and the bowl is not in the oven."""
        world = self.hands.world
        if world.fault_acts("power_cut") or any(going.what == "microwave" for going in world.going):
            return
        self.say(self.hands.read())

    def _look_ahead(self) -> None:
        forecast = None if self.foresee_C is None else self.foresee_C(10.0)
        if forecast is not None:
            world = self.hands.world
            self.ahead.append((*forecast, world.truth().temperature_C, world.after_stirring(600.0).temperature_C))

    # ------------------------------------------------------------------ orders and alerts
    def told(self) -> str | None:
        """What the latest reply says to do."""
        return None if self.latest is None else str(self.latest["next"]["do"])

    def next_order(self) -> Reply | None:
        """The order of the latest reply, if it is one and was not carried out yet; a busy cook has no ear for it."""
        if self.latest is None or self.hands.world.busy or self.hands.world.fault_acts("power_cut"):
            return None
        order = self.latest.get("next")
        if not order or order.get("id") in self.done:
            return None
        if order["do"] == "stir" and order.get("vigour") in (None, self.hands.world.vigour):
            return None
        return dict(order)

    def obey(self, order: Reply) -> None:
        """Carry an order out, once, as soon as a cook gets to it."""
        hands, do = self.hands, order["do"]
        self.done.add(str(order.get("id")))
        late = hands.late()
        self.wait(late * (0.4 if do in {"look", "stir"} else 1.0))
        self.obeyed.append((hands.world.now_s, str(do)))
        if do in {"heat_on", "melt_again"}:
            self._heat(order)
        else:
            line = self._act(order)
            if line is not None:
                self.order_of[line["id"]] = str(order.get("id"))
            self.say(line)

    def _act(self, order: Reply) -> Line | None:
        if order["do"] == "microwave" and "microwave" not in self.hands.means:
            return None  # no cook puts metal into a microwave oven, whoever says so
        return carry_out(self.hands, line_of(order))

    def _heat(self, order: Reply) -> None:
        """Warm in portions until the thermometer says so, or nearly so after many; forty portions at most."""
        hands = self.hands
        by = order.get("by") or next((means for means in PORTIONS if means in hands.means), "warm_bath")
        for portion in range(40):
            self.read()
            if hands.shown_C >= order["to_C"] - (1.5 if portion > 20 else 0.0):
                return
            self.say(carry_out(hands, PORTIONS[by]))
            self.wait(max(hands.world.free_at_s - hands.world.now_s, 0.0) + (3.0 if by == "warm_bath" else 20.0))

    def _notice(self) -> None:
        """An alert that names what is wrong makes the cook find it, half a minute later."""
        world, fault = self.hands.world, self.hands.world.kitchen.fault
        if fault is None or self.latest is None:
            return
        codes = {alert["code"] for alert in self.latest.get("alerts") or ()}
        if not codes & curing(fault.kind):
            return
        if fault.kind in {"seed_not_logged", "seed_not_added"}:
            self.wait(15.0)
            line = self.hands.own_up()
            if line is not None and line["what"] == "correct":
                # What never happened is still to be done, if it is asked for.
                self.done.discard(self.order_of.get(line["of"], ""))
            self.say(line)
        elif not world.noticed:
            self.wait(20.0)
            world.noticed = True
