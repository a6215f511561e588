#!/usr/bin/env bash
# Compile the kernels once, so that the first bowl of a fresh installation does not wait: a short session, answers dropped.
set -euo pipefail
"${1:-.venv/bin/bloomless}" bench > /dev/null << 'LINES'
{"at": 0, "what": "start", "chocolate": "dark", "mass_g": 800, "temperature_C": 45}
{"at": 1, "what": "ask"}
{"at": 30, "what": "pour"}
{"at": 60, "what": "seed", "mass_g": 100}
{"at": 90, "what": "reading", "temperature_C": 34}
{"at": 95, "what": "look", "lumps": "few", "thickness": "flowing"}
{"at": 120, "what": "table", "share": 0.2, "seconds": 20}
{"at": 150, "what": "ask"}
LINES
