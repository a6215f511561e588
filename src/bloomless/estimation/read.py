"""A reading or a check of a thermometer taken into the belief."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from bloomless.estimation import acts
from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Alert
from bloomless.estimation.belief import Belief, generator, last_s
from bloomless.estimation.events import ProbeCheck, Reading, Stir, lasts_s
from bloomless.estimation.guard import PROBE_CODES, Expectation, Verdict, cold_unsaid, judge
from bloomless.estimation.moves import flattened, resampled_if_poor
from bloomless.estimation.passing import flagged
from bloomless.estimation.priors import prior
from bloomless.estimation.summary import mean_and_sd
from bloomless.estimation.surroundings import stirred
from bloomless.estimation.thermometer import as_at_working, display_step_K, reading_log_likelihood
from bloomless.estimation.weights import log_mean
from bloomless.physics import rows
from bloomless.physics.calibration import WORKING_C
from bloomless.physics.sensors import CHOCOLATE_EMISSIVITY

__all__ = ["expected_reading", "offset_of", "take_check", "take_reading"]

Array = npt.NDArray[np.float64]

LATELY_S = 120.0
COLD = frozenset({"seed", "pour", "table", "cool_bath"})
WARM = frozenset({"add", "warm_bath", "microwave", "hot_air"})
"""Acts after which a thermometer may run ahead of its bowl for so long, down and up."""
JUST_STIRRED_S = 60.0
CHECK_SD_C = {"ice": 0.15, "boiling": 0.4, "second_probe": 0.3}
"""How well a check fixes the offset near 31 °C, K: numerics sheet B4 (ice and boiling); second probe assumed."""
UNCHECKED_SD_C = 0.7
UNQUIET_CODES = PROBE_CODES | {"gap", "second_start_after_gap"}
"""While one of these stands, what the readings draw the belief down by is not put down to seed."""
OFF_K = 1.0
WARM_K = 2.5
WARM_SD = 1.15
"""A room is called warmer where the best guess is by so much, and seven in eight that it is warmer at all. A quarter of
an hour tells little of it: with 2 K and 1.7 it named a quarter as many (seeds 305 and 308)."""


def offset_of(belief: Belief, probe: str) -> Array:
    """Offset of a thermometer, one a member; a further one starts from the prior of an unchecked probe."""
    if not belief.settings.bias:
        return np.full(belief.members, belief.start.probe.offset_C)
    if probe == "1":
        return np.asarray(belief.ensemble.parameters[rows.PROBE_OFFSET_K], dtype=np.float64)
    if probe in belief.other_offsets:
        return belief.other_offsets[probe]
    chance = generator(belief.seed, belief.draws + 1_000_000 + sum(map(ord, probe)))
    return UNCHECKED_SD_C * chance.standard_normal(belief.members)


def expected_reading(belief: Belief, probe: str = "1") -> Array:
    """What each member expects the thermometer to show, placement left out."""
    return np.asarray(belief.ensemble.state[rows.PROBE_C] + offset_of(belief, probe), dtype=np.float64)


def _lately(belief: Belief) -> frozenset[str]:
    """Kinds of acts that were going on within ``LATELY_S``."""
    return frozenset(event.what for event in belief.acts if belief.at_s - event.at_s - lasts_s(event) <= LATELY_S)


def _expectation(belief: Belief, expected: Array) -> Expectation:
    weight = belief.weight
    mean, sd = mean_and_sd(expected + belief.placement.mean_C, weight)
    lately = _lately(belief)
    cold, warm = bool(lately & COLD), bool(lately & WARM)
    sudden = prior("sudden_K") if cold or warm else 0.0
    spread = math.sqrt(sd * sd + belief.placement.variance_K2 + prior("probe_noise_C") ** 2 + sudden * sudden)
    unstirred = 0.0 if stirred(belief) > 0.3 else belief.at_s - belief.watch.stirred_at_s
    stirs = [event for event in belief.acts if isinstance(event, Stir)]
    rested = len(stirs) > 1 and stirs[-2].vigour == "none" and belief.at_s - stirs[-1].at_s <= JUST_STIRRED_S
    wall_K = float(weight @ belief.ensemble.state[rows.VESSEL_C] - weight @ belief.ensemble.state[rows.BULK_C])
    return Expectation(mean, spread, belief.start.room_C, cold, warm, unstirred, just_stirred=rested, wall_K=wall_K)


def _step_K(belief: Belief, reading: Reading) -> float:
    """Step of the display of the thermometer that was read, by all it has shown."""
    shown_C = [
        event.temperature_C for event in belief.heard if isinstance(event, Reading) and event.probe == reading.probe
    ]
    begun_C = belief.start.temperature_C
    return display_step_K(shown_C if begun_C is None or reading.probe != "1" else [*shown_C, begun_C])


def take_reading(belief: Belief, reading: Reading) -> Belief:
    """Weigh the members by a reading, after the guard has judged it."""
    first = belief.readings == 0 and belief.start.temperature_C is None
    shown_C, doubt_K = reading.temperature_C, 0.0
    if reading.probe == "1":
        shown_C, doubt_K = as_at_working(shown_C, belief.start.probe)
    if reading.probe != "1" and reading.probe not in belief.other_offsets:
        offset = offset_of(belief, reading.probe)
        belief = replace(belief, other_offsets={**belief.other_offsets, reading.probe: offset})
    if first:
        belief = acts.placed_at(belief, shown_C)
    expected = expected_reading(belief, reading.probe)
    step_K = _step_K(belief, reading)
    usual = prior("lift_share")
    expectation = replace(_expectation(belief, expected), step_K=step_K)
    verdict = Verdict(usual, (), False, belief.watch)
    if not belief.settings.believe_all:
        verdict = judge(shown_C, belief.at_s, expectation, belief.watch, usual_share=usual)
    belief = replace(flagged(belief, verdict.alerts), watch=verdict.watch, readings=belief.readings + 1)
    if verdict.rebuild:
        belief = acts.rebuilt(belief, shown_C - expected, pieces=bool(verdict.alerts))
        expected = expected_reading(belief, reading.probe)
    if verdict.nothing_share >= 1.0:
        return _foreseeing(belief, reading.probe)
    if verdict.nothing_share <= usual:  # what is doubted moves no member
        belief = _strained(belief, shown_C - expected, math.hypot(prior("probe_noise_C"), step_K / 3.5))
    expected = expected_reading(belief, reading.probe)
    log_likelihood, placement = reading_log_likelihood(
        shown_C,
        expected,
        belief.placement,
        noise_C=math.hypot(prior("probe_noise_C"), doubt_K),
        nothing_share=1e-12 if belief.settings.believe_all else verdict.nothing_share,
        heavy_tails=belief.settings.heavy_tails,
        step_K=step_K,
    )
    weight = belief.log_weight + log_likelihood
    weight = weight - weight.max() if belief.settings.believe_all else flattened(weight)
    foreseen = belief.log_evidence + log_mean(belief.weight, log_likelihood)
    belief = replace(belief, log_weight=weight, placement=placement, log_evidence=foreseen)
    belief = _foreseeing(resampled_if_poor(flagged(belief, _standing_doubts(belief))), reading.probe)
    if verdict.rebuild or belief.settings.believe_all:
        return replace(belief, watch=replace(belief.watch, pulls=()))
    seeded_at_s = last_s(belief, {"seed"}, never_s=-math.inf)
    said, watch = cold_unsaid(belief.at_s, expectation, seeded_at_s, belief.watch, quiet=_quiet(belief, expectation))
    return flagged(replace(belief, watch=watch), said)


def _quiet(belief: Belief, expected: Expectation) -> bool:
    """Nothing but logged seed and stirring of late, no silence, and no doubt about the thermometer."""
    if belief.at_s - belief.start.at_s <= LATELY_S:
        return False
    if stirred(belief) <= 0.3 or any(flag.alert.code in UNQUIET_CODES for flag in belief.flags):
        return False
    if expected.just_stirred or expected.warm_lately:
        return False
    return not _lately(belief) & (COLD - {"seed"})


def _foreseeing(belief: Belief, probe: str) -> Belief:
    """The belief with what it now expects to be shown kept for the next reading."""
    mean, _ = mean_and_sd(expected_reading(belief, probe) + belief.placement.mean_C, belief.weight)
    return replace(belief, watch=replace(belief.watch, foreseen_C=mean))


def _strained(belief: Belief, miss_K: Array, noise_C: float) -> Belief:
    """Members moved towards readings that keep missing all of them to one side: the model is wrong, not the bowl.

    The bowl is read almost directly, so what the members cannot explain is put down to heat that the model does not
    know of. Its size is matched to the innovation, ``Q = miss² − R − spread²``, and each member is moved by the
    conditional of that error given the reading, ``Q/(Q + R)`` of its miss with what is left of the doubt.
    """
    weight = belief.weight
    mean, sd = mean_and_sd(miss_K - belief.placement.mean_C, weight)
    read = belief.placement.variance_K2 + noise_C * noise_C
    expected = read + sd * sd
    strain = mean / math.sqrt(expected)
    before, belief = belief.watch.strain, replace(belief, watch=replace(belief.watch, strain=strain))
    both_off = min(abs(strain), abs(before)) > prior("strain_sd") and strain * before > 0.0
    if not both_off or belief.settings.believe_all or not belief.settings.heavy_tails:
        return belief
    unknown = mean * mean - expected
    gain = unknown / (unknown + read)
    chance = generator(belief.seed, belief.draws)
    left = math.sqrt(unknown * (1.0 - gain)) * chance.standard_normal(belief.members)
    state = belief.ensemble.state.copy()
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        state[row] += gain * (miss_K - belief.placement.mean_C) + left
    return replace(belief, ensemble=belief.ensemble.with_state(state), draws=belief.draws + 1)


def _standing_doubts(belief: Belief) -> tuple[Alert, ...]:
    """What the members have come to agree on about thermometer, room and chocolate."""
    said: list[Alert] = []
    weight = belief.weight
    offset, sd = mean_and_sd(belief.ensemble.parameters[rows.PROBE_OFFSET_K], weight)
    # What a check or the start has told of it is known, and is reckoned with.
    news = abs(offset - belief.start.probe.offset_C)
    if news > OFF_K and news > 1.6 * sd + 0.3:
        word = "high" if offset > 0.0 else "low"
        said.append(alert("thermometer_off", f"It seems to read {abs(offset):.1f} K {word}."))
    room, room_sd = mean_and_sd(belief.ensemble.parameters[rows.ROOM_SHIFT_K], weight)
    if room > WARM_K and room > WARM_SD * room_sd:
        said.append(alert("room_warmer", f"It behaves as in a room of about {belief.start.room_C + room:.0f} °C."))
    said.extend(acts.undone_alerts(belief, weight))
    return tuple(said)


def _mirrored_K(belief: Belief, reference_C: float) -> float:
    """Doubt of a check by what an infrared thermometer sees mirrored [K]: the surface is not as black as is set.

    Of the room it mirrors the share ``ε/ε_set − 1`` too little or too much, so that the error grows with the distance
    from room temperature: an ice check tells little of 31 °C.
    """
    if belief.start.probe.kind != "infrared":
        return 0.0
    share = CHOCOLATE_EMISSIVITY.spread / CHOCOLATE_EMISSIVITY.value
    return share * abs(reference_C - belief.start.room_C)


def take_check(belief: Belief, check: ProbeCheck) -> Belief:
    """Weigh the members by a thermometer check; it backs the numbers from then on."""
    offset = offset_of(belief, check.probe)
    shown = check.shown_C - check.reference_C
    if check.probe == "1":
        shown -= belief.start.probe.slope * (check.reference_C - WORKING_C)
    sd = CHECK_SD_C[check.method] if check.doubt_K is None else check.doubt_K
    sd = math.hypot(sd, _step_K(belief, Reading(check.at_s, check.shown_C, check.probe)) / math.sqrt(12.0))
    if check.probe == "1" and check.doubt_K is None:
        sd = math.hypot(sd, _mirrored_K(belief, check.reference_C))
    chance = generator(belief.seed, belief.draws)
    # The check tells more than the members hold apart: each draws its offset from the conditional of prior and check,
    # with its temperature moved along, so that what was read stays explained.
    prior_sd = max(belief.start.probe.offset_sd_C, 0.2)
    gain = prior_sd**2 / (prior_sd**2 + sd**2)
    fresh = offset + gain * (shown - offset) + np.sqrt(gain) * sd * chance.standard_normal(belief.members)
    said: tuple[Alert, ...] = ()
    if abs(shown) > OFF_K:
        said = (alert("thermometer_off", f"The check says {shown:+.1f} K."),)
    belief = replace(belief, draws=belief.draws + 1, backed=True)
    if check.probe != "1":
        return flagged(replace(belief, other_offsets={**belief.other_offsets, check.probe: fresh}), said)
    spec = replace(belief.start.probe, offset_C=gain * shown + (1.0 - gain) * belief.start.probe.offset_C)
    spec = replace(spec, offset_sd_C=float(np.sqrt(gain) * sd))
    parameters, state = belief.ensemble.parameters.copy(), belief.ensemble.state.copy()
    parameters[rows.PROBE_OFFSET_K] = fresh
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        state[row] += offset - fresh
    ensemble = belief.ensemble.with_state(state).with_parameters(parameters)
    return flagged(replace(belief, ensemble=ensemble, start=replace(belief.start, probe=spec)), said)
