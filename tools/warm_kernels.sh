#!/usr/bin/env bash
# Compile the kernels once, so that nothing of a fresh installation waits for them: a short session at the bench, a bar
# and a round piece in their moulds, a practice bowl; answers dropped. What shares no kernel runs side by side.
set -euo pipefail
bloomless=${1:-.venv/bin/bloomless}
data=$(mktemp -d)
trap 'rm -rf "$data"' EXIT

{
  for mould in bar-60 hemisphere-30; do "$bloomless" mould cool "$mould" --data "$data"; done
  printf '%s\n' '{"what": "wait", "seconds": 5}' '{"what": "finish"}' | "$bloomless" practice --json --seed 1
} > /dev/null &
beside=$!

"$bloomless" bench > /dev/null << 'LINES'
{"at": 0, "what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45}
{"at": 1, "what": "ask"}
{"at": 30, "what": "pour"}
{"at": 60, "what": "seed", "mass_g": 100}
{"at": 90, "what": "reading", "temperature_C": 34}
{"at": 95, "what": "look", "lumps": "few", "thickness": "flowing"}
{"at": 120, "what": "table", "share": 0.2, "seconds": 20}
{"at": 150, "what": "ask"}
LINES
wait "$beside"
