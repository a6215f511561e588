"""What a cook does to a bowl, at one moment: pieces in, melt in, another vessel, some out, water in, a part on stone.

Each function returns a new ensemble and keeps the balance of mass, fat and enthalpy exactly: what goes in brings its
own enthalpy, what goes out takes it along. Masses may be one number or one a member.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final, Literal, TypeAlias

import numpy as np

from bloomless.errors import ImpossibleInput
from bloomless.materials.vessels import MATERIALS, SURFACES, Vessel
from bloomless.physics import rows
from bloomless.physics.block import K_FAT, K_HEAT, K_LATENT_FIRST, K_LATENT_U, K_LATENT_V, WATER_HEAT_J_kgK
from bloomless.physics.ensemble import Array, Ensemble
from bloomless.physics.laws import solid_share_of
from bloomless.sources.sourced import Grade, Sourced

__all__ = [
    "FORMS",
    "SeedForm",
    "add_melt",
    "add_pieces",
    "add_water",
    "batch_kg",
    "bulk_enthalpy_J",
    "enthalpy_J",
    "piece_masses_kg",
    "pour_into",
    "put_together",
    "sieve_out",
    "take_out",
    "take_to_table",
]

SeedForm: TypeAlias = Literal["tempered", "bloomed", "unknown", "cocoa_butter_crystals"]

SPHERE: Final = math.pi / 6.0
SIZE_SHARES: Final = (1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0)
SIZE_STEPS: Final = (-math.sqrt(3.0), 0.0, math.sqrt(3.0))
"""Fine, middle and coarse part of one chopping: shares of its mass, and sd of the ln size from the middle.

