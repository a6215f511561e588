"""Where each number of a true bowl stands in its arrays; plain integers, so that compiled code reads them too."""

from __future__ import annotations

from typing import Final

# Zones of the melt: rows of `zones`, with these columns.
CORE: Final = 0
WALL: Final = 1
TABLE: Final = 2
ZONES: Final = 3
MASS_kg: Final = 0
"""Melt of the zone, its crystals included, pieces of seed not."""
HEAT_C: Final = 1
"""Temperature."""
FORM_V_kg: Final = 2
UNSTABLE_kg: Final = 3
FIRST_CROP_kg: Final = 4
"""Trisaturated fat that falls out first and is not temper."""
COLUMNS: Final = 5

# Pieces: (additions, sizes, columns).
ADDITIONS: Final = 12
SIZES: Final = 8
PIECE_kg: Final = 0
WHOLE_kg: Final = 1
"""Mass the class had when it went in."""
WIDE_m: Final = 2
"""Diameter its pieces had when they went in."""
SHELL_J_kg: Final = 3
HEART_J_kg: Final = 4
PIECE_COLUMNS: Final = 5

# Bodies round the melt.
VESSEL_C: Final = 0
BATH_C: Final = 1
STONE_C: Final = 2
PROBE_C: Final = 3
HEAT_TAKEN_J: Final = 4
"""Heat that came in from the room, a microwave or hot air since the start; negative: lost."""
HOTTEST_C: Final = 5
BODIES: Final = 6

# Physics of the kitchen, in one vector.
PHYSICS: Final = (
    "fat_share",
    "heat_capacity_J_kgK",
    "melting_J_kg",
    "form_v_limit_C",
    "growth_rate_s",
    "growth_power",
    "growth_order",
    "growth_stir_power",
    "melt_back_s",
    "melt_back_power",
    "unstable_limit_C",
    "unstable_birth_s",
    "unstable_growth_s",
    "climb_s",
    "unstable_melt_s",
    "first_crop_share",
    "piece_hold_share",
    "shed_m_s",
    "shed_power",
    "piece_nusselt",
    "wall_share",
    "mixing_s",
    "inside_W_m2K",
    "top_W_m2K",
    "side_W_m2K",
    "bath_W_m2K",
    "vessel_J_K",
    "diameter_m",
    "vessel_emissivity",
    "probe_lag_s",
    "probe_wall_share",
    "curve_top",
)
POSITION: Final = {name: place for place, name in enumerate(PHYSICS)}

# Controls, set from outside for a stretch of time.
STIRRED: Final = 0
"""0 none … 1 steady … 1.8 brisk: what the hand really does."""
ROOM_C: Final = 1
BATH_ON: Final = 2
BATH_J_K: Final = 3
CORE_W: Final = 4
WALL_W: Final = 5
TABLE_ON: Final = 6
STONE_J_K: Final = 7
STONE_W_K: Final = 8
PROBE_AIR: Final = 9
"""Share of the probe that stands in the air."""
PROBE_WALL: Final = 10
"""Share of the probe that touches the wall, beyond its usual one."""
CONTROLS: Final = 11

CURVE_LOW_C: Final = -20.0
CURVE_STEP_C: Final = 0.05
CURVE_POINTS: Final = 2601
"""The solid-fat table reaches to 110 °C."""

IV_HEAT: Final = 0.82
"""Heat of the unstable forms ÷ that of form V (crystal-physics sheet 1.3, derived from Seilert 2021)."""
