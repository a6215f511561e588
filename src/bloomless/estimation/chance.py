"""The chance of being in temper, member by member: the definition of the physics, blurred by the model's own error.

A member says yes or no; its physics is not the bowl's. So each limit is met with a chance: Φ of the distance to it over
the model error, in kelvin for the temperature and in ln for crystals and pieces. The widths are priors, fitted on
simulated kitchens kept apart from those reported.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from bloomless.estimation.belief import Belief, Snapshot
from bloomless.estimation.priors import prior
from bloomless.estimation.surroundings import whole
from bloomless.physics import rows
from bloomless.physics.actions import batch_kg
from bloomless.physics.readings import Temper

__all__ = ["blurred", "member_chances"]

Array = npt.NDArray[np.float64]
_LEAST = 1e-4


def _ln(value_pct: Array | float) -> Array:
    return np.asarray(np.log(np.maximum(value_pct, _LEAST)), dtype=np.float64)


def _below(value_ln: Array, limit_ln: Array, width: float) -> Array:
    return np.asarray(ndtr((limit_ln - value_ln) / width), dtype=np.float64)


def member_chances(belief: Belief, shown: Snapshot) -> Array:
    """Chance of being in temper in each member.

    Parameters
    ----------
    belief
        Whose members.
    shown
        Their crystals, pieces and temperature now.

    Returns
    -------
    Array of shape (members,), 0 to 1.
    """
    chance = blurred(shown, belief.temper, lumps=belief.settings.lumps)
    state = belief.ensemble.state
    if state[rows.WATER_kg].any():
        chance = chance * (state[rows.WATER_kg] / batch_kg(whole(belief)) <= belief.temper.water_most)
    return np.asarray(chance * (state[rows.SCORCH] < belief.temper.scorch_most), dtype=np.float64)


def blurred(shown: Snapshot, limits: Temper, *, lumps: bool = True) -> Array:
    """Chance that crystals, pieces and temperature meet their limits, member by member.

    Parameters
    ----------
    shown
        Of the members.
    limits
        The definition.
    lumps
        Sabotage if false: pieces are not looked at.

    Returns
    -------
    Array of shape (members,), 0 to 1; water and scorching left out.
    """
    low, high = limits.window_C
    wide = math.hypot(prior("blur_temperature_C"), limits.window_sd_K)
    chance = ndtr((shown.mixed_C - low) / wide) * ndtr((high - shown.mixed_C) / wide)
    wide, v = prior("blur_form_v"), _ln(shown.form_v_pct)
    least, most = (_ln(100.0 * limit) for limit in limits.form_v)
    chance = chance * (1.0 - _below(v, least, wide)) * _below(v, most, wide)
    unstable_most = _ln(limits.unstable_of_form_v * shown.form_v_pct)
    chance = chance * _below(_ln(shown.unstable_pct), unstable_most, prior("blur_unstable"))
    if lumps:
        chance = chance * _below(_ln(shown.pieces_pct), _ln(100.0 * limits.pieces_most), prior("blur_pieces"))
    return np.asarray(chance, dtype=np.float64)
