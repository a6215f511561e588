"""What has spoken for the bowl so far: looks, smears, checks and a melt that cooled while its seed was there.

Nothing is corrected unseen, nothing is melted again on reckoning alone, and nothing is used that only an unchecked
number or a hope speaks for.
"""

from __future__ import annotations

import math
from itertools import takewhile

import numpy as np

from bloomless.advice.candidates import SEEDS
from bloomless.advice.orders import COOLED, HEATED, Standing
from bloomless.advice.outlook import SMEAR_SILENT_S, Outlook
from bloomless.estimation.belief import Belief, Snapshot, last_look, last_s, looks, only_melted, times_done
from bloomless.estimation.events import BowlEvent, Look, Sieve, Smear, Surface
from bloomless.estimation.film import film_set_ln_s
from bloomless.estimation.passing import STANDS_S
from bloomless.estimation.surroundings import shown
from bloomless.physics import rows

__all__ = [
    "CHECKED_SD_C",
    "CLEAR",
    "LOOK_LASTS_S",
    "THICK",
    "backed",
    "calm_first_s",
    "crystals_seen",
    "crystals_since_s",
    "film_given_up",
    "film_left_min",
    "films",
    "foreign_matter",
    "fresh",
    "looks_streaked",
    "looks_thin",
    "lumps_seen",
    "may_clear",
    "may_sieve",
    "own_crystals",
    "paste_again",
    "plainly_wrong",
    "poor_film",
    "proved",
    "seed_lived",
    "set_well",
    "smear_told",
    "stays_paste",
    "told",
    "too_few_seen",
]

LOOK_LASTS_S = 100.0
"""A look is fresh so long, if nothing was done since."""
CHECKED_SD_C = 0.3
"""A thermometer whose offset is known so well needs no check."""
IDLE = frozenset({"ask", "stir", "smear", "probe_check", "remove"})
LIVES_ABOVE_K = 0.3
"""Seed that was still there when the bowl was so little above its window has lived."""
STILL_THERE_PCT = 0.5
GIVE_OFF_S = 60.0
"""Pieces that were sieved out have left crystals behind if they were in the window so long before."""
ENOUGH_SHARE = 0.98
"""And if so much of the weight holds them to be enough: pieces in the bowl are seen, what they gave off is not."""
LOST_ABOVE_K = 1.0
"""What was proved is void once the bowl was so far above its window: form V is lost there in minutes."""
COME_BELOW_K = 1.0
"""Without seed no crystals are looked for while the bowl is further above its window."""
CAME_PCT, CAME_SHARE = 1.0, 0.2
"""Of the fat set: what was not seeded and holds more has crystals of its own; looked for once a fifth holds so."""
THICK = frozenset({"thick", "paste"})
"""What a look may call a bowl that is thick."""
CLEAR = frozenset({None, "none"})
"""What a look may say of lumps where it saw none."""
COLD_K = 0.5
"""Thickness seen further below the window may be unstable crystals, which melt again."""
MOST_SIEVES = 2
HELD_BACK_SHARE = 0.01
"""Of the bowl; a sieve that holds back less lets these lumps through."""
CLEARED_MOST = 4
FEW_PCT = 0.5
"""Form V, % of the fat, above which a film sets as it should."""
FILM_HOLDS_K = 1.0
"""A film no longer speaks for a bowl that was warmed by more since it was dipped, into the upper half of its window."""
PASTE_AGAIN_S = 120.0
"""Two looks so far apart that both call it a paste are no slip of the eye."""
PASTE_STAYS_S = 480.0
"""What was a paste so long, warmed meanwhile, does not become thinner in its window."""
DOUBTS = frozenset({"probe_not_in_the_melt", "belief_rebuilt"})
DOUBT_S = 20.0
DOUBT_MOST_S = 150.0
"""A thermometer that was doubted just now is read again first; after so long advice goes on all the same."""


def foreign_matter(belief: Belief) -> bool:
    """Whether a look has found what does not belong in a bowl."""
    return bool(looks(belief, telling="foreign"))


def _result(event: BowlEvent) -> bool:
    return isinstance(event, Smear) and event.has_result


def fresh(belief: Belief) -> bool:
    """Whether a look or a smear has told of the bowl since the last act, and lately."""
    for event in reversed(belief.acts):
        if isinstance(event, Look) or _result(event):
            return belief.at_s - event.at_s <= LOOK_LASTS_S
        if event.what not in IDLE:
            return False
    return False


