"""What can be read off an ensemble: temperatures, crystals, pieces, and whether a bowl is in temper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.materials.chocolates import Chocolate, working_window
from bloomless.physics import rows
from bloomless.physics.actions import piece_masses_kg
from bloomless.physics.ensemble import Array, Ensemble
from bloomless.sources.sourced import Grade, Sourced

__all__ = ["TEMPER", "Readings", "Temper", "in_temper", "readings", "temper_of"]

TEMPER: Final[dict[str, Sourced]] = {
    "form_v_least": Sourced(0.004, "1", 0.001, "chocolate_seeding_2011", Grade.ASSUMED, note="share of all fat"),
    "form_v_most": Sourced(
        0.06, "1", 0.01, "beckett_science", Grade.FROM_MEMORY, note="above, thick and over-tempered"
    ),
    "unstable_of_form_v": Sourced(1 / 3, "1", 0.1, "assumed", Grade.ASSUMED),
    "pieces_most": Sourced(0.03, "1", 0.01, "assumed", Grade.ASSUMED, note="larger than 0.5 mm, of the bowl's mass"),
    "water_most": Sourced(0.005, "1", 0.002, "common_practice", Grade.TRADE_PRACTICE, note="of the bowl's mass"),
    "scorch_most": Sourced(1.0, "1", 0.3, "assumed", Grade.ASSUMED),
    "piece_from_m": Sourced(0.5e-3, "m", 0.0, "assumed", Grade.ASSUMED, note="what counts as a piece"),
    "size_spread": Sourced(1.35, "1", 0.1, "assumed", Grade.ASSUMED, note="factor of one sd of sizes inside a class"),
}


@dataclass(frozen=True, slots=True)
class Temper:
    """When a bowl is in temper; shares are of all fat or of the bowl's mass, see ``TEMPER``."""

    window_C: tuple[float, float]
    form_v: tuple[float, float] = (TEMPER["form_v_least"].value, TEMPER["form_v_most"].value)
    unstable_of_form_v: float = TEMPER["unstable_of_form_v"].value
    pieces_most: float = TEMPER["pieces_most"].value
    water_most: float = TEMPER["water_most"].value
    scorch_most: float = TEMPER["scorch_most"].value
    window_sd_K: float = 0.0
    """How well the ends of the window are known: both move with a composition nobody has stated."""

    @property
    def middle_C(self) -> float:
        """Middle of the working window."""
        return sum(self.window_C) / 2.0


def temper_of(chocolate: Chocolate) -> Temper:
    """The definition for a chocolate: the usual thresholds, its own working window."""
    return Temper(window_C=working_window(chocolate))


@dataclass(frozen=True, slots=True)
class Readings:
    """One array a quantity, one number a member."""

    bulk_C: Array
    """Mixed melt."""
    mixed_C: Array
    """Melt and pieces together, by heat."""
    probe_C: Array
    """Tip of the thermometer, offset not included."""
    shown_C: Array
    """What the thermometer shows: tip and offset."""
    vessel_C: Array
    form_v_of_fat: Array
    """Form V with VI outside pieces, over all fat, pieces' fat included."""
    unstable_of_fat: Array
    first_crop_of_fat: Array
    pieces_kg: Array
    """Pieces larger than 0.5 mm, softened or not."""
    batch_kg: Array
    water_share: Array
    scorch: Array


def _large(diameter_m: Array) -> Array:
    """Mass share of a class that lies above 0.5 mm: a log-normal spread of sizes, its tail as a logistic."""
    z = np.log(np.maximum(diameter_m, 1e-9) / TEMPER["piece_from_m"].value) / np.log(TEMPER["size_spread"].value)
    return np.asarray(1.0 / (1.0 + np.exp(-1.702 * np.clip(z, -30.0, 30.0))))


def readings(ensemble: Ensemble) -> Readings:
    """Everything an observer could ask of each member."""
    y, bowl = ensemble.state, ensemble.bowl
    masses = piece_masses_kg(ensemble)
    all_pieces = masses.sum(axis=0)
    batch = y[rows.BULK_kg] + y[rows.WATER_kg] + all_pieces
    large = (masses * _large(y[rows.PIECE_m : rows.PIECE_m + rows.CLASSES])).sum(axis=0)
    fat = y[rows.BULK_FAT_kg] + bowl.chocolate.fat_share * all_pieces
    warm = (masses * y[rows.PIECE_C : rows.PIECE_C + rows.CLASSES]).sum(axis=0)
    water = y[rows.WATER_kg] / batch
    return Readings(
        bulk_C=y[rows.BULK_C],
        mixed_C=(y[rows.BULK_kg] * y[rows.BULK_C] + warm) / (y[rows.BULK_kg] + all_pieces),
        probe_C=y[rows.PROBE_C],
        shown_C=y[rows.PROBE_C] + ensemble.parameters[rows.PROBE_OFFSET_K],
        vessel_C=y[rows.VESSEL_C],
        form_v_of_fat=y[rows.FORM_V_kg] / fat,
        unstable_of_fat=y[rows.UNSTABLE_kg] / fat,
        first_crop_of_fat=y[rows.FIRST_CROP_kg] / fat,
        pieces_kg=large,
        batch_kg=batch,
        water_share=water,
        scorch=y[rows.SCORCH],
    )


def in_temper(seen: Readings, temper: Temper) -> NDArray[np.bool_]:
    """Whether each member is in temper: the one definition of the program [design, bench log]."""
    good: NDArray[np.bool_] = (seen.form_v_of_fat >= temper.form_v[0]) & (seen.form_v_of_fat <= temper.form_v[1])
    good &= seen.unstable_of_fat <= temper.unstable_of_form_v * seen.form_v_of_fat
    good &= seen.pieces_kg <= temper.pieces_most * seen.batch_kg
    good &= (seen.water_share <= temper.water_most) & (seen.scorch < temper.scorch_most)
    good &= (seen.mixed_C >= temper.window_C[0]) & (seen.mixed_C <= temper.window_C[1])
    return good
