"""Coverage gates: rooms that must be covered whole, branches included; rooms that do not exist yet are passed over."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

WHOLE = ("numerics", "physics", "estimation", "advice")


def main() -> int:
    """Report each gate; exit 1 if one fails."""
    failed = 0
    for room in WHOLE:
        if not Path("src/bloomless", room).is_dir():
            continue
        pattern = f"src/bloomless/{room}/*"
        done = subprocess.run(
            [sys.executable, "-m", "coverage", "report", f"--include={pattern}", "--fail-under=100"],
            check=False,
            capture_output=True,
            text=True,
        )
        print(f"coverage of {room}: {'whole' if done.returncode == 0 else 'NOT whole'}")
        if done.returncode != 0:
            failed = 1
            print(done.stdout, done.stderr)
    return failed


if __name__ == "__main__":
    sys.exit(main())
