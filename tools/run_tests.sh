#!/usr/bin/env bash
# The whole suite with coverage by branches, then the gates of coverage, room by room. Journeys in a browser run apart:
# the browser's driver keeps an event loop of its own, which tests of other loops cannot share.
# What fails beside others on two busy cores is run once more alone, and must pass there.
set -euo pipefail
cd "$(dirname "$0")/.."
bin=.venv/bin
export PYTHONHASHSEED=0
"$bin/coverage" erase
run() { "$bin/pytest" --cov --cov-append --cov-report= "$@"; }
again() { run --last-failed --last-failed-no-failures none -m "$1"; }
# Two workers have a core each: kernels that took both would only wait for each other.
NUMBA_NUM_THREADS=1 run -n 2 --dist loadgroup -m "not browser" "$@" || again "not browser"
run -m browser "$@" || again browser
"$bin/python" tools/coverage_gates.py
