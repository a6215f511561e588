"""``bloomless practice``: a simulated bowl to play against, in the terminal or by JSON lines."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.console import Console

from bloomless.errors import BloomlessError, ImpossibleInput, StorageFailure
from bloomless.kitchens import KINDS
from bloomless.lessons import LEVELS, PracticeBowl, debrief, open_bowl, score

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = ["practice"]


def practice(
    kind: Annotated[str, typer.Option(help=f"One of {', '.join(KINDS)}.")] = "dark",
    mass_g: Annotated[float | None, typer.Option("--mass-g", help="Melt in the bowl, 100 to 5000 g.")] = None,
    level: Annotated[str, typer.Option(help="; ".join(f"{name}: {words}" for name, words in LEVELS.items()))] = "calm",
    seed: Annotated[int | None, typer.Option(help="The same number gives the same bowl, for a class.", min=0)] = None,
    speed: Annotated[float, typer.Option(help="How much faster than a real bowl, 1 to 20.", min=1, max=20)] = 6.0,
    hints: Annotated[bool, typer.Option("--hints", help="Show what Bloomless would do next.")] = False,
    log: Annotated[Path | None, typer.Option(help="Keep the recording here, for `bloomless replay`.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="No screen: acts as JSON lines on standard input.")] = False,
) -> None:
    """Bring a simulated bowl of melted chocolate into temper; the truth and a score are shown afterwards.

    In the terminal the keys stand at the bottom of the screen. With --json each line is an act of the bench log, such
    as {"what": "seed", "mass_g": 100}, {"what": "wait", "seconds": 60}, {"what": "look"}, {"what": "finish"}; each is
    answered with one line, and after the last comes the score, the story and the truth.
    """
    from numpy.random import Generator, Philox, SeedSequence

    number = seed if seed is not None else int(SeedSequence().generate_state(1)[0] % 100_000)
    bowl = open_bowl(Generator(Philox(SeedSequence(number))), kind=kind, mass_g=mass_g, level=level)
    if as_json:
        for answer in _conversation(bowl, sys.stdin):
            typer.echo(json.dumps(answer))
        _keep(bowl, log)
        return
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise ImpossibleInput("standard input", "not a terminal", "a terminal, or --json with one act a line")
    from bloomless.cli.practice_screen import Screen, farewell

    Screen(bowl, speed=speed, hints=hints, number=number).play()
    console = Console()
    farewell(console, bowl, number)
    if log is None:
        name = console.input("Keep the recording for `bloomless replay`? File name, or Enter for no: ").strip()
        log = Path(name) if name else None
    if log is not None:
        _keep(bowl, log)
        console.print(f"Kept in {log}", soft_wrap=True, highlight=False)


def _keep(bowl: PracticeBowl, log: Path | None) -> None:
    if log is None:
        return
    try:
        log.write_text("".join(json.dumps(line) + "\n" for line in bowl.log), encoding="utf-8")
    except OSError as error:
        raise StorageFailure(f"{log} cannot be written: {error.strerror}. Name another file with --log.") from error


def _conversation(bowl: PracticeBowl, lines: Iterable[str]) -> Iterator[dict[str, Any]]:
    """Answer each act; a bad one is answered with its error and changes nothing."""
    yield {"lines": bowl.log[:], "seen": asdict(bowl.see())}
    for line in lines:
        if not line.strip():
            continue
        try:
            written = _act(bowl, line)
        except BloomlessError as error:
            yield {"error": {"code": error.code, "text": str(error)}}
            continue
        yield {"lines": written, "seen": asdict(bowl.see())}
        if bowl.over:
            break
    if not bowl.over:
        bowl.finish(used=False)
    yield {
        "score": asdict(score(bowl)),
        "story": [asdict(moment) for moment in debrief(bowl)],
        "truth": [{"at_s": glimpse.at_s, **asdict(glimpse.truth)} for glimpse in bowl.truth()],
    }


def _act(bowl: PracticeBowl, line: str) -> list[dict[str, Any]]:
    try:
        act = json.loads(line)
    except ValueError:
        raise ImpossibleInput("line", line.strip()[:80], "one JSON object", code="broken_json") from None
    if not isinstance(act, dict) or not isinstance(act.get("what"), str):
        raise ImpossibleInput("what", line.strip()[:80], 'an object with "what"')
    what = act.pop("what")
    if what != "wait":
        return bowl.act(what, **act)
    seconds = act.get("seconds", 15.0)
    if isinstance(seconds, bool) or not isinstance(seconds, int | float):
        raise ImpossibleInput("seconds", seconds, "a number of seconds")
    return bowl.advance(float(seconds))
