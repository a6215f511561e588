"""The story of a bowl: its events played through the bench, with what was believed and advised along the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bloomless.advice.orders import Advice, Order
from bloomless.bench.session import Bench
from bloomless.errors import BloomlessError, ImpossibleInput
from bloomless.estimation import events as ev
from bloomless.estimation.answers import Estimate
from bloomless.estimation.begin import chocolate_of
from bloomless.materials.chocolates import working_window

__all__ = ["Frame", "Story", "in_words", "tell", "window_of"]


@dataclass(frozen=True, slots=True)
class Frame:
    """One moment of a bowl: what came, what was believed after it, what was ordered."""

    at_s: float
    event: ev.Event
    estimate: Estimate
    order: Order | None
    """``None`` where no advice was asked for."""


@dataclass(frozen=True, slots=True)
class Story:
    """A whole bowl."""

    start: ev.Start
    frames: tuple[Frame, ...]
    refused: tuple[tuple[int, BloomlessError], ...]
    """Place in the sequence of events, and why it was refused."""
    last: Advice


def tell(
    events: Sequence[ev.Event],
    *,
    ids: Sequence[str | None] = (),
    seed: int = 1,
    members: int = 3000,
    advise_every_s: float = 60.0,
    progress: Callable[[int], None] | None = None,
) -> Story:
    """Play events through a bench.

    Parameters
    ----------
    events
        The start first.
    ids
        Their names, where corrections need them; in the same order.
    seed, members
        As for ``Bench``.
    advise_every_s
        Advice is worked out at most so often; actions, looks and smears always get one.
    progress
        Called with the number of events done.

    Raises
    ------
    ImpossibleInput
        If the first event is no start.
    """
    if not events or not isinstance(events[0], ev.Start):
        raise ImpossibleInput("first event", events[0].what if events else None, "start", code="not_started")
    names = [*ids, *[None] * (len(events) - len(ids))]
    bench = Bench(events[0], event_id=names[0] or "start", seed=seed, members=members)
    frames = [Frame(events[0].at_s, events[0], bench.estimate(), None)]
    refused: list[tuple[int, BloomlessError]] = []
    advised_s = -advise_every_s
    for place, event in enumerate(events[1:], start=1):
        try:
            estimate = bench.take(event, event_id=names[place])
        except BloomlessError as error:
            refused.append((place, error))
            continue
        order = None
        if not isinstance(event, ev.Reading) or bench.now_s - advised_s >= advise_every_s:
            order, advised_s = bench.advise().next, bench.now_s
        frames.append(Frame(bench.now_s, event, estimate, order))
        if progress is not None:
            progress(place)
    return Story(events[0], tuple(frames), tuple(refused), bench.advise())


def window_of(start: ev.Start) -> tuple[float, float]:
    """Working window of the chocolate of a bowl [°C]."""
    return working_window(chocolate_of(start.chocolate))


def _name_of(chocolate: ev.Composition) -> str:
    name = chocolate.kind.replace("_", " ")
    return name if chocolate.colour_share is None else f"coloured {name}"


def in_words(event: ev.Event) -> str:
    """An event in a few words of the bench, with its numbers and units."""
    match event:
        case ev.Start():
            at = "" if event.temperature_C is None else f", {event.temperature_C:.1f} °C"
            return f"{_name_of(event.chocolate)} {event.mass_g:.0f} g, {event.state.replace('_', ' ')}{at}"
        case ev.Reading():
            return f"{event.temperature_C:.1f} °C"
        case ev.Seed():
            return f"seed {event.mass_g:.3g} g, {event.size_mm:g} mm"
        case ev.Add():
            return f"melt {event.mass_g:.0f} g at {event.temperature_C:.0f} °C"
        case ev.Bath():
            return f"{event.what.replace('_', ' ')} {event.bath_C:.0f} °C, {event.seconds:.0f} s"
        case ev.Microwave() | ev.HotAir():
            return f"{event.what.replace('_', ' ')} {event.watts:.0f} W, {event.seconds:.0f} s"
        case ev.Table():
            return f"table {event.share:.0%}, {event.seconds:.0f} s"
        case ev.Stir():
            return f"stir {event.vigour}"
        case ev.Look():
            seen = (event.lumps and f"lumps {event.lumps}", event.thickness, event.drain and f"drains {event.drain}")
            return "look: " + (", ".join(part for part in seen if part) or "nothing said")
        case ev.Smear():
            return _smear_in_words(event)
        case ev.ProbeCheck():
            return f"check {event.method.replace('_', ' ')}: shows {event.shown_C:.1f} for {event.reference_C:.1f} °C"
        case ev.Sieve() | ev.Remove() | ev.Water():
            verb = {"sieve": "sieved out", "remove": "poured", "water": "water in"}[event.what]
            return f"{verb} {event.mass_g:.0f} g"
        case ev.Correct():
            return f"correction of {event.of}"
        case ev.Finish():
            return "used" if event.used else "not used"
        case _:
            return event.what.replace("_", " ")


def _smear_in_words(event: ev.Smear) -> str:
    if event.set_after_s is not None:
        result = f"set after {event.set_after_s / 60:.1f} min"
    elif event.not_set_after_s is not None:
        result = f"not set after {event.not_set_after_s / 60:.1f} min"
    else:
        result = "dipped"
    return f"smear: {result}" + (f", {event.finish}" if event.finish else "")
