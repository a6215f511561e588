#!/usr/bin/env bash
# The whole suite with coverage by branches, then the gates of coverage, room by room. Journeys in a browser run apart:
# the browser's driver keeps an event loop of its own, which tests of other loops cannot share.
set -euo pipefail
cd "$(dirname "$0")/.."
bin=.venv/bin
export PYTHONHASHSEED=0
"$bin/coverage" erase
"$bin/pytest" -n 2 --dist loadgroup -m "not browser" --cov --cov-report= "$@"
"$bin/pytest" -m browser --cov --cov-append --cov-report= "$@"
"$bin/python" tools/coverage_gates.py
