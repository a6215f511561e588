"""Rate laws of the bowl at one moment, for one member: the right-hand side that every integrator shares.

Each function is plain arithmetic on floats, inlined into the compiled step and into the references of the tests. The
symbols: θ is the temperature less the melting shift of this chocolate and member, so that the constants below are
those of dark chocolate; shares of crystals are of the fat outside pieces.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bloomless.materials.fats import spline_bends
from bloomless.numerics.compiled import inlined
from bloomless.numerics.exponential import inverses, two_thirds_power
from bloomless.physics.constants import BOWL, PIECES

__all__ = [
    "carried",
    "crystal_rates",
    "form_v_growth",
    "piece_rates",
    "solid_share",
    "solid_share_of",
    "solid_slope",
    "unstable_nucleation",
    "weather_factor",
]


KNOTS_C, BENDS = spline_bends()

# The constants of physics.constants as plain floats, which compiled code keeps in its instructions.
_V_END: Final = BOWL["form_v_end_C"].value
_VI_GAP: Final = BOWL["form_vi_gap_K"].value
_IV_END: Final = BOWL["form_iv_end_C"].value
_MELT_FROM: Final = BOWL["melt_from_C"].value
_DISSOLVE: Final = BOWL["dissolve_1_s"].value
_FEW: Final = BOWL["few_share"].value
_FEW_AT_REST: Final = BOWL["few_at_rest"].value
_NO_GROWTH: Final = BOWL["no_growth_below_C"].value
_AT_REST: Final = BOWL["growth_unstirred"].value
_U_MELT: Final = BOWL["unstable_melt_1_s_K"].value
_UNSTABLE_NUCLEATION: Final = BOWL["unstable_nucleation_1_s_K2"].value
_UNSTABLE_FROM: Final = BOWL["unstable_from_C"].value
_SHEARED_PART: Final = BOWL["unstable_sheared_part"].value
_BURST_FROM: Final = BOWL["unstable_burst_C"].value
_BURST: Final = BOWL["unstable_burst_1_s_K4"].value
_CONVERT_FROM: Final = BOWL["conversion_from_C"].value
_CONVERT_STIR: Final = BOWL["conversion_stir"].value
_NUCLEATION_BELOW: Final = BOWL["nucleation_below_C"].value
_FIRST_SHARE: Final = BOWL["first_crop_share"].value
_FIRST_FROM: Final = BOWL["first_crop_from_C"].value
_FIRST_END: Final = BOWL["first_crop_end_C"].value
_FIRST_GROW: Final = BOWL["first_crop_grow_1_s"].value
_FIRST_MELT: Final = BOWL["first_crop_melt_1_s"].value
_U_SOLID: Final = BOWL["unstable_solid_1_K"].value
_U_SOLID_FROM: Final = BOWL["unstable_solid_from_C"].value
_U_SOLID_MOST: Final = BOWL["unstable_solid_most"].value
_PER_HOLD: Final = 1.0 / (_V_END - BOWL["hold_at_C"].value)
_FIRST_SPAN: Final = 1.0 / (_FIRST_END - _FIRST_FROM)
_CARRY: Final = BOWL["carry_s"].value
_SLIP: Final = PIECES["slip_m_s"].value
_SOFTEN: Final = PIECES["soften_1_s"].value
_HARDEN: Final = PIECES["harden_1_s"].value
_SHED: Final = PIECES["shed_m_s"].value
_APART: Final = PIECES["fall_apart_m_s"].value
_APART_SOLID: Final = PIECES["fall_apart_solid"].value
_FINES: Final = PIECES["fines_m"].value
_PER_INSIDE: Final = 1.0 / 6.58  # Nusselt number of the conduction inside a sphere, between its surface and its mean
_FASTEST: Final = 0.4  # a slope of growth is not believed beyond, so that two seconds stay a small step


@inlined
def solid_share(theta_C: float) -> float:
    """Solid share of tempered cocoa butter at equilibrium [-]; falls from 0.93 at 8 °C to exactly 0 at 35.5 °C."""
    a = max(KNOTS_C[0] - theta_C, 0.0)
    b = max(KNOTS_C[1] - theta_C, 0.0)
    c = max(KNOTS_C[2] - theta_C, 0.0)
    d = max(KNOTS_C[3] - theta_C, 0.0)
    e = max(KNOTS_C[4] - theta_C, 0.0)
    f = max(KNOTS_C[5] - theta_C, 0.0)
    g = max(KNOTS_C[6] - theta_C, 0.0)
    low = BENDS[0] * a * a + BENDS[1] * b * b + BENDS[2] * c * c + BENDS[3] * d * d
    return low + BENDS[4] * e * e + BENDS[5] * f * f + BENDS[6] * g * g


@inlined
def solid_slope(theta_C: float) -> float:
    """Derivative of ``solid_share`` [1/K]; never positive."""
    a, b = max(KNOTS_C[0] - theta_C, 0.0), max(KNOTS_C[1] - theta_C, 0.0)
    c, d = max(KNOTS_C[2] - theta_C, 0.0), max(KNOTS_C[3] - theta_C, 0.0)
    e, f = max(KNOTS_C[4] - theta_C, 0.0), max(KNOTS_C[5] - theta_C, 0.0)
    g = max(KNOTS_C[6] - theta_C, 0.0)
    low = BENDS[0] * a + BENDS[1] * b + BENDS[2] * c + BENDS[3] * d
    return -2.0 * (low + BENDS[4] * e + BENDS[5] * f + BENDS[6] * g)


def solid_share_of(theta_C: NDArray[np.float64]) -> NDArray[np.float64]:
    """``solid_share`` of an array."""
    out = np.zeros_like(theta_C, dtype=np.float64)
    for knot, bend in zip(KNOTS_C, BENDS, strict=True):
        out += bend * np.maximum(knot - theta_C, 0.0) ** 2
    return out


@inlined
def weather_factor(difference_K: float) -> float:
    """Conductance of a film of air at this difference over that at 20 K [-]: ``(ΔT² + 60)/(0.92·(ΔT² + 100))``.

    Convection goes with ΔT^(1/4), radiation hardly changes; together an open bowl's conductance falls by some 11 % from
    25 to 12 K [crystal sheet 5.4], and so it does here.
    """
    square = difference_K * difference_K
    return (square + 60.0) / (0.92 * square + 92.0)


@inlined
def carried(bulk_rate_1_s: float) -> float:
    """Part of an exchange that is left when the melt would answer it at this rate [-]: ``1/(1 + 2 s · rate)``.

    Mixing is a resistance in series. Near one in any bowl of melt; little melt among many pieces, or the last of a bowl
    on its wall, comes to their temperature within seconds, whatever the area says.
    """
    return 1.0 / (1.0 + _CARRY * bulk_rate_1_s)


@inlined
def unstable_nucleation(theta_C: float, shear: float) -> float:
    """New unstable crystals [share of fat/s]; ``shear`` is 0 at rest, 1 stirred steadily, times the help of sugar."""
    cool = max(_UNSTABLE_FROM - theta_C, 0.0)
    burst = max(_BURST_FROM - theta_C, 0.0)
    sheared = 1.0 - _SHEARED_PART + _SHEARED_PART * shear
    return _UNSTABLE_NUCLEATION * cool * cool * sheared + _BURST * burst * burst * burst * burst


@inlined
def form_v_growth(theta_C: float, hold_1_s: float, cold_1_sK: float) -> float:
    """Growth constant of form V [1/s] in ``dx/dt = k·x^(2/3)·(x_eq − x)``.

    ``1/k = 1/(k_hold·u⁴) + 1/(k_cold·ΔT)``, ΔT = 33.8 − θ, u = ΔT/2.8. Near 31 °C ``k_hold`` rules, in the cold
    ``k_cold``: one law for the two constants that bowls and cooling curves ask for, which are 17–50 apart. Zero above
    33.8 °C and below 5 °C [Baichoo 2007].
    """
    under = max(_V_END - theta_C, 0.0)
    u = under * _PER_HOLD
    slow = hold_1_s * (u * u) * (u * u)
    fast = cold_1_sK * under
    awake = min(max((theta_C - _NO_GROWTH) * 0.5, 0.0), 1.0)
    return awake * slow * fast / (slow + fast + 1e-12)


@inlined
def crystal_rates(
    theta_C: float,
    v: float,
    u: float,
    first: float,
    solid: float,
    form_vi: float,
    stir: float,
    butter: float,
    grow_v: float,
    melt: float,
    grow_u: float,
    new_u: float,
    new_v: float,
    convert: float,
) -> tuple[float, float, float, float, float, float]:
    """Rates of the three dispersed crystal groups [share of fat/s], each with its own diagonal slope [1/s].

    ::

        dv/dt = [g(θ, stir)·p(v) + J_v]·(v_eq − v − u)₊ + k_us·u − k_m (θ − 32.5)₊²·v − k_d (v − v_eq)₊
        du/dt = [k_u (27.5 − θ)₊·p(u) + J_u]·(u_eq − u − v)₊ − [k_us + k_mu (θ − 27.5)₊]·u
        ds/dt = k_s·(s_eq − s)

    v form V, u unstable, s trisaturated first crop; ``p(x) = x^(2/3)·x/(x + few)``: surface of given crystals, too few
    of them at first; ``few`` is 2e-4 stirred, 0.03 at rest. Two groups after Le Révérend, Fryer & Bakalis 2009 (their
    values are not used); the first crop after Loisel et al. 1997.

    Returns
    -------
    tuple
        ``(dv, slope_v, du, slope_u, ds, slope_s)``; the slopes only steer the integrator.
    """
    rest = max(1.0 - stir, 0.0)
    few = _FEW + _FEW_AT_REST * rest * rest
    spread, spread_u, _ = inverses(v + few, u + _FEW, 1.0)
    speed = grow_v * (_AT_REST + (1.0 - _AT_REST) * stir) * two_thirds_power(v) * spread
    room = max(solid - v - u, 0.0)
    lost = max(theta_C - _VI_GAP * form_vi - _MELT_FROM, 0.0)
    lost = melt * lost * lost
    warm = min(max((theta_C - _CONVERT_FROM) * 0.25, 0.0), 1.6)
    turn = convert * warm * warm * (1.0 + _CONVERT_STIR * stir)
    cool = max(_NUCLEATION_BELOW - theta_C, 0.0)
    new_form_v = new_v * stir * cool * cool * min(max((theta_C - _NO_GROWTH) * 0.5, 0.0), 1.0)
    dv = (speed * v + new_form_v) * room + turn * u - lost * v - _DISSOLVE * max(v - solid, 0.0)
    growing = speed * (room * (2.0 / 3.0 + few * spread) - v)
    slope_v = min(growing, _FASTEST) - lost - _DISSOLVE * min(max(1000.0 * (v - solid), 0.0), 1.0)

    u_eq = butter * min(_U_SOLID * max(_U_SOLID_FROM - theta_C, 0.0), _U_SOLID_MOST)
    speed_u = grow_u * max(_IV_END - theta_C, 0.0) * two_thirds_power(u) * spread_u
    room_u = max(u_eq - u - v, 0.0)
    gone = turn + _U_MELT * max(theta_C - _IV_END, 0.0)
    du = (speed_u * u + new_u) * room_u - gone * u
    slope_u = min(speed_u * (room_u * (2.0 / 3.0 + _FEW * spread_u) - u) - new_u, _FASTEST) - gone

    s_eq = butter * _FIRST_SHARE * min(max((_FIRST_END - theta_C) * _FIRST_SPAN, 0.0), 1.0)
    settle = _FIRST_GROW * stir * min(max(_FIRST_FROM + 1.0 - theta_C, 0.0), 1.0)
    ds = settle * max(s_eq - first, 0.0) - _FIRST_MELT * max(first - s_eq, 0.0)
    return dv, slope_v, du, slope_u, ds, -_FIRST_MELT


@inlined
def piece_rates(
    diameter_m: float,
    piece_C: float,
    solid: float,
    bulk_C: float,
    shift_K: float,
    butter: float,
    stir: float,
    shed: float,
    per_firm: float,
    diffusivity_m2_s: float,
    latent_K: float,
    heating_K_s: float,
    per_bulk: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Rates of one size class of seed pieces: diameter [m/s], temperature [K/s] and solid share [1/s].

    ::

        dT/dt = carried·6 α Nu/d²·(T_bulk − T) + (w_f ΔH/c)·dX/dt + P/(m c)
        dX/dt = −0.1 (X − X_eq(T))₊ + 0.002 (X_eq(T) − X)₊
        dd/dt = −e·d/(d + 0.1 mm),  e = shed·[stir·1.1e-5 (1 − X_s/firm)₊² + 3e-4 (0.04/(0.04 + X))⁴] m/s
        X_s = min(X, X_eq(T + Nu/6.58·(T_bulk − T)))

    Nu combines creeping flow past a sphere, ``1 + (1 + Pe)^(1/3)`` [Clift, Grace & Weber 1978], in series with the
    conduction inside (6.58); ``(1.53 + 0.352 √Pe)/(1 + 0.066 √Pe)`` fits that within 4 % for Pe 0…4000. What is rubbed
    off is the surface, which the same two resistances put at ``T + Nu/6.58·(T_bulk − T)``; it falls apart by its mean.
    ``per_bulk`` is the heat capacity of the pieces over that of the melt, ``per_firm`` 1/firm.

    Returns
    -------
    tuple
        ``(dd, slope_d, dX, slope_X, dT, slope_T, 6αNu/d²·carried)``; the slopes, 1/s, only steer the integrator.
    """
    peclet_root = math.sqrt(stir * diameter_m * (_SLIP / diffusivity_m2_s))
    outside = 1.53 + 0.352 * peclet_root
    flow = 6.0 * diffusivity_m2_s * outside
    resistance = (1.0 + 0.066 * peclet_root) * (diameter_m * diameter_m + 1e-9) + _CARRY * per_bulk * flow
    per_flow, per_solid, per_size = inverses(resistance, _APART_SOLID + solid, diameter_m + _FINES)
    warming = flow * per_flow
    theta = piece_C - shift_K
    excess = solid - butter * solid_share(theta)
    softening = min(max(1000.0 * excess, 0.0), 1.0)
    slope_x = -(_HARDEN + (_SOFTEN - _HARDEN) * softening)
    slope_t = -warming - latent_K * slope_x * butter * solid_slope(theta)
    d_solid = -(_SOFTEN * max(excess, 0.0) + _HARDEN * min(excess, 0.0))
    d_piece = warming * (bulk_C - piece_C) + latent_K * d_solid + heating_K_s
    drop = outside * per_flow * diameter_m * diameter_m * _PER_INSIDE
    surface = min(solid, butter * solid_share(theta + drop * (bulk_C - piece_C)))
    soft = max(1.0 - surface * per_firm, 0.0)
    weak = _APART_SOLID * per_solid
    speed = shed * (stir * _SHED * soft * soft + _APART * (weak * weak) * (weak * weak))
    slope_d = -speed * per_size
    return slope_d * diameter_m, slope_d, d_solid, slope_x, d_piece, slope_t, warming
