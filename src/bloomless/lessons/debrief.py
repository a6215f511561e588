"""What the crystals did: the moments of a finished practice bowl that a teacher would point at."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from bloomless.kitchens import Line
from bloomless.lessons.practice import Glimpse, PracticeBowl

__all__ = ["Moment", "debrief"]

WRONG = {
    "cold": "It was used below its working window ({low:.1f}–{high:.1f} °C): it was {T:.1f} °C.",
    "hot": "It was used above its working window ({low:.1f}–{high:.1f} °C): it was {T:.1f} °C.",
    "few": "Too few form V crystals when it was used: {v:.2f} % of the fat, 0.4 % is the least.",
    "many": "Too many crystals when it was used: {v:.1f} % of the fat, 6 % is the most. Over-thick.",
    "unstable": "Unstable crystals were more than a third of form V: a little warmth would have melted them first.",
    "lumps": "Lumps were {lumps:.0f} % of the bowl when it was used, 3 % is the most.",
    "water": "Water got in.",
    "scorched": "It got as hot as {hot:.0f} °C once: it scorched.",
}


@dataclass(frozen=True, slots=True)
class Moment:
    """One thing that happened, with its number."""

    at_s: float
    code: str
    text: str


def debrief(bowl: PracticeBowl) -> tuple[Moment, ...]:
    """The story of a finished bowl, in order of time.

    Raises
    ------
    Misuse
        Before the end.
    """
    trace = bowl.truth()
    moments = [_seeding(line, trace) for line in bowl.log if line["what"] == "seed"]
    moments += _crystals_lost(trace, bowl)
    moments += _into_temper(trace)
    moments += _the_end(bowl, trace[-1])
    return tuple(sorted(moments, key=lambda moment: moment.at_s))


def _at(trace: tuple[Glimpse, ...], at_s: float) -> Glimpse:
    """The last glimpse up to a time; the first where there is none before."""
    return next((glimpse for glimpse in reversed(trace) if glimpse.at_s <= at_s + 1e-6), trace[0])


def _seeding(line: Line, trace: tuple[Glimpse, ...]) -> Moment:
    before, after = _at(trace, line["at"]).truth, _at(trace, line["at"] + 90.0).truth
    gained = after.form_v_pct_of_fat - before.form_v_pct_of_fat
    text = f"{line['mass_g']:.0f} g of seed went into {before.temperature_C:.1f} °C"
    if before.temperature_C > 34.0 and after.form_v_pct_of_fat < 0.2 and after.seed_left_g < 1.0:
        text += ": all of it melted, crystals and all. It cooled the bowl and seeded nothing."
        return Moment(line["at"], "seed_lost", text)
    text += f"; a minute and a half later it was {after.temperature_C:.1f} °C, form V {after.form_v_pct_of_fat:.2f} %"
    text += f" of the fat ({gained:+.2f}), lumps {100 * after.seed_left_g / after.batch_g:.0f} %."
    return Moment(line["at"], "seeded", text)


def _crystals_lost(trace: tuple[Glimpse, ...], bowl: PracticeBowl) -> list[Moment]:
    """The first time crystals that were enough melted away again."""
    best = 0.0
    for glimpse in trace:
        v, warm_C = glimpse.truth.form_v_pct_of_fat, glimpse.truth.temperature_C
        best = max(best, v)
        if best > 0.4 and v < 0.5 * best:
            text = (
                f"Crystals melted away: from {best:.2f} to {v:.2f} % of the fat, at {warm_C:.1f} °C."
                f" In this chocolate they live below about {bowl.kitchen.numbers['form_v_limit_C']:.1f} °C."
            )
            return [Moment(glimpse.at_s, "crystals_lost", text)]
    return []


def _into_temper(trace: tuple[Glimpse, ...]) -> list[Moment]:
    """When the bowl came into temper, and out of it again."""
    moments = []
    for one, two in pairwise(trace):
        if two.truth.in_temper and not one.truth.in_temper:
            moments.append(Moment(two.at_s, "in_temper", "In temper from here on."))
        elif one.truth.in_temper and not two.truth.in_temper:
            reason = ", ".join(two.truth.wrong)
            moments.append(Moment(two.at_s, "out_of_temper", f"Out of temper from here on: {reason}."))
    return moments


def _the_end(bowl: PracticeBowl, last: Glimpse) -> list[Moment]:
    now = last.truth
    if not bowl.used:
        return [Moment(last.at_s, "not_used", "The bowl was not used.")]
    if now.in_temper:
        left = bowl.hands.world.working_minutes_left()
        text = (
            f"Used in temper: {now.temperature_C:.1f} °C, form V {now.form_v_pct_of_fat:.2f} % of the fat."
            f" Only stirred, it would have stayed so for {left:.0f} minutes."
        )
        return [Moment(last.at_s, "used_in_temper", text)]
    low, high = bowl.kitchen.window_C
    values = {
        "low": low,
        "high": high,
        "T": now.temperature_C,
        "v": now.form_v_pct_of_fat,
        "lumps": 100.0 * now.seed_left_g / now.batch_g,
        "hot": now.hottest_C,
    }
    return [Moment(last.at_s, f"used_{code}", WRONG[code].format(**values)) for code in now.wrong]
