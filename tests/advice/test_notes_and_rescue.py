"""What is said beside an order, what stops a bowl, what is asked when it is not melted yet, what it is like in use."""

from dataclasses import replace

import numpy as np
import pytest
from known_bowl import bowl

from bloomless.advice.advise import advise
from bloomless.advice.ahead import warming
from bloomless.advice.beginning import heater
from bloomless.advice.notes import not_against, notes
from bloomless.advice.orders import Given, Order, Standing
from bloomless.advice.outlook import Outlook, working_band
from bloomless.advice.planner import choose
from bloomless.advice.prices import PRICES
from bloomless.advice.rescue import hazard
from bloomless.advice.sentences import Numbers, why
from bloomless.advice.witness import crystals_since_s, smear_told
from bloomless.estimation.begin import begin
from bloomless.estimation.belief import Snapshot
from bloomless.estimation.events import (
    Add,
    Ask,
    Bath,
    Composition,
    Look,
    Microwave,
    ProbeCheck,
    Remove,
    Seed,
    Smear,
    Start,
    Table,
    VesselSpec,
)
from bloomless.estimation.passing import passed
from bloomless.estimation.surroundings import shown
from bloomless.estimation.take import take
from bloomless.physics import rows


def said(belief, order=None):
    return {one.code for one in notes(belief, Outlook(belief), order or Order("stir"))}


def test_orders_that_burn_or_drip_say_so():
    assert {"burns", "dry_the_foot"} <= said(bowl(), Order("warm_bath"))
    assert "microwave_care" in said(bowl(), Order("microwave"))
    assert "dry_the_foot" in said(bowl(), Order("cool_bath"))
    for do in ("heat_on", "melt_again"):  # what melts by those means burns, drips and sparks just as much
        assert {"burns", "dry_the_foot"} <= said(bowl(), Order(do, by="warm_bath"))
        assert {"burns", "microwave_care"} <= said(bowl(), Order(do, by="microwave"))
        assert not {"dry_the_foot", "microwave_care"} & said(bowl(), Order(do, by="hot_air"))


PIECES = Start(0.0, Composition("dark"), 800.0, state="pieces", temperature_C=20.0, vessel=VesselSpec("glass"))


def test_who_is_to_melt_is_not_told_to_cool_or_to_thin():
    too_much = bowl(warm_C=31.0, v=0.12)
    outlook = Outlook(too_much)
    assert "too_thick" in {one.code for one in outlook.alerts}
    for do in ("heat_on", "melt_again"):
        assert "too_thick" not in {one.code for one in not_against(Order(do), outlook.alerts)}
    assert not_against(Order("add_melt"), outlook.alerts) == outlook.alerts


def molten(warm_C=41.0, acts=()):
    """What was pieces, melted."""
    belief = begin(PIECES, seed=1, members=160)
    state = belief.ensemble.state.copy()
    state[rows.BULK_FAT_kg] *= 0.8 / state[rows.BULK_kg]
    state[rows.BULK_kg] = 0.8
    state[rows.PIECE_COUNT : rows.PIECE_COUNT + rows.CLASSES] = 0.0
    for row in (rows.BULK_C, rows.VESSEL_C, rows.PROBE_C):
        state[row] = warm_C
    return replace(belief, at_s=900.0, ensemble=belief.ensemble.with_state(state), acts=acts)


def test_pieces_that_are_melted_out_are_no_seed():
    cold = begin(PIECES, seed=1, members=160)
    advice, _ = advise(cold)
    assert advice.next.do == "heat_on"
    assert "not melted yet" in advice.next.why
    assert not {"too_cool", "lumps_will_not_melt"} & {one.code for one in advice.alerts}
    hot = molten()
    assert not {"seed_killed", "too_warm"} & {one.code for one in Outlook(hot).alerts}
    # Of seed that goes in later it is said as of any other.
    assert "seed_killed" in {one.code for one in Outlook(passed(take(hot, Seed(901.0, 5.0)), 1100.0)).alerts}


