"""The belief put into numbers: bands, the chance, and what the state itself gives cause to say."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Alert, Estimate
from bloomless.estimation.belief import Belief, Snapshot, only_melted
from bloomless.estimation.chance import member_chances
from bloomless.estimation.summary import band
from bloomless.estimation.surroundings import shown as shown_now
from bloomless.estimation.surroundings import whole
from bloomless.physics import rows
from bloomless.physics.actions import batch_kg

__all__ = ["estimate"]

Array = npt.NDArray[np.float64]

LOW_K, MAY_READ_LOW = 0.7, 0.15
"""A thermometer that is so far low lets seed be killed at a number that looks right; a smaller chance is not said."""
NEAR_WINDOW_K = 1.0


def estimate(belief: Belief) -> Estimate:
    """Bands of what is hidden and the chance of being in temper, with every alert that stands."""
    shown = shown_now(belief)
    weight = belief.weight
    batch_g = 1000.0 * batch_kg(whole(belief))
    chance = float(weight @ member_chances(belief, shown))
    alerts = tuple(flag.alert for flag in belief.flags) + _of_state(belief, shown, batch_g)
    return Estimate(
        at_s=belief.at_s,
        chance_in_temper=min(max(chance, 0.0), 1.0),
        temperature_C=band(shown.mixed_C, weight),
        form_v_pct_of_fat=band(shown.form_v_pct, weight),
        unstable_pct_of_fat=band(shown.unstable_pct, weight),
        seed_left_g=band(shown.pieces_pct / 100.0 * batch_g, weight),
        batch_g=band(batch_g, weight),
        alerts=_once(alerts),
    )


def _once(alerts: tuple[Alert, ...]) -> tuple[Alert, ...]:
    """One alert a code, in order of danger."""
    by_code = {said.code: said for said in alerts}
    return tuple(sorted(by_code.values(), key=lambda said: ("stop", "check", "say").index(said.severity)))


def _no_crystals(belief: Belief, high_C: float) -> Alert:
    """Why there are none: where seed lives at the number that is shown, the thermometer may be at fault too."""
    shown_C = belief.watch.last_C
    news_K = belief.ensemble.parameters[rows.PROBE_OFFSET_K] - belief.start.probe.offset_C
    reads_low = float(belief.weight @ (news_K < -LOW_K))
    if shown_C is None or shown_C > high_C + NEAR_WINDOW_K or reads_low < MAY_READ_LOW:
        return alert("seed_killed")
    said = f"It reads more than {LOW_K} K low with a chance of {100.0 * reads_low:.0f} %."
    return alert("thermometer_low_or_seed_dead", said)


def _of_state(belief: Belief, shown: Snapshot, batch_g: Array) -> tuple[Alert, ...]:
    """What the state gives cause to say once the bowl has been seeded or holds crystals."""
    said: list[Alert] = []
    weight, limits = belief.weight, belief.temper
    (low, high), (least_pct, most_pct) = limits.window_C, (100.0 * share for share in limits.form_v)
    many = shown.pieces_pct > 100.0 * limits.pieces_most

    def probably(condition: npt.NDArray[np.bool_], least: float = 0.8) -> bool:
        return float(weight @ condition) > least

    if belief.seeded_at_s is None or only_melted(belief):
        return ()
    since = belief.at_s - belief.seeded_at_s
    if since > 240.0 and probably((shown.mixed_C < high) & many & (shown.form_v_pct > least_pct)):
        grams = float(weight @ (shown.pieces_pct / 100.0 * batch_g))
        said.append(alert("lumps_will_not_melt", f"About {grams:.0f} g of pieces are left."))
    if probably(shown.form_v_pct > most_pct):
        said.append(alert("too_thick", f"About {float(weight @ shown.form_v_pct):.0f} % of the fat is form V."))
    if probably(shown.mixed_C < low):
        said.append(alert("too_cool", f"{float(weight @ shown.mixed_C):.1f} °C; the window begins at {low:.1f}."))
    if since > 120.0 and probably(shown.mixed_C > high + 1.0):
        said.append(alert("too_warm", f"{float(weight @ shown.mixed_C):.1f} °C; the window ends at {high:.1f}."))
    if since > 120.0 and probably((shown.form_v_pct < 0.2) & (shown.pieces_pct < 1.0)):
        said.append(_no_crystals(belief, high))
    if probably((shown.unstable_pct > limits.unstable_of_form_v * shown.form_v_pct) & (shown.unstable_pct > 0.3)):
        said.append(alert("unstable_forms", f"About {float(weight @ shown.unstable_pct):.1f} % of the fat."))
    return tuple(said)
