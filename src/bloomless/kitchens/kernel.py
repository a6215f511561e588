"""The true bowl through time: compiled, one bowl at a time, in an order of splitting that keeps heat and fat.

Two zones (and a third on the stone) each with its own temperature and crystals; pieces of seed as classes of size with
a shell and a heart whose state is enthalpy, so that melting inside a piece can neither create nor lose heat. Exchanges
between two bodies use the exact exponential of the pair: no step is too long to be stable.
"""

from __future__ import annotations

import math

import numba as nb
import numpy as np
import numpy.typing as npt

from bloomless.kitchens.layout import (
    ADDITIONS,
    BATH_C,
    BATH_J_K,
    BATH_ON,
    CORE,
    CORE_W,
    CURVE_LOW_C,
    CURVE_POINTS,
    CURVE_STEP_C,
    HEAT_C,
    HEAT_TAKEN_J,
    HOTTEST_C,
    IV_HEAT,
    POSITION,
    PROBE_AIR,
    PROBE_C,
    PROBE_WALL,
    ROOM_C,
    SIZES,
    STIRRED,
    STONE_C,
    STONE_J_K,
    STONE_W_K,
    TABLE,
    TABLE_ON,
    VESSEL_C,
    WALL,
    WALL_W,
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

__all__ = ["piece_C", "run", "solid_share"]

Floats = npt.NDArray[np.float64]

_compiled = nb.njit(cache=True, fastmath=False)

FAT = POSITION["fat_share"]
CP = POSITION["heat_capacity_J_kgK"]
MELT = POSITION["melting_J_kg"]
V_LIMIT = POSITION["form_v_limit_C"]
V_RATE = POSITION["growth_rate_s"]
V_POWER = POSITION["growth_power"]
V_ORDER = POSITION["growth_order"]
V_STIR = POSITION["growth_stir_power"]
V_LOSS = POSITION["melt_back_s"]
V_LOSS_POWER = POSITION["melt_back_power"]
U_LIMIT = POSITION["unstable_limit_C"]
U_BIRTH = POSITION["unstable_birth_s"]
U_GROWTH = POSITION["unstable_growth_s"]
U_CLIMB = POSITION["climb_s"]
U_LOSS = POSITION["unstable_melt_s"]
FIRST = POSITION["first_crop_share"]
HOLD = POSITION["piece_hold_share"]
SHED = POSITION["shed_m_s"]
SHED_POWER = POSITION["shed_power"]
NUSSELT = POSITION["piece_nusselt"]
WALL_SHARE = POSITION["wall_share"]
MIXING = POSITION["mixing_s"]
INSIDE = POSITION["inside_W_m2K"]
TOP = POSITION["top_W_m2K"]
SIDE = POSITION["side_W_m2K"]
BATH = POSITION["bath_W_m2K"]
VESSEL = POSITION["vessel_J_K"]
WIDE = POSITION["diameter_m"]
EMISSIVITY = POSITION["vessel_emissivity"]
LAG = POSITION["probe_lag_s"]
PROBE_SHARE = POSITION["probe_wall_share"]
CURVE_TOP = POSITION["curve_top"]

STEFAN_BOLTZMANN_W_m2K4 = 5.670374419e-8  # CODATA 2018
DENSITY_kg_m3 = 1250.0  # crystal-physics sheet 5.1, rounded mean of solid and liquid
CONDUCTIVITY_W_mK = 0.26  # sheet 5.1, Beckett 2009
CHOCOLATE_EMISSIVITY = 0.92  # sheet 5.3, from memory
SHELL_SHARE = 0.5  # half the mass of a sphere lies in the outer fifth of its radius
GROWTH_SPAN_K = 2.3  # driving force at which the growth rate is drawn: about 31 °C in dark
FIRST_CROP_s = 300.0  # the first crop falls out and melts over minutes (sheet 2.3, prior)
VANISHED_m = 4e-5


@_compiled
def solid_share(curve: Floats, temperature_C: float) -> float:
    """Solid share of the fat at equilibrium [0–1] from the kitchen's own table."""
    place = (temperature_C - CURVE_LOW_C) / CURVE_STEP_C
    if place <= 0.0:
        return float(curve[0])
    at = int(place)
    if at >= CURVE_POINTS - 1:
        return 0.0
    part = place - at
    return float(curve[at] * (1.0 - part) + curve[at + 1] * part)


@_compiled
def _piece_J_kg(p: Floats, curve: Floats, temperature_C: float) -> float:
    return float(p[CP] * temperature_C - p[FAT] * p[MELT] * solid_share(curve, temperature_C))


@_compiled
def piece_C(p: Floats, curve: Floats, enthalpy_J_kg: float) -> float:
    """Temperature [°C] at which a piece in equilibrium holds this enthalpy: bisection, the relation is monotone."""
    first, last = 0, CURVE_POINTS - 1
    latent = p[FAT] * p[MELT]
    while last - first > 1:
        middle = (first + last) // 2
        if p[CP] * (CURVE_LOW_C + CURVE_STEP_C * middle) - latent * curve[middle] <= enthalpy_J_kg:
            first = middle
        else:
            last = middle
    low = p[CP] * (CURVE_LOW_C + CURVE_STEP_C * first) - latent * curve[first]
    high = p[CP] * (CURVE_LOW_C + CURVE_STEP_C * last) - latent * curve[last]
    return float(CURVE_LOW_C + CURVE_STEP_C * (first + (enthalpy_J_kg - low) / (high - low)))


@_compiled
def _crystals(zone: Floats, p: Floats, curve: Floats, stirred: float, dt: float) -> None:
    """Growth, birth, climbing and melting in one zone; its temperature takes up the heat."""
    fat = zone[MASS_kg] * p[FAT]
    if fat <= 0.0:
        return
    warm = zone[HEAT_C]
    v, u, s = zone[FORM_V_kg], zone[UNSTABLE_kg], zone[FIRST_CROP_kg]
    v0, u0, s0 = v, u, s
    below = p[V_LIMIT] - warm
    hand = (0.25 + 0.75 * stirred) ** p[V_STIR]
    if below > 0.0 and v > 0.0:
        room = 1.0 - (v + u) / fat / max(solid_share(curve, warm), 1e-3)
        if room > 0.0:
            crowd = (max(v / fat, 1e-5) / 0.015) ** (p[V_ORDER] - 1.0)
            rate = p[V_RATE] * (below / GROWTH_SPAN_K) ** p[V_POWER] * hand * crowd * room
            v = min(v * math.exp(min(rate * dt, 0.5)), fat * 0.8)
    elif below < 0.0:
        v *= math.exp(-p[V_LOSS] * (-below) ** p[V_LOSS_POWER] * dt)
    cold = p[U_LIMIT] - warm
    if cold > 0.0:
        ceiling = fat * min(0.6, 0.08 * cold) * max(0.0, 1.0 - v / fat / 0.3)
        if u < ceiling:
            born = p[U_BIRTH] * cold**1.5 * fat * dt
            u = min(u * math.exp(p[U_GROWTH] * cold * dt) + born, ceiling)
    elif cold < -0.7:
        u *= math.exp(-p[U_LOSS] * (-cold - 0.7) * dt)
    climbed = u * (1.0 - math.exp(-p[U_CLIMB] * (0.1 + stirred) * dt))
    u -= climbed
    v += climbed
    first = p[FIRST] * fat * min(1.0, max(0.0, (40.0 - warm) / 9.0))
    s += (first - s) * (1.0 - math.exp(-dt / FIRST_CROP_s))
    zone[FORM_V_kg], zone[UNSTABLE_kg], zone[FIRST_CROP_kg] = v, u, s
    heat = p[MELT] * ((v - v0) + IV_HEAT * (u - u0) + (s - s0))
    zone[HEAT_C] = warm + heat / (zone[MASS_kg] * p[CP])


@_compiled
def _exchange_J(one_C: float, one_J_K: float, two_C: float, two_J_K: float, W_K: float, dt: float) -> float:
    """Heat [J] that goes from the first body to the second in a step: exact for two lumped bodies."""
    if one_J_K <= 0.0 or two_J_K <= 0.0:
        return 0.0
    pair = one_J_K * two_J_K / (one_J_K + two_J_K)
    return float((one_C - two_C) * pair * (1.0 - math.exp(-W_K * dt / pair)))


@_compiled
def _air_W_m2K(surface_C: float, room_C: float, film_W_m2K: float, emissivity: float) -> float:
    """Film and radiation to the room; the film is named at 12 K and goes with the quarter power of the difference."""
    film = film_W_m2K * ((abs(surface_C - room_C) + 0.2) / 12.0) ** 0.25
    one, two = surface_C + 273.15, room_C + 273.15
    return float(film + emissivity * STEFAN_BOLTZMANN_W_m2K4 * (one * one + two * two) * (one + two))


@_compiled
def _surroundings(zones: Floats, bodies: Floats, p: Floats, controls: Floats, mass_kg: float, dt: float) -> None:
    """Heat between the melt, its vessel, the bath, the stone and the room."""
    core, wall = zones[CORE], zones[WALL]
    stirred, room_C = controls[STIRRED], controls[ROOM_C]
    top_m2 = math.pi * p[WIDE] ** 2 / 4.0
    wet_m2 = top_m2 + math.pi * p[WIDE] * (mass_kg / DENSITY_kg_m3 / top_m2)
    cp = p[CP]
    # Melt and vessel.
    J = _exchange_J(
        wall[HEAT_C],
        wall[MASS_kg] * cp,
        bodies[VESSEL_C],
        p[VESSEL],
        p[INSIDE] * (0.22 + 0.78 * stirred) * wet_m2,
        dt,
    )
    wall[HEAT_C] -= J / (wall[MASS_kg] * cp)
    bodies[VESSEL_C] += J / p[VESSEL]
    # Top of the melt and room: an endless body.
    film = _air_W_m2K(core[HEAT_C], room_C, p[TOP] * (1.0 + 0.35 * stirred), CHOCOLATE_EMISSIVITY)
    J = _exchange_J(core[HEAT_C], core[MASS_kg] * cp, room_C, 1e12, film * top_m2, dt)
    core[HEAT_C] -= J / (core[MASS_kg] * cp)
    bodies[HEAT_TAKEN_J] -= J
    # Outside of the vessel: water or air; the rim stands above the melt.
    if controls[BATH_ON] > 0.0:
        J = _exchange_J(bodies[VESSEL_C], p[VESSEL], bodies[BATH_C], controls[BATH_J_K], p[BATH] * wet_m2, dt)
        bodies[VESSEL_C] -= J / p[VESSEL]
        bodies[BATH_C] += J / controls[BATH_J_K]
    else:
        film = _air_W_m2K(bodies[VESSEL_C], room_C, p[SIDE], p[EMISSIVITY])
        J = _exchange_J(bodies[VESSEL_C], p[VESSEL], room_C, 1e12, film * (wet_m2 - 0.5 * top_m2), dt)
        bodies[VESSEL_C] -= J / p[VESSEL]
        bodies[HEAT_TAKEN_J] -= J
    # Power put in.
    core[HEAT_C] += controls[CORE_W] * dt / (core[MASS_kg] * cp)
    wall[HEAT_C] += controls[WALL_W] * dt / (wall[MASS_kg] * cp)
    bodies[HEAT_TAKEN_J] += (controls[CORE_W] + controls[WALL_W]) * dt
    if controls[TABLE_ON] > 0.0 and zones[TABLE, MASS_kg] > 0.0:
        part = zones[TABLE, MASS_kg] * cp
        J = _exchange_J(zones[TABLE, HEAT_C], part, bodies[STONE_C], controls[STONE_J_K], controls[STONE_W_K], dt)
        zones[TABLE, HEAT_C] -= J / part
        bodies[STONE_C] += J / controls[STONE_J_K]


@_compiled
def _mix(zones: Floats, p: Floats, stirred: float, dt: float) -> None:
    """Swap melt between core and wall, and let the wall zone keep its share of the melt."""
    core, wall = zones[CORE], zones[WALL]
    tau = p[MIXING] / (0.03 + 0.97 * stirred)
    swapped = 1.0 - math.exp(-dt / tau)
    swap_kg = swapped * core[MASS_kg] * wall[MASS_kg] / (core[MASS_kg] + wall[MASS_kg])
    to_wall = p[WALL_SHARE] * (core[MASS_kg] + wall[MASS_kg]) - wall[MASS_kg]
    out_kg = swap_kg + max(to_wall, 0.0)
    back_kg = swap_kg + max(-to_wall, 0.0)
    core_kg, wall_kg = core[MASS_kg], wall[MASS_kg]
    core_C, wall_C = core[HEAT_C], wall[HEAT_C]
    new_core, new_wall = core_kg - out_kg + back_kg, wall_kg + out_kg - back_kg
    core[HEAT_C] = ((core_kg - out_kg) * core_C + back_kg * wall_C) / new_core
    wall[HEAT_C] = ((wall_kg - back_kg) * wall_C + out_kg * core_C) / new_wall
    for column in range(FORM_V_kg, FIRST_CROP_kg + 1):
        go = core[column] * out_kg / core_kg
        come = wall[column] * back_kg / wall_kg
        core[column] += come - go
        wall[column] += go - come
    core[MASS_kg], wall[MASS_kg] = new_core, new_wall


@_compiled
def into_core(core: Floats, p: Floats, mass_kg: float, J_kg: float, crystal_kg: float, quality: float) -> None:
    """Melt and the crystals in it join the core; the core's temperature closes the heat balance."""
    held = core[MASS_kg] * p[CP] * core[HEAT_C]
    core[MASS_kg] += mass_kg
    core[FORM_V_kg] += quality * crystal_kg
    core[UNSTABLE_kg] += (1.0 - quality) * crystal_kg
    held += mass_kg * J_kg + p[MELT] * crystal_kg * (quality + IV_HEAT * (1.0 - quality))
    core[HEAT_C] = held / (core[MASS_kg] * p[CP])


@_compiled
def _piece(piece: Floats, quality: float, core: Floats, p: Floats, curve: Floats, stirred: float, dt: float) -> None:
    """One class of pieces: warm through, soften, shed."""
    kg = piece[PIECE_kg]
    wide = piece[WIDE_m] * (kg / piece[WHOLE_kg]) ** (1.0 / 3.0)
    shell_C = piece_C(p, curve, piece[SHELL_J_kg])
    heart_C = piece_C(p, curve, piece[HEART_J_kg])
    area = 6.0 * kg / (DENSITY_kg_m3 * wide)
    # Melt and shell: the secant capacity brings the shell exactly to the melt's temperature, never past it.
    melt_C = core[HEAT_C]
    shell_kg = kg * SHELL_SHARE
    if abs(melt_C - shell_C) > 1e-6:
        secant = (_piece_J_kg(p, curve, melt_C) - piece[SHELL_J_kg]) / (melt_C - shell_C)
        film = (2.0 + (p[NUSSELT] - 2.0) * min(stirred, 1.5)) * CONDUCTIVITY_W_mK / wide
        J = _exchange_J(melt_C, core[MASS_kg] * p[CP], shell_C, shell_kg * secant, film * area, dt)
        core[HEAT_C] -= J / (core[MASS_kg] * p[CP])
        piece[SHELL_J_kg] += J / shell_kg
        shell_C = piece_C(p, curve, piece[SHELL_J_kg])
    # Shell and heart: conduction over about a fifth of the diameter.
    if abs(shell_C - heart_C) > 1e-6:
        secant = (piece[SHELL_J_kg] - piece[HEART_J_kg]) / (shell_C - heart_C)
        body = kg * (1.0 - SHELL_SHARE) * secant
        J = _exchange_J(shell_C, shell_kg * secant, heart_C, body, CONDUCTIVITY_W_mK / (0.2 * wide) * 0.6 * area, dt)
        piece[SHELL_J_kg] -= J / shell_kg
        piece[HEART_J_kg] += J / (kg * (1.0 - SHELL_SHARE))
        shell_C = piece_C(p, curve, piece[SHELL_J_kg])
    # Shedding: a softened surface is worn away by the spoon; a molten one runs off.
    solid = solid_share(curve, shell_C)
    soft = 1.0 - solid / p[CURVE_TOP] / p[HOLD]
    if soft <= 0.0:
        return
    speed = p[SHED] * (0.08 + 0.92 * stirred) * soft ** p[SHED_POWER]
    speed += 3e-4 * max(0.0, 1.0 - solid / p[CURVE_TOP] / 0.05)
    gone = min(kg * (1.0 - math.exp(-speed * area / kg * DENSITY_kg_m3 * dt)), 0.4 * kg)
    if wide < VANISHED_m:
        whole_J = SHELL_SHARE * piece[SHELL_J_kg] + (1.0 - SHELL_SHARE) * piece[HEART_J_kg]
        into_core(core, p, kg, whole_J, kg * p[FAT] * solid, quality)
        piece[PIECE_kg] = 0.0
        return
    into_core(core, p, gone, piece[SHELL_J_kg], gone * p[FAT] * solid, quality)
    left = kg - gone
    # What is left keeps shell and heart in their shares: the heart gives of its own to the new shell.
    piece[SHELL_J_kg] = (
        (SHELL_SHARE * kg - gone) * piece[SHELL_J_kg] + gone * (1.0 - SHELL_SHARE) * piece[HEART_J_kg]
    ) / (left * SHELL_SHARE)
    piece[PIECE_kg] = left


@_compiled
def run(
    zones: Floats,
    pieces: Floats,
    quality: Floats,
    bodies: Floats,
    p: Floats,
    curve: Floats,
    controls: Floats,
    steps: int,
    dt: float,
) -> None:
    """Carry one bowl forward in place by ``steps`` steps of ``dt`` seconds under constant controls."""
    stirred = controls[STIRRED]
    for _ in range(steps):
        pieces_kg = 0.0
        for a in range(ADDITIONS):
            for k in range(SIZES):
                if pieces[a, k, PIECE_kg] > 0.0:
                    _piece(pieces[a, k], quality[a], zones[CORE], p, curve, stirred, dt)
                    pieces_kg += pieces[a, k, PIECE_kg]
        mass_kg = zones[CORE, MASS_kg] + zones[WALL, MASS_kg] + pieces_kg
        _surroundings(zones, bodies, p, controls, mass_kg, dt)
        _mix(zones, p, stirred, dt)
        for z in range(ZONES):
            _crystals(zones[z], p, curve, 1.5 if z == TABLE else stirred, dt)
        wall_part = min(1.0, p[PROBE_SHARE] + controls[PROBE_WALL])
        seen = (1.0 - wall_part) * zones[CORE, HEAT_C] + wall_part * 0.5 * (zones[WALL, HEAT_C] + bodies[VESSEL_C])
        seen += controls[PROBE_AIR] * (controls[ROOM_C] - seen)
        bodies[PROBE_C] += (seen - bodies[PROBE_C]) * (1.0 - math.exp(-dt / p[LAG]))
        bodies[HOTTEST_C] = max(bodies[HOTTEST_C], zones[CORE, HEAT_C], zones[WALL, HEAT_C])