def crystals_since_s(belief: Belief) -> float | None:
    """Since when crystals may be in the bowl; ``None`` while nobody has reason to look for any.

    Since the seed went in; in a bowl that was not seeded, or was melted from pieces, since it was first cooled, once it
    is near its window: where there is no seed at hand crystals are to come of themselves; where there is some they may
    have come all the same.
    """
    if belief.seeded_at_s is not None and not only_melted(belief):
        return belief.seeded_at_s
    weight, state = belief.weight, belief.ensemble.state
    if float(weight @ state[rows.BULK_C]) > belief.temper.window_C[1] + COME_BELOW_K:
        return None
    set_pct = 100.0 * (state[rows.FORM_V_kg] + state[rows.UNSTABLE_kg]) / state[rows.BULK_FAT_kg]
    if set(belief.start.means) & SEEDS and float(weight @ (set_pct > CAME_PCT)) < CAME_SHARE:
        return None
    return min((e.at_s for e in belief.acts if e.what in COOLED), default=belief.start.at_s)


def own_crystals(belief: Belief) -> bool:
    """Whether all crystals are the bowl's own: nothing was seeded, and there is no seed at hand."""
    unseeded = belief.seeded_at_s is None or belief.seeded_at_s <= belief.start.at_s
    return unseeded and not set(belief.start.means) & SEEDS


def plainly_wrong(belief: Belief) -> bool:
    """Whether the last look saw what no chance talks away: many lumps, or a paste."""
    look = last_look(belief)
    return look.lumps == "many" or look.thickness == "paste"


def _films_since_act(belief: Belief) -> list[Smear]:
    """Films of the bowl as it is: dipped since it was last changed."""
    acted_s = max((e.at_s for e in belief.acts if e.what not in IDLE | {"look"}), default=belief.start.at_s)
    return [film for film in films(belief) if film.taken_at_s >= acted_s]


def told(belief: Belief) -> bool:
    """Whether the bowl itself has said that its crystals are no good.

    A film set poorly, or it is a paste; or it looks thick still after it was warmed for that again and again.
    """
    thickness = last_look(belief, telling="thickness").thickness
    stays_thick = thickness == "thick" and not may_clear(belief)
    return thickness == "paste" or stays_thick or any(not set_well(belief, film) for film in _films_since_act(belief))


def _seed_went_in_s(belief: Belief) -> float:
    """When the last seed went in; never, if none did."""
    return last_s(belief, {"seed"}, never_s=-math.inf)


def paste_again(belief: Belief) -> bool:
    """Whether looks at a bowl that has not flowed since called it a paste again and again, not of lumps nor of cold.

    Its crystals are too many then, whatever is believed; it is thinned until it flows.
    """
    spoke = reversed(looks(belief, telling="thickness", after_s=_seed_went_in_s(belief)))
    thick = list(takewhile(lambda look: look.thickness in THICK, spoke))
    pastes_s = [look.at_s for look in thick if look.thickness == "paste" and _thick_of_crystals(belief, look)]
    return len(pastes_s) > 1 and pastes_s[0] - pastes_s[-1] >= PASTE_AGAIN_S


def stays_paste(belief: Belief) -> bool:
    """Whether look after look, for minutes, called the bowl a paste, though it was warmed meanwhile."""
    spoke = reversed(looks(belief, telling="thickness"))
    pastes = list(takewhile(lambda look: look.thickness == "paste", spoke))
    if len(pastes) < 2 or belief.at_s - pastes[-1].at_s < PASTE_STAYS_S:
        return False
    return last_s(belief, HEATED, never_s=-math.inf) > pastes[-1].at_s


def crystals_seen(belief: Belief) -> bool:
    """Whether a fresh look saw what only crystals do to a bowl without lumps that is not cold, and no film denies it.

    It is thick; or it flows, and was a paste since the last seed went in.
    """
    since_s, look = crystals_since_s(belief), last_look(belief)
    if since_s is None or look.at_s < since_s or not fresh(belief) or poor_film(belief):
        return False
    if look.lumps != "none" or look.thickness == "thin":
        return False
    if _thick_of_crystals(belief, look):
        return True
    since_seed = looks(belief, telling="thickness", after_s=_seed_went_in_s(belief))
    return look.thickness == "flowing" and any(seen.thickness == "paste" for seen in since_seed)


def proved(belief: Belief) -> bool:
    """Whether film and look agree, since the last act, that crystals are there, and not too many, and lumps are not.

    A film tells of too few crystals only; of too many it is the spatula that tells.
    """
    look = last_look(belief)
    clear = look.lumps == "none" and look.thickness == "flowing"
    return clear and fresh(belief) and any(set_well(belief, film) for film in _films_since_act(belief))


