"""First steps worth comparing in this bowl: only what is at hand, in amounts a person can do."""

from __future__ import annotations

from dataclasses import dataclass

from bloomless.advice.orders import COOLED, Order
from bloomless.advice.policy import DIP_K, Aim
from bloomless.advice.rollout_kernel import COOL_BATH_C, MELT_C, WARM_BATH_C
from bloomless.advice.safety import FIRST_PULSE_SHARE, in_steps

__all__ = [
    "CRYSTALS_BELOW_K",
    "MOST_MELT_SHARE",
    "SEEDS",
    "CRYSTAL_mm",
    "Scene",
    "burst_s",
    "candidates",
    "crystals_g",
    "thinning_C",
]

SEED_SHARES = (0.03, 0.05, 0.08, 0.11, 0.14, 0.17, 0.20, 0.24, 0.28)
CRYSTAL_SHARES = (0.007, 0.01, 0.015)
CRYSTAL_mm = 0.4
CRYSTALS_BELOW_K = 0.3
"""Below where seed lives: crystals this fine melt at once."""
KEEP_ABOVE_K, KEPT_SHARE = 2.0, 0.12
SEED_ABOVE_K = 5.0
SEED_ABOVE_UNCOOLED_K = 9.0
"""With nothing at hand to cool, the first part of the seed does it."""
SEED_UNTIL_PCT = 2.0
"""Form V, % of the fat, from which on more seed only thickens; above the window it still cools."""
MELT_SHARES = (0.06, 0.12, 0.2, 0.3)
MOST_MELT_SHARE = 1.0
"""Melt that may be asked for, of the start's weight: it makes half as many crystals of them (assumed)."""
THIN_FROM_PCT = 3.0
LUMPS_FIRST_PCT = 4.0
"""Lumps, % of the bowl, that have to melt or be sieved out before more seed goes in, or melt that is to thin.

They would go on giving off crystals.
"""
DOSE_ABOVE_K = 0.5
"""Melt that only thins is so far above where crystals live: none are in it, and more fits under the window's top."""
TABLE_SHARES = (0.25, 0.4)
"""Part of the bowl on the stone: it comes back near the stone's temperature, and too much of it sets there."""
TABLE_SHARES_UNSEEDED = (0.55, 0.67)
"""Without seed: a half to two thirds, worked until it thickens."""
TABLE_S = 90.0
SEEDS = frozenset({"seed", "cocoa_butter_crystals"})
SIEVE_FROM_V_PCT = 0.6
"""With fewer crystals the lumps are still needed as seed."""
MICROWAVE_W = 350.0
HOT_AIR_W = 1500.0
WAIT_AFTER = {
    "seed": 75.0,
    "bath": 45.0,
    "melt": 60.0,
    "sieve": 30.0,
    "pour": 30.0,
    "table": 30.0,
    "heat": 45.0,
    "smear": 30.0,
}
"""Seconds to stir and wait after an act before the next is asked."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What the candidates are made from."""

    temperature_C: float
    pieces_pct: float
    form_v_pct: float
    batch_g: float
    means: frozenset[str]
    aim: Aim
    size_mm: float
    bath_1_s: float
    """Speed of a bath: K/s for each K between bath and bowl."""
    oven_K_s: float
    """Speed of the microwave at half power, 350 W."""
    air_K_s: float
    """Speed of hot air at 1500 W."""
    warmed_before: bool
    """Whether this bowl has answered a warming already."""
    poured: bool
    poor_film: bool
    """Whether the last film that was watched to its end set late or dull."""
    too_few_seen: bool
    """Whether film and look agree that crystals are too few, whatever is believed."""
    can_sieve: bool
    melt_room_g: float
    """How much melt may still be asked for."""
    may_clear: bool
    """Whether it was seen to be thick, and was not warmed for it again and again: crystals may be melted back."""


def _baths(scene: Scene, what: str, targets_C: tuple[float, ...]) -> list[Order]:
    bath_C = WARM_BATH_C if what == "warm_bath" else COOL_BATH_C
    t = scene.temperature_C
    found: dict[float, Order] = {}
    for target in targets_C:
        gain = target - t if what == "warm_bath" else t - target
        if gain < 0.35:
            continue
        speed = scene.bath_1_s * abs(bath_C - 0.5 * (t + target))
        share = FIRST_PULSE_SHARE if what == "warm_bath" and not scene.warmed_before else 1.0
        seconds = in_steps(min(share * gain / max(speed, 1e-4), 120.0), 5.0, 5.0)
        found[seconds] = Order(do=what, bath_C=bath_C, seconds=seconds, then_wait_s=WAIT_AFTER["bath"])  # type: ignore[arg-type]
    return list(found.values())


def _seeds(scene: Scene) -> list[Order]:
    found: dict[float, Order] = {}
    most_g = 1000.0 * scene.aim.seed_kg
    if scene.temperature_C > scene.aim.live_C + KEEP_ABOVE_K:
        # What goes in this hot may die: some is kept for when the bowl is where seed lives.
        most_g = max(most_g - KEPT_SHARE * scene.batch_g, 0.5 * most_g)
    for share in SEED_SHARES:
        grams = in_steps(min(share * scene.batch_g, most_g), 5.0, 5.0)
        if grams <= 1000.0 * scene.aim.seed_kg + 1e-9:
            wait = WAIT_AFTER["seed"]
            found[grams] = Order(do="add_seed", mass_g=grams, size_mm=scene.size_mm, then_wait_s=wait)
    return list(found.values())


def thinning_C(aim: Aim) -> float:
    """How warm melt is that only thins."""
    return float(round(aim.live_C + DOSE_ABOVE_K))


