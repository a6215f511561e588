"""Water activity of what a recipe makes: a value with a band, or a plain refusal where no model holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from scipy.optimize import brentq

from bloomless.errors import OutsideValidity
from bloomless.recipes.compose import Composed
from bloomless.recipes.recipe import Measured
from bloomless.recipes.solubility import dissolved_and_crystals
from bloomless.recipes.solutes import solute_table, solutes_in
from bloomless.recipes.sorption import MOST_AW, isotherms, sorbing_solids_g
from bloomless.recipes.water_models import grover, money_born, norrish_mixture, ross, square_root
from bloomless.sources import Grade, Sourced

__all__ = ["WaterActivity", "water_activity"]

LEAST_SPREAD: Final = Sourced(0.02, "1", 0.01, "assumed", Grade.ASSUMED, note="half width of the band, at least")
LEAST_WATER_PCT: Final = Sourced(3.0, "%", 0.5, "assumed", Grade.ASSUMED, note="below it no solution model holds")
HELD_BY_SOLIDS: Final = 0.1
DRY_SPREAD: Final = Sourced(0.08, "1", 0.03, "assumed", Grade.ASSUMED, note="isotherms of dry goods differ so much")
SORPTION_ONLY: Final = (0.3, 0.5)
MOST_ALCOHOL_OF_WATER: Final = 0.10


@dataclass(frozen=True, slots=True)
class WaterActivity:
    """Water activity at equilibrium, near 20–25 °C. A predicted one is an estimate and releases nothing."""

    basis: Literal["measured", "predicted", "sorption only"]
    value: float | None
    """Best single number; None where no solution model holds."""
    low: float
    high: float
    """The band: models, sorption and instrument together."""
    models: Mapping[str, float]
    """What each model says without sorption, and ``norrish_with_sorption``."""
    all_dissolved: float | None = None
    """The value while every sugar is still dissolved, if sugar will grain; the band reaches down to it."""
    grained: float | None = None
    """The value once it has grained, if sugar will grain."""
    without_alcohol: float | None = None
    """The value after the alcohol has escaped, if there is any."""
    crystals_g: Mapping[str, float] | None = None
    """Sugar that stays undissolved, g in 100 g, by kind."""
    why: str = ""


def water_activity(made: Composed, *, measured: Measured | None = None) -> WaterActivity:
    """Water activity of a composed recipe.

    Chirife–Ferro Fontán mixture of the Norrish equation with the saturation cap, and the sorption of cocoa, milk and
    nut solids; the square-root form, Ross and Grover span the band. A measured value overrides it all.

    Parameters
    ----------
    made
        What was composed. Parts that touch but do not mix (shell and filling) have to be asked one by one.
    measured
        What a meter said; defaults to the one written in the recipe.
    """
    measured = measured if measured is not None else made.recipe.measured
    predicted = _predicted(made)
    if measured is None or measured.water_activity is None:
        return predicted
    half = 2.0 * measured.water_activity_sd
    return WaterActivity(
        "measured",
        measured.water_activity,
        max(0.0, measured.water_activity - half),
        min(1.0, measured.water_activity + half),
        predicted.models,
        without_alcohol=predicted.without_alcohol,
        crystals_g=predicted.crystals_g,
        why=f"measured{' on ' + measured.on if measured.on else ''}, band of two standard deviations of the instrument",
    )


def _predicted(made: Composed) -> WaterActivity:
    water_g = made.per_100g.water_g
    solutes_g = _solutes_of_100_g(made)
    if water_g < LEAST_WATER_PCT.value:
        low, high = SORPTION_ONLY
        why = f"only {water_g:.1f} % water: sugar stays as crystals or glass and no solution model holds"
        return WaterActivity("sorption only", None, low, high, {}, why=why)
    solids_g = sorbing_solids_g(made.leaves) * 100.0 / (made.mass_g or 1.0)
    kinds = {key: solute.kind for key, solute in solute_table().items()}
    dissolved, crystals = dissolved_and_crystals(solutes_g, kinds, water_g)
    models = _models(dissolved, water_g, saturated="sucrose" in crystals)
    models["norrish_with_sorption"] = _with_sorption(solutes_g, kinds, water_g, solids_g)
    spread = [v for key, v in models.items() if key != "money_born"]
    held = models["norrish"] - models["norrish_with_sorption"]
    value = 0.5 * (models["norrish"] + models["norrish_with_sorption"])
    half = max(LEAST_SPREAD.value, 0.5 * (max(spread) - min(spread)))
    if held > HELD_BY_SOLIDS:  # a dry thing: what its solids hold decides, and a free solution is no bound
        value, half = models["norrish_with_sorption"], DRY_SPREAD.value
    # Only sugar that was once dissolved can stay so for a while; that of couverture or marzipan never was.
    grains = made.water_lost_g > 0.0 and crystals.get("sucrose", 0.0) > 0.05 * water_g
    all_dissolved = norrish_mixture(solutes_g, water_g) if grains else None
    sober = {key: g for key, g in solutes_g.items() if key != "ethanol"}
    without = _with_sorption(sober, kinds, water_g, solids_g) if solutes_g.get("ethanol", 0.0) > 0.05 else None
    return WaterActivity(
        "predicted",
        value,
        max(0.0, min(value - half, all_dissolved if all_dissolved is not None else 1.0)),
        min(1.0, max(value + half, (without or 0.0) + LEAST_SPREAD.value)),
        models,
        all_dissolved=all_dissolved,
        grained=models["norrish"] if grains else None,
        without_alcohol=without,
        crystals_g=crystals,
        why=_why(solutes_g, water_g, grains),
    )


def _solutes_of_100_g(made: Composed) -> dict[str, float]:
    return {
        key: 100.0 * g / made.mass_g for key, g in solutes_in((x.ingredient, x.mass_g) for x in made.leaves).items()
    }


def _models(dissolved: Mapping[str, float], water_g: float, *, saturated: bool) -> dict[str, float]:
    found = {
        "norrish": norrish_mixture(dissolved, water_g),
        "square_root": square_root(dissolved, water_g),
    }
    product = ross(dissolved, water_g)
    if product > 0.8:
        found["ross"] = product
    born = money_born({key: g for key, g in dissolved.items() if key not in ("salt", "ethanol")}, water_g)
    if 0.75 <= born <= 0.95:
        found["money_born"] = born
    if not saturated:
        try:
            by_grover = grover(dissolved, water_g)
        except OutsideValidity:
            return found
        if 0.6 <= by_grover <= 0.92:
            found["grover"] = by_grover
    return found


def _with_sorption(solutes_g: Mapping[str, float], kinds: Mapping[str, str], water_g: float, solids_g: float) -> float:
    """Solve water = free water (aw) + water held by the solids at that aw."""
    isotherm = isotherms()["filling_solids"]

    def solution(free_g: float) -> float:
        return norrish_mixture(dissolved_and_crystals(solutes_g, kinds, free_g)[0], free_g)

    def too_much(free_g: float) -> float:
        return free_g + solids_g * isotherm.moisture_pct(min(solution(free_g), MOST_AW)) / 100.0 - water_g

    if solids_g <= 0.0:
        return solution(water_g)
    if too_much(1e-6 * water_g) >= 0.0:
        return isotherm.water_activity(100.0 * water_g / solids_g)  # so dry that the solids hold all of it
    return solution(float(brentq(too_much, 1e-6 * water_g, water_g, xtol=1e-9)))


def _why(solutes_g: Mapping[str, float], water_g: float, grains: bool) -> str:
    if grains:
        return "more sucrose than the water can hold: the value rises when it grains, so both ends are given"
    if solutes_g.get("ethanol", 0.0) > MOST_ALCOHOL_OF_WATER * water_g:
        return "more alcohol than the models are made for; it escapes, and the value rises"
    return "predicted from the recipe; only a measurement tells"
