#!/usr/bin/env bash
# The whole suite on two workers, with coverage by branches; then the gates of coverage, room by room.
set -euo pipefail
cd "$(dirname "$0")/.."
bin=.venv/bin
export PYTHONHASHSEED=0
"$bin/coverage" erase
"$bin/pytest" -n 2 --dist loadgroup --cov --cov-report= "$@"
"$bin/python" tools/coverage_gates.py
