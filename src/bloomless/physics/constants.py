"""Numbers of the bowl's laws, each with unit, spread, source and grade; those of dark chocolate where it matters.

What differs from kitchen to kitchen is not here but in ``priors``: a member multiplies or shifts these.
"""

from __future__ import annotations

from typing import Final

from bloomless.sources.sourced import Grade, Sourced

__all__ = ["BOWL", "PIECES"]

_A, _D, _P, _T = Grade.ASSUMED, Grade.DERIVED, Grade.PUBLISHED, Grade.TRADE_PRACTICE


BOWL: Final[dict[str, Sourced]] = {
    "form_v_end_C": Sourced(33.8, "°C", 0.7, "wille_lutton_1966", _P, note="end of melting of form V, pure dark"),
    "form_vi_gap_K": Sourced(2.4, "K", 0.6, "wille_lutton_1966", _D, note="form VI 36.2 °C less form V"),
    "form_iv_end_C": Sourced(27.5, "°C", 1.0, "wille_lutton_1966", _P, note="end of melting of form IV"),
    "melt_from_C": Sourced(
        32.5, "°C", 0.5, "greweling_2007", _A, note="below it seed stays; 33 slow loss, 34 lost in minutes, 36 at once"
    ),
    "melt_1_s_K2": Sourced(2.2e-3, "1/(s K²)", 1.7, "greweling_2007", _A, "factor", "loss = k·(θ − melt_from)²"),
    "dissolve_1_s": Sourced(0.05, "1/s", 2.0, "assumed", _A, "factor", "solid above the solid-fat curve dissolves"),
    "hold_at_C": Sourced(31.0, "°C", 0.0, "assumed", _A, note="where the growth constant of holding is defined"),
    "growth_power": Sourced(4.0, "1", 1.0, "assumed", _A, note="growth at hold ∝ undercooling to this power"),
    "few_share": Sourced(
        2e-4, "1", 3.0, "assumed", _A, "factor", "below this share too few crystals to grow by x^(2/3)"
    ),
    "few_at_rest": Sourced(
        0.03, "1", 2.0, "toro_vazquez_2004", _A, "factor", "at rest crystals stay where they formed: hardly any form V"
    ),
    "no_growth_below_C": Sourced(5.0, "°C", 1.0, "baichoo_2007", _P, note="form V nuclei do not grow below 5 °C"),
    "growth_unstirred": Sourced(0.35, "1", 0.15, "assumed", _A, note="growth at rest over growth stirred steadily"),
    "unstable_growth_1_s_K": Sourced(2e-3, "1/(s K)", 2.5, "assumed", _A, "factor", "minutes at 20 °C, sheared"),
    "fastest_K_s": Sourced(
        8.0, "K/s", 2.0, "assumed", _A, note="a spoonful under full power burns before it warms faster"
    ),
    "carry_s": Sourced(
        2.0, "s", 1.5, "assumed", _A, "factor", "the melt answers a wall or pieces no faster than it is carried there"
    ),
    "unstable_melt_1_s_K": Sourced(
        0.03, "1/(s K)", 2.5, "assumed", _A, "factor", "gone within 1–2 min 2 K above its end"
    ),
    "unstable_nucleation_1_s_K2": Sourced(
        5e-8, "1/(s K²)", 3.0, "marangoni_mcgauley_2003", _A, "factor", "below 27 °C, direction seen, size assumed"
    ),
    "unstable_from_C": Sourced(27.0, "°C", 1.0, "greweling_2007", _A, note="unstable forms appear below"),
    "unstable_sheared_part": Sourced(
        0.8, "1", 0.1, "dhonsi_stapley_2006", _A, note="near 23 °C nucleation needs shear"
    ),
    "unstable_burst_C": Sourced(
        18.0, "°C", 2.0, "dhonsi_stapley_2006", _A, note="below, induction is short and free of shear"
    ),
    "unstable_burst_1_s_K4": Sourced(5e-7, "1/(s K⁴)", 3.0, "dhonsi_stapley_2006", _A, "factor", "same"),
    "conversion_1_s": Sourced(
        2.8e-5, "1/s", 2.0, "marangoni_mcgauley_2003", _P, "factor", "β′ lives some 10 h at 24 °C at rest"
    ),
    "conversion_stir": Sourced(30.0, "1", 2.0, "assumed", _A, "factor", "sheared 10–100 times faster"),
    "conversion_from_C": Sourced(20.0, "°C", 2.0, "marangoni_mcgauley_2003", _P, note="no form V at rest below 20 °C"),
    "nucleation_1_s_K2": Sourced(
        5e-10, "1/(s K²)", 3.0, "loisel_1997", _A, "factor", "form V from sheared melt, delay seen, size assumed"
    ),
    "nucleation_below_C": Sourced(32.0, "°C", 1.0, "loisel_1997", _A, note="main step seen up to 31 °C"),
    "first_crop_share": Sourced(0.011, "1", 0.003, "loisel_1997", _P, note="some 1 % of the fat, trisaturated"),
    "first_crop_from_C": Sourced(31.0, "°C", 1.0, "loisel_1997", _A, note="full below; gone at 40 °C"),
    "first_crop_end_C": Sourced(40.0, "°C", 1.5, "loisel_1997", _A, note="melts between 31 and 40 °C"),
    "first_crop_grow_1_s": Sourced(1 / 120, "1/s", 2.0, "loisel_1997", _A, "factor", "stirred"),
    "first_crop_melt_1_s": Sourced(1 / 60, "1/s", 2.0, "assumed", _A, "factor"),
    "unstable_solid_1_K": Sourced(
        0.075, "1/K", 0.02, "assumed", _A, note="solid share of form IV: 0 at 28, 0.6 at 20 °C"
    ),
    "unstable_solid_from_C": Sourced(28.0, "°C", 1.0, "assumed", _A, note="same"),
    "unstable_solid_most": Sourced(0.7, "1", 0.1, "assumed", _A, note="same"),
    "mixing_1_s": Sourced(0.25, "1/s", 2.0, "assumed", _A, "factor", "core to edge, stirred steadily"),
    "diffusion_1_s": Sourced(1.4e-3, "1/s", 2.0, "beckett_2009", _D, "factor", "α·(π/L)² of 3 cm with α 1.3e-7 m²/s"),
    "inner_at_rest": Sourced(0.2, "1", 0.08, "heat_textbook", _D, note="50 of 250 W/(m² K) when not stirred"),
    "scorch_1_s": Sourced(1 / 60, "1/s", 2.0, "assumed", _A, "factor", "scorched after a minute 10 K above the limit"),
    "wall_share": Sourced(0.05, "1", 2.0, "assumed", _A, "factor", "part of the melt that is as cold as the wall"),
    "water_heat_J_kgK": Sourced(4180.0, "J/(kg K)", 10.0, "choi_okos_1986", _P, note="added water"),
    "hot_spot_s": Sourced(
        20.0, "s", 2.0, "assumed", _A, "factor", "a hot spot runs ahead by this many seconds of heating"
    ),
    "loss_reference_K": Sourced(20.0, "K", 0.0, "heat_textbook", _D, note="difference at which films are evaluated"),
}
"""Bulk crystals and heat."""

