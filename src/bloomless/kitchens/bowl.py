"""The state of a true bowl, what it holds when mixed, and whether it is in temper."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bloomless.kitchens.kernel import into_core, piece_C, solid_share
from bloomless.kitchens.kitchen import Kitchen, Vessel
from bloomless.kitchens.layout import (
    ADDITIONS,
    BATH_C,
    BODIES,
    COLUMNS,
    CORE,
    HEAT_C,
    HEAT_TAKEN_J,
    HOTTEST_C,
    IV_HEAT,
    PIECE_COLUMNS,
    POSITION,
    PROBE_C,
    SIZES,
    STONE_C,
    VESSEL_C,
    WALL,
    ZONES,
    FIRST_CROP_kg,
    FORM_V_kg,
    HEART_J_kg,
    MASS_kg,
    PIECE_kg,
    SHELL_J_kg,
    UNSTABLE_kg,
    WHOLE_kg,
    WIDE_m,
)

__all__ = ["Bowl", "Truth", "add_crystals", "add_melt", "add_pieces", "begin", "enthalpy_J", "pour", "scale", "truth"]

Floats = npt.NDArray[np.float64]

# In temper, design section 3 [prior]: form V in % of all fat, unstable ÷ form V, pieces and water ÷ bowl.
FORM_V_PCT = (0.4, 6.0)
UNSTABLE_RATIO = 1.0 / 3.0
PIECES_SHARE = 0.03
WATER_SHARE = 0.005
PIECE_SIZE_m = 0.5e-3
SCORCHED_C = {"dark": 65.0, "milk": 55.0, "white": 55.0, "cocoa_butter": 90.0}  # common practice, no source


@dataclass(slots=True)
class Bowl:
    """The arrays of one bowl; carried forward in place by `kernel.run`."""

    zones: Floats
    pieces: Floats
    quality: Floats
    bodies: Floats
    physics: Floats
    water_kg: float = 0.0

    def copy(self) -> Bowl:
        """An independent bowl in the same state."""
        return Bowl(
            self.zones.copy(),
            self.pieces.copy(),
            self.quality.copy(),
            self.bodies.copy(),
            self.physics.copy(),
            self.water_kg,
        )


@dataclass(frozen=True, slots=True)
class Truth:
    """What the mixed bowl holds: the quantities that an estimate is graded on."""

    temperature_C: float
    form_v_pct_of_fat: float
    unstable_pct_of_fat: float
    first_crop_pct_of_fat: float
    seed_left_g: float
    """Pieces larger than 0.5 mm, softened or not."""
    batch_g: float
    water_share: float
    hottest_C: float
    in_temper: bool
    wrong: tuple[str, ...]
    """Which parts of the definition fail: cold, hot, few, many, unstable, lumps, water, scorched."""


def begin(kitchen: Kitchen, *, solid: float = 0.0) -> Bowl:
    """The bowl as it stands at the start.

    Parameters
    ----------
    kitchen
        Where it stands.
    solid
        Share that is still tempered pieces at room temperature; the rest is melt. At most 0.95: some melt carries heat.
    """
    zones = np.zeros((ZONES, COLUMNS))
    wall = kitchen.physics[POSITION["wall_share"]]
    melt_kg = kitchen.mass_kg * (1.0 - min(solid, 0.95))
    zones[CORE, MASS_kg], zones[WALL, MASS_kg] = melt_kg * (1.0 - wall), melt_kg * wall
    zones[:, HEAT_C] = kitchen.start_C
    bodies = np.full(BODIES, kitchen.start_C)
    bodies[VESSEL_C] = kitchen.start_C - 1.5
    bodies[BATH_C] = bodies[STONE_C] = kitchen.room_C
    bodies[HEAT_TAKEN_J] = 0.0
    pieces = np.zeros((ADDITIONS, SIZES, PIECE_COLUMNS))
    bowl = Bowl(zones, pieces, np.ones(ADDITIONS), bodies, kitchen.physics.copy())
    if solid > 0.0:
        add_pieces(bowl, kitchen, kitchen.mass_kg - melt_kg, kitchen.room_C, 12.0, kitchen.seed_quality)
    return bowl


def add_pieces(bowl: Bowl, kitchen: Kitchen, mass_kg: float, heat_C: float, size_mm: float, quality: float) -> None:
    """Put pieces in: equal masses in classes of a log-normal spread of size.

    The fullest use of the table of additions is a dozen; after that the smallest remainder makes room by dissolving.
    """
    left = bowl.pieces[:, :, PIECE_kg].sum(axis=1)
    place = int(np.argmin(left))
    if left[place] > 0.0:
        _dissolve(bowl, kitchen, place)
    steps = np.array([-1.53, -0.89, -0.49, -0.16, 0.16, 0.49, 0.89, 1.53])  # normal quantiles of 1/16, 3/16 … 15/16
    spread = kitchen.numbers["piece_size_spread"]
    wide = size_mm * 1e-3 * kitchen.numbers["piece_size_factor"] * np.exp(spread * steps)
    solid = solid_share(kitchen.curve, heat_C)
    latent = bowl.physics[POSITION["fat_share"]] * bowl.physics[POSITION["melting_J_kg"]]
    rows = bowl.pieces[place]
    rows[:, PIECE_kg] = rows[:, WHOLE_kg] = mass_kg / SIZES
    rows[:, WIDE_m] = wide
    rows[:, SHELL_J_kg] = rows[:, HEART_J_kg] = bowl.physics[POSITION["heat_capacity_J_kgK"]] * heat_C - latent * solid
    bowl.quality[place] = quality


def add_crystals(bowl: Bowl, kitchen: Kitchen, mass_kg: float, heat_C: float, quality: float) -> None:
    """Cocoa butter crystals into the core: all fat, and so fine that they are dispersed at once.

    Some 1 % of the bowl; its fat share is left as it was, which takes form V, % of the fat, for 2 % more than it is.
    """
    p = bowl.physics
    solid = solid_share(kitchen.curve, heat_C)
    J_kg = p[POSITION["heat_capacity_J_kgK"]] * heat_C - p[POSITION["melting_J_kg"]] * solid
    into_core(bowl.zones[CORE], p, mass_kg, J_kg, mass_kg * solid, quality)


def _dissolve(bowl: Bowl, kitchen: Kitchen, place: int) -> None:
    p = bowl.physics
    core, rows = bowl.zones[CORE], bowl.pieces[place]
    cp, melt = p[POSITION["heat_capacity_J_kgK"]], p[POSITION["melting_J_kg"]]
    held = core[MASS_kg] * cp * core[HEAT_C]
    for row in rows[rows[:, PIECE_kg] > 0.0]:
        J_kg = 0.5 * (row[SHELL_J_kg] + row[HEART_J_kg])
        crystal = row[PIECE_kg] * p[POSITION["fat_share"]] * solid_share(kitchen.curve, piece_C(p, kitchen.curve, J_kg))
        core[MASS_kg] += row[PIECE_kg]
        core[FORM_V_kg] += crystal
        held += row[PIECE_kg] * J_kg + melt * crystal
    core[HEAT_C] = held / (core[MASS_kg] * cp)
    rows[:, PIECE_kg] = 0.0


def add_melt(bowl: Bowl, mass_kg: float, heat_C: float) -> None:
    """Untempered melt of the same chocolate into the core."""
    core = bowl.zones[CORE]
    core[HEAT_C] = (core[MASS_kg] * core[HEAT_C] + mass_kg * heat_C) / (core[MASS_kg] + mass_kg)
    core[MASS_kg] += mass_kg


def pour(bowl: Bowl, vessel: Vessel, vessel_C: float, *, left_behind: float = 0.015) -> None:
    """Into another bowl; a film stays behind, and pouring mixes the zones."""
    scale(bowl, 1.0 - left_behind)
    core, wall = bowl.zones[CORE], bowl.zones[WALL]
    total = core[MASS_kg] + wall[MASS_kg]
    mean_C = (core[MASS_kg] * core[HEAT_C] + wall[MASS_kg] * wall[HEAT_C]) / total
    share = bowl.physics[POSITION["wall_share"]]
    crystals = core[FORM_V_kg : FIRST_CROP_kg + 1] + wall[FORM_V_kg : FIRST_CROP_kg + 1]
    for zone, part in ((core, 1.0 - share), (wall, share)):
        zone[MASS_kg], zone[HEAT_C] = total * part, mean_C
        zone[FORM_V_kg : FIRST_CROP_kg + 1] = crystals * part
    bowl.bodies[VESSEL_C] = vessel_C
    bowl.physics[POSITION["vessel_J_K"]] = vessel.J_K
    bowl.physics[POSITION["diameter_m"]] = vessel.diameter_m
    bowl.physics[POSITION["vessel_emissivity"]] = vessel.emissivity


def scale(bowl: Bowl, keep: float) -> None:
    """Keep this share of everything in the bowl: what is poured off takes melt, crystals and pieces alike."""
    bowl.zones[:, [MASS_kg, FORM_V_kg, UNSTABLE_kg, FIRST_CROP_kg]] *= keep
    bowl.pieces[:, :, [PIECE_kg, WHOLE_kg]] *= keep
    bowl.water_kg *= keep


def _diameters_m(pieces: Floats) -> Floats:
    share = np.divide(
        pieces[:, :, PIECE_kg],
        pieces[:, :, WHOLE_kg],
        out=np.zeros(pieces.shape[:2]),
        where=pieces[:, :, WHOLE_kg] > 0.0,
    )
    return np.asarray(pieces[:, :, WIDE_m] * np.cbrt(share))


def enthalpy_J(bowl: Bowl) -> float:
    """Enthalpy [J] of melt, crystals, pieces and vessel above molten chocolate at 0 °C; bath and stone not included."""
    p, zones = bowl.physics, bowl.zones
    sensible = p[POSITION["heat_capacity_J_kgK"]] * float((zones[:, MASS_kg] * zones[:, HEAT_C]).sum())
    solid = zones[:, FORM_V_kg].sum() + IV_HEAT * zones[:, UNSTABLE_kg].sum() + zones[:, FIRST_CROP_kg].sum()
    lumps = float(
        (bowl.pieces[:, :, PIECE_kg] * 0.5 * (bowl.pieces[:, :, SHELL_J_kg] + bowl.pieces[:, :, HEART_J_kg])).sum()
    )
    vessel = p[POSITION["vessel_J_K"]] * bowl.bodies[VESSEL_C]
    return float(sensible - p[POSITION["melting_J_kg"]] * solid + lumps + vessel)


def truth(bowl: Bowl, kitchen: Kitchen) -> Truth:
    """What the bowl would hold if it were mixed now, and whether that is in temper (design section 3)."""
    p, zones, pieces = bowl.physics, bowl.zones, bowl.pieces
    pieces_kg = float(pieces[:, :, PIECE_kg].sum())
    lumps_kg = float(pieces[:, :, PIECE_kg][_diameters_m(pieces) > PIECE_SIZE_m].sum())
    melt_kg = float(zones[:, MASS_kg].sum())
    batch_kg = melt_kg + pieces_kg + bowl.water_kg
    fat_kg = (melt_kg + pieces_kg) * float(p[POSITION["fat_share"]])
    v, u, first = (float(100.0 * zones[:, column].sum() / fat_kg) for column in (FORM_V_kg, UNSTABLE_kg, FIRST_CROP_kg))
    warm = float((zones[:, MASS_kg] * zones[:, HEAT_C]).sum()) / melt_kg
    low, high = kitchen.window_C
    checks = {
        "cold": warm < low,
        "hot": warm > high,
        "few": v < FORM_V_PCT[0],
        "many": v > FORM_V_PCT[1],
        "unstable": u > UNSTABLE_RATIO * v,
        "lumps": lumps_kg > PIECES_SHARE * batch_kg,
        "water": bowl.water_kg > WATER_SHARE * batch_kg,
        "scorched": float(bowl.bodies[HOTTEST_C]) > SCORCHED_C[kitchen.kind],
    }
    wrong = tuple(name for name, failed in checks.items() if failed)
    return Truth(
        temperature_C=warm,
        form_v_pct_of_fat=v,
        unstable_pct_of_fat=u,
        first_crop_pct_of_fat=first,
        seed_left_g=1000.0 * lumps_kg,
        batch_g=1000.0 * batch_kg,
        water_share=bowl.water_kg / batch_kg,
        hottest_C=float(bowl.bodies[HOTTEST_C]),
        in_temper=not wrong,
        wrong=wrong,
    )


def probe_C(bowl: Bowl) -> float:
    """What the tip of the thermometer really has [°C]."""
    return float(bowl.bodies[PROBE_C])


def stiffness(bowl: Bowl, kitchen: Kitchen) -> float:
    """How thick the bowl looks, in steps of the scale thin 0 … flowing 1 … thick 2 … paste 3.

    Solid fat outside pieces thickens most; pieces, cold and water add. Fitted to what kitchens call these words
    [assumed]: 1–3 % of the fat solid flows, 5–6 % is thick, 12 % a paste.
    """
    now = truth(bowl, kitchen)
    solid = now.form_v_pct_of_fat + now.unstable_pct_of_fat + 0.7 * now.first_crop_pct_of_fat
    crystals = 2.6 * math.log1p(solid / 2.2) / math.log(1.0 + 6.0 / 2.2)
    lumps = 4.0 * now.seed_left_g / now.batch_g
    cold = 0.05 * (kitchen.window_C[1] - now.temperature_C)
    return crystals * 0.85 + lumps + cold + 250.0 * now.water_share
