"""How a bowl begins: melted, as pieces, or couverture still in temper warmed part-way."""

from __future__ import annotations

from typing import Literal, TypeAlias

import numpy as np

from bloomless.errors import ImpossibleInput
from bloomless.physics import rows
from bloomless.physics.actions import SPHERE
from bloomless.physics.bowl import Bowl
from bloomless.physics.constants import PIECES
from bloomless.physics.ensemble import Array, Ensemble
from bloomless.physics.laws import solid_share_of

__all__ = ["BeginState", "begin"]

BeginState: TypeAlias = Literal["melted", "pieces", "part_melted"]

_SMEARED = 0.06
"""Part of a bowl of pieces that counts as bulk from the start: what is broken fine or soft at the touch."""


def begin(
    bowl: Bowl,
    parameters: Array,
    *,
    state: BeginState = "melted",
    temperature_C: float | Array,
    vessel_C: float | Array | None = None,
    form_v_of_fat: float | Array = 0.0,
    melted_share: float | Array | None = None,
    pieces_C: float | Array | None = None,
    size_mm: float = 8.0,
) -> Ensemble:
    """The bowl as it stands in front of the cook at the start.

    Parameters
    ----------
    bowl, parameters
        What all members share, and what differs (``priors.draw_parameters``).
    state
        ``melted``: no pieces; ``pieces``: all of it solid pieces in temper; ``part_melted``: pieces and their own melt,
        which holds their crystals: the direct way.
    temperature_C
        True temperature, one or one a member.
    vessel_C
        Default: as the chocolate.
    form_v_of_fat
        Form V already dispersed in a melted bowl, share of the fat (0 if it was melted out at 45 °C).
    melted_share
        ``part_melted`` only: share of the bowl that is melt; default by temperature: none at 26 °C less the melting
        shift, all at 35 °C.
    pieces_C
        Temperature of pieces that have not yet warmed through; default: as the chocolate.
    size_mm
        Of the pieces; the member's ``size_factor`` is applied.

    Raises
    ------
    ImpossibleInput
        Temperature not −20…130 °C, shares not 0…1.
    """
    warm = np.broadcast_to(np.asarray(temperature_C, dtype=np.float64), (parameters.shape[1],))
    if not (float(warm.min()) >= -20.0 and float(warm.max()) <= 130.0):
        raise ImpossibleInput("temperature_C", float(warm.max()), "-20 to 130")
    if not (np.min(form_v_of_fat) >= 0.0 and np.max(form_v_of_fat) <= 1.0):
        raise ImpossibleInput("form_v_of_fat", float(np.max(form_v_of_fat)), "0 to 1")
    y = np.zeros((rows.STATES, parameters.shape[1]))
    y[rows.BULK_C] = y[rows.PROBE_C] = warm
    y[rows.VESSEL_C] = warm if vessel_C is None else vessel_C
    for c, size in enumerate(("fine_m", "middle_m", "coarse_m")):
        y[rows.PIECE_m + c] = PIECES[size].value
        y[rows.PIECE_C + c] = warm if pieces_C is None else pieces_C
    y[rows.PIECE_QUALITY] = parameters[rows.SEED_QUALITY]
    theta = warm - bowl.shift_K - parameters[rows.MELTING_SHIFT_K]
    butter = bowl.chocolate.cocoa_butter_of_fat
    solid = butter * solid_share_of(theta)
    inside = theta + y[rows.PIECE_C] - warm
    y[rows.PIECE_SOLID : rows.PIECE_SOLID + rows.CLASSES] = butter * solid_share_of(inside)
    if state == "melted":
        bulk, crystals = np.ones_like(warm), np.broadcast_to(np.asarray(form_v_of_fat, dtype=np.float64), warm.shape)
    else:
        if state == "pieces":
            melted = np.zeros_like(warm)
        elif melted_share is None:
            melted = np.clip((theta - 26.0) / 9.0, 0.0, 1.0)
        else:
            melted = np.broadcast_to(np.asarray(melted_share, dtype=np.float64), warm.shape)
        bulk = np.clip(melted, _SMEARED, 1.0)
        # melt that came from tempered pieces at this temperature keeps a little of their crystals, not all the curve
        crystals = np.where(melted > _SMEARED, 0.1, 1.0) * solid * y[rows.PIECE_QUALITY]
    fat = bowl.chocolate.fat_share * bowl.mass_kg * bulk
    y[rows.BULK_kg] = bowl.mass_kg * bulk
    y[rows.BULK_FAT_kg] = fat
    y[rows.FORM_V_kg] = fat * crystals
    coarse = rows.CLASSES - 1
    y[rows.PIECE_m + coarse] = size_mm / 1000.0 * parameters[rows.SIZE_FACTOR]
    each = SPHERE * bowl.density_kg_m3 * y[rows.PIECE_m + coarse] ** 3
    y[rows.PIECE_COUNT + coarse] = bowl.mass_kg * (1.0 - bulk) / each
    return Ensemble(state=y, parameters=parameters, bowl=bowl)