def backed(belief: Belief, outlook: Outlook) -> bool:
    """Whether something besides an unchecked number speaks for the bowl."""
    if belief.backed or belief.start.probe.offset_sd_C <= CHECKED_SD_C:
        return True
    since_s = crystals_since_s(belief)
    if since_s is None:
        return False
    # A plateau while seed melts: lumps were seen after seeding, and the bowl has not thinned out since.
    lumps = any(look.lumps not in CLEAR for look in looks(belief))
    plateau = lumps and belief.at_s - since_s > 90.0 and outlook.numbers.form_v_pct > 0.3
    return plateau or last_look(belief, after_s=since_s).thickness in {"flowing", "thick"}


def _thick_of_crystals(belief: Belief, look: Look) -> bool:
    """Whether only lasting crystals can be what looked thick: no lumps to speak of, and not too cold."""
    if look.thickness not in THICK or look.lumps == "many":
        return False
    cold_C = belief.temper.window_C[0] - COLD_K
    shot = next((shot for shot in reversed(belief.snapshots) if shot.at_s <= look.at_s), None)
    return shot is not None and float(belief.weight @ shot.mixed_C) >= cold_C


def _surely_enough(belief: Belief) -> bool:
    """Whether form V is reckoned to be above its lower limit by nearly all of the weight."""
    enough_pct = 100.0 * belief.temper.form_v[0]
    return float(belief.weight @ (shown(belief).form_v_pct >= enough_pct)) >= ENOUGH_SHARE


def seed_lived(belief: Belief) -> bool:
    """Whether crystals are there for a reason: pieces outlasted the warmth and gave some off, or it is thick.

    More seed later on takes nothing from that, a sieve nothing where the crystals are surely enough; heat does.
    """
    seeded_s = crystals_since_s(belief)
    if seeded_s is None:
        return False
    if any(_thick_of_crystals(belief, look) for look in looks(belief, after_s=seeded_s)):
        return True
    if belief.seeded_at_s is None:
        return False
    sieved_s = last_s(belief, {"sieve"}, never_s=-math.inf)
    if sieved_s > seeded_s and not _surely_enough(belief):
        return False
    weight, (low_C, high_C) = belief.weight, belief.temper.window_C

    def proves(shot: Snapshot) -> bool:
        warm_C, pieces_pct = float(weight @ shot.mixed_C), float(weight @ shot.pieces_pct)
        if warm_C > high_C + LIVES_ABOVE_K or pieces_pct < STILL_THERE_PCT:
            return False
        # What was sieved out since must have been soft for a while: cold pieces are firm and give off nothing.
        return shot.at_s > sieved_s or (shot.at_s <= sieved_s - GIVE_OFF_S and warm_C >= low_C)

    since_heat = takewhile(
        lambda shot: float(weight @ shot.mixed_C) <= high_C + LOST_ABOVE_K, reversed(belief.snapshots)
    )
    return any(proves(shot) for shot in since_heat)


def looks_thin(belief: Belief) -> bool:
    """Whether the last look that spoke of thickness saw a thin bowl: it may hold too few crystals."""
    return last_look(belief, telling="thickness").thickness == "thin"


def looks_streaked(belief: Belief) -> bool:
    """Whether the last look that spoke of streaks saw some: too few crystals, or unstable ones among them."""
    return last_look(belief, telling="streaks").streaks is True


def lumps_seen(belief: Belief) -> bool:
    """Whether the last look saw lumps that were not sieved out since."""
    for event in reversed(belief.acts):
        if event.what == "sieve":
            return False
        if isinstance(event, Look) and event.lumps is not None:
            return event.lumps != "none"
    return False


def may_sieve(belief: Belief) -> bool:
    """Whether there is something to sieve: once on what is believed, again only if many lumps were seen since.

    What fell through the mesh once does so again, other seed may not.
    """
    sieved = [event for event in belief.acts if isinstance(event, Sieve)]
    if not sieved:
        return True
    holds = sieved[-1].mass_g >= HELD_BACK_SHARE * belief.start.mass_g
    other = _seed_went_in_s(belief) > sieved[-1].at_s
    return (holds or other) and len(sieved) < MOST_SIEVES and last_look(belief).lumps == "many"


def may_clear(belief: Belief) -> bool:
    """Whether crystals may be melted back above the window: it was seen to be thick, and this was not tried often."""
    thick = last_look(belief, telling="thickness").thickness in THICK
    return thick and times_done(belief, HEATED) < CLEARED_MOST


