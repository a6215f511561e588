"""What the cook sees as evidence: lumps, thickness, drain and streaks, each with an error rate of its own.

A look is an ordered answer. With u = ln(quantity/threshold)/width the chance of an answer above a threshold is Φ(u);
thresholds belong to the cook and last (``eye`` rows of the belief). A share ``eye_lapse`` of looks says anything at
all, so that no single look can rule a bowl out.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from bloomless.estimation.events import Look
from bloomless.estimation.priors import prior

__all__ = ["look_log_likelihood", "lump_chances", "solids_pct_seen", "thickness_chances"]

Array = npt.NDArray[np.float64]

_FLOOR_PCT = 1e-3


def _ordered(quantity: Array, thresholds: tuple[float, ...], eye_ln: Array, width: float) -> Array:
    """Chances of the ordered answers, shape (len(thresholds) + 1, members); lapses mixed in."""
    ln_q = np.log(np.maximum(quantity, _FLOOR_PCT)) - eye_ln
    above = [ndtr((ln_q - math.log(t)) / width) for t in thresholds]
    edges = [np.ones_like(ln_q), *above, np.zeros_like(ln_q)]
    chances = np.array([edges[k] - edges[k + 1] for k in range(len(thresholds) + 1)])
    lapse = prior("eye_lapse")
    return np.asarray((1.0 - lapse) * np.maximum(chances, 0.0) + lapse / len(chances), dtype=np.float64)


def lump_chances(pieces_pct: Array, eye_ln: Array) -> Array:
    """Chances that a look says none, few or many lumps.

    Parameters
    ----------
    pieces_pct
        Pieces larger than 0.5 mm, % of the bowl's mass, one a member.
    eye_ln
        ln of how much more than usual this cook lets pass, one a member.

    Returns
    -------
    Array of shape (3, members): none, few, many.
    """
    return _ordered(pieces_pct, (prior("lumps_few_pct"), prior("lumps_many_pct")), eye_ln, prior("lumps_width"))


def solids_pct_seen(form_v_pct: Array, unstable_pct: Array, pieces_pct: Array) -> Array:
    """Solid fat that thickens the mass, % of fat: crystals in the melt, and a quarter of the pieces (assumed)."""
    return form_v_pct + unstable_pct + 0.25 * pieces_pct


def thickness_chances(solids_pct: Array, eye_ln: Array) -> Array:
    """Chances that a look says thin, flowing, thick or paste, shape (4, members)."""
    thresholds = (prior("thick_flowing_pct"), prior("thick_thick_pct"), prior("thick_paste_pct"))
    return _ordered(solids_pct, thresholds, eye_ln, prior("thick_width"))


def _drain_chances(solids_pct: Array, eye_ln: Array) -> Array:
    thresholds = (prior("drain_good_pct"), prior("drain_slow_pct"))
    return _ordered(solids_pct, thresholds, eye_ln, prior("thick_width"))


def _streak_chance(form_v_pct: Array, unstable_pct: Array) -> Array:
    """Chance of streaks in a stirred mass: rare, more often with few crystals or with many unstable ones (assumed).

    A mass with few crystals seldom looks streaked before it sets, so that none tells next to nothing.
    """
    few = ndtr((math.log(0.3) - np.log(np.maximum(form_v_pct, _FLOOR_PCT))) / 0.7)
    unstable = ndtr((unstable_pct - form_v_pct / 3.0) / np.maximum(0.3 * form_v_pct, 0.1))
    return np.asarray(0.04 + 0.06 * few + 0.3 * unstable * (1.0 - few), dtype=np.float64)


def look_log_likelihood(
    look: Look,
    form_v_pct: Array,
    unstable_pct: Array,
    pieces_pct: Array,
    eye_lumps_ln: Array,
    eye_thick_ln: Array,
) -> Array:
    """Log-likelihood of a look for every member.

    Parameters
    ----------
    look
        What was seen; parts that were not said tell nothing.
    form_v_pct, unstable_pct
        Outside pieces, % of all fat.
    pieces_pct
        Pieces larger than 0.5 mm, % of the bowl.
    eye_lumps_ln, eye_thick_ln
        This cook's lasting ln factors of the thresholds.
    """
    total = np.zeros_like(form_v_pct)
    if look.lumps is not None:
        none, few, many = lump_chances(pieces_pct, eye_lumps_ln)
        total += np.log({"none": none, "few": few, "many": many, "some": few + many}[look.lumps])
    solids = solids_pct_seen(form_v_pct, unstable_pct, pieces_pct)
    if look.thickness is not None:
        rows = thickness_chances(solids, eye_thick_ln)
        total += np.log(rows[("thin", "flowing", "thick", "paste").index(look.thickness)])
    if look.drain is not None:
        # Thickness and drain are one impression: the second tells half as much.
        share = 0.5 if look.thickness is not None else 1.0
        total += share * np.log(_drain_chances(solids, eye_thick_ln)[("quick", "good", "slow").index(look.drain)])
    if look.streaks is not None:
        seen = _streak_chance(form_v_pct, unstable_pct)
        total += np.log(seen if look.streaks else 1.0 - seen)
    return total
