"""How a belief begins: the prior ensemble of a start."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
import numpy.typing as npt

from bloomless.estimation.alerts import alert
from bloomless.estimation.belief import COOK_ROWS, EYE_LUMPS, EYE_THICK, SMEAR_PACE, Belief, Flag, Settings, generator
from bloomless.estimation.events import Composition, Start, VesselSpec
from bloomless.estimation.priors import prior, prior_table
from bloomless.estimation.table import PriorTable, table_of
from bloomless.estimation.thermometer import as_at_working, placement_of
from bloomless.materials.chocolates import MILK_FAT_K_PER_PCT, Chocolate, chocolate
from bloomless.materials.vessels import Vessel, vessel
from bloomless.physics import rows
from bloomless.physics.begin import begin as begin_bowl
from bloomless.physics.bowl import Bowl
from bloomless.physics.priors import BowlPriors, draw_parameters, priors_for
from bloomless.physics.readings import temper_of
from bloomless.quantities import C_from_F
from bloomless.sources.sourced import Grade, Sourced

__all__ = ["begin", "chocolate_of", "usual_priors", "vessel_of"]

Array = npt.NDArray[np.float64]

BOWL_ROWS = frozenset(field.name for field in fields(BowlPriors))
"""Priors of the bowl's own parameters that stand in the table of this room replace those of the physics."""
PART_MELTED_SD, PIECES_WARMEST_C = 0.2, 32.0
USUAL_C = {"melted": 45.0, "pieces": None, "part_melted": 32.0}
USUAL_SD_C = 4.0
HOTTEST_BELIEVED_C = 66.0
READING_SD_C = 0.25
"""How well a first reading, offset apart, gives the temperature of the bowl: placement and noise."""


def chocolate_of(composition: Composition) -> Chocolate:
    """The chocolate of a start."""
    colour = composition.colour_share
    return chocolate(
        composition.kind,
        fat_share=composition.fat_share if colour is None else 1.0 - colour,
        cocoa_butter_share=composition.cocoa_butter_share,
        milk_fat_share=composition.milk_fat_share,
        liquid_oil_share=composition.liquid_oil_share,
    )


def vessel_of(spec: VesselSpec, holds_kg: float) -> Vessel:
    """The bowl of a start or of a pour."""
    return vessel(spec.material, holds_kg=holds_kg, mass_g=spec.mass_g, diameter_mm=spec.diameter_mm)


def _priors(start: Start, chosen: BowlPriors | None) -> BowlPriors:
    probe = start.probe
    offset = Sourced(probe.offset_C, "K", max(probe.offset_sd_C, 0.02), "assumed", Grade.ASSUMED, note="as said")
    lag = {"needle": (5.0, 1.6), "glass": (25.0, 1.5), "infrared": (1.0, 1.5)}[probe.kind]
    if probe.lag_s is not None:
        lag = (max(probe.lag_s, 0.5), 1.3)
    tau = Sourced(lag[0], "s", lag[1], "zemmer_nalivka_2014", Grade.ASSUMED, "factor")
    chosen = usual_priors(start.chocolate) if chosen is None else chosen
    return replace(chosen, probe_offset_K=offset, probe_lag_s=tau)


def usual_priors(composition: Composition) -> BowlPriors:
    """Priors of the bowl's parameters that a belief begins with where no kitchen has taught better ones.

    Those of the physics, but where the table of this room has wider ones, or one of another centre.
    """
    known = {name: value for name, value in prior_table().items() if name in BOWL_ROWS}
    return priors_for(chocolate_of(composition), **known)


def _window_sd_K(composition: Composition) -> float:
    """How well the working window of a chocolate is known: it moves with milk fat that nobody has stated."""
    unstated = composition.kind in {"milk", "white"} and composition.milk_fat_share is None
    return MILK_FAT_K_PER_PCT.value * prior_table()["milk_fat_of_fat_pct"].spread if unstated else 0.0


def _first_sd_C(shown_C: float) -> float:
    """How well the first reading gives the temperature of the bowl; a whole number may have been rounded."""
    rounded = 1.0 if shown_C == round(shown_C) else 0.1
    return math.hypot(READING_SD_C, rounded / math.sqrt(12.0))


def _doubted(parameters: Array, table: PriorTable, chance: np.random.Generator) -> Array:
    """A share of the members takes every constant of the bowl to be less well known than its prior says.

    How far the constants can be trusted is thereby learned too: a bowl that the usual members cannot follow is left to
    those that lie further out. Offset and lag of the thermometer are what the start says of them.
    """
    wider = np.where(chance.random(parameters.shape[1]) < prior("doubt_share"), prior("doubt_factor"), 1.0)
    free = table.free(parameters)
    centre = table.centre[:, None]
    doubted = table.bound(centre + wider * (free - centre))
    for known in (rows.PROBE_OFFSET_K, rows.PROBE_LAG_s):
        doubted[known] = parameters[known]
    return doubted


