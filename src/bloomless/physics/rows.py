"""Names of the rows of an ensemble: what a member is, what it believes about its kitchen, what is done to it.

A member is one column. Rows are plain integers so that compiled kernels and numpy index alike; ``STATE_ROWS``,
``PARAMETER_ROWS`` and ``CONTROL_ROWS`` give their names in order. Units stand in the names (SI, °C).
"""

from __future__ import annotations

from typing import Final

__all__ = [
    "CLASSES",
    "CONTROLS",
    "CONTROL_ROWS",
    "DYNAMIC",
    "PARAMETERS",
    "PARAMETER_ROWS",
    "STATES",
    "STATE_ROWS",
]

CLASSES: Final = 3
"""Size classes of seed pieces: the fine, the middle and the coarse of what was chopped."""

# -- state: the first DYNAMIC rows move by the laws of physics, the rest only by what is done
BULK_C: Final = 0  # mixed melt with its dispersed crystals
SPLIT_K: Final = 1  # core of the bowl minus its edge; near nothing while stirred
VESSEL_C: Final = 2
PROBE_C: Final = 3  # tip of the thermometer, its offset not included
FORM_V_kg: Final = 4  # dispersed form V (with VI) in the bulk
UNSTABLE_kg: Final = 5  # dispersed forms I–IV
FIRST_CROP_kg: Final = 6  # trisaturated first crop; never counts as seed or temper
BULK_kg: Final = 7  # chocolate outside pieces, crystals included, added water not
BULK_FAT_kg: Final = 8  # all fat outside pieces
SCORCH: Final = 9  # 0 untouched … 1 scorched
PIECE_m: Final = 10  # diameter of the pieces of a class; three rows
PIECE_C: Final = 13  # their temperature; three rows
PIECE_SOLID: Final = 16  # solid share of their fat; three rows
DYNAMIC: Final = 19
PIECE_COUNT: Final = 19  # number of pieces of a class; three rows
WATER_kg: Final = 22  # added water
FORM_VI: Final = 23  # share of the seed crystals that are form VI (bloomed seed)
PIECE_QUALITY: Final = 24  # share of the pieces' solid fat that lives on as form V when it is shed
STATES: Final = 25

STATE_ROWS: Final = (
    "bulk_C",
    "split_K",
    "vessel_C",
    "probe_C",
    "form_v_kg",
    "unstable_kg",
    "first_crop_kg",
    "bulk_kg",
    "bulk_fat_kg",
    "scorch",
    *(f"piece_{k}_m" for k in range(CLASSES)),
    *(f"piece_{k}_C" for k in range(CLASSES)),
    *(f"piece_{k}_solid" for k in range(CLASSES)),
    *(f"piece_{k}_count" for k in range(CLASSES)),
    "water_kg",
    "form_vi",
    "piece_quality",
)

# -- parameters: what differs from kitchen to kitchen; the fields of ``priors.BowlPriors`` in the same order
TOP_FACTOR: Final = 0
SIDE_FACTOR: Final = 1
INNER_FACTOR: Final = 2
VESSEL_FACTOR: Final = 3
BATH_FACTOR: Final = 4
MICROWAVE_FACTOR: Final = 5
HOT_AIR_FACTOR: Final = 6
ROOM_SHIFT_K: Final = 7
STIR_FACTOR: Final = 8
GROWTH_HOLD: Final = 9
GROWTH_COLD: Final = 10
MELT_FACTOR: Final = 11
MELTING_SHIFT_K: Final = 12
UNSTABLE_FACTOR: Final = 13
NUCLEATION_FACTOR: Final = 14
CONVERSION_FACTOR: Final = 15
SHED_FACTOR: Final = 16
SIZE_FACTOR: Final = 17
SEED_QUALITY: Final = 18
PROBE_LAG_s: Final = 19
PROBE_OFFSET_K: Final = 20
PROBE_PLACE: Final = 21
MASS_FACTOR: Final = 22
SIZE_SPREAD: Final = 23  # sd of the ln size of pieces of one chopping, by mass
FIRM_SOLID: Final = 24  # solid share of its fat with which a piece sheds nothing
SEED_HEAT: Final = 25  # what melting seed takes over what fat share, solid-fat curve and heat of melting say
PARAMETERS: Final = 26

PARAMETER_ROWS: Final = (
    "top_factor",
    "side_factor",
    "inner_factor",
    "vessel_factor",
    "bath_factor",
    "microwave_factor",
    "hot_air_factor",
    "room_shift_K",
    "stir_factor",
    "growth_hold",
    "growth_cold",
    "melt_factor",
    "melting_shift_K",
    "unstable_factor",
    "nucleation_factor",
    "conversion_factor",
    "shed_factor",
    "size_factor",
    "seed_quality",
    "probe_lag_s",
    "probe_offset_K",
    "probe_place",
    "mass_factor",
    "size_spread",
    "firm_solid",
    "seed_heat",
)

# -- controls: what the cook and the room do to the bowl just now
ROOM_C: Final = 0
BATH_C: Final = 1
BATH_ON: Final = 2  # 0 no bath, 1 bowl in or over water
MICROWAVE_W: Final = 3  # power of the oven as it says, not what is absorbed
HOT_AIR_W: Final = 4
STIR: Final = 5  # 0 none, 1 steady
CONTROLS: Final = 6

CONTROL_ROWS: Final = ("room_C", "bath_C", "bath_on", "microwave_W", "hot_air_W", "stir")
