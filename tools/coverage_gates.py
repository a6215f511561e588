"""Coverage gates: rooms that must be covered whole, branches included; rooms that do not exist yet are passed over.

A worker of the parallel suite that is killed takes with it all it had measured, though its tests pass when they are run
again elsewhere. If a room is not whole, the tests that run through these rooms are therefore measured once more, in one
process, and the sum is judged.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

WHOLE = ("numerics", "physics", "estimation", "advice")
ACROSS = ("published", "laws", "bowls")
"""Tests of no room of their own, which run through all of these."""


def missing(room: str) -> str:
    """The report of what is not covered in a room; empty if nothing is."""
    include = f"--include=src/bloomless/{room}/*"
    done = subprocess.run(
        [sys.executable, "-m", "coverage", "report", include, "--fail-under=100"],
        check=False,
        capture_output=True,
        text=True,
    )
    return "" if done.returncode == 0 else f"\n{done.stdout}{done.stderr}"


def measure_again() -> None:
    """Run the tests of these rooms in one process and add what they cover to the data that is there."""
    tests = [f"tests/{name}" for name in WHOLE + ACROSS if Path("tests", name).is_dir()]
    options = ["-q", "-m", "not browser", "--cov", "--cov-append", "--cov-report="]
    subprocess.run([sys.executable, "-m", "pytest", *options, *tests], check=False)


def main() -> int:
    """Report each gate; exit 1 if one fails."""
    rooms = [room for room in WHOLE if Path("src/bloomless", room).is_dir()]
    found = {room: missing(room) for room in rooms}
    if any(found.values()):
        print("not covered whole, measured once more in one process:", *found.values(), flush=True)
        measure_again()
        found = {room: missing(room) for room in rooms}
    for room, report in found.items():
        print(f"coverage of {room}: {'NOT ' if report else ''}whole{report}")
    return int(any(found.values()))


if __name__ == "__main__":
    sys.exit(main())