def _part_melted(warm_C: Array, room_C: float, chance: np.random.Generator) -> tuple[Array, Array]:
    """How much has melted, and how warm the pieces have become: who says "half melted" has seen pieces.

    A thermometer that stands in the melt tells little of them until they have been stirred in.
    """
    usual = np.clip((warm_C - 26.0) / 9.0, 0.2, 0.7)
    melted = np.clip(usual + PART_MELTED_SD * chance.standard_normal(warm_C.size), 0.1, 0.95)
    pieces_C = room_C + (np.minimum(warm_C, PIECES_WARMEST_C) - room_C) * chance.random(warm_C.size) ** 0.5
    return melted, pieces_C


def begin(
    start: Start,
    *,
    seed: int,
    members: int = 3000,
    priors: BowlPriors | None = None,
    settings: Settings | None = None,
) -> Belief:
    """The belief right after the start.

    Parameters
    ----------
    start
        What is in front of the cook.
    seed
        Fixes all chance of this belief.
    members
        Size of the ensemble, 2 to 20,000; 1,000 to 4,000 are sensible.
    priors
        Of the bowl's parameters, as a kitchen has taught them; the general ones by default. What the start says of the
        thermometer replaces their offset and lag.
    settings
        What studies and tests replace.
    """
    settings = Settings() if settings is None else settings
    chosen = _priors(start, priors)
    table = table_of(chosen)
    chance = generator(seed, 0)
    parameters = _doubted(draw_parameters(chosen, members, seed=seed), table, generator(seed, 2**63))
    if not settings.bias:
        parameters[rows.PROBE_OFFSET_K] = start.probe.offset_C
    heavier = np.exp(np.log(prior_table()["weighed_start"].spread) * chance.standard_normal(members))
    shown = start.temperature_C
    flags: tuple[Flag, ...] = ()
    if shown is not None and shown > HOTTEST_BELIEVED_C and 20.0 <= C_from_F(shown) <= HOTTEST_BELIEVED_C:
        said = alert("fahrenheit_as_celsius", f"{shown:.0f} °F would be {C_from_F(shown):.1f} °C.")
        flags = (Flag(said, start.at_s, start.at_s + 600.0),)
        shown = C_from_F(shown)
    if shown is not None:
        shown, _ = as_at_working(shown, start.probe)
    if shown is None:
        usual = USUAL_C[start.state]
        centre = start.room_C if usual is None else usual
        warm = centre + USUAL_SD_C * chance.standard_normal(members)
    else:
        warm = shown - parameters[rows.PROBE_OFFSET_K] + _first_sd_C(shown) * chance.standard_normal(members)
    mix = chocolate_of(start.chocolate)
    holds_kg = start.mass_g / 1000.0
    bowl = Bowl(mix, vessel_of(start.vessel, holds_kg), holds_kg, room_C=start.room_C, probe=start.probe.kind)
    warm = np.clip(warm, -20.0, 130.0)
    melted, pieces_C = _part_melted(warm, start.room_C, chance) if start.state == "part_melted" else (None, None)
    ensemble = begin_bowl(
        bowl, parameters, state=start.state, temperature_C=warm, melted_share=melted, pieces_C=pieces_C
    )
    for row in (rows.BULK_kg, rows.BULK_FAT_kg, rows.PIECE_COUNT + 2):
        ensemble.state[row] *= heavier
    ensemble.state[rows.VESSEL_C] += 1.5 * chance.standard_normal(members) - 1.0
    cook = np.zeros((COOK_ROWS, members))
    lasting = np.log(prior("eye_lasting"))
    cook[EYE_LUMPS] = lasting * chance.standard_normal(members)
    cook[EYE_THICK] = np.log(prior("flow_lasting")) * chance.standard_normal(members)
    cook[SMEAR_PACE] = np.log(prior_table()["smear_minutes"].spread) * chance.standard_normal(members)
    return Belief(
        start=start,
        seed=seed,
        settings=settings,
        at_s=start.at_s,
        ensemble=ensemble,
        priors=priors,
        table=table,
        temper=replace(temper_of(mix), window_sd_K=_window_sd_K(start.chocolate)),
        log_weight=np.zeros(members),
        cook=cook,
        ancestor=np.arange(members),
        placement=placement_of(members, 1.0),
        draws=1,
        flags=flags,
        seeded_at_s=start.at_s if start.state != "melted" else None,
    )