def crystals_g(grams: float) -> float:
    """Crystals as they are weighed: whole grams, half ones for the bottle of coloured cocoa butter that holds 50 g."""
    return in_steps(grams, 1.0, 1.0) if grams > 1.5 else in_steps(grams, 0.5, 0.5)


def _crystals(scene: Scene) -> list[Order]:
    """Fine cocoa butter crystals: about one per cent, where they live."""
    found = {crystals_g(share * scene.batch_g) for share in CRYSTAL_SHARES}
    form, wait = "cocoa_butter_crystals", WAIT_AFTER["seed"]
    return [
        Order(do="add_seed", mass_g=grams, size_mm=CRYSTAL_mm, form=form, then_wait_s=wait) for grams in sorted(found)
    ]


def burst_s(gain_K: float, oven_K_s: float) -> float:
    """Seconds of a burst: never more than half of what was reckoned, for the inside runs ahead of what is read."""
    return in_steps(min(0.5 * gain_K / max(oven_K_s, 1e-4), 15.0), 1.0, 3.0)


def _heats(scene: Scene) -> list[Order]:
    """Bursts and hot air toward the upper part of the window; the first one shorter."""
    found: list[Order] = []
    too_many = scene.may_clear and scene.form_v_pct > 4.0
    gain = scene.aim.window_C[1] + (0.8 if too_many else -0.4) - scene.temperature_C
    if gain < 0.6:
        return found
    share = 1.0 if scene.warmed_before else FIRST_PULSE_SHARE
    if "microwave" in scene.means:
        seconds = burst_s(gain, scene.oven_K_s)
        found.append(Order(do="microwave", watts=MICROWAVE_W, seconds=seconds, then_wait_s=WAIT_AFTER["heat"]))
    if "hot_air" in scene.means:
        seconds = in_steps(min(share * gain / max(scene.air_K_s, 1e-4), 60.0), 5.0, 5.0)
        found.append(Order(do="hot_air", watts=HOT_AIR_W, seconds=seconds, then_wait_s=WAIT_AFTER["heat"]))
    return found


def candidates(scene: Scene) -> tuple[Order, ...]:
    """Orders to compare; waiting is always among them."""
    aim, t = scene.aim, scene.temperature_C
    low, high = aim.window_C
    centre = 0.5 * (low + high)
    found = [
        Order(do="stir", vigour="steady", seconds=60.0),
        Order(do="stir", vigour="steady", seconds=120.0),
    ]
    if "cool_bath" in scene.means and t > high:
        found += _baths(scene, "cool_bath", (aim.live_C + 3.0, aim.live_C + 1.5, aim.live_C, centre + 0.8))
    unseeded = not scene.means & SEEDS
    bare = unseeded and (scene.form_v_pct < SIEVE_FROM_V_PCT or scene.poor_film)
    if "cool_bath" in scene.means and bare and t > low - DIP_K:
        # Without seed the crystals have to come of themselves, well below the window.
        found += _baths(scene, "cool_bath", (low, low - 1.5, low - DIP_K, low - DIP_K - 1.0))
    if "warm_bath" in scene.means and t < high - 0.2:
        found += _baths(scene, "warm_bath", (high - 0.2, high - 0.7, centre + 0.3, centre - 0.5))
    if "warm_bath" in scene.means and scene.may_clear and scene.form_v_pct > 4.0 and t < high + 0.5:
        # Too many crystals: a little above the window some of them melt back.
        found += _baths(scene, "warm_bath", (high + 0.8, high + 1.6))
    # Lumps that are there have to go first, unless the bowl is too warm to keep them.
    room_for_seed = scene.pieces_pct < LUMPS_FIRST_PCT or t > high + 1.5
    above = SEED_ABOVE_K if scene.means & COOLED else SEED_ABOVE_UNCOOLED_K
    wanted = t > high or scene.form_v_pct < SEED_UNTIL_PCT or scene.too_few_seen
    if "seed" in scene.means and aim.seed_kg >= 0.005 and t < aim.live_C + above and room_for_seed and wanted:
        found += _seeds(scene)
    if "cocoa_butter_crystals" in scene.means and t < aim.live_C - CRYSTALS_BELOW_K:
        found += _crystals(scene)
    shares = (*TABLE_SHARES, *TABLE_SHARES_UNSEEDED) if unseeded else TABLE_SHARES
    table_above_C = high + 2.5
    if unseeded:
        table_above_C = low - DIP_K if bare else low
    if "table" in scene.means and t > table_above_C:
        found += [Order(do="table", share=s, seconds=TABLE_S, then_wait_s=WAIT_AFTER["table"]) for s in shares]
    if t < high - 0.2 or scene.form_v_pct > 4.0:
        found += _heats(scene)
    cold = t < low + 0.5
    many = scene.form_v_pct > THIN_FROM_PCT and scene.pieces_pct < LUMPS_FIRST_PCT
    if "melt" in scene.means and scene.melt_room_g >= 20.0 and (many or cold):
        melt_C = MELT_C if cold else thinning_C(aim)
        for share in MELT_SHARES:
            grams = in_steps(min(share * scene.batch_g, scene.melt_room_g), 10.0, 10.0)
            found.append(Order(do="add_melt", mass_g=grams, temperature_C=melt_C, then_wait_s=WAIT_AFTER["melt"]))
    if scene.can_sieve and scene.pieces_pct > 1.5 and scene.form_v_pct > SIEVE_FROM_V_PCT and t < high + 0.5:
        found.append(Order(do="sieve", then_wait_s=WAIT_AFTER["sieve"]))
    if not scene.poured and t > aim.live_C + 4.0:
        found.append(Order(do="pour_over", vessel="a dry bowl as cool as the room", then_wait_s=WAIT_AFTER["pour"]))
    return tuple(found)
