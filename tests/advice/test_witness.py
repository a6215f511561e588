"""What has to be known before something is asked: seed that lived, smears that spoke, readings that are doubted."""

from dataclasses import replace

import pytest
from known_bowl import bowl

from bloomless.advice import policy
from bloomless.advice.advise import advise
from bloomless.advice.ahead import steps_after
from bloomless.advice.candidates import candidates
from bloomless.advice.orders import Given, Order, Standing
from bloomless.advice.outlook import Outlook
from bloomless.advice.plan import Rated
from bloomless.advice.planner import _first, _scene, _steps, _worn, choose
from bloomless.advice.prices import PRICES
from bloomless.advice.standing import settle
from bloomless.advice.witness import (
    backed,
    calm_first_s,
    crystals_since_s,
    may_clear,
    paste_again,
    plainly_wrong,
    poor_film,
    proved,
    seed_lived,
    smear_told,
    stays_paste,
    told,
    too_few_seen,
)
from bloomless.estimation.alerts import alert
from bloomless.estimation.answers import Band
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import EYE_THICK
from bloomless.estimation.events import Add, Ask, Bath, Composition, Look, Reading, Remove, Seed, Sieve, Smear, Start
from bloomless.estimation.passing import flagged, passed
from bloomless.estimation.surroundings import shown
from bloomless.estimation.take import take
from bloomless.physics import rows


def test_seed_has_lived_where_pieces_outlasted_the_warmth():
    assert not seed_lived(bowl(seeded=False))
    assert not seed_lived(bowl(v=0.002, seeded=False))
    assert not seed_lived(bowl())
    now = shown(bowl())
    lumps = replace(bowl(), snapshots=(replace(now, at_s=60.0, pieces_pct=now.pieces_pct + 2.0),))
    assert seed_lived(lumps)
    assert not seed_lived(take(lumps, Sieve(90.0, 20.0)))
    assert seed_lived(take(bowl(), Look(60.0, thickness="thick")))


def test_neither_more_seed_nor_a_sieve_takes_back_that_seed_has_lived_but_heat_does():
    def seen(*shots, belief=None):
        now = shown(bowl())
        shots = tuple(
            replace(now, at_s=at_s, pieces_pct=now.pieces_pct + pieces, mixed_C=now.mixed_C + warmer)
            for at_s, pieces, warmer in shots
        )
        return replace(belief or bowl(), snapshots=shots, at_s=400.0)

    lived = seen((60.0, 2.0, 0.0), (360.0, 0.0, 0.0))
    assert seed_lived(replace(lived, seeded_at_s=300.0))
    sieved = (*lived.acts, Sieve(300.0, 20.0))
    assert seed_lived(replace(lived, acts=sieved))
    # Taken out at once they have left nothing; what the sieve has left gives off crystals.
    assert not seed_lived(replace(seen((270.0, 2.0, 0.0), (360.0, 0.0, 0.0)), acts=sieved))
    assert seed_lived(replace(seen((330.0, 2.0, 0.0)), acts=sieved))
    # Cold pieces are firm and give off nothing, and too few crystals are not made enough by a sieve.
    assert not seed_lived(replace(seen((60.0, 2.0, -4.0), (360.0, 0.0, 0.0)), acts=sieved))
    assert not seed_lived(replace(seen((60.0, 2.0, 0.0), (360.0, 0.0, 0.0), belief=bowl(v=0.003)), acts=sieved))
    assert not seed_lived(seen((60.0, 2.0, 0.0), (200.0, 0.0, 5.0), (360.0, 0.0, 0.0)))


def test_what_looks_thick_in_the_cold_or_among_lumps_need_not_be_lasting_crystals():
    assert not seed_lived(take(bowl(warm_C=27.0), Look(60.0, thickness="thick")))
    assert not seed_lived(take(bowl(), Look(60.0, lumps="many", thickness="paste")))
    assert seed_lived(take(bowl(), Look(60.0, lumps="few", thickness="thick")))
    assert not seed_lived(replace(bowl(), acts=(*bowl().acts, Look(60.0, thickness="thick")), at_s=60.0))


