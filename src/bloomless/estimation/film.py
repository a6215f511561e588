"""The knife or paper test as evidence: how long a film takes to set, and how it looks when it has.

A film on paper loses its heat with a time constant of some 5 minutes, so the test is limited by heat; steel is quicker
(crystal sheet, section 7). With crystals in it the film sets in minutes, without it stays tacky beyond 10 to 15:
``t = t₀ · surface · kind · exp(b·(room − 20)) · (V/1.5 %)^(−n)``. All constants are priors; a cook's own pace is
learned (``smear pace`` row of the belief).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from bloomless.estimation.events import ChocolateKind, Smear
from bloomless.estimation.priors import prior

__all__ = ["WARM_ROOM_C", "film_set_ln_s", "finish_chances", "smear_log_likelihood"]

Array = npt.NDArray[np.float64]

# Common practice, no source: steel is quicker than paper; milk 1 to 2, white 2 to 3 minutes longer.
_SURFACE = {"paper": 1.0, "plastic": 0.95, "glass": 0.85, "stone": 0.75, "steel": 0.8}
_KIND = {"dark": 1.0, "milk": 1.3, "white": 1.5, "cocoa_butter": 1.0}
_LEAST_PCT = 0.02
WARM_ROOM_C = 23.0
"""In a room warmer than this a film sets late or not at all: common practice, no source."""


def film_set_ln_s(
    form_v_pct: Array, unstable_pct: Array, *, kind: ChocolateKind, surface: str, room_C: Array | float
) -> Array:
    """Logarithm of the seconds after which the film is set.

    Parameters
    ----------
    form_v_pct, unstable_pct
        Of the bowl when the knife was dipped, % of fat; unstable crystals set a film a third as well.
    kind, surface
        Chocolate and what it was spread on.
    room_C
        Air beside the film; valid 15 to 27 °C, beyond that the line is followed with the same slope.
    """
    crystals = np.clip(form_v_pct + unstable_pct / 3.0, _LEAST_PCT, 8.0)
    base = math.log(prior("smear_minutes") * 60.0 * _SURFACE[surface] * _KIND[kind])
    return (
        base
        + prior("smear_room_per_K") * (np.asarray(room_C) - 20.0)
        - prior("smear_exponent") * np.log(crystals / 1.5)
    )


def finish_chances(form_v_pct: Array, unstable_pct: Array) -> Array:
    """Chances of glossy, streaked and dull, shape (3, members): glossy needs enough form V and little else."""
    enough = ndtr(np.log(np.maximum(form_v_pct, _LEAST_PCT) / 0.35) / 0.5)
    some = ndtr(np.log(np.maximum(form_v_pct, _LEAST_PCT) / 0.12) / 0.6)
    calm = 1.0 - ndtr((unstable_pct - form_v_pct / 3.0) / np.maximum(0.25 * form_v_pct, 0.1))
    thick = ndtr(np.log(np.maximum(form_v_pct, _LEAST_PCT) / 9.0) / 0.3)
    glossy = enough * calm * (1.0 - 0.6 * thick)
    streaked = (1.0 - glossy) * (0.25 + 0.45 * some)
    chances = np.array([glossy, streaked, np.maximum(1.0 - glossy - streaked, 0.0)])
    lapse = prior("smear_lapse")
    return (1.0 - lapse) * chances + lapse / 3.0


def smear_log_likelihood(
    smear: Smear,
    form_v_pct: Array,
    unstable_pct: Array,
    pace_ln: Array,
    *,
    kind: ChocolateKind,
    room_C: float,
    known_not_set_s: float = 0.0,
) -> Array:
    """Log-likelihood of a smear's result for every member, by the bowl as it was when the knife was dipped.

    ``not_set_after_s`` means: still tacky then. ``set_after_s`` means: looked at then and found set, so it set about
    then or some time before; half of the weight lies on each reading of the words. A film known to be tacky once
    cannot have set before: ``known_not_set_s``, or ``not_set_after_s`` of the same smear, bounds "before", and told
    together they weigh what they weigh one after the other.
    """
    room = smear.room_C if smear.room_C is not None else room_C
    centre = film_set_ln_s(form_v_pct, unstable_pct, kind=kind, surface=smear.surface, room_C=room) + pace_ln
    width, lapse = prior("smear_width"), prior("smear_lapse")
    known_s = max(known_not_set_s, 1.0)
    known = ndtr((centre - math.log(known_s)) / width)
    tacky_s = max(smear.not_set_after_s or 0.0, known_s)
    told = ndtr((centre - math.log(tacky_s)) / width)
    if smear.set_after_s is not None:
        u = (math.log(max(smear.set_after_s, tacky_s)) - centre) / width
        told = 0.5 * np.maximum(told - ndtr(-u), 0.0) + 0.5 * np.exp(-0.5 * u * u)
    total = np.asarray(np.log((1.0 - lapse) * told + lapse) - np.log((1.0 - lapse) * known + lapse))
    if smear.finish is not None:
        row = ("glossy", "streaked", "dull").index(smear.finish)
        total += np.log(finish_chances(form_v_pct, unstable_pct)[row])
    return total