Three-point Gauss–Hermite quadrature: exact for every moment up to the fifth of a log-normal spread of sizes.
"""

MOST_SOLID: Final = 0.98
"""Some of the fat of any piece is liquid: 10 °C leaves 5 to 15 % [crystal sheet 4]."""

FORMS: Final[dict[str, tuple[Sourced, Sourced]]] = {
    # quality over that of tempered seed; share of form VI
    "tempered": (
        Sourced(1.0, "1", 0.0, "derived", Grade.DERIVED, note="the reference"),
        Sourced(0.0, "1", 0.1, "assumed", Grade.ASSUMED),
    ),
    "bloomed": (
        Sourced(0.6, "1", 0.25, "assumed", Grade.ASSUMED, note="crystals grown coarse"),
        Sourced(0.7, "1", 0.25, "chocolate_seeding_2011", Grade.ASSUMED, note="form VI still seeds at 34 °C"),
    ),
    "unknown": (
        Sourced(0.75, "1", 0.3, "assumed", Grade.ASSUMED),
        Sourced(0.3, "1", 0.3, "assumed", Grade.ASSUMED),
    ),
    "cocoa_butter_crystals": (
        Sourced(1.0, "1", 0.1, "assumed", Grade.ASSUMED),
        Sourced(0.3, "1", 0.3, "chocolate_seeding_2011", Grade.ASSUMED),
    ),
}


def _k(ensemble: Ensemble, which: int) -> float:
    return float(ensemble.bowl.constants[which])


def _each_kg(ensemble: Ensemble, state: Array) -> Array:
    """Mass of one piece of each class, shape (CLASSES, members)."""
    return SPHERE * ensemble.bowl.density_kg_m3 * state[rows.PIECE_m : rows.PIECE_m + rows.CLASSES] ** 3


def piece_masses_kg(ensemble: Ensemble) -> Array:
    """Mass of the pieces by size class [kg], shape (CLASSES, members)."""
    count = ensemble.state[rows.PIECE_COUNT : rows.PIECE_COUNT + rows.CLASSES]
    return np.asarray(count * _each_kg(ensemble, ensemble.state))


def bulk_enthalpy_J(ensemble: Ensemble, state: Array) -> Array:
    """Enthalpy of the melt with its crystals and water [J], 0 for melt at 0 °C."""
    heat = state[rows.BULK_kg] * _k(ensemble, K_HEAT) + state[rows.WATER_kg] * WATER_HEAT_J_kgK
    latent = _k(ensemble, K_LATENT_V) * state[rows.FORM_V_kg] + _k(ensemble, K_LATENT_U) * state[rows.UNSTABLE_kg]
    return np.asarray(heat * state[rows.BULK_C] - latent - _k(ensemble, K_LATENT_FIRST) * state[rows.FIRST_CROP_kg])


def enthalpy_J(ensemble: Ensemble) -> Array:
    """Enthalpy of melt, crystals, pieces, water and vessel [J], one a member; 0 for melt and vessel at 0 °C."""
    state = ensemble.state
    c = _k(ensemble, K_HEAT)
    warm = state[rows.PIECE_C : rows.PIECE_C + rows.CLASSES]
    solid = state[rows.PIECE_SOLID : rows.PIECE_SOLID + rows.CLASSES]
    pieces = (piece_masses_kg(ensemble) * (c * warm - _k(ensemble, K_FAT) * _k(ensemble, K_LATENT_V) * solid)).sum(
        axis=0
    )
    vessel = ensemble.bowl.vessel.heat_J_K * ensemble.parameters[rows.VESSEL_FACTOR] * state[rows.VESSEL_C]
    return np.asarray(bulk_enthalpy_J(ensemble, state) + pieces + vessel)


def _set_bulk_enthalpy(ensemble: Ensemble, state: Array, enthalpy: Array) -> None:
    """Set the temperature of the bulk so that its enthalpy is this; state is changed in place."""
    heat = state[rows.BULK_kg] * _k(ensemble, K_HEAT) + state[rows.WATER_kg] * WATER_HEAT_J_kgK
    state[rows.BULK_C] += (enthalpy - bulk_enthalpy_J(ensemble, state)) / heat


def _positive(name: str, value: float | Array, most: float) -> None:
    low, high = float(np.min(value)), float(np.max(value))
    if not (low >= 0.0 and high <= most):
        raise ImpossibleInput(name, low if low < 0.0 else high, f"0 to {most:g}")


def add_pieces(
    ensemble: Ensemble,
    mass_kg: float | Array,
    *,
    temperature_C: float | Array,
    size_mm: float = 5.0,
    form: SeedForm = "tempered",
    quality: float | Array | None = None,
) -> Ensemble:
    """Tempered pieces of the same chocolate, or cocoa butter crystals, go in.

    Parameters
    ----------
    ensemble
        Bowls now.
    mass_kg
        What goes in [kg]; the member's ``mass_factor`` is not applied here.
    temperature_C
        Of the pieces.
    size_mm
        As said by the cook, the middle of what was chopped; the member's ``size_factor`` and ``size_spread`` apply.
    form
        What is known of the seed. ``cocoa_butter_crystals`` are fine enough to count as dispersed at once.
    quality
        Share of its solid fat that lives on as form V; default the member's ``seed_quality`` times that of the form.

    Returns
    -------
    Ensemble
        Solid share of the pieces as the solid-fat curve has it at their temperature, times ``seed_heat`` of the member.

    Raises
    ------
    ImpossibleInput
        Mass not 0…100 kg, size not 0.1…60 mm.
    """
    _positive("mass_g", np.multiply(mass_kg, 1000.0), 100_000.0)
    if not 0.1 <= size_mm <= 60.0:
        raise ImpossibleInput("size_mm", size_mm, "0.1 to 60")
    relative, form_vi = FORMS[form]
    share = ensemble.parameters[rows.SEED_QUALITY] * relative.value if quality is None else quality
    if form == "cocoa_butter_crystals":
        return _add_crystals(ensemble, mass_kg, temperature_C, share, form_vi.value)
    state = ensemble.state.copy()
    mass = np.broadcast_to(np.asarray(mass_kg, dtype=np.float64), (ensemble.members,))
    shift = ensemble.bowl.shift_K + ensemble.parameters[rows.MELTING_SHIFT_K]
    curve = ensemble.bowl.chocolate.cocoa_butter_of_fat * solid_share_of(np.asarray(temperature_C - shift))
    new_solid = np.minimum(curve * ensemble.parameters[rows.SEED_HEAT], MOST_SOLID)
    masses = piece_masses_kg(ensemble)
    per_m3 = SPHERE * ensemble.bowl.density_kg_m3
    for c in range(rows.CLASSES):
        size = np.exp(SIZE_STEPS[c] * ensemble.parameters[rows.SIZE_SPREAD])
        size *= size_mm / 1000.0 * ensemble.parameters[rows.SIZE_FACTOR]
        added = SIZE_SHARES[c] * mass
        new = added / (masses[c] + added + 1e-12)
        # number of pieces adds up, so their mean size is that of the mean mass
        count = state[rows.PIECE_COUNT + c] + added / (per_m3 * size**3)
        state[rows.PIECE_C + c] += new * (temperature_C - state[rows.PIECE_C + c])
        state[rows.PIECE_SOLID + c] += new * (new_solid - state[rows.PIECE_SOLID + c])
        grown = np.cbrt((masses[c] + added) / np.maximum(count, 1e-12) / per_m3)
        state[rows.PIECE_m + c] = np.where(mass > 0.0, grown, state[rows.PIECE_m + c])
        state[rows.PIECE_COUNT + c] = count
    pieces = masses.sum(axis=0)
    part = mass / (pieces + mass + 1e-12)
    state[rows.PIECE_QUALITY] += part * (share - state[rows.PIECE_QUALITY])
    crystals = state[rows.FORM_V_kg] + pieces + 1e-12
    state[rows.FORM_VI] += mass / (crystals + mass) * (form_vi.value - state[rows.FORM_VI])
    return _weighed(ensemble.with_state(state), mass_kg)


def _add_crystals(
    ensemble: Ensemble, mass_kg: float | Array, temperature_C: float | Array, share: float | Array, form_vi: float
) -> Ensemble:
    """Cocoa butter crystals: all fat, dispersed at once; what is not good seed melts at once, taking its heat."""
    state = ensemble.state.copy()
    theta = np.asarray(temperature_C - ensemble.bowl.shift_K)
    solid = mass_kg * solid_share_of(theta)
    before = bulk_enthalpy_J(ensemble, state)
    brought = mass_kg * _k(ensemble, K_HEAT) * temperature_C - _k(ensemble, K_LATENT_V) * solid
    seed = solid * share
    old = state[rows.FORM_V_kg]
    state[rows.FORM_VI] += seed / (old + seed + 1e-12) * (form_vi - state[rows.FORM_VI])
    state[rows.FORM_V_kg] = old + seed
    state[rows.BULK_kg] += mass_kg
    state[rows.BULK_FAT_kg] += mass_kg
    _set_bulk_enthalpy(ensemble, state, before + brought)
    return _weighed(ensemble.with_state(state), mass_kg)


def _weighed(ensemble: Ensemble, more_kg: float | Array) -> Ensemble:
    """The shared bowl with so much more (or less) in it as the log says."""
    mass = max(ensemble.bowl.mass_kg + float(np.mean(more_kg)), 1e-3)
    return replace(ensemble, bowl=replace(ensemble.bowl, mass_kg=mass))


def add_melt(ensemble: Ensemble, mass_kg: float | Array, *, temperature_C: float | Array) -> Ensemble:
    """Untempered melt of the same chocolate goes in [kg, °C]."""
    _positive("mass_g", np.multiply(mass_kg, 1000.0), 100_000.0)
    state = ensemble.state.copy()
    before = bulk_enthalpy_J(ensemble, state)
    state[rows.BULK_kg] += mass_kg
    state[rows.BULK_FAT_kg] += np.multiply(mass_kg, ensemble.bowl.chocolate.fat_share)
    _set_bulk_enthalpy(ensemble, state, before + np.multiply(mass_kg, _k(ensemble, K_HEAT)) * temperature_C)
    return _weighed(ensemble.with_state(state), mass_kg)


def add_water(ensemble: Ensemble, mass_kg: float | Array, *, temperature_C: float | Array = 20.0) -> Ensemble:
    """Water gets in [kg, °C]; it warms and is warmed, and spoils the flow from half a percent on."""
    _positive("mass_g", np.multiply(mass_kg, 1000.0), 10_000.0)
    state = ensemble.state.copy()
    before = bulk_enthalpy_J(ensemble, state)
    state[rows.WATER_kg] += mass_kg
    _set_bulk_enthalpy(ensemble, state, before + np.multiply(mass_kg, WATER_HEAT_J_kgK) * temperature_C)
    return ensemble.with_state(state)


def pour_into(ensemble: Ensemble, vessel: Vessel, *, vessel_C: float | Array) -> Ensemble:
    """Everything into another bowl, which starts at its own temperature [°C]."""
    state = ensemble.state.copy()
    state[rows.VESSEL_C] = vessel_C
    state[rows.SPLIT_K] = 0.0
    return replace(ensemble.with_state(state), bowl=replace(ensemble.bowl, vessel=vessel))


_BULK_MASSES: Final = (
    rows.FORM_V_kg,
    rows.UNSTABLE_kg,
    rows.FIRST_CROP_kg,
    rows.BULK_kg,
    rows.BULK_FAT_kg,
    rows.WATER_kg,
    rows.PIECE_COUNT,
    rows.PIECE_COUNT + 1,
    rows.PIECE_COUNT + 2,
)


def batch_kg(ensemble: Ensemble) -> Array:
    """Everything in the bowl [kg]: melt, crystals, pieces, water."""
    bulk = ensemble.state[rows.BULK_kg] + ensemble.state[rows.WATER_kg]
    return np.asarray(bulk + piece_masses_kg(ensemble).sum(axis=0))


CLINGS_kg: Final = 5e-3
"""What stays on bowl and spatula however well they are scraped [kg; common practice, no source]."""


def take_out(ensemble: Ensemble, mass_kg: float | Array) -> Ensemble:
    """A part of everything goes out, as into moulds [kg]; a spoonful always clings to the bowl."""
    _positive("mass_g", np.multiply(mass_kg, 1000.0), math.inf)
    batch = batch_kg(ensemble)
    stays = np.clip(1.0 - mass_kg / batch, np.minimum(CLINGS_kg / batch, 1.0), 1.0)
    state = ensemble.state.copy()
    for row in _BULK_MASSES:
        state[row] *= stays
    return _weighed(ensemble.with_state(state), np.multiply(mass_kg, -1.0))


def sieve_out(ensemble: Ensemble, mass_kg: float | Array, *, lumps_kg: float | Array = math.inf) -> Ensemble:
    """Lumps are sieved out, coarse first; melt that clings to them makes up the rest.

    Parameters
    ----------
    mass_kg
        What is taken out, melt included.
    lumps_kg
        Lumps among it at most; as far as there are any by default.
    """
    _positive("mass_g", np.multiply(mass_kg, 1000.0), math.inf)
    state = ensemble.state.copy()
    masses = piece_masses_kg(ensemble)
    left = np.broadcast_to(np.asarray(mass_kg, dtype=np.float64), (ensemble.members,)).copy()
    lumps = np.minimum(left, lumps_kg)
    for c in reversed(range(rows.CLASSES)):
        gone = np.minimum(lumps, masses[c])
        state[rows.PIECE_COUNT + c] *= 1.0 - gone / (masses[c] + 1e-12)
        lumps -= gone
        left -= gone
    bulk = state[rows.BULK_kg]
    stays = np.clip(1.0 - left / bulk, np.minimum(CLINGS_kg / bulk, 1.0), 1.0)
    for row in _BULK_MASSES[:6]:
        state[row] *= stays
    return _weighed(ensemble.with_state(state), np.multiply(mass_kg, -1.0))


def take_to_table(
    ensemble: Ensemble,
    share: float | Array,
    *,
    surface: Literal["marble", "granite", "steel"] = "marble",
    surface_C: float = 21.0,
) -> tuple[Ensemble, Ensemble]:
    """A share of the bowl is spread on stone; returns what stays and the part on the table.

    The part is an ensemble of its own whose vessel is the stone under it: advance both for the time of the work, the
    part without ``bath_C``, then ``put_together`` them. The layer of stone that takes part is that which heat reaches
    in a minute.

    Raises
    ------
    ImpossibleInput
        If the share is not 0…0.95.
    """
    _positive("share", share, 0.95)
    solid = SURFACES[surface]
    part = ensemble.state.copy()
    rest = ensemble.state.copy()
    for row in _BULK_MASSES:
        part[row] = ensemble.state[row] * share
        rest[row] = ensemble.state[row] - part[row]
    bowl = ensemble.bowl
    mass = max(bowl.mass_kg * float(np.mean(share)), 1e-3)
    across = math.sqrt(4.0 * mass / (bowl.density_kg_m3 * SPREAD_m * math.pi))
    reach = math.sqrt(60.0 * solid.conductivity_W_mK.value / (solid.density_kg_m3.value * solid.heat_J_kgK.value))
    heat = solid.density_kg_m3.value * solid.heat_J_kgK.value * reach * math.pi * across**2 / 4.0
    stone = Vessel("ceramic", heat / MATERIALS["ceramic"].heat_J_kgK.value, across)  # as a vessel of equal heat
    part[rows.VESSEL_C] = surface_C
    part[rows.SPLIT_K] = 0.0
    stays = replace(ensemble, state=rest, bowl=replace(bowl, mass_kg=max(bowl.mass_kg - mass, 1e-3)))
    away = replace(ensemble, state=part, bowl=replace(bowl, mass_kg=mass, vessel=stone))
    return stays, away


SPREAD_m: Final = 5e-3
"""Depth of chocolate worked on a table [m; common practice, no source]."""


def put_together(bowl: Ensemble, part: Ensemble) -> Ensemble:
    """The part worked on a table goes back; pieces keep their classes, temperatures mix by enthalpy."""
    state = bowl.state.copy()
    enthalpy = bulk_enthalpy_J(bowl, bowl.state) + bulk_enthalpy_J(part, part.state)
    mine, other = piece_masses_kg(bowl), piece_masses_kg(part)
    for c in range(rows.CLASSES):
        new = other[c] / (mine[c] + other[c] + 1e-12)
        for row in (rows.PIECE_C + c, rows.PIECE_SOLID + c):
            state[row] += new * (part.state[row] - state[row])
        count = state[rows.PIECE_COUNT + c] + part.state[rows.PIECE_COUNT + c]
        each = (mine[c] + other[c]) / np.maximum(count, 1e-12) / (SPHERE * bowl.bowl.density_kg_m3)
        state[rows.PIECE_m + c] = np.where(count > 1e-9, np.cbrt(each), state[rows.PIECE_m + c])
    for row in _BULK_MASSES:
        state[row] = bowl.state[row] + part.state[row]
    _set_bulk_enthalpy(bowl, state, enthalpy)
    return _weighed(bowl.with_state(state), part.bowl.mass_kg)
