"""Form V needs stirring: Toro-Vazquez et al. 2004, abstract (seen): at rest at 18–26.5 °C no β, stirred it develops."""

from dataclasses import replace

import pytest
from held_melt import hold

from bloomless.physics.priors import USUAL

DIRECT = replace(USUAL, conversion_factor=replace(USUAL.conversion_factor, value=1e-12))
"""Without the way through the unstable forms, which at rest takes hours: what is left is form V straight from melt."""


@pytest.mark.parametrize("temperature_C", [18.0, 22.0, 26.5])
def test_at_rest_none_comes_from_the_melt(temperature_C):
    assert hold(temperature_C, 60.0, priors=DIRECT).form_v[-1] < 1e-6


@pytest.mark.parametrize("temperature_C", [19.0, 22.0, 26.5])
def test_stirred_it_does(temperature_C):
    assert hold(temperature_C, 60.0, shear_1_s=30.0, priors=DIRECT).form_v[-1] > 1e-3
