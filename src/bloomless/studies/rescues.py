"""Bowls that come into trouble, and an advised cook who is to bring them out of it or to be told to stop.

Nothing is hidden here but what a cook cannot see: who overheats a bowl, forgets it in the cold or spills water into it
says so. The trouble is made by hands in the true kitchen, never by setting what the bowl holds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from bloomless.kitchens import Hands, Kitchen, World, draw_kitchen
from bloomless.kitchens.layout import POSITION
from bloomless.studies.advised import AdvisedCook, Adviser
from bloomless.studies.case import CaseSpec, chances_of
from bloomless.studies.work import each_named

__all__ = ["RESCUES", "Rescue", "rescue_case", "rescue_rows"]

LIMIT_s: Final = 5400.0
"""A bowl that is not saved an hour and a half after its trouble is not saved."""
MEANS: Final = ("seed", "melt", "warm_bath", "cool_bath")
HOLD_BELOW_C: Final = 1.0
QUICK_E_FOLD_min: Final = 25.0


def _seeded(cook: AdvisedCook, then_s: float) -> None:
    """Obey until seed has been in for so long."""
    since: list[float] = []

    def ripe() -> bool:
        if cook.hands.seeded_g > 0.0 and not since:
            since.append(cook.hands.world.now_s)
        return bool(since) and cook.hands.world.now_s >= since[0] + then_s

    cook.until_told(ripe)


def _in_water(cook: AdvisedCook, what: str, bath_C: float, seconds: float, done: Callable[[], bool]) -> None:
    """Bowl in water for so long again and again, read between, until it is done or after an hour."""
    world = cook.hands.world
    until_s = world.now_s + 3600.0
    while not done() and world.now_s < until_s:
        cook.say(cook.hands.bath(what, bath_C, seconds))
        cook.wait(max(world.free_at_s - world.now_s, 0.0) + 1.0)
        cook.read()


def _overheated(cook: AdvisedCook) -> None:
    """Seeded, then left over hot water: to 47 to 50 °C, where no crystal lives and nothing scorches yet."""
    _seeded(cook, 150.0)
    to_C = float(cook.hands.world.chance.uniform(47.0, 49.5))
    _in_water(cook, "warm_bath", 65.0, 45.0, lambda: cook.hands.world.truth().temperature_C >= to_C)


def _cold_with_lumps(cook: AdvisedCook) -> None:
    """Coarse seed, two fifths of the melt, and a cold bath that was too long."""
    world = cook.hands.world
    cook.begin()
    low = world.kitchen.window_C[0]
    _in_water(cook, "cool_bath", 18.0, 30.0, lambda: world.truth().temperature_C <= low + 6.0)
    cook.say(cook.hands.seed(0.4 * 1000.0 * world.kitchen.mass_kg, 8.0))
    cook.wait(120.0)
    _in_water(cook, "cool_bath", 15.0, 30.0, lambda: world.truth().temperature_C <= low - 2.0)


def _over_thick(cook: AdvisedCook) -> None:
    """Told to use it and left standing instead, kept warm, in a kitchen whose crystals grow quickly."""
    world, low = cook.hands.world, cook.hands.world.kitchen.window_C[0]
    cook.until_told()
    until_s = world.now_s + 5400.0
    while world.truth().form_v_pct_of_fat < 7.5 and world.now_s < until_s:
        if world.truth().temperature_C < low + HOLD_BELOW_C and not world.busy:
            cook.say(cook.hands.bath("warm_bath", 40.0, 20.0))
        cook.wait(60.0)
        cook.read()


def _shock_cooled(cook: AdvisedCook) -> None:
    """No seed: melt stood in ice water until it is at 20 to 22 °C and thick with crystals of the wrong forms."""
    world = cook.hands.world
    cook.begin()
    to_C = float(world.chance.uniform(20.0, 22.0))
    _in_water(cook, "cool_bath", 3.0, 60.0, lambda: world.truth().temperature_C <= to_C)


def _water(cook: AdvisedCook) -> None:
    """A spoonful of water while the bowl is seeded: 1 to 3 % of it."""
    _seeded(cook, 60.0)
    world = cook.hands.world
    kg = float(world.chance.uniform(0.01, 0.03)) * world.mass_kg
    world.water(kg)
    cook.say({"at": round(world.now_s, 1), "what": "water", "mass_g": round(1000.0 * kg)})
    cook.say(cook.hands.look())


def _scorched(cook: AdvisedCook) -> None:
    """Forgotten over boiling water."""
    world = cook.hands.world
    cook.begin()
    to_C = {"milk": 62.0, "white": 62.0}.get(world.kitchen.kind, 70.0)
    _in_water(cook, "warm_bath", 95.0, 60.0, lambda: world.truth().temperature_C >= to_C)


def _foreign(cook: AdvisedCook) -> None:
    """A splinter of glass is seen."""
    _seeded(cook, 60.0)
    cook.say({**cook.hands.look(), "foreign": "glass"})


@dataclass(frozen=True, slots=True)
class Rescue:
    """A trouble: how a bowl comes into it, and how it must end."""

    come: Callable[[AdvisedCook], None]
    sign: frozenset[str]
    """What must be wrong in truth for the trouble to have come."""
    end: str = "use_it"
    quick: bool = False
    """Only kitchens whose form V grows fast enough to run away."""


RESCUES: Final[dict[str, Rescue]] = {
    "overheated while seeded": Rescue(_overheated, frozenset({"hot"})),
    "too cold, with lumps": Rescue(_cold_with_lumps, frozenset({"cold", "lumps"})),
    "over-thick": Rescue(_over_thick, frozenset({"many"}), quick=True),
    "unstable forms, shock-cooled": Rescue(_shock_cooled, frozenset({"unstable"})),
    "seized by water": Rescue(_water, frozenset({"water"}), "stop"),
    "scorched": Rescue(_scorched, frozenset({"scorched"}), "stop"),
    "foreign matter": Rescue(_foreign, frozenset(), "stop"),
}
"""Troubles by name."""


def _kitchen(rescue: Rescue, number: int, chances: Any) -> Kitchen:
    kitchen = draw_kitchen(chances["kitchen"], ("dark", "milk", "white")[number % 3])
    said = {key: value for key, value in kitchen.said.items() if key != "seed_available_g"}
    kitchen = replace(kitchen, said={**said, "means": list(MEANS)})
    if not rescue.quick:
        return kitchen
    physics = kitchen.physics.copy()
    physics[POSITION["growth_rate_s"]] = 1.0 / (60.0 * min(kitchen.numbers["growth_e_fold_min"], QUICK_E_FOLD_min))
    return replace(kitchen, physics=physics)


def rescue_case(name: str, spec: CaseSpec, bench: Callable[[CaseSpec, str, int], Adviser]) -> dict[str, Any]:
    """One kitchen that comes into one trouble, worked by the advised cook before and after it.

    Returns
    -------
    A JSON object: ``came`` (whether the trouble did), ``success`` (used in temper or, where it must be, told to
    stop), ``told``, what was wrong in truth when the trouble was there and at the end, minutes and orders from the
    trouble on (looks and stirring not counted).
    """
    rescue, chances = RESCUES[name], chances_of(spec)
    kitchen = _kitchen(rescue, spec.number, chances)
    hands = Hands(World.begin(kitchen, chances["advised"]))
    cook = AdvisedCook(hands, bench(spec, kitchen.kind, int(chances["filter"].integers(2**31))), limit_s=LIMIT_s)
    rescue.come(cook)
    trouble, began_s, orders = hands.world.truth(), hands.world.now_s, len(cook.obeyed)
    cook.limit_s = began_s + LIMIT_s
    told = cook.until_told()
    ended = hands.world.truth()
    return {
        "rescue": name,
        "kind": kitchen.kind,
        "came": rescue.sign <= set(trouble.wrong),
        "success": told == rescue.end and (told == "stop" or ended.in_temper),
        "told": told,
        "trouble": list(trouble.wrong),
        "wrong": list(ended.wrong),
        "minutes": round((hands.world.now_s - began_s) / 60.0, 1),
        "orders": sum(do not in {"look", "stir", "use_it", "stop"} for _, do in cook.obeyed[orders:]),
    }


def rescue_rows(
    kitchens: int,
    seed: int,
    bench: Callable[[CaseSpec, str, int], Adviser],
    names: Sequence[str] = tuple(RESCUES),
    *,
    jobs: int = 1,
) -> Iterator[dict[str, Any]]:
    """For each trouble: how many came into it, the share that ended as it must, their mean minutes and orders."""
    for name, records in each_named(rescue_case, bench, names, kitchens, seed, jobs=jobs).items():
        came = [record for record in records if record["came"]]
        good = [record for record in came if record["success"]]
        yield {
            "name": name,
            "end": RESCUES[name].end,
            "kitchens": len(came),
            "success": len(good) / len(came) if came else None,
            "minutes": _mean(good, "minutes"),
            "orders": _mean(good, "orders"),
        }


def _mean(records: Sequence[dict[str, Any]], name: str) -> float | None:
    return sum(record[name] for record in records) / len(records) if records else None
