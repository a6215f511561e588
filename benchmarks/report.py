"""What every benchmark prints: a table with each target beside its figure, or one JSON object with ``--json``."""

from __future__ import annotations

import argparse
import json
import platform
import sys
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass

__all__ = ["Figure", "at_least", "at_most", "machine", "main"]


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured number beside its target."""

    name: str
    value: float | None
    """``None`` where it could not be measured."""
    unit: str
    target: str
    met: bool | None
    """``None`` where the issue names no target."""


def at_most(name: str, value: float, unit: str, limit: float) -> Figure:
    """A figure that must not exceed its target."""
    return Figure(name, value, unit, f"≤ {limit:g}", bool(value <= limit))


def at_least(name: str, value: float, unit: str, limit: float) -> Figure:
    """A figure that must reach its target."""
    return Figure(name, value, unit, f"≥ {limit:g}", bool(value >= limit))


def machine() -> str:
    """The machine in a few words, without its name."""
    import os

    return f"{os.cpu_count()}-core {platform.machine()}, {platform.system()}, Python {platform.python_version()}"


def main(measure: Callable[[bool], Iterable[Figure]], description: str | None) -> None:
    """Run a benchmark from the command line: ``--quick`` within a minute, ``--json`` for programs.

    Parameters
    ----------
    measure
        Called with whether to be quick; yields figures as they are measured.
    description
        What is measured, for ``--help``.
    """
    parser = argparse.ArgumentParser(description=description)
    parser.add_argument("--quick", action="store_true", help="within a minute, less exact")
    parser.add_argument("--json", action="store_true", help="one object: name → value, unit, target, met")
    arguments = parser.parse_args()
    figures: list[Figure] = []
    for figure in measure(arguments.quick):
        figures.append(figure)
        print(f"… {figure.name}", file=sys.stderr)
    if arguments.json:
        body = {figure.name: {k: v for k, v in asdict(figure).items() if k != "name"} for figure in figures}
        print(json.dumps(body, indent=1, ensure_ascii=False))
        return
    print(f"Measured on: {machine()}{' (quick)' if arguments.quick else ''}\n")
    print("| what | value | unit | target | met |\n|---|---|---|---|---|")
    for figure in figures:
        value = "–" if figure.value is None else f"{figure.value:.4g}"
        met = {True: "yes", False: "NO", None: "–"}[figure.met]
        print(f"| {figure.name} | {value} | {figure.unit} | {figure.target} | {met} |")
