#!/usr/bin/env bash
# The whole suite, with coverage by branches of the rooms that have a gate; then the gates. Journeys in a browser run
# apart: the browser's driver keeps an event loop of its own, which tests of other loops cannot share. Each worker has a
# browser, a house and a server of its own. What fails beside others on two busy cores is run once more alone, and must
# pass there.
set -euo pipefail
cd "$(dirname "$0")/.."
bin=.venv/bin
export PYTHONHASHSEED=0
# Hundreds of processes are started: the project is compiled to bytecode once, whatever the shell says of it.
unset PYTHONDONTWRITEBYTECODE
"$bin/coverage" erase
again() { "$bin/pytest" --last-failed --last-failed-no-failures none "$@"; }
measured=(--cov --cov-append --cov-report=)
# Two workers have a core each: kernels that took both would only wait for each other.
NUMBA_NUM_THREADS=1 "$bin/pytest" -n 2 --dist loadgroup "${measured[@]}" -m "not browser" ||
  again "${measured[@]}" -m "not browser"
# Only the files of journeys are read. What they run through of the measured rooms, tests of these rooms measure.
mapfile -t journeys < <(grep -rl --include='test_*.py' 'pytest\.mark\.browser' tests | sort)
"$bin/pytest" -n 2 --dist loadfile -m browser "${journeys[@]}" || again -m browser "${journeys[@]}"
"$bin/python" tools/coverage_gates.py