def test_the_reason_to_melt_is_that_of_now():
    cold = begin(PIECES, seed=1, members=160)
    advice, standing = advise(cold)
    warmer, _ = advise(take(cold, Bath(1.0, "warm_bath", 50.0, 120.0)), standing)
    later, _ = advise(passed(take(cold, Bath(1.0, "warm_bath", 50.0, 900.0)), 900.0), standing)
    assert warmer.next.id == later.next.id == advice.next.id
    assert later.next.why != advice.next.why
    n = Numbers(41.0, 29.3, 33.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    assert "the pieces are gone" in why(Order("heat_on"), n)


def test_a_bowl_melted_from_pieces_is_checked_while_it_is_hot_and_not_looked_at_before_it_is_seeded():
    hot = molten(43.0, acts=(Bath(1.0, "warm_bath", 50.0, 800.0),))
    advice, _ = advise(hot)
    assert advice.next.do == "check_thermometer"
    assert crystals_since_s(hot) is None
    checked = take(hot, ProbeCheck(910.0, "ice", 0.0, 0.0))
    assert advise(replace(checked, acts=hot.acts), Standing(check_ordered=True))[0].next.do not in {"look", "heat_on"}
    assert crystals_since_s(take(hot, Seed(910.0, 100.0))) == 910.0


@pytest.mark.parametrize(("warm_C", "over"), [(42.5, True), (38.0, False)])
def test_what_is_nearly_so_warm_for_ten_minutes_is_melted_out(warm_C, over):
    order = Order("heat_on", id="n1", to_C=45.0, by="warm_bath")
    given = Given(order, 0.0, ())
    standing = Standing(orders_given=1, given=given, order=order, check_ordered=True)
    hot = molten(warm_C, acts=(Bath(1.0, "warm_bath", 50.0, 895.0),))
    hot = replace(hot, watch=replace(hot.watch, last_C=warm_C))
    shots = tuple(replace(shown(hot), at_s=float(at_s)) for at_s in range(0, 900, 30))
    assert advise(replace(hot, snapshots=shots), standing)[0].next.do == ("heat_on" if not over else "pour_over")
    assert advise(replace(hot, snapshots=shots[-5:]), standing)[0].next.do == "heat_on"


@pytest.mark.parametrize(
    ("means", "then"),
    [
        (("microwave",), [("stir", None)]),
        (("seed", "table", "microwave"), [("table", None), ("add_seed", None)]),
        (
            ("cocoa_butter_crystals", "warm_bath", "cool_bath"),
            [("cool_bath", None), ("add_seed", "cocoa_butter_crystals")],
        ),
    ],
)
def test_what_follows_melting_is_at_hand(means, then):
    advice, _ = advise(begin(replace(PIECES, means=means), seed=1, members=160))
    assert advice.next.do == "heat_on"
    assert [(order.do, order.form) for order in advice.plan] == then


def test_small_bowls_hot_rooms_and_an_empty_board():
    start = Start(0.0, Composition("dark"), 150.0, room_C=28.0, seed_available_g=0.0)
    assert {"small_bowl", "room_hot", "out_of_seed"} <= said(bowl(v=0.0, start=start))
    nothing = bowl(v=0.0, start=replace(start, means=("microwave",)))
    assert "no_means" in said(nothing, Order("melt_again"))
    only_air = bowl(v=0.12, start=replace(start, means=("hot_air",)))
    assert "no_means" in said(only_air, Order("melt_again", by="hot_air"))
    only_seed = bowl(v=0.12, start=replace(start, means=("seed",)))
    assert heater(Outlook(only_seed)) is None
    assert "no_means" in said(only_seed, Order("melt_again"))
    assert heater(Outlook(bowl())) == "warm_bath"
    assert "no_means" not in said(bowl(), Order("melt_again", by="warm_bath"))


@pytest.mark.parametrize(
    ("means", "state", "says"),
    [
        (("warm_bath",), "melted", "nothing to cool it with but the room"),
        (("cool_bath",), "melted", "nothing to warm it with"),
        ((), "melted", "nothing to cool it with but the room"),
        (("cool_bath", "warm_bath"), "melted", None),
        (("seed",), "melted", None),
        (("warm_bath",), "part_melted", None),
        (("table",), "pieces", "Nothing here melts it"),
        (("microwave",), "pieces", "metal bowl"),
        (("warm_bath", "seed"), "pieces", None),
    ],
)
def test_what_is_lacking_is_said_at_once(means, state, says):
    warm_C = {"melted": 44.0, "part_melted": 32.0, "pieces": 20.0}[state]
    start = Start(0.0, Composition("dark"), 800.0, state=state, temperature_C=warm_C, means=means)
    advice, _ = advise(begin(start, seed=1, members=160))
    lacking = [one.text for one in advice.alerts if one.code == "no_means"]
    assert [says in text for text in lacking] == ([] if says is None else [True])
    if state == "melted":
        # A bowl that is likely in temper all the same lacks nothing.
        assert "no_means" not in said(bowl(start=replace(start, temperature_C=31.3), seeded=False))


def test_seed_of_which_nothing_was_said_is_not_used_up():
    start = Start(0.0, Composition("white"), 1000.0, temperature_C=29.0)
    much = bowl(29.0, v=0.001, start=start)
    much = replace(much, acts=(Seed(1.0, 450.0), Seed(200.0, 200.0)))
    assert Outlook(much).aim.seed_kg == pytest.approx(0.08)
    assert "out_of_seed" not in said(much)
    counted = replace(much, start=replace(start, seed_available_g=650.0))
    assert Outlook(counted).aim.seed_kg == 0.0
    assert "out_of_seed" in said(counted)
    fine = replace(much, start=replace(start, means=("cocoa_butter_crystals",)), acts=(Seed(1.0, 60.0),))
    assert Outlook(fine).aim.seed_kg == pytest.approx(0.015)


@pytest.mark.parametrize(("means", "row"), [("microwave", rows.MICROWAVE_FACTOR), ("hot_air", rows.HOT_AIR_FACTOR)])
def test_a_heater_that_has_shown_its_strength_is_asked_for_less_long(means, row):
    glass = Start(0.0, Composition("dark"), 800.0, room_C=20.5, vessel=VesselSpec("glass"), means=("seed", means))
    usual = replace(bowl(29.0, start=glass), acts=(Microwave(0.0, 5.0),))
    parameters = usual.ensemble.parameters.copy()
    parameters[row] *= 2.0
    strong = replace(usual, ensemble=usual.ensemble.with_parameters(parameters))
    long, short = (warming(2.0, Outlook(belief)).seconds for belief in (usual, strong))
    assert short <= 0.65 * long


@pytest.mark.parametrize("means", ["warm_bath", "hot_air"])
def test_the_first_warming_is_a_share_of_what_was_reckoned(means):
    start = Start(0.0, Composition("dark"), 800.0, room_C=20.5, vessel=VesselSpec("glass"), means=("seed", means))
    fresh_bowl = bowl(29.5, start=start)
    first = warming(2.0, Outlook(fresh_bowl)).seconds
    again = warming(2.0, Outlook(replace(fresh_bowl, acts=(Bath(0.0, "warm_bath", 42.0, 20.0),)))).seconds
    assert first == pytest.approx(0.6 * again, abs=5.0)
    assert first < again


def test_thickening_is_read_from_growth():
    belief = bowl(v=0.03)
    now = shown(belief)
    before = Snapshot(0.0, now.form_v_pct - 1.2, now.unstable_pct, now.mixed_C, now.pieces_pct)
    belief = replace(belief, at_s=600.0, snapshots=(before,))
    assert "thickening" in said(belief)
    for do in ("add_seed", "warm_bath"):  # to thin with melt and to do that are not asked at once
        assert "thickening" not in said(belief, Order(do))
    pieces = replace(belief, snapshots=(replace(before, pieces_pct=before.pieces_pct + 5.0),))
    assert "thickening" not in said(pieces)  # what pieces gave off is no thickening
    still = replace(belief, snapshots=(replace(before, form_v_pct=now.form_v_pct),))
    assert "thickening" not in said(still)
    # Nor is what was seeded since.
    assert "thickening" not in said(replace(belief, acts=(*belief.acts, Seed(200.0, 60.0))))


def test_a_smear_is_due_in_use():
    belief = take(take(bowl(), Smear(1.0, 1.0, set_after_s=1.0)), Remove(2.0, 100.0))
    assert "smear_due" not in said(belief)
    assert "smear_due" in said(take(belief, Add(10.0, 100.0, 36.0)))
    later = take(belief, Ask(900.0))
    assert "mould_soon" in said(later)


@pytest.mark.parametrize("shift", [-3.5, 3.5])
def test_a_chocolate_that_is_not_what_was_said(shift):
    belief = bowl()
    parameters = belief.ensemble.parameters.copy()
    parameters[rows.MELTING_SHIFT_K] = shift
    belief = replace(belief, at_s=600.0, ensemble=belief.ensemble.with_parameters(parameters))
    assert "wrong_kind" in said(belief)


def test_hazards():
    assert hazard(bowl(), Outlook(bowl())) is None
    metal = take(bowl(), Microwave(1.0, 5.0))
    assert "Metal" in hazard(metal, Outlook(metal))
    assert advise(metal)[0].next.do == "stop"
    scorched = bowl()
    state = scorched.ensemble.state.copy()
    state[rows.SCORCH] = 2.0
    scorched = replace(scorched, ensemble=scorched.ensemble.with_state(state))
    assert "ganache" in hazard(scorched, Outlook(scorched))
    assert advise(scorched)[0].next.do == "stop"


def test_hot_for_minutes_is_scorched():
    belief = bowl(warm_C=62.0)
    codes = {flag.alert.code for flag in passed(belief, 150.0).flags}
    assert "scorched" in codes
    cooled = passed(passed(bowl(warm_C=55.9), 40.0), 400.0)
    assert cooled.watch.hot_since_s is None


@pytest.mark.parametrize(("state", "warm_C", "goal"), [("pieces", 21.0, 45.0), ("part_melted", 28.0, 32.2)])
def test_what_is_not_melted_is_heated(state, warm_C, goal):
    start = Start(0.0, Composition("dark"), 800.0, state=state, temperature_C=warm_C, vessel=VesselSpec("glass"))
    advice, _ = advise(begin(start, seed=1, members=160), Standing(check_ordered=True))
    assert advice.next.do == "heat_on"
    assert advice.next.to_C == pytest.approx(goal, abs=0.1)
    assert advice.next.by == "warm_bath"


def test_a_good_bowl_is_used_after_a_look_and_not_before():
    belief = bowl()
    first, _ = advise(belief)
    assert first.next.do != "use_it"
    belief = take(take(belief, Look(1.0, lumps="none", thickness="flowing")), Look(50.0, lumps="none", drain="good"))
    hoped, _ = advise(belief)
    # Nothing has shown that crystals lived: a knife is dipped first.
    assert hoped.next.do == "smear"
    belief = take(belief, Look(60.0, lumps="none", thickness="thick"))
    advice, standing = advise(belief)
    assert advice.next.do == "use_it"
    assert advice.working_minutes_left is not None
    assert 0 < len(advice.instead) <= 2
    again, _ = advise(belief, standing)
    assert again.next.id == advice.next.id
    assert "rests" not in again.next.why


def test_a_thick_bowl_is_thinned_or_warmed():
    belief = take(bowl(v=0.09, warm_C=31.0), Look(1.0, lumps="none", thickness="paste"))
    advice, _ = advise(belief)
    assert advice.next.do in {"add_melt", "warm_bath", "melt_again"}
    assert working_band(Outlook(belief)) is None


def test_a_hot_spot_is_stirred_out():
    start = Start(0.0, Composition("dark"), 800.0, vessel=VesselSpec("glass"), means=("seed", "microwave"))
    belief = bowl(v=0.0, start=start)
    from bloomless.estimation.alerts import alert
    from bloomless.estimation.passing import flagged

    belief = flagged(belief, (alert("hot_spot"),))
    chosen = choose(belief, Standing(), Outlook(belief), PRICES, smear_allowed=True)
    assert chosen.order.do == "stir"


def test_an_order_never_carried_out_is_asked_about_under_its_name_only():
    belief = bowl(warm_C=37.0, v=0.0, seeded=False)
    advice, standing = advise(belief)
    name, codes, names = advice.next.id, set(), []
    for at_s in range(10, 160, 10):
        belief = take(belief, Ask(float(at_s)))
        advice, standing = advise(belief, standing)
        codes |= {one.code for one in advice.alerts}
        names.append(advice.next.id)
    assert "was_it_done" in codes
    assert names[0] == name
    assert names[-1] != name


def test_every_order_has_a_sentence_with_a_number():
    n = Numbers(31.0, 29.3, 33.0, 1.2, 40.0, 5.0, 0.7, 0.1)
    for do in ("stir", "warm_bath", "cool_bath", "add_seed", "add_melt", "sieve", "look", "use_it", "table", "heat_on"):
        assert any(ch.isdigit() for ch in why(Order(do), n))
    hot, cool = replace(n, temperature_C=35.0, pieces_pct=0.0), replace(n, temperature_C=29.0, pieces_pct=0.0)
    assert "above" in why(Order("stir"), hot)
    assert "cool end" in why(Order("warm_bath"), cool)
    many = replace(n, pieces_pct=0.0, form_v_pct=4.0)
    assert "melts first" in why(Order("hot_air"), many)
    assert "melts first" in why(Order("hot_air"), replace(many, form_v_pct=1.2, unstable_pct=0.5))
    # Where nothing is too much, nothing has to melt.
    assert "is low within" in why(Order("hot_air"), replace(many, form_v_pct=1.2))
    assert "31.9 °C is within" in why(Order("hot_air"), replace(many, form_v_pct=1.2, temperature_C=31.9))
    assert "lumps do not melt" in why(Order("hot_air"), replace(many, form_v_pct=1.2, pieces_pct=2.0))
    for order in (Order("microwave"), Order("heat_on", by="microwave"), Order("melt_again", by="microwave")):
        assert "Probe, spoon and metal out" in why(order, n)
    assert "In short bursts" in why(Order("heat_on", by="hot_air"), n)
    assert "In short bursts" not in why(Order("heat_on", by="warm_bath"), n)
    assert "form V" in why(Order("stir"), replace(n, pieces_pct=0.0))


def test_what_lies_on_the_stone_is_worked_there_and_only_then_stirred():
    belief, order = bowl(seeded=False), Order("table", id="n1", share=0.4, seconds=90.0, then_wait_s=30.0)
    standing = Standing(orders_given=1, given=Given(order, belief.at_s, belief.acts), order=order)
    belief = take(take(belief, Table(belief.at_s + 1.0, 0.4, 90.0)), Ask(belief.at_s + 11.0))
    there, standing = advise(belief, standing)
    assert (there.next.do, there.next.share, there.next.seconds) == ("stir", 0.4, 80.0)
    assert "40 % of the bowl is on the stone" in there.next.why
    after, _ = advise(take(belief, Ask(belief.at_s + 85.0)), standing)
    assert (after.next.do, after.next.share, after.next.seconds) == ("stir", None, 25.0)


def test_fresh_is_a_look_or_a_smear_since_the_last_act():
    from bloomless.advice.witness import fresh
    from bloomless.estimation.events import Seed

    belief = bowl()
    assert not fresh(belief)
    assert not fresh(take(belief, Ask(1.0)))
    smeared = take(take(belief, Smear(1.0, 1.0)), Smear(300.0, 1.0, set_after_s=200.0))
    assert fresh(take(smeared, Ask(310.0)))
    assert not fresh(take(take(belief, Look(1.0, lumps="none")), Seed(2.0, 5.0)))


def test_who_waits_for_a_film_is_told_so():
    dipped = take(take(bowl(), Smear(1.0, 1.0)), Ask(181.0))
    n = replace(Outlook(dipped).numbers, pieces_pct=0.0, temperature_C=31.0, form_v_pct=1.4)
    assert "The film has been setting for 3 min" in why(Order("stir"), n)
    assert "The film is setting" in why(Order("stir"), replace(n, film_min=0.4))
    assert Outlook(take(dipped, Smear(190.0, 1.0, set_after_s=189.0))).numbers.film_min is None
    assert Outlook(take(dipped, Ask(730.0))).numbers.film_min is None


def test_before_for_cocoa_butter_and_for_little_seed():
    means = ("cocoa_butter_crystals", "cool_bath")
    start = Start(0.0, Composition("cocoa_butter"), 300.0, temperature_C=45.0, room_C=20.5, means=means)
    advice, _ = advise(begin(start, seed=1, members=160))
    assert (advice.before.seed_now_g, advice.before.seed_reserve_g, advice.before.size_mm) == (3.0, 3.0, 0.4)
    bottle = Start(0.0, Composition("cocoa_butter", colour_share=0.06), 40.0, temperature_C=45.0, means=means)
    advice, _ = advise(begin(bottle, seed=1, members=160))
    assert advice.before.seed_now_g == 0.5
    assert advice.before.minutes.p50 < 40.0
    short = Start(0.0, Composition("dark"), 800.0, temperature_C=45.0, room_C=20.5, seed_available_g=60.0)
    advice, _ = advise(begin(short, seed=1, members=160))
    assert advice.before.seed_now_g == 60.0


def test_no_second_smear_for_ten_minutes_nor_before_a_silent_one_is_given_up():
    from bloomless.advice.advise import _smear_allowed

    belief, ordered = take(bowl(), Smear(1.0, 1.0)), Standing(smear_ordered_at_s=0.0)
    assert not _smear_allowed(belief, Standing())
    assert not _smear_allowed(bowl(), Standing(smear_ordered_at_s=-300.0))
    assert _smear_allowed(bowl(), Standing())
    told = passed(take(belief, Smear(300.0, 1.0, set_after_s=290.0, finish="glossy")), 500.0)
    assert not _smear_allowed(told, ordered)
    assert _smear_allowed(passed(told, 601.0), ordered)
    # Another asked for in between would have been waited for anew, for ever.
    silent = passed(belief, 700.0)
    assert not _smear_allowed(silent, ordered)
    assert not smear_told(silent, ordered)
    assert smear_told(passed(silent, 720.0), ordered)
    assert _smear_allowed(passed(silent, 721.0), ordered)


def test_what_only_a_number_speaks_for_is_smeared_or_checked_and_not_stirred_on():
    sure = replace(take(bowl(), Look(60.0, lumps="none", thickness="thin")), backed=False)
    outlook = Outlook(sure)
    outlook.__dict__["numbers"] = replace(outlook.numbers, chance=0.97)
    outlook.__dict__["members"] = replace(outlook.members, chance=np.full_like(outlook.members.chance, 0.97))

    def asked(smear_allowed=True, **remembered):
        standing = Standing(look_ordered_at_s=55.0, **remembered)
        return choose(sure, standing, outlook, PRICES, smear_allowed=smear_allowed).order.do

    assert asked() == "smear"
    assert asked(smear_allowed=False) == "check_thermometer"
    assert asked(smear_allowed=False, check_ordered=True) in {"stir", "look", "add_seed"}
    assert {one.code for one in notes(sure, outlook, Order("smear"))} >= {"thermometer_unchecked"}
    assert "thermometer_unchecked" not in {
        one.code for one in notes(replace(sure, backed=True), outlook, Order("smear"))
    }


def test_nothing_backs_an_unseeded_unchecked_bowl():
    from bloomless.advice.witness import backed

    belief = replace(bowl(seeded=False), backed=False)
    assert not backed(belief, Outlook(belief))
    assert backed(take(replace(bowl(), backed=False), Look(1.0, thickness="flowing")), Outlook(belief))


def test_few_good_members_tell_no_working_minutes():
    belief = bowl(members=160)
    state = belief.ensemble.state.copy()
    state[rows.FORM_V_kg] *= 0.2
    belief = replace(belief, ensemble=belief.ensemble.with_state(state))
    outlook = Outlook(belief)
    outlook.__dict__["numbers"] = Numbers(31.0, 29.3, 33.0, 0.3, 0.0, 0.0, 0.5, 0.0)
    assert working_band(outlook) is None


def test_priors_of_a_kitchen_and_a_model_without_error():
    from bloomless.estimation.belief import Settings
    from bloomless.estimation.chance import member_chances
    from bloomless.materials.chocolates import chocolate
    from bloomless.physics.priors import priors_for

    start = Start(0.0, Composition("dark"), 800.0, temperature_C=40.0)
    belief = begin(
        start, seed=1, members=60, priors=priors_for(chocolate("dark")), settings=Settings(noise_scale=0.0, lumps=False)
    )
    belief = passed(belief, 30.0)
    assert member_chances(belief, shown(belief)).max() < 0.01


@pytest.mark.parametrize("found", ["glass", "metal", "wrong_allergen", "off_smell", "other"])
def test_what_does_not_belong_in_it_stops_a_bowl_that_was_in_temper(found):
    belief = take(bowl(), Look(10.0, lumps="none", thickness="thick", foreign=found))
    advice, standing = advise(belief)
    assert advice.next.do == "stop"
    assert "throw" in advice.next.why
    assert ("foreign_matter", "stop") in {(one.code, one.severity) for one in advice.alerts}
    assert advise(belief, standing)[0].next.id == advice.next.id