def test_crystals_that_nobody_seeded_are_dealt_with_like_seeded_ones():
    few = bowl(v=0.05, seeded=False)
    state = few.ensemble.state.copy()
    state[rows.FORM_V_kg, few.members // 4 :] = 0.0
    few = replace(few, ensemble=few.ensemble.with_state(state))
    assert crystals_since_s(few) is not None
    far = bowl(v=0.12, seeded=False)
    far = replace(far, acts=(*far.acts, Look(890.0, lumps="none", thickness="thick")), at_s=900.0)
    # Waiting gets dearer, and a bowl given up is smeared first.
    assert _worn(PRICES, far).settle > PRICES.settle
    assert _worn(PRICES, bowl(v=0.0, seeded=False)).settle == PRICES.settle
    assert _first(Order("stir"), far, Standing(), Outlook(far), True).do == "smear"


def test_a_smear_speaks_when_it_has_set_or_was_given_up_or_never_came():
    belief, never = take(bowl(), Smear(10.0, 10.0)), Standing()
    assert not smear_told(belief, never)
    assert not smear_told(take(belief, Smear(340.0, 10.0, not_set_after_s=330.0)), never)
    assert smear_told(take(belief, Smear(340.0, 10.0, set_after_s=330.0)), never)
    failed = take(belief, Smear(640.0, 10.0, not_set_after_s=630.0, finish="dull"))
    assert poor_film(failed)
    assert not smear_told(failed, never)
    assert smear_told(passed(belief, 800.0), Standing(smear_ordered_at_s=10.0))
    assert not smear_told(bowl(seeded=False), never)


def test_nothing_is_melted_again_before_look_and_smear_said_so():
    assert not told(bowl(seeded=False))
    looked = take(bowl(v=0.12), Look(10.0, lumps="none", thickness="thick"))
    assert not told(looked)
    assert not told(take(looked, Smear(200.0, 20.0, set_after_s=180.0, finish="glossy")))
    poor = take(looked, Smear(640.0, 20.0, not_set_after_s=620.0, finish="dull"))
    assert told(poor)
    assert not told(take(poor, Bath(650.0, "warm_bath", 42.0, 5.0)))
    for far_too_many, to_C in ((True, 37.2), (False, 45.0)):
        belief = bowl(v=0.12 if far_too_many else 0.03)
        belief = replace(belief, acts=(*belief.acts, replace(poor.acts[-1], at_s=640.0)), at_s=640.0)
        again = [
            step.order for step in _steps(belief, Standing(), Outlook(belief), PRICES) if step.order.do == "melt_again"
        ]
        assert [order.to_C for order in again] == [pytest.approx(to_C, abs=0.1)]
    assert told(take(looked, Look(20.0, thickness="paste")))
    offered = choose(looked, Standing(), Outlook(looked), PRICES, smear_allowed=True)
    assert "melt_again" not in {offered.order.do, *(other.order.do for other in offered.others)}


def test_a_film_no_longer_speaks_for_a_bowl_that_was_warmed_since():
    set_well = take(take(bowl(warm_C=30.0), Smear(10.0, 10.0)), Smear(340.0, 10.0, set_after_s=330.0, finish="glossy"))
    assert smear_told(set_well, Standing())
    heated = replace(set_well, acts=(*set_well.acts, Bath(350.0, "warm_bath", 42.0, 20.0)), at_s=420.0)

    def warmer_by(gain_K):
        shot = heated.snapshots[-1]
        hot = replace(shot, at_s=400.0, mixed_C=shot.mixed_C + gain_K)
        return replace(heated, snapshots=(*heated.snapshots, hot))

    assert smear_told(warmer_by(0.8), Standing())
    assert not smear_told(warmer_by(2.4), Standing())


def test_where_film_and_look_agree_that_crystals_are_too_few_more_seed_goes_in_whatever_is_believed():
    dull, thin = Smear(640.0, 400.0, not_set_after_s=240.0, finish="dull"), Look(645.0, lumps="none", thickness="thin")

    def after(*acts):
        belief = bowl(v=0.03)
        return replace(belief, acts=(*belief.acts, *acts), at_s=650.0)

    assert not too_few_seen(after(dull))
    assert not too_few_seen(after(dull, replace(thin, thickness="flowing")))
    assert not too_few_seen(after(replace(dull, finish="glossy"), thin))
    agreed = after(dull, thin)
    assert too_few_seen(agreed)
    assert choose(agreed, Standing(), Outlook(agreed), PRICES, smear_allowed=True).order.do == "add_seed"
    assert not too_few_seen(after(dull, Seed(642.0, 30.0), thin))


def test_film_and_look_that_agree_speak_for_a_bowl_whatever_the_reckoning_holds():
    doubted = bowl(v=0.0005)
    film, look = Smear(210.0, 20.0, set_after_s=190.0, finish="glossy"), Look(215.0, lumps="none", thickness="flowing")
    assert not proved(take(doubted, look))
    assert not proved(take(doubted, film))
    agreed = replace(doubted, acts=(*doubted.acts, film, look), at_s=215.0)
    assert proved(agreed)
    assert choose(agreed, Standing(), Outlook(agreed), PRICES, smear_allowed=False).order.do == "use_it"
    others = [replace(look, lumps="few"), *(replace(look, thickness=word) for word in ("thin", "thick", "paste"))]
    for other in others:
        assert not proved(replace(agreed, acts=(*doubted.acts, film, other)))
    assert not proved(replace(agreed, acts=(*doubted.acts, film, Bath(212.0, "warm_bath", 42.0, 2.0), look)))
    assert not proved(replace(agreed, acts=(*doubted.acts, replace(film, finish="dull", set_after_s=None), look)))


def test_no_more_seed_is_asked_for_where_there_are_crystals_and_nothing_to_cool():
    def offered(belief):
        return {order.do for order in candidates(_scene(belief, Outlook(belief)))}

    assert "add_seed" in offered(bowl(v=0.005))
    assert "add_seed" not in offered(bowl(v=0.035))
    assert "add_seed" in offered(bowl(warm_C=35.5, v=0.035))


def test_seed_that_does_not_come_and_crumbs_of_it_are_not_asked_for_for_ever():
    few = bowl(v=0.005)

    def price(*undone):
        steps = _steps(few, Standing(undone=undone), Outlook(few), PRICES)
        return min(step.price for step in steps if step.order.do == "add_seed")

    assert price("add_seed") == price()
    assert price("add_seed", "add_seed", "add_seed") > price("add_seed", "add_seed") > price()

    def seed_left(grams):
        return Outlook(replace(few, start=replace(few.start, seed_available_g=grams + sum(seeds)))).aim.seed_kg

    seeds = [event.mass_g for event in few.acts if isinstance(event, Seed)]
    assert seed_left(0.005 * few.start.mass_g) == 0.0
    assert seed_left(0.02 * few.start.mass_g) > 0.0


def test_crystals_are_melted_back_only_where_it_was_seen_to_be_thick_and_not_for_ever():
    assert not may_clear(bowl())
    assert not may_clear(take(bowl(), Look(1.0, thickness="flowing")))
    thick = take(bowl(), Look(1.0, thickness="thick"))
    assert may_clear(thick)
    for k in range(4):
        assert not told(thick)
        thick = take(thick, Bath(10.0 + k, "warm_bath", 42.0, 0.5))
    assert not may_clear(thick)
    # What stays thick whatever was done is melted again, however well a film of it sets.
    assert told(thick)
    assert not told(take(thick, Look(20.0, thickness="flowing")))


def test_a_bowl_may_be_thinned_to_twice_its_weight_and_in_use_as_often_as_there_is_room():
    thinned = take(bowl(v=0.05), Add(1.0, 500.0, temperature_C=35.0))
    assert _scene(thinned, Outlook(thinned)).melt_room_g == pytest.approx(300.0)
    used = take(thinned, Remove(2.0, 40.0))
    outlook = Outlook(used)
    assert outlook.batch_g == pytest.approx(1260.0, rel=0.05)
    assert _scene(used, outlook).melt_room_g == pytest.approx(1600.0 - outlook.batch_g)


def test_a_doubted_reading_is_read_again_before_anything_is_done():
    belief = flagged(bowl(), (alert("probe_not_in_the_melt"),))
    assert calm_first_s(belief) == 30.0
    assert choose(belief, Standing(), Outlook(belief), PRICES, smear_allowed=True).order.do == "stir"
    assert calm_first_s(passed(belief, 60.0)) == 0.0
    assert calm_first_s(bowl()) == 0.0


def test_who_only_stirs_is_asked_to_look_and_a_bowl_given_up_to_smear():
    belief = passed(bowl(v=0.0005), 400.0)
    unseen, _ = advise(belief)
    assert unseen.next.do == "look"
    seen = take(belief, Look(401.0, lumps="none", thickness="thin"))
    first = _first(Order("stir"), seen, Standing(look_ordered_at_s=400.0), Outlook(seen), smear_allowed=True)
    assert first.do == "smear"
    assert _first(Order("stir"), seen, Standing(look_ordered_at_s=400.0), Outlook(seen), smear_allowed=False) is None


def test_a_film_that_told_overtakes_a_look_and_where_nothing_lives_something_is_done():
    """S3 of the job map: seed was killed, and sound seed is advised as soon as the film has told."""
    dead = take(passed(bowl(v=0.0002, warm_C=31.0), 60.0), Smear(60.0, 60.0, "steel"))
    dead = passed(dead, 400.0)
    look = Order("look", id="n9")
    standing = Standing(order=look, given=Given(look, 400.0, dead.acts))
    told = take(passed(dead, 430.0), Smear(430.0, 60.0, "steel", not_set_after_s=370.0, finish="dull"))
    assert advise(told, standing)[0].next.do == "add_seed"


def test_a_stirred_bowl_is_looked_at_again_after_75_seconds_but_nobody_is_asked_twice_at_once():
    def first(belief, **standing):
        return _first(Order("stir"), belief, Standing(**standing), Outlook(belief), smear_allowed=False)

    seen = take(bowl(), Look(100.0, lumps="few", thickness="flowing"))
    assert first(passed(seen, 170.0)) is None
    later = passed(seen, 180.0)
    assert first(later).do == "look"
    assert first(later, look_ordered_at_s=150.0) is None
    hot = take(bowl(warm_C=40.0), Look(100.0, lumps="few", thickness="thin"))
    assert first(passed(hot, 110.0)) is None
    assert first(passed(hot, 180.0)).do == "look"


def test_the_melt_is_looked_at_once_before_the_first_seed():
    """What this eye calls thin, of this chocolate, is the measure of later looks."""

    def first(belief, **standing):
        found = _first(Order("add_seed"), belief, Standing(**standing), Outlook(belief), smear_allowed=True)
        return None if found is None else found.do

    bare = bowl(warm_C=34.0, v=1e-6, seeded=False)
    assert first(bare) == "look"
    assert first(bare, look_ordered_at_s=0.0) is None
    seen = take(bare, Look(10.0, lumps="none", thickness="flowing"))
    assert first(seen) is None
    said = advise(bare)[0].next
    assert (said.do, "no crystals yet" in said.why) == ("look", True)
    # It speaks for nothing that came after it.
    assert not backed(replace(take(seen, Seed(20.0, 100.0)), backed=False), Outlook(seen))

    # Who calls it flowing while it holds nothing has low bounds, and will call thick what flows for others.
    def habit(word):
        belief = take(bare, Look(10.0, lumps="none", thickness=word))
        return float(belief.weight @ belief.cook[EYE_THICK])

    assert habit("thin") > habit("flowing") + 0.2


def test_no_chance_talks_many_lumps_or_a_paste_away():
    good = take(bowl(), Look(1.0, lumps="none", thickness="thick"))
    assert not plainly_wrong(good)
    assert plainly_wrong(take(good, Look(2.0, lumps="many")))
    assert plainly_wrong(take(good, Look(2.0, thickness="paste")))
    advice, _ = advise(take(good, Look(60.0, lumps="many", thickness="flowing")))
    assert advice.next.do != "use_it"


def test_a_paste_that_stays_one_though_it_was_warmed_is_cleared():
    def seen(*told, v=0.06, warmed=True):
        bath = (Bath(60.0, "warm_bath", 42.0, 20.0),) if warmed else ()
        return replace(bowl(v=v), acts=(Look(50.0, lumps="none", thickness="paste"), *bath, *told), at_s=600.0)

    again = Look(590.0, lumps="few", thickness="paste")
    assert stays_paste(seen(again))
    assert stays_paste(seen(Look(300.0, lumps="none"), again))
    assert not stays_paste(seen())
    assert not stays_paste(seen(again, warmed=False))
    assert not stays_paste(seen(Look(300.0, thickness="thick"), again))
    assert not stays_paste(seen(again, Look(599.0, thickness="flowing")))
    assert not stays_paste(replace(seen(again), at_s=500.0))
    order = advise(seen(again))[0].next
    assert order.do == "melt_again"
    assert 34.0 < order.to_C < 40.0
    assert advise(seen(again, v=0.01))[0].next.do != "melt_again"


def test_a_paste_told_again_is_warmed_a_little_past_the_window_whatever_is_believed():
    def seen(*told, at_s=185.0, warm_C=31.3):
        belief = take(bowl(v=0.015, warm_C=warm_C), Look(50.0, lumps="none", thickness="paste"))
        return replace(belief, acts=(*belief.acts, *told), at_s=at_s)

    again = Look(175.0, lumps="few", thickness="paste")
    assert paste_again(seen(again))
    assert not paste_again(seen())
    assert not paste_again(seen(replace(again, at_s=160.0)))
    assert not paste_again(seen(replace(again, lumps="many")))
    assert paste_again(seen(again, Look(180.0, thickness="thick")))
    assert not paste_again(seen(Look(100.0, thickness="flowing"), again))
    assert not paste_again(seen(again, Look(180.0, thickness="flowing")))
    assert not paste_again(seen(Seed(60.0, 30.0), again))
    assert not paste_again(seen(again, warm_C=28.0))
    order = advise(seen(again))[0].next
    high_C = bowl().temper.window_C[1]
    assert (order.do, order.to_C) == ("warm_bath", pytest.approx(high_C + 0.4))
    assert f"to {order.to_C:.1f} °C" in order.why
    assert "never above" not in order.why
    warmed = seen(again, Bath(190.0, "warm_bath", 42.0, 60.0), at_s=290.0)
    assert advise(warmed)[0].next.do == "look"
    # A little further each time.
    further = replace(warmed, acts=(*warmed.acts, replace(again, at_s=285.0)))
    assert advise(further)[0].next.to_C == pytest.approx(high_C + 0.7)


def test_a_thick_bowl_without_lumps_is_smeared_before_more_seed_goes_in():
    def order(*told, warm_C=31.0):
        belief = take(bowl(v=0.0005, warm_C=warm_C), Look(1.0, lumps="none", thickness="flowing"))
        belief = replace(belief, acts=(*belief.acts[:-1], *told), at_s=told[-1].at_s + 5.0)
        return choose(belief, Standing(), Outlook(belief), PRICES, smear_allowed=True).order.do

    look = Look(300.0, lumps="none", thickness="flowing")
    assert order(look) == "add_seed"
    assert order(replace(look, thickness="thick")) == "smear"
    assert order(replace(look, at_s=200.0, thickness="paste"), look) != "add_seed"
    assert order(replace(look, thickness="thick"), warm_C=35.0) not in {"add_seed", "smear"}
    assert order(replace(look, lumps="few", thickness="thick")) != "smear"
    poor = Smear(280.0, 40.0, not_set_after_s=240.0, finish="dull")
    assert order(poor, replace(look, thickness="thick")) == "add_seed"


def test_the_thermometer_is_checked_while_the_melt_is_hot_and_only_once():
    belief = begin(Start(0.0, Composition("milk"), 600.0, temperature_C=44.0), seed=1, members=160)
    first, standing = advise(belief)
    assert (first.next.do, first.next.method) == ("check_thermometer", "ice")
    assert first.before is not None
    belief = take(belief, Ask(200.0))
    asked, standing = advise(belief, standing)
    assert "was_it_done" in {one.code for one in asked.alerts}
    later, _ = advise(take(belief, Ask(240.0)), standing)
    assert later.next.do != "check_thermometer"


def test_melting_stands_under_its_name_until_the_thermometer_shows_it():
    order = Order("melt_again", to_C=45.0, by="warm_bath", id="n4")
    standing = Standing(orders_given=4, given=Given(order, 100.0, ()))
    baths = [Bath(120.0 + 80.0 * k, "warm_bath", 50.0, 60.0) for k in range(6)]
    for k, bath in enumerate(baths):
        standing, ask = settle(standing, baths[: k + 1], bath.at_s + 70.0, 36.0 + k)
        assert (standing.order, ask) == (order, False)
    standing, _ = settle(standing, baths, 620.0, 44.0)
    assert standing.order is None
    waits = Standing(orders_given=4, given=Given(order, 100.0, ()))
    assert settle(waits, (), 300.0, 33.0)[1]
    assert settle(waits, (Seed(150.0, 20.0),), 160.0, 33.0)[0].order is None


@pytest.mark.parametrize(
    ("code", "do", "means"),
    [
        (policy.SEED, "add_seed", ("seed",)),
        (policy.SIEVE, "sieve", ("seed",)),
        (policy.THIN, "add_melt", ("melt",)),
        (policy.COOL, "cool_bath", ("cool_bath",)),
        (policy.COOL, "table", ("table",)),
        (policy.WARM, "warm_bath", ("warm_bath",)),
        (policy.WARM, "hot_air", ("hot_air",)),
        (policy.WARM, "microwave", ("microwave",)),
    ],
)
def test_the_plan_names_the_steps_after_with_amounts(code, do, means):
    start = Start(
        0.0,
        Composition("dark"),
        800.0,
        temperature_C=31.0,
        means=means,
        vessel=replace(Start(0.0, Composition("dark"), 1.0).vessel, material="glass"),
    )
    outlook = Outlook(begin(start, seed=1, members=160))
    order = Order("stir", seconds=60.0)
    step = Rated(order, outlook.members.chance, 1.0, 0.9, 3.0, Band(1.0, 3.0, 6.0), (code, 0.5))
    plan = steps_after(order, [step], outlook)
    assert [one.do for one in plan] == [do, "look", "use_it"]
    own = plan[0]
    assert do == "sieve" or (own.mass_g or own.seconds or 0.0) > 0.0
    assert steps_after(Order("use_it"), [step], outlook) == ()
    # What follows melting is at hand as well.
    cools = next((by for by in ("cool_bath", "table") if by in outlook.means), "stir")
    assert steps_after(Order("melt_again"), [step], outlook)[0].do == cools
    assert steps_after(Order("look"), [step], outlook)[0] == order


def test_late_and_silent_cooks_are_served_alike():
    """One sends the event at once, one 40 s late, one never: each order is carried out at most once."""
    for late_s in (0.0, 40.0, None):
        start = Start(0.0, Composition("dark"), 800.0, temperature_C=37.0, room_C=20.5)
        belief, standing, seen, given = begin(start, seed=4, members=160), None, {}, None
        for tick in range(30):
            at_s = 10.0 * tick
            belief = take(belief, Reading(at_s, 37.0 - 0.08 * tick))
            advice, standing = advise(belief, standing)
            assert advice.next.why
            seen.setdefault(advice.next.id, advice.next.do)
            if advice.next.do == "add_seed" and given is None:
                given = (at_s, advice.next)
            if given and late_s is not None and given[1] and at_s >= given[0] + late_s:
                belief = take(belief, Seed(at_s, given[1].mass_g, size_mm=2.0))
                advice, standing = advise(belief, standing)
                assert advice.next.do == "stir"
                break
        ids = [name for name, do in seen.items() if do == "add_seed"]
        assert len(ids) == 1 if late_s is not None else len(ids) >= 2
