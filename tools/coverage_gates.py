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


def missing(rooms: list[str]) -> str:
    """The report of what is not covered in these rooms; empty if nothing is."""
    include = "--include=" + ",".join(f"src/bloomless/{room}/*" for room in rooms)
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
    """Report the gate; exit 1 if it fails."""
    rooms = [room for room in WHOLE if Path("src/bloomless", room).is_dir()]
    found = missing(rooms)
    if found:
        print("not covered whole, measured once more in one process:", found, flush=True)
        measure_again()
        found = missing(rooms)
    print(f"coverage of {', '.join(rooms)}: {'NOT ' if found else ''}whole{found}")
    return int(bool(found))


if __name__ == "__main__":
    sys.exit(main())