def calm_first_s(belief: Belief) -> float:
    """How long to stir before anything else: a hot spot has to spread, a doubted reading has to be read again."""
    flags = {flag.alert.code: flag for flag in belief.flags}
    if "hot_spot" in flags:
        return 60.0
    doubted = [
        flag
        for code, flag in flags.items()
        if code in DOUBTS
        and flag.until_s - STANDS_S >= belief.at_s - DOUBT_S
        and belief.at_s - flag.since_s < DOUBT_MOST_S
    ]
    return 30.0 if doubted else 0.0


def films(belief: Belief) -> list[Smear]:
    """Films that were dipped since there was reason to look for crystals, and of which the end is known."""
    since_s = crystals_since_s(belief)
    return [
        smear
        for smear in belief.acts
        if isinstance(smear, Smear)
        and since_s is not None
        and smear.taken_at_s > since_s
        and (smear.set_after_s is not None or smear.finish is not None)
    ]


def set_well(belief: Belief, film: Smear) -> bool:
    """Whether a film has set as one with crystals enough does: glossy, or, where its finish was not told, that soon.

    Streaks mean too few crystals, or unstable ones among them, however soon they set it.
    """
    if film.finish == "glossy":
        return True
    few = film_set_ln_s(
        np.array([FEW_PCT]),
        np.zeros(1),
        kind=belief.start.chocolate.kind,
        surface=film.surface,
        room_C=belief.start.room_C if film.room_C is None else film.room_C,
    )
    return film.finish is None and film.set_after_s is not None and film.set_after_s <= math.exp(float(few[0]))


def film_left_min(belief: Belief, form_v_pct: float, surface: Surface) -> float:
    """Minutes until a film of so much form V tells: the last one that waits, or one dipped now on this surface."""
    smear = belief.waiting_smears[-1] if belief.waiting_smears else Smear(belief.at_s, belief.at_s, surface)
    room_C = belief.start.room_C if smear.room_C is None else smear.room_C
    sets_s = film_set_ln_s(
        np.array([form_v_pct]), np.zeros(1), kind=belief.start.chocolate.kind, surface=smear.surface, room_C=room_C
    )
    return max(math.exp(float(sets_s[0])) - (belief.at_s - smear.taken_at_s), 0.0) / 60.0


def _warmed_since(belief: Belief, film: Smear) -> bool:
    """Whether the bowl has been warmed since it was dipped, so far that crystals may have melted."""
    if last_s(belief, HEATED, never_s=-math.inf) <= film.taken_at_s:
        return False
    warm_C = [float(belief.weight @ shot.mixed_C) for shot in belief.snapshots if shot.at_s >= film.taken_at_s]
    low_C, high_C = belief.temper.window_C
    return bool(warm_C) and max(warm_C) > max(warm_C[0] + FILM_HOLDS_K, 0.5 * (low_C + high_C))


def _last_film(belief: Belief, standing: Standing) -> Smear | None:
    """The last film of which the end is known, dipped since one was asked for last and since the bowl was warmed."""
    ended, ordered_s = films(belief), standing.smear_ordered_at_s
    if not ended or (ordered_s is not None and ended[-1].taken_at_s < ordered_s) or _warmed_since(belief, ended[-1]):
        return None
    return ended[-1]


def film_given_up(belief: Belief, standing: Standing) -> bool:
    """Whether a film was asked for, and nothing was told of one for so long that it is waited for no more."""
    ordered_s = standing.smear_ordered_at_s
    silent = ordered_s is not None and belief.at_s - ordered_s >= SMEAR_SILENT_S
    return silent and _last_film(belief, standing) is None


def smear_told(belief: Belief, standing: Standing) -> bool:
    """Whether the last smear since the seed went in has set well; or one was asked for and none came for long."""
    film = _last_film(belief, standing)
    return film_given_up(belief, standing) if film is None else set_well(belief, film)


def too_few_seen(belief: Belief) -> bool:
    """Whether film and look agree that crystals are too few: one dipped since the last seed set poorly; it is thin."""
    ended = [film for film in films(belief) if film.taken_at_s > _seed_went_in_s(belief)]
    return bool(ended) and not set_well(belief, ended[-1]) and looks_thin(belief)


def poor_film(belief: Belief) -> bool:
    """Whether the last film that was watched to its end set late or dull."""
    ended = films(belief)
    return bool(ended) and not set_well(belief, ended[-1])
