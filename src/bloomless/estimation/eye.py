"""What the cook sees as evidence: lumps, thickness, drain and streaks, each with an error rate of its own.

A look is an ordered answer. With u = (impression − that of the threshold)/width the chance of an answer above a
threshold is Φ(u); thresholds belong to the cook and last (``eye`` rows of the belief). A share ``eye_lapse`` of looks
says anything at all, so that no single look can rule a bowl out.

The impression of lumps is ln of their share; that of thickness is ln of the viscosity over that of the melt alone. So a
melt without crystals is not infinitely thinner than one with few, and a cook who calls every melt flowing exists.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from bloomless.estimation.events import Look
from bloomless.estimation.priors import prior
from bloomless.physics.coating_flow import ACTIVATION_J_mol, GAS_J_molK

__all__ = ["look_log_likelihood", "lump_chances", "thickness_chances", "viscosity_ln"]

Array = npt.NDArray[np.float64]

_FLOOR_PCT = 1e-3
_PACKED = 0.63
_WORKED_K = 304.0
_THICK = ("thick_flowing_pct", "thick_thick_pct", "thick_paste_pct")
_DRAIN = ("drain_good_pct", "drain_slow_pct")


def _ordered(impression: Array, edges: tuple[float, ...], eye: Array, width: float) -> Array:
    """Chances of the ordered answers, shape (len(edges) + 1, members); lapses mixed in."""
    above = [ndtr((impression - eye - edge) / width) for edge in edges]
    steps = [np.ones_like(impression), *above, np.zeros_like(impression)]
    chances = np.array([steps[k] - steps[k + 1] for k in range(len(edges) + 1)])
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
    edges = (math.log(prior("lumps_few_pct")), math.log(prior("lumps_many_pct")))
    return _ordered(np.log(np.maximum(pieces_pct, _FLOOR_PCT)), edges, eye_ln, prior("lumps_width"))


def viscosity_ln(
    form_v_pct: Array | float,
    unstable_pct: Array | float = 0.0,
    pieces_pct: Array | float = 0.0,
    cooler_K: Array | float = 0.0,
) -> Array:
    """Natural logarithm of the bowl's viscosity over that of its melt alone in the middle of the working window.

    Parameters
    ----------
    form_v_pct, unstable_pct
        Crystals in the melt, % of fat: they thicken by ln(1 + x/``thickening_pct``).
    pieces_pct
        % of the bowl: rigid spheres, −2.5 φₘ ln(1 − φ/φₘ) with φₘ = 0.63 (Krieger and Dougherty 1959, from memory);
        φ up to 0.6.
    cooler_K
        How much cooler than the middle of the working window: Arrhenius, linear in so few kelvin.
    """
    crystals = np.log1p((np.asarray(form_v_pct) + unstable_pct) / prior("thickening_pct"))
    packed = np.minimum(np.asarray(pieces_pct) / 100.0, 0.6) / _PACKED
    cold = ACTIVATION_J_mol.value / (GAS_J_molK * _WORKED_K**2) * np.asarray(cooler_K)
    return np.asarray(crystals - 2.5 * _PACKED * np.log1p(-packed) + cold, dtype=np.float64)


def thickness_chances(thick_ln: Array, eye_ln: Array) -> Array:
    """Chances that a look says thin, flowing, thick or paste, shape (4, members); ``thick_ln`` as `viscosity_ln`."""
    return _ordered(thick_ln, _edges(_THICK), eye_ln, prior("thick_width"))


def _drain_chances(thick_ln: Array, eye_ln: Array) -> Array:
    return _ordered(thick_ln, _edges(_DRAIN), eye_ln, prior("thick_width"))


def _edges(thresholds: tuple[str, ...]) -> tuple[float, ...]:
    return tuple(float(viscosity_ln(prior(name))) for name in thresholds)


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
    cooler_K: Array | float = 0.0,
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
        This cook's lasting shifts of the thresholds: ln of the share of lumps, ln of the viscosity.
    cooler_K
        Than the middle of the working window.
    """
    total = np.zeros_like(form_v_pct)
    if look.lumps is not None:
        none, few, many = lump_chances(pieces_pct, eye_lumps_ln)
        total += np.log({"none": none, "few": few, "many": many, "some": few + many}[look.lumps])
    thick = viscosity_ln(form_v_pct, unstable_pct, pieces_pct, cooler_K)
    if look.thickness is not None:
        rows = thickness_chances(thick, eye_thick_ln)
        total += np.log(rows[("thin", "flowing", "thick", "paste").index(look.thickness)])
    if look.drain is not None:
        # Thickness and drain are one impression: the second tells half as much.
        share = 0.5 if look.thickness is not None else 1.0
        total += share * np.log(_drain_chances(thick, eye_thick_ln)[("quick", "good", "slow").index(look.drain)])
    if look.streaks is not None:
        seen = _streak_chance(form_v_pct, unstable_pct)
        total += np.log(seen if look.streaks else 1.0 - seen)
    return total
