"""``bloomless bench``: a bowl worked over standard input and output, in JSON Lines."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import Annotated, BinaryIO

import typer

from bloomless.errors import ImpossibleInput, StorageFailure

__all__ = ["bench"]


def bench(
    members: Annotated[int, typer.Option(help="Size of the ensemble.", min=64, max=20_000)] = 1500,
    seed: Annotated[int, typer.Option(help="Seed of the ensemble: same lines and seed, same answers.", min=0)] = 1,
    log: Annotated[
        Path | None,
        typer.Option(help="Keep every accepted line in this file; what stands in it is taken first."),
    ] = None,
) -> None:
    """Work one bowl: read events as JSON Lines, answer each reading, look, smear and ask with one line of JSON.

    A line needs `at` (seconds since the start), `what` and what has no default; `bloomless schema` prints every field.
    The first event is `start`. A refused line of any kind is answered with an error that names field, value and the
    accepted range; everything taken before stays taken.

    Example of a session:

      {"at": 0, "what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45}

      {"at": 0, "what": "ask"}

      {"at": 60, "what": "reading", "temperature_C": 43.9}
    """
    from bloomless.bench.log import BenchLog  # heavy: only when a bowl is worked

    session = BenchLog(seed=seed, members=members)
    if log is not None and log.exists():
        for kept in log.read_text(encoding="utf-8").splitlines():
            session.feed(kept)
        session.lines = 0
    with _opened(log) as keep:
        for line in sys.stdin.buffer:
            text = line.decode("utf-8", errors="replace")
            answer = session.feed(text)
            if keep is not None and text.strip() and not (answer is not None and "error" in answer):
                _keep(keep, text)
            if answer is not None:
                sys.stdout.write(json.dumps(answer, ensure_ascii=False, allow_nan=False) + "\n")
                sys.stdout.flush()
    if session.lines == 0:
        raise ImpossibleInput("standard input", "", "at least one line: the start of a bowl", code="empty")


class _Nothing:
    def __enter__(self) -> None:
        return None

    def __exit__(self, *_: object) -> None:
        return None


def _opened(log: Path | None) -> BinaryIO | _Nothing:
    if log is None:
        return _Nothing()
    try:
        return log.open("ab")
    except OSError as error:
        raise StorageFailure(f"{log} cannot be written: {error.strerror}. Name another file with --log.") from error


def _keep(file: BinaryIO, text: str) -> None:
    """Write a line so that it survives a pulled plug."""
    file.write(text.rstrip("\r\n").encode() + b"\n")
    file.flush()
    os.fsync(file.fileno())
