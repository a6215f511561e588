"""Shells: how thick a wall stays after a mould is turned out, and whether this chocolate at this temper can make it.

Two parts add up. What has set against the wall while waiting comes from the cooling model; on it stays a film that
drains until the yield stress holds it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bloomless.errors import ImpossibleInput
from bloomless.materials.moulds import Mould
from bloomless.physics.coating_flow import CassonPair, drained_film_mm, held_bubble_mm, static_film_mm
from bloomless.physics.mould_cooling import CoolingSpace, cool, filled
from bloomless.physics.mould_melt import Melt, Rates
from bloomless.sources import Grade, Sourced

__all__ = ["SHELL_LIMITS", "Shell", "set_on_wall_mm", "shell"]

HELD_SHARE = Sourced(0.10, "1", 0.03, "assumed", Grade.ASSUMED, note="solid share of the fat that no longer drains")
TAPPED = Sourced(0.35, "1", 0.1, "assumed", Grade.ASSUMED, note="yield while tapped or vibrated: 0.2-0.5 of it")
SHELL_LIMITS = {
    "stress_5_Pa": Sourced(35.0, "Pa", 8.0, "assumed", Grade.ASSUMED, note="tempered, by hand; bars 60"),
    "viscosity_40_Pas": Sourced(3.0, "Pa s", 0.8, "assumed", Grade.ASSUMED, note="tempered, by hand; bars 5"),
}


@dataclass(frozen=True, slots=True)
class Shell:
    """The wall to be expected."""

    wall_mm: tuple[float, float, float]
    """5 %, 50 % and 95 %."""
    set_mm: float
    """Part that set against the wall while waiting."""
    film_mm: float
    """Part that the yield stress holds."""
    least_mm: float
    """What would stay however long it drains."""
    wanted_mm: float
    possible: bool
    drain_s: float | None
    """Time of draining that leaves the wall wanted; ``None`` if none does."""
    wait_s: float | None
    """Time to stand before turning out that makes up what the film lacks; ``None`` if not needed or too long."""
    bubble_mm: float
    """Bubbles up to this radius stay unless the mould is tapped."""
    say: tuple[str, ...]


def set_on_wall_mm(
    mould: Mould, melt: Melt, space: CoolingSpace, mould_C: float, wait_s: tuple[float, ...], rates: Rates | None = None
) -> tuple[float, ...]:
    """Layer at the wall that no longer drains after waiting, mm, for each of several rising times."""
    if not wait_s or min(wait_s) < 0:
        raise ImpossibleInput("wait_s", wait_s, "times of at least 0 s")
    longest = max(max(wait_s), 1.0)
    run = cool(filled(mould, melt, mould_C=mould_C, cells=120), space, minutes=longest / 60, rates=rates, snapshots=61)
    cell_mm = float(run.depth_mm[1] - run.depth_mm[0])
    held = np.sum(run.solid >= HELD_SHARE.value, axis=1) * cell_mm
    return tuple(float(np.interp(t, run.time_s, held)) for t in wait_s)


def shell(
    mould: Mould,
    melt: Melt,
    flow: CassonPair,
    *,
    wanted_mm: float,
    space: CoolingSpace,
    mould_C: float,
    wait_s: float = 0.0,
    drain_s: float = 15.0,
    tapped: bool = False,
    tilt_deg: float = 90.0,
    rates: Rates | None = None,
) -> Shell:
    """Wall that stays, against the wall wanted.

    Parameters
    ----------
    mould, melt
        What is filled with what.
    flow
        Of the tempered bowl; see ``coating_flow.tempered``.
    wanted_mm
        Wall wanted.
    space, mould_C
        Where the mould stands meanwhile, and its temperature when filled.
    wait_s, drain_s
        Standing before it is turned out; draining upside down.
    tapped
        Tapped or vibrated while it drains.
    tilt_deg
        Of the walls from the horizontal while draining: 90 if held upside down.
    rates
        Constants of the crystals.
    """
    if not 0.3 <= wanted_mm < mould.cavity.depth_mm:
        raise ImpossibleInput("wanted_mm", wanted_mm, f"0.3 mm to below the depth, {mould.cavity.depth_mm:g} mm")
    density, below = melt.density_kg_m3, mould.cavity.depth_mm / 2
    share = TAPPED.value if tapped else 1.0
    waits = (wait_s, *(15.0 * k for k in range(1, 21)))
    setting = set_on_wall_mm(mould, melt, space, mould_C, waits, rates)

    def film(factor: float, seconds: float) -> float:
        thick = (
            flow.viscosity_Pas * flow.viscosity_factor ** np.log(max(factor, 1e-9))
            if factor != 1
            else flow.viscosity_Pas
        )
        return drained_film_mm(share * flow.yield_Pa * factor, float(thick), density, below, seconds, tilt_deg)

    low, high = flow.yield_factor**-1.645, flow.yield_factor**1.645
    wall = (
        setting[0] * 0.7 + film(low, drain_s),
        setting[0] + film(1.0, drain_s),
        setting[0] * 1.4 + film(high, drain_s),
    )
    least = setting[0] + static_film_mm(share * flow.yield_Pa, density, tilt_deg)
    drain = _drain_time(wanted_mm - setting[0], lambda t: film(1.0, t))
    more = next((t for t, s in zip(waits[1:], setting[1:], strict=True) if s + film(1.0, drain_s) >= wanted_mm), None)
    wait = None if wall[1] >= 0.85 * wanted_mm else more
    possible = (
        wall[0] <= 1.15 * wanted_mm and least <= 1.25 * wanted_mm and (wall[1] >= 0.8 * wanted_mm or wait is not None)
    )
    return Shell(
        wall, setting[0], wall[1] - setting[0], least, wanted_mm, possible, drain, wait,
        held_bubble_mm(flow.yield_Pa, density), _say(flow, wall[1], least, wanted_mm, wait, tapped),
    )  # fmt: skip


def _drain_time(rest_mm: float, film: object) -> float | None:
    """Time at which a falling film has thinned to ``rest_mm``, 2…180 s, or ``None``."""
    assert callable(film)
    times = np.geomspace(2.0, 180.0, 60)
    left = np.array([film(float(t)) for t in times])
    if left[-1] > rest_mm or left[0] < rest_mm:
        return None
    return float(np.interp(-rest_mm, -left, times))


def _say(
    flow: CassonPair, wall: float, least: float, wanted: float, wait: float | None, tapped: bool
) -> tuple[str, ...]:
    """What the numbers mean at the bench."""
    say: list[str] = []
    if least > 1.25 * wanted:
        say.append(
            f"However long it drains, about {least:.1f} mm stay: the yield of this bowl is too high for {wanted:g} mm. "
            "Warm it by 0.5 °C within its window, or take 1-2 % of cocoa butter into the recipe; "
            "fewer crystals help most." + ("" if tapped else " Tapping while it drains thins the wall too.")
        )
    elif wall > 1.25 * wanted:
        say.append(f"About {wall:.1f} mm would stay: drain longer, tap while it drains, and turn out at once.")
    elif wall < 0.8 * wanted:
        say.append(
            f"About {wall:.1f} mm would stay, too thin: "
            + (
                f"let the mould stand {wait:.0f} s before turning out."
                if wait
                else "a second coat after the first has set."
            )
        )
    stress, thick = flow.stress_Pa(5.0), flow.viscosity_at_Pas(40.0)
    most = {name: limit.value + 2 * limit.spread for name, limit in SHELL_LIMITS.items()}
    if stress > most["stress_5_Pa"] or thick > most["viscosity_40_Pas"]:
        say.append(
            f"For shells by hand this bowl is stiff: {stress:.0f} Pa at 5 1/s (35 is a limit), {thick:.1f} Pa s at "
            "40 1/s (3 is a limit)."
        )
    return tuple(say)
