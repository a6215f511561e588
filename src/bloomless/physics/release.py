"""Contraction and release: how far a piece draws away from its mould, and whether that is enough.

Before the fat has gelled, shrinkage is fed from the open face; after it, it opens a gap at the walls. The gap over the
gap that a surface asks for is the release index R: above 1.5 pieces fall out, between 0.7 and 1.5 they come with a tap
or a twist, below they stick [assumed bounds]. Untempered chocolate fails threefold: lower forms pack less densely, it
sets late, and above all it clings.

References
----------
Lovegren and Feuge 1965 (about 2 % linear for seeded butter, nearly all in half an hour); Keijbets, Chen and Vieira 2010
(pull-off force depends on temperature, time and humidity); Baichoo 2007 (form II clings).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from bloomless.errors import ImpossibleInput
from bloomless.materials.moulds import Cavity, Mould
from bloomless.physics.mould_cooling import Cooling
from bloomless.sources import Grade, Sourced

__all__ = [
    "CAPPED_REST_MIN",
    "CONTRACTION_OF_BUTTER",
    "GEL_SHARE",
    "Colour",
    "Release",
    "Surface",
    "chance_of_release",
    "contraction",
    "density_kg_m3",
    "gap_needed_mm",
    "reach_mm",
    "release",
]

Array = NDArray[np.float64]
Cleanliness: TypeAlias = Literal["polished", "clean", "film", "dirty"]
Colour: TypeAlias = Literal["none", "tempered", "untempered"]

CONTRACTION_OF_BUTTER = Sourced(0.02, "1", 0.003, "lovegren_feuge_1965", Grade.PUBLISHED, note="linear, seeded, 16 °C")
GEL_SHARE = Sourced(0.3, "1", 0.08, "assumed", Grade.ASSUMED, note="solid share of the fat from which a gap opens")
PACKING = {
    "V": Sourced(1.0, "1", 0.0, "lovegren_feuge_1965", Grade.PUBLISHED, note="by definition"),
    "IV": Sourced(0.7, "1", 0.1, "assumed", Grade.ASSUMED, note="between II and V"),
    "II": Sourced(0.55, "1", 0.1, "assumed", Grade.ASSUMED),
}
EXPANSION_OF_CHOCOLATE = Sourced(
    0.85e-4, "1/K", 0.1e-4, "derived", Grade.DERIVED, note="0.7-1.0e-4, Choi-Okos slope of fat"
)
GAP_NEEDED_MM = Sourced(
    0.05, "mm", 1.4, "assumed", Grade.ASSUMED, spread_is="factor", note="polished, draft of 5° or more"
)
CLINGING = Sourced(2.5, "1", 0.4, "assumed", Grade.ASSUMED, note="gap untempered pieces need over tempered ones: 2-3")
AFTER_SETTING_MIN = Sourced(5.0, "min", 2.0, "assumed", Grade.ASSUMED, note="from the last layer set: 5-10 min")
CAPPED_REST_MIN = Sourced(
    35.0, "min", 1.39, "common_practice", Grade.TRADE_PRACTICE, spread_is="factor",
    note="capped pieces stay 20-60 min; a couverture maker asks for two hours at 14-16 °C against dull spots",
)  # fmt: skip
FALLS_OUT, LIFTS = 1.5, 0.7
_DOUBT = 0.35  # sd of ln R between cavities and days [assumed]

_CLEAN = {"polished": 1.0, "film": 0.95, "clean": 1.15, "dirty": 2.0}
_COLOUR = {"none": 1.0, "tempered": 1.1, "untempered": 2.2}


@dataclass(frozen=True, slots=True)
class Surface:
    """The inside of a mould on the day."""

    cleanliness: Cleanliness = "polished"
    """``film``: a breath of cocoa butter left in it; ``dirty``: rests, finger marks, a streaked rinse."""
    colour: Colour = "none"
    """Layer of coloured cocoa butter and its temper."""
    mould_C: float = 22.0
    """When the chocolate (or the colour) met it."""
    wet: bool = False
    """Water or dew in the cavities."""

    def __post_init__(self) -> None:
        if self.cleanliness not in _CLEAN:
            raise ImpossibleInput("cleanliness", self.cleanliness, ", ".join(_CLEAN))
        if self.colour not in _COLOUR:
            raise ImpossibleInput("colour", self.colour, ", ".join(_COLOUR))


def density_kg_m3(fat_share: float, *, solid: bool) -> float:
    """Density of chocolate from its parts: fat 890 (liquid, 40 °C) or 975 (set, 15 °C), solids 1520 kg/m³ [derived]."""
    if not 0 < fat_share <= 1:
        raise ImpossibleInput("fat_share", fat_share, "above 0 and at most 1")
    return 1.0 / (fat_share / (975.0 if solid else 890.0) + (1.0 - fat_share) / 1520.0)


def contraction(cooling: Cooling, wall_expansion_per_K: float) -> tuple[Array, Array]:
    """Linear contraction of a piece against its mould since the gel point, and the packing of its crystals.

    ε = 0.02 φ_f q (X − X_g)⁺/(X_end − X_g) (1 − X₀/X_end) + (α_chocolate − α_mould)(T_g − T), averaged over the piece.

    Parameters
    ----------
    cooling
        The run.
    wall_expansion_per_K
        Linear expansion of the mould.

    Returns
    -------
    tuple
        ε and q (1 all form V), each of shape (times,).
    """
    melt = cooling.melt
    solid = cooling.solid
    packed = cooling.form_v + PACKING["IV"].value * cooling.form_iv + PACKING["II"].value * cooling.form_ii
    weight = cooling.weight
    q = (packed @ weight) / np.maximum(solid @ weight, 1e-9)
    end = np.maximum(cooling.could_be_solid(), 1e-9)
    gel = GEL_SHARE.value
    done = np.where(end > gel + 0.05, np.clip((solid - gel) / np.maximum(end - gel, 0.05), 0.0, 1.0), 0.0)
    spent = np.clip(1.0 - (melt.form_v + melt.unstable) / end, 0.0, 1.0)
    largest = CONTRACTION_OF_BUTTER.value * melt.fat_volume_share
    share = packed / np.maximum(solid, 1e-9)
    crystals = (largest * share * done * spent) @ weight
    mean = cooling.mean_C
    gelled = solid @ weight >= gel
    at = mean[int(np.argmax(gelled))] if gelled.any() else mean[-1]
    thermal = (EXPANSION_OF_CHOCOLATE.value - wall_expansion_per_K) * np.maximum(at - mean, 0.0) * gelled
    return np.asarray(crystals + thermal), np.asarray(q)


def reach_mm(cavity: Cavity) -> float:
    """Length over which contraction opens the gap: half the width, but no more than twice the depth.

    A flat piece lifts off its face by peeling from its edge, and the edge's gap reaches about two depths in [assumed].
    """
    return min(cavity.half_width_mm, 2 * cavity.depth_mm)


def gap_needed_mm(mould: Mould, surface: Surface, packing: Array | float = 1.0) -> Array:
    """Gap at which a piece lets go.

    Parameters
    ----------
    mould
        Draft, material, scratches.
    surface
        Cleanliness, colour, temperature, water.
    packing
        q of ``contraction``: below 1 the piece clings.
    """
    draft = mould.cavity.draft_deg
    angle = 1.0 if draft >= 5 else 1.0 + 0.1 * (5.0 - draft) if draft >= 0 else 2.5
    cold = 1.0 + 0.06 * max(18.0 - surface.mould_C, 0.0) + 0.2 * max(surface.mould_C - 29.0, 0.0)
    factor = (
        mould.wall.sticking.value
        * _CLEAN[surface.cleanliness]
        * _COLOUR[surface.colour]
        * angle
        * cold
        * (1.5 if mould.scratched else 1.0)
        * (2.0 if surface.wet else 1.0)
    )
    # All IV (q 0.7) clings fully, form II more (Baichoo 2007), a few per cent of either hardly.
    cling = 1.0 + (CLINGING.value - 1.0) * np.clip((1.0 - np.asarray(packing)) / 0.3, 0.0, 1.5)
    return np.asarray(GAP_NEEDED_MM.value * factor * cling)


def chance_of_release(index: Array | float) -> Array:
    """Chance that a cavity lets go cleanly at a release index: Φ(ln R/0.35) [assumed form; learned from records]."""
    z = np.log(np.maximum(np.asarray(index, dtype=float), 1e-9)) / _DOUBT
    return np.asarray(0.5 * (1.0 + np.vectorize(math.erf)(z / math.sqrt(2.0))))


@dataclass(frozen=True, slots=True)
class Release:
    """Whether and when a piece lets go."""

    time_s: Array
    contraction: Array
    gap_mm: Array
    index: Array
    set_s: float | None
    """Every layer set; ``None`` if not within the run."""
    look_s: float | None
    """From now on look from below for the light, silvery areas that have lifted."""
    out_s: float | None
    """Turn out; ``None`` if it does not let go within the run."""
    chance: float
    """Of a clean release of a cavity at ``out_s``, or at the end of the run."""


def _first(time_s: Array, true: NDArray[np.bool_]) -> float | None:
    return float(time_s[int(np.argmax(true))]) if true.any() else None


def release(
    cooling: Cooling, mould: Mould, surface: Surface, *, gap_factor: float = 1.0, least_s: float = 0.0
) -> Release:
    """Contraction, gap and the moments that matter, of one run.

    A piece is turned out five minutes after its last layer has set, if the index has reached 1.5, or its greatest value
    if that is between 0.7 and 1.5 (tap, twist). ``gap_factor`` multiplies the gap asked for: one draw of its doubt;
    nothing is turned out before ``least_s``.
    """
    epsilon, packing = contraction(cooling, mould.wall.expansion_per_K.value)
    gap = epsilon * reach_mm(mould.cavity)
    index = gap / (gap_factor * gap_needed_mm(mould, surface, packing))
    set_ = cooling.is_set
    held = cooling.solid.min(axis=1) >= GEL_SHARE.value  # nothing lifts while a layer is still soft
    time = cooling.time_s
    best = float(index[set_].max()) if set_.any() else 0.0
    # Silicone and thin sheet bend: set is enough, the piece is pushed out.
    wanted = LIFTS if mould.wall.bends else FALLS_OUT if best >= FALLS_OUT else LIFTS
    rested = set_ & (time >= max(time[int(np.argmax(set_))] + 60 * AFTER_SETTING_MIN.value, least_s))
    ready = rested & (index >= min(max(wanted, 0.97 * best if best < FALLS_OUT else wanted), FALLS_OUT))
    out = _first(time, ready) if best >= LIFTS else None
    at = int(np.argmax(ready)) if out is not None else -1
    # Taken out later, it is looser still: the chance is that of leaving it a little longer if the first try fails.
    chance = float(chance_of_release(float(index[at:].max()))) if out is not None else float(chance_of_release(best))
    return Release(time, epsilon, gap, index, _first(time, set_), _first(time, held & (index >= LIFTS)), out, chance)