PIECES: Final[dict[str, Sourced]] = {
    "slip_m_s": Sourced(
        0.02, "m/s", 2.0, "clift_grace_weber_1978", _D, "factor", "melt past a piece, stirred steadily"
    ),
    "soften_1_s": Sourced(0.1, "1/s", 2.0, "assumed", _A, "factor", "solid of a warm piece melts toward the curve"),
    "harden_1_s": Sourced(2e-3, "1/s", 3.0, "assumed", _A, "factor", "liquid of a cooled piece sets toward the curve"),
    "shed_m_s": Sourced(1.1e-5, "m/s", 2.0, "assumed", _A, "factor", "diameter lost by a soft piece, stirred steadily"),
    "fall_apart_m_s": Sourced(3e-4, "m/s", 2.0, "assumed", _A, "factor", "diameter lost by a molten piece"),
    "fall_apart_solid": Sourced(0.04, "1", 0.02, "assumed", _A, note="solid share below which a piece falls apart"),
    "fines_m": Sourced(
        1e-4, "m", 2.0, "assumed", _A, "factor", "below this diameter a piece dissolves at a falling speed"
    ),
    "fine_m": Sourced(1.2e-3, "m", 1.3, "common_practice", _T, "factor", "grated"),
    "middle_m": Sourced(3e-3, "m", 1.3, "common_practice", _T, "factor", "chopped"),
    "coarse_m": Sourced(8e-3, "m", 1.3, "common_practice", _T, "factor", "drops and chunks"),
}
"""Seed pieces."""
