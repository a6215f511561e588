"""What may never be asked, whatever a plan promises: burns, sparks and lost seed cost more than minutes."""

from __future__ import annotations

from typing import Final

from bloomless.estimation.events import Start
from bloomless.estimation.surroundings import METALS

__all__ = ["FIRST_PULSE_SHARE", "allowed_means", "in_steps"]

FIRST_PULSE_SHARE: Final = 0.6
"""A first warming of a bowl is only so much of what was reckoned; then its own answer is known (job map, section 7)."""


def allowed_means(start: Start, material: str) -> frozenset[str]:
    """Means at hand that may be asked for with this vessel: no microwave with metal."""
    means = set(start.means)
    if material in METALS:
        means.discard("microwave")
    return frozenset(means)


def in_steps(value: float, step: float, least: float) -> float:
    """A value in steps a person can do, at least ``least``."""
    return float(max(step * round(value / step), least))
